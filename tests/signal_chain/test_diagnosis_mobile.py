"""What patterns of mobile readings mean: for each rule a pattern that fires it and one that must not."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest

from siteplan.records.readings import PORT, ROUTER, Expected, Reading
from siteplan.services.outlets.compare import compare, meaning, required, why_unknown
from siteplan.services.outlets.compare_cells import counted

pytestmark = pytest.mark.quick


def cell(name, mhz, outlet=ROUTER, **more):
    return Expected(
        id="A-1", row=2, name="Mill Row 3", lat_deg=47.5, lon_deg=-9.5, service="mobile", source="Corvid", outlet=outlet, carrier=name,
        line="800", rf_mhz=mhz, if_mhz=math.nan, bandwidth_mhz=10.0, modulation="LTE", level_dbuv=math.nan, level_sigma_db=5.0, cn_db=12.0,
        cn_sigma_db=2.0, threshold_db=5.0, min_dbuv=math.nan, max_dbuv=math.nan, profile="limits of the plan",
        **{"rsrp_dbm": -85.0, "min_dbm": -100.0, "pci": "37", **more},
    )  # fmt: skip


TWO = (cell("Tower, LTE 800", 796.0), cell("Crane, LTE 1800", 1842.5))


def read(mhz=796.0, rsrp=-85.0, sinr=12.0, **more):
    return Reading(file="r.csv", file_row=2, id="A-1", source="Corvid", carrier="", outlet=more.pop("outlet", ""), frequency_mhz=mhz,
                   rsrp_dbm=rsrp, sinr_db=sinr, **more)  # fmt: skip


def said(readings, expected=TWO):
    compared, unknown = compare(readings, expected)
    assert not unknown
    return [reason.code for reason in meaning(compared)], compared


def test_as_expected_says_nothing():
    codes, compared = said([read(), read(1842.5, rsrp=-88.0)])
    assert codes == [] and [one.passes for one in compared] == [True, True]
    assert compared[1].level_off_db == -3.0 and compared[0].margin_db == 7.0


@pytest.mark.parametrize("low, codes", [(-95.1, ["read_cells_low"]), (-94.0, [])])
def test_all_weak(low, codes):
    assert said([read(rsrp=low), read(1842.5, rsrp=low)])[0] == codes


@pytest.mark.parametrize("low, codes", [(-96.0, ["read_one_cell_low"]), (-90.0, [])])
def test_one_weak(low, codes):
    assert said([read(rsrp=low), read(1842.5)])[0] == codes


def test_the_only_cell_weak():
    assert said([read(rsrp=-97.0)])[0] == ["read_cell_low"]


@pytest.mark.parametrize("sinr, codes", [(6.9, ["read_cell_disturbed"]), (8.0, [])])
def test_strong_and_disturbed(sinr, codes):
    assert said([read(sinr=sinr)])[0] == codes


def test_a_wide_error_of_the_prediction_keeps_quiet():
    unsure = (replace(TWO[0], level_sigma_db=9.0, cn_sigma_db=4.0),)
    assert said([read(rsrp=-100.0, sinr=5.0)], unsure)[0] == []


@pytest.mark.parametrize("b, codes", [(-92.0, ["read_pair_uneven"]), (-89.0, [])])
def test_one_lead_weaker(b, codes):
    assert said([read(rsrp_a_dbm=-85.0, rsrp_b_dbm=b)])[0] == codes


@pytest.mark.parametrize("more, codes", [(4.0, ["read_mobile_cable"]), (2.0, [])])
def test_what_the_cable_takes(more, codes):
    expected = (cell("Tower, LTE 800", 796.0), cell("Tower, LTE 800", 796.0, PORT, rsrp_dbm=-82.0))
    assert said([read(rsrp=-85.0 - more, outlet=ROUTER), read(rsrp=-82.0, outlet=PORT)], expected)[0] == codes


def test_another_cell_answers():
    codes, compared = said([read(pci="211")])
    assert codes == ["read_serves_other"] and compared[0].passes
    assert said([read(pci="37")])[0] == []


def test_rssi_in_the_column_of_rsrp():
    """10 MHz are 50 blocks of 12 elements: 27.8 dB."""
    assert said([read(rsrp=-85.0 + 27.8)])[0] == ["read_rssi_for_rsrp"]
    assert said([read(rsrp=-75.0)])[0] == []


def test_passing_needs_strength_and_ratio():
    for reading, passes in ((read(rsrp=-101.0), False), (read(sinr=4.0), False), (read(sinr=math.nan), None), (read(rsrp=math.nan), None),
                            (read(locked=False, rsrp=math.nan, sinr=math.nan, pci="37"), False)):  # fmt: skip
        assert said([reading])[1][0].passes is passes


def test_cells_and_carriers_are_never_taken_for_each_other():
    """1842.5 MHz is an intermediate frequency of a satellite as well."""
    sat = replace(TWO[0], service="satellite", source="Oriel 25E", carrier="O7", rf_mhz=11592.5, if_mhz=1842.5, outlet="outlet 1")
    compared, unknown = compare([replace(read(1842.5), source="")], (sat, TWO[1]))
    assert compared[0].expected is TWO[1] and not unknown
    level = Reading(file="r.csv", file_row=3, id="A-1", source="", carrier="", outlet="", frequency_mhz=1842.5, level_dbuv=60.0, cn_db=12.0)
    assert compare([level], (sat, TWO[1]))[0][0].expected is sat
    assert compare([read(1852.5)], TWO) == ((), (read(1852.5),))


def test_one_cell_is_enough_for_a_report():
    port = cell("Tower, LTE 800", 796.0, PORT)
    outlet = replace(TWO[0], service="satellite", outlet="outlet 1")
    expected = (outlet, replace(outlet, outlet=PORT), *TWO, port)
    assert required(expected, ()) == (outlet, TWO[0])
    second, _ = compare([read(1842.5)], TWO)
    assert required(expected, second) == (outlet, TWO[1])


def test_no_signal_as_a_phone_saves_it_finds_its_cell():
    """A row that holds nothing but a name and "no": the boxes of a sheet, x in one of them."""
    nothing = Reading(file="r.csv", file_row=2, id="A-1", source="Corvid", carrier=TWO[0].carrier, outlet=ROUTER, locked=False)
    codes, compared = said([nothing])
    assert compared[0].passes is False and codes == ["read_cells_none"]
    assert "read_cells_none" not in said([nothing, read(1842.5)])[0]


@pytest.mark.parametrize(
    "more, place",
    [({"band": "800"}, 0), ({"band": "B20"}, 0), ({"band": "n3"}, 1), ({"pci": "41"}, 1), ({"band": "7"}, None), ({"pci": "300"}, None)],
)
def test_a_cell_is_found_by_band_or_identity(more, place):
    expected = (replace(TWO[0], standard_band="20"), replace(TWO[1], line="1800", standard_band="3", pci="41"))
    compared, unknown = compare([read(math.nan, **more)], expected)
    assert [one.expected for one in compared] == ([] if place is None else [expected[place]])
    assert len(unknown) == (place is None)


def test_the_technology_keeps_cells_of_one_frequency_apart():
    expected = (TWO[0], replace(TWO[0], carrier="Tower, NR 800", modulation="NR"))
    assert compare([read(technology="NR")], expected)[0][0].expected is expected[1]


def test_rssi_is_told_and_proves_nothing():
    """27.8 dB over at 10 MHz; 4 dB either way are taken for it."""
    _, compared = said([read(rsrp=-85.0 + 27.8)])
    assert compared[0].passes is None and [one.code for one in compared[0].reasons] == ["read_rsrp_is_rssi"]
    assert math.isnan(compared[0].level_off_db)  # so that nothing is learnt from it
    assert said([read(rsrp=-85.0 + 23.0)])[1][0].passes is True


@pytest.mark.parametrize("rsrq, passes", [(-10.0, True), (-16.0, False), (math.nan, None)])
def test_rsrq_stands_for_a_ratio_that_is_not_shown(rsrq, passes):
    expected = (replace(TWO[0], min_rsrq_db=-15.0),)
    assert said([read(sinr=math.nan, rsrq_db=rsrq)], expected)[1][0].passes is passes
    assert said([read(sinr=9.0, rsrq_db=-16.0)], expected)[1][0].passes is True  # SINR goes before


@pytest.mark.parametrize("low, codes", [(-102.2, ["read_cells_low"]), (-101.5, [])])
def test_all_weak_counts_what_sites_err_apart(low, codes):
    """Two sites of 12 dB each: 2 x 12 / sqrt 2 = 17.0 dB; one site alone would take 24 dB."""
    unsure = tuple(replace(one, level_sigma_db=12.0) for one in TWO)
    assert said([read(rsrp=low), read(1842.5, rsrp=low)], unsure)[0] == codes
    one_site = (unsure[0], replace(unsure[1], carrier="Tower, LTE 1800"))
    assert "read_cells_low" not in said([read(rsrp=-105.0), read(1842.5, rsrp=-105.0)], one_site)[0]


@pytest.mark.parametrize("less, codes", [(8.5, ["read_cells_high_bands"]), (7.0, [])])
def test_high_bands_weak_at_one_site(less, codes):
    expected = (TWO[0], replace(TWO[1], carrier="Tower, LTE 1800"))
    assert said([read(), read(1842.5, rsrp=-85.0 - less)], expected)[0] == codes
    assert said([read(), read(1842.5, rsrp=-85.0 - less)])[0] == []  # two sites: nothing shared


@pytest.mark.parametrize("more, codes", [(15.5, ["read_cell_stronger"]), (14.0, [])])
def test_much_stronger_than_foretold(more, codes):
    assert said([read(rsrp=-85.0 + more)])[0] == codes


def test_which_failures_count():
    """Where one cell passes another that fails is told and does not count; the planned one always counts, the antenna's port never."""
    port = cell("Tower, LTE 800", 796.0, PORT)
    expected = (*TWO, port)

    def passes(*readings):
        return [one.passes for one in counted(compare(readings, expected)[0], expected)]

    assert passes(read(), read(1842.5, sinr=1.0)) == [True, None]
    assert passes(read(sinr=1.0), read(1842.5)) == [False, True]
    assert passes(read(1842.5, sinr=1.0)) == [False]  # nothing passes: it counts
    assert passes(read(), read(outlet=PORT, sinr=1.0)) == [True, None]


def test_healthy_houses_are_seldom_accused():
    """300 houses, four cells on three sites; 8 dB of shadowing a site, 3 dB a band and of the device: about one in nine is told of."""
    dice = random.Random(11)
    names = (("Tower", 796.0), ("Tower", 1815.0), ("Crane", 1842.5), ("Kirk", 806.0))
    expected = tuple(replace(cell(f"{site}, LTE {mhz:.0f}", mhz), level_sigma_db=9.0, cn_sigma_db=4.0) for site, mhz in names)
    accused = 0
    for _ in range(300):
        shadow = {site: dice.gauss(0.0, 8.0) for site, _ in names}
        device = dice.gauss(0.0, 3.0)
        readings = [read(mhz, -85.0 + shadow[site] + device + dice.gauss(0.0, 3.0), 12.0 + dice.gauss(0.0, 3.0)) for site, mhz in names]
        accused += bool(said(readings, expected)[0])
    assert accused <= 43  # 11 % of 3000 houses; two sigma more of 300 is 14 %


def test_an_identity_that_fits_two_bands_is_not_guessed():
    """One sector sends on several bands under one identity; the band, or the channel, tells them apart."""
    expected = (TWO[0], replace(TWO[1], carrier="Tower, LTE 1800", line="1800"))
    alone = read(math.nan, pci="37")
    assert compare([alone], expected) == ((), (alone,))
    assert why_unknown(alone, expected).code == "read_several_carriers"
    assert compare([read(math.nan, pci="37", band="1800")], expected)[0][0].expected is expected[1]
