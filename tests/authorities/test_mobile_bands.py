"""Mobile bands and channel numbers against independent extracts of 3GPP TS 36.101 and TS 38.104."""

import math

import pytest
from authorities.authority_rows import number, rows_of

from siteplan.files.mobile_bands import all_bands, bands_at, bands_named, channel_mhz, nr_mhz, uplink_band

pytestmark = pytest.mark.quick


@pytest.mark.parametrize("row", rows_of("lte_bands.csv"), ids=lambda row: f"band {row['band']}")
def test_lte_bands(row):
    (band,) = bands_named("LTE", row["band"])
    assert (band.dl_low_mhz, band.dl_high_mhz, band.first) == (number(row["dl_low_mhz"]), number(row["dl_high_mhz"]), int(row["n_offs_dl"]))
    assert (band.ul_low_mhz, band.ul_high_mhz, band.duplex) == (number(row["ul_low_mhz"]), number(row["ul_high_mhz"]), row["duplex"])
    assert band.uplink_mhz(band.dl_low_mhz) == number(row["ul_low_mhz"])
    if row["duplex"] == "FDD":
        assert uplink_band("LTE", int(row["n_offs_ul"])) == row["band"]
    assert "checked" in band.source


@pytest.mark.parametrize("row", rows_of("lte_earfcn_examples.csv"), ids=lambda row: row["earfcn_dl"])
def test_earfcn(row):
    frequency, bands = channel_mhz("LTE", int(row["earfcn_dl"]))
    assert math.isclose(frequency, number(row["f_dl_mhz"]), abs_tol=1e-6) and [band.name for band in bands] == [row["band"]]


@pytest.mark.parametrize("row", rows_of("nr_bands.csv"), ids=lambda row: row["band"])
def test_nr_bands(row):
    (band,) = bands_named("NR", row["band"])
    assert (band.dl_low_mhz, band.dl_high_mhz, band.duplex) == (number(row["dl_low_mhz"]), number(row["dl_high_mhz"]), row["duplex"])
    assert (band.first, band.last) == (int(row["nrarfcn_first"]), int(row["nrarfcn_last"])) and "checked" in band.source


NR_ROWS = [row for row in rows_of("nr_arfcn_examples.csv") if number(row["f_mhz"]) < 24_250]


@pytest.mark.parametrize("row", NR_ROWS, ids=lambda row: row["nrarfcn"])
def test_nr_arfcn(row):
    assert math.isclose(nr_mhz(int(row["nrarfcn"])), number(row["f_mhz"]), abs_tol=1e-6)


def test_millimetre_waves_are_beyond_the_raster_kept_here():
    assert math.isnan(nr_mhz(2_016_667))


def test_gsm_and_umts_by_hand():
    """TS 45.005, section 2: 1800 up = 1710.2 + 0.2 (n - 512), down 95 MHz higher; TS 25.101, 5.4.3: band VIII N = 5 (F - 340)."""
    assert channel_mhz("GSM", 600, bands_named("GSM", "1800"))[0] == pytest.approx(1710.2 + 0.2 * 88 + 95.0)
    assert channel_mhz("GSM", 62)[0] == pytest.approx(947.4)
    assert channel_mhz("GSM", 1000)[0] == pytest.approx(890.0 + 0.2 * (1000 - 1024) + 45.0)
    assert channel_mhz("UMTS", 10_700)[0] == pytest.approx(2140.0)
    assert channel_mhz("UMTS", 3000)[0] == pytest.approx(3000 / 5 + 340.0)
    assert bands_named("UMTS", "8") == bands_named("UMTS", "VIII") != ()


def test_frequencies_find_their_band_the_narrowest_first():
    assert [band.name for band in bands_at("LTE", 806.0)] == ["20"]
    assert [band.name for band in bands_at("NR", 3550.0)] == ["n48", "n78", "n77"]
    assert [band.name for band in bands_at("GSM", 940.0)] == ["900"]
    assert bands_at("LTE", 1000.0) == ()


def test_names_of_bands_as_people_write_them():
    assert {band.name for text in ("20", "B20", "band 20", "LTE 20") for band in bands_named("LTE", text)} == {"20"}
    assert {band.name for text in ("n78", "78", "N78", "NR n78") for band in bands_named("NR", text)} == {"n78"}
    assert bands_named("LTE", "800") == () and bands_named("LTE", "") == ()


def test_every_band_is_whole():
    for band in all_bands():
        assert band.dl_low_mhz < band.dl_high_mhz and band.first < band.last, band
        assert band.dl_low_mhz <= band.mhz(band.first) and band.mhz(band.last) <= band.dl_high_mhz, band
