"""Okumura-Hata and COST-231-Hata, computed tables with six anchors; mind that wrong anchors circulate (148.55 and 109.66 dB)."""

import numpy as np
import pytest
from authorities.authority_rows import number, rows_of
from radio.radio_paths import profile

from siteplan.errors import MethodRangeError
from siteplan.radio.methods import hata
from siteplan.radio.methods.table import METHODS
from siteplan.radio.path_geometry import prepare

pytestmark = pytest.mark.quick
TOWNS = {("urban", "medium"): "urban", ("urban", "large"): "dense_urban", ("suburban", "medium"): "suburban", ("open", "medium"): "open"}


def named(row):
    return f"{'cost231' if row['model'].startswith('COST') else 'hata'}_{TOWNS[row['environment'], row['city_size']]}"


@pytest.mark.parametrize("row", rows_of("hata_cost231.csv"), ids=lambda row: "-".join(list(row.values())[:7]))
def test_loss(row):
    found = hata.median_loss_db(
        named(row),
        frequency_mhz=number(row["f_mhz"]),
        base_m=number(row["h_b_m"]),
        rx_height_agl_m=number(row["h_m_m"]),
        distance_m=1000.0 * number(row["d_km"]),
    )
    assert found == pytest.approx(number(row["loss_db"]), abs=1e-4)  # asked for: 0.01 dB


def flat(length_m=5000.0, tx_m=50.0, rx_m=1.5, ground_m=120.0):
    return prepare(profile(np.linspace(0.0, length_m, 101), ground_m), tx_height_agl_m=tx_m, rx_height_agl_m=rx_m)


def test_the_common_call_gives_the_same():
    """800 MHz over 5 km of flat ground, 50 m and 1.5 m: the row of the table, whatever the ground lies at."""
    (row,) = (
        row
        for row in rows_of("hata_cost231.csv")
        if (row["f_mhz"], row["h_b_m"], row["d_km"], row["environment"], row["city_size"]) == ("800", "50", "5", "urban", "medium")
    )
    found = METHODS["hata_urban"].loss_db(flat(), frequency_mhz=800.0)
    assert found.loss_db == pytest.approx(number(row["loss_db"]), abs=1e-4)
    assert found.method == "Okumura-Hata, medium town"
    assert found.intermediates["over_mean_ground_m"] == pytest.approx(50.0)


def test_sender_on_a_hill():
    """100 m of hill under a 50 m mast, down to the plain after 1 km of 20: the mean from 3 to 15 km is the plain, so 150 m."""
    distance = np.linspace(0.0, 20_000.0, 201)
    made = profile(distance, np.clip(100.0 - 0.1 * distance, 0.0, None))
    path = prepare(made, tx_height_agl_m=50.0, rx_height_agl_m=1.5)
    assert path.tx_over_mean_ground_m == pytest.approx(150.0)
    # a slope of 10 m per km over 10 km: the mean between 2 and 10 km is 60 m above the sender's foot
    rising = prepare(profile(np.linspace(0.0, 10_000.0, 101), np.linspace(0.0, 100.0, 101)), tx_height_agl_m=90.0, rx_height_agl_m=1.5)
    assert rising.tx_over_mean_ground_m == pytest.approx(30.0)


@pytest.mark.parametrize(
    ("name", "path", "asked", "says"),
    [
        ("hata_open", flat(999.0), {}, "path length is 0.999 km.*1 to 20 km"),
        ("hata_open", flat(20_001.0), {}, "path length"),
        ("hata_open", flat(tx_m=29.0), {}, "29.0 m over the mean ground.*30 to 200 m"),
        ("hata_open", flat(tx_m=201.0), {}, "201.0 m over the mean ground"),
        ("hata_open", flat(rx_m=10.5), {}, "receiver's antenna height.*1 to 10 m"),
        ("hata_open", flat(), {"frequency_mhz": 149.0}, "150 to 1500"),
        ("hata_open", flat(), {"time_pct": 10.0}, "time percentage is 10 %.*at 50 % alone"),
        ("hata_dense_urban", flat(), {"frequency_mhz": 300.0}, "no large city between 200 and 400"),
        ("cost231_urban", flat(), {"frequency_mhz": 1499.0}, "1500 to 2000"),
        ("cost231_urban", flat(), {"frequency_mhz": 2001.0}, "1500 to 2000"),
    ],
)
def test_out_of_range_is_said(name, path, asked, says):
    with pytest.raises(MethodRangeError, match=says):
        METHODS[name].loss_db(path, **({"frequency_mhz": 800.0} | asked))


def test_never_below_free_space_and_locations():
    """High mast, open country: the formula alone would gain on free space at 1 % of locations; the answer does not."""
    lucky = METHODS["hata_open"].loss_db(flat(1000.0, tx_m=200.0, rx_m=10.0), frequency_mhz=1500.0, location_pct=1.0, sigma_db=20.0)
    assert lucky.loss_db == lucky.intermediates["free_space_db"]
    half, most = (METHODS["hata_urban"].loss_db(flat(), frequency_mhz=800.0, location_pct=share).loss_db for share in (50.0, 95.0))
    assert most - half == pytest.approx(9.05, abs=0.01)
