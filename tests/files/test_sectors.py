"""Tables of mobile sectors: channel numbers, bands, powers and patterns of four technologies; every bad row is told by itself."""

import math

import pytest
from table_makers import plan_with

from siteplan.files.sectors import read_sectors

pytestmark = pytest.mark.quick
GOOD = {
    "operator": "Corvid", "site": "Mill", "sector": "1", "lat_deg": "47.5", "lon_deg": "11.4", "antenna_height_agl_m": "25",
    "technology": "LTE", "band": "20", "earfcn": "6300", "frequency_mhz": "", "eirp_dbm": "62", "bandwidth_mhz": "10", "azimuth_deg": "120",
    "arfcn": "", "uarfcn": "", "nr_arfcn": "", "re_eirp_dbm": "", "power_dbm": "", "gain_dbi": "", "load_pct": "", "pattern": "",
    "spacing_khz": "",
}  # fmt: skip


@pytest.fixture
def read(tmp_path):
    """Read rows (changes to the good one) as the sectors of a plan."""

    def reader(*changes):
        rows = [{**GOOD, **change} for change in changes]
        text = ",".join(GOOD) + "\n" + "".join(",".join(str(row[name]) for name in GOOD) + "\n" for row in rows)
        (tmp_path / "s.csv").write_text(text, encoding="utf-8")
        return read_sectors(plan_with(tmp_path, mobile={"file": tmp_path / "s.csv"}))

    return reader


def test_a_channel_number_gives_frequency_band_and_uplink(read):
    """EARFCN 6300: 791 + 0.1 (6300 - 6150) = 806 MHz; the uplink of band 20 lies 41 MHz higher (TS 36.101)."""
    (found,), rejects = read({"load_pct": "30"})
    assert rejects == () and (found.frequency_mhz, found.uplink_mhz, found.channel) == (806.0, 847.0, 6300)
    assert (found.band, found.standard_band, found.duplex, found.bandwidth_mhz, found.resource_blocks) == ("20", "20", "FDD", 10.0, 50)
    assert math.isclose(found.re_eirp_dbm, 62.0 - 10 * math.log10(600)) and math.isclose(found.load, 0.3)


def test_four_technologies_and_what_their_power_means(read):
    """UMTS: the pilot has a tenth of the power; GSM: the carrier; NR: one of 12 N_RB elements (273 blocks at 100 MHz and 30 kHz)."""
    found, rejects = read(
        {"technology": "GSM", "band": "900", "earfcn": "", "arfcn": "62", "sector": "g"},
        {"technology": "3G", "band": "VIII", "earfcn": "", "uarfcn": "3000", "sector": "u"},
        {"technology": "NR", "band": "n78", "earfcn": "", "nr_arfcn": "640000", "bandwidth_mhz": "100", "sector": "n"},
    )
    assert rejects == ()
    assert [(one.technology, one.frequency_mhz, one.duplex) for one in found] == [
        ("GSM", 947.4, "FDD"), ("UMTS", 940.0, "FDD"), ("NR", 3600.0, "TDD"),
    ]  # fmt: skip
    assert [round(one.re_eirp_dbm, 3) for one in found] == [62.0, 52.0, round(62.0 - 10 * math.log10(12 * 273), 3)]
    assert (found[2].spacing_khz, found[2].uplink_mhz) == (30.0, 3600.0)


def test_a_nickname_is_no_band_and_the_frequency_finds_it(read):
    (found,), rejects = read({"band": "800", "earfcn": "", "frequency_mhz": "806"})
    assert rejects == () and (found.band, found.standard_band, found.uplink_mhz) == ("800", "20", 847.0)


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [
        ({"earfcn": "1300"}, "earfcn", "lies in band 3; band 20 has 6150 to 6449"),
        ({"earfcn": "24300", "band": ""}, "earfcn", "is an uplink number of band 20"),
        ({"earfcn": "999999", "band": ""}, "earfcn", "is in no LTE band"),
        ({"earfcn": "6300.5"}, "earfcn", "a whole number is wanted"),
        ({"earfcn": "", "nr_arfcn": "640000"}, "nr_arfcn", "belongs to NR, and this row is LTE; write earfcn"),
        ({"frequency_mhz": "900"}, "frequency_mhz", "does not agree with EARFCN 6300, which is 806 MHz"),
        ({"earfcn": "", "frequency_mhz": "1842.5"}, "frequency_mhz", "791 to 821 MHz is allowed"),
        ({"earfcn": ""}, "earfcn", "one is wanted"),
        ({"azimuth_deg": "361"}, "azimuth_deg", "0 to 360 is allowed"),
        ({"technology": "WIMAX"}, "technology", "write GSM, UMTS, LTE or NR"),
        ({"lat_deg": ""}, "lat_deg", "empty"),
        ({"bandwidth_mhz": "12"}, "bandwidth_mhz", "write one of 1.4, 3, 5"),
        ({"bandwidth_mhz": ""}, "bandwidth_mhz", "the power of a whole carrier needs it"),
        ({"eirp_dbm": "62 W"}, "eirp_dbm", "is not a number"),
        ({"load_pct": "130"}, "load_pct", "0 to 100 is allowed"),
        ({"technology": "GSM", "band": "900", "earfcn": "", "arfcn": "62", "re_eirp_dbm": "20"}, "re_eirp_dbm", "no resource elements"),
        ({"pattern": "star"}, "pattern", "write TR 36.814 or TR 38.901"),
        ({"pattern": "none.csv"}, "pattern", "can't be used"),
        ({"pattern": "../s.csv"}, "pattern", "names another folder"),
    ],
)
def test_bad_rows_are_told_and_the_rest_goes_on(read, change, field, says):
    found, (reject,) = read({}, {"sector": "bad", **change}, {"sector": "3"})
    assert [one.name for one in found] == ["1", "3"]
    assert (reject.file, reject.row, reject.field) == ("s.csv", 3, field) and says in reject.reason


def test_patterns_by_name_and_by_table(read, tmp_path):
    (tmp_path / "p.csv").write_text(
        "angle_deg,horizontal_db,vertical_db\n" + "".join(f"{a},{min(25, (a if a <= 180 else 360 - a) / 4)},\n" for a in range(0, 360, 10))
        + "".join(f"{a},,{min(20, abs(a))}\n" for a in range(-90, 91, 15)), encoding="utf-8",
    )  # fmt: skip
    found, rejects = read({"pattern": "TR 38.901"}, {"sector": "2", "pattern": "p.csv"}, {"sector": "3"})
    assert rejects == () and [one.pattern for one in found] == ["TR 38.901", "table", "TR 36.814"]
    assert found[1].horizontal[0] == (0.0, 0.0) and found[1].horizontal[9] == (90.0, -22.5)
    assert found[1].vertical[0] == (-90.0, -20.0) and (0.0, 0.0) in found[1].vertical


def test_a_pattern_with_gaps_is_told(read, tmp_path):
    (tmp_path / "p.csv").write_text("angle_deg,horizontal_db\n0,0\n10,1\n100,12\n180,25\n350,1\n", encoding="utf-8")
    found, (reject,) = read({}, {"sector": "2", "pattern": "p.csv"})
    assert len(found) == 1 and "has a gap in horizontal_db from 180 to 350" in reject.reason and reject.value == "p.csv"
