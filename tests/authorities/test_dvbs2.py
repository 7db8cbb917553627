"""Satellite thresholds: DVB-S2 (EN 302 307-1, table 13), DVB-S2X (EN 302 307-2, table 20a), DVB-S (EN 300 421)."""

import pytest
from authorities.authority_rows import number, rows_of

from siteplan.errors import InputError
from siteplan.radio.modes import satellite_mode
from siteplan.radio.satellite_link import satellite_thresholds_db

pytestmark = pytest.mark.quick


@pytest.mark.parametrize(
    ("system", "row", "column"),
    [("DVB-S2", row, "es_n0_db") for row in rows_of("dvbs2_modcod.csv")]
    + [("DVB-S2X", row, "es_n0_db") for row in rows_of("dvbs2x_modcod_extract.csv")],
    ids=str,
)
def test_ideal_thresholds(system, row, column):
    mode = satellite_mode(system, row["modulation"], row["code_rate"])
    assert mode.threshold_db == number(row[column])
    assert satellite_thresholds_db(
        system=system, modulation=row["modulation"], code_rate=row["code_rate"], implementation_loss_db=1.0
    ) == (number(row[column]), 1.0)


def test_rows_left_out_of_the_extract_agree_with_outlet_values():
    """A national guide prints ideal Es/N0 + 6.0 dB for the outlet, to 0.1 dB; it has the rows our extract of table 13 lacks."""
    held = 0
    for row in rows_of("receiver_cn.csv"):
        if row["system"] == "DVB-S2":
            ideal = satellite_mode("DVB-S2", row["modulation"], row["code_rate"]).threshold_db
            # the guide rounds, now and then upwards from below one half
            assert number(row["cn_db"]) - 6.0 == pytest.approx(ideal, abs=0.075), row
            held += 1
    assert held == 21


@pytest.mark.parametrize("row", rows_of("dvbs_thresholds.csv"), ids=lambda row: row["code_rate"])
def test_dvbs_holds_its_own_implementation_loss(row):
    mode = satellite_mode("DVB-S", "QPSK", row["code_rate"])
    assert mode.threshold_db == pytest.approx(number(row["es_n0_db"]), abs=0.01)
    asked = satellite_thresholds_db(system="DVB-S", modulation="qpsk", code_rate=row["code_rate"], implementation_loss_db=1.0)
    assert asked == (mode.threshold_db, 0.0)


def test_a_mode_of_dvbs2_is_one_of_dvbs2x():
    assert satellite_mode("DVB-S2X", "8PSK", "3/4").threshold_db == 7.91


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (("DVB-X", "QPSK", "1/2"), "DVB-S, DVB-S2, DVB-S2X"),
        (("DVB-S2", "64QAM", "1/2"), "QPSK, 8PSK, 16APSK, 32APSK"),
        (("DVB-S2", "8PSK", "1/2"), "3/5, 2/3, 3/4, 5/6, 8/9, 9/10"),
    ],
)
def test_an_unknown_mode_names_those_there_are(asked, says):
    with pytest.raises(InputError, match=says):
        satellite_mode(*asked)
