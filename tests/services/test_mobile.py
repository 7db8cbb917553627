"""Mobile internet at hand-worked addresses: four ways, interference, cables, what is sold, cell lists; flat ground, one site north."""

import math
from dataclasses import replace

import pytest
from services.test_over_the_ground import LAT, LON, PLAN, land, sector, site

from siteplan.geodesy.projection import geod_forward
from siteplan.radio.building_entry import building_entry_loss_db
from siteplan.records.verdict import State
from siteplan.services.mobile.area import best_at
from siteplan.services.mobile.judge import judge


@pytest.fixture(scope="module")
def on():
    return land(known=True)


def plan(**tables):
    """The plan with some keys of [mobile], [kit] or [limits] changed."""
    out = PLAN
    for table, keys in tables.items():
        out = out.model_copy(update={table: getattr(out, table).model_copy(update=keys)})
    return out


def away(bearing_deg, distance_m, **keys):
    lat, lon = geod_forward(lat_deg=LAT, lon_deg=LON, azimuth_deg=bearing_deg, distance_m=distance_m)
    return replace(sector(**keys), lat_deg=float(lat), lon_deg=float(lon), site=f"Site {bearing_deg:g}", azimuth_deg=math.nan)


def test_the_four_ways_differ_by_wall_gain_and_cable(on):
    """On open ground the outside of the wall 4 m up hears as the antenna 6 m up does, within a decibel or two."""
    _, finding = judge(site(on), on, (sector(),), PLAN)
    ways = {way.way: way for way in finding.lines[0].ways}
    assert list(ways) == ["indoors", "window", "outdoor unit", "roof antenna"]
    unit, roof, window, indoors = (ways[name] for name in ("outdoor unit", "roof antenna", "window", "indoors"))
    assert unit.rsrp_dbm - roof.rsrp_dbm == pytest.approx(6.0 - (9.0 - roof.cable_loss_db))
    # 10 m of 7 mm foam at 806 MHz: (0.63 x 28.39 + 0.887) / 10 = 1.88 dB, and 0.5 dB of connectors
    assert roof.cable_loss_db == pytest.approx(2.38, abs=0.01)
    wall = {"building": "traditional", "elevation_deg": math.degrees(math.atan2(36.0, 3000.0))}
    for way, share in ((window, 10.0), (indoors, 50.0)):
        assert way.entry_loss_db == pytest.approx(building_entry_loss_db(806.0, probability_pct=share, **wall), abs=0.01)
        assert unit.rsrp_dbm - 6.0 - way.entry_loss_db - way.rsrp_dbm == pytest.approx(0.0, abs=2.5)
    assert indoors.sigma_db > window.sigma_db > unit.sigma_db
    assert indoors.probability <= window.probability <= unit.probability


def test_the_least_work_that_is_enough_is_told_and_its_kit(on):
    verdict, finding = judge(site(on), on, (sector(re_eirp_dbm=45.0),), PLAN)
    assert finding.enough == "indoors" and [reason.code for reason in verdict.reasons][:2] == ["mobile_good", "mobile_enough_indoors"]
    assert [part.code for part in finding.kit] == ["kit_device"]
    weak = sector(re_eirp_dbm=10.0)
    verdict, finding = judge(site(on), on, (weak,), PLAN)
    assert verdict.state is State.BOOK and finding.enough == "outdoor unit"


def test_of_a_roof_antenna_two_of_everything(on):
    verdict, finding = judge(site(on), on, (sector(),), plan(mobile={"ways": ("roof antenna",)}))
    assert verdict.state is State.BOOK and finding.enough == finding.lines[0].way == "roof antenna"
    counts = {part.code: part.values["count"] for part in finding.kit}
    assert counts == {"kit_antenna_ports": 2, "kit_coax": 2, "kit_connectors": 4, "kit_arresters": 2, "kit_router_sockets": 2}


def test_long_thin_coax_at_3500_eats_the_antenna(on):
    far = replace(sector(band="3500", frequency_mhz=3550.0, re_eirp_dbm=20.0), technology="NR", spacing_khz=30.0)
    _, finding = judge(site(on), on, (far,), plan(kit={"mobile_cable": "5 mm foam", "mobile_cable_m": 25.0}))
    line = finding.lines[0]
    unit, roof = line.ways[2], line.ways[3]
    assert roof.cable_loss_db == pytest.approx(19.3, abs=0.1) and roof.rsrp_dbm < unit.rsrp_dbm - 16.0 and line.way == "outdoor unit"
    flat = plan(kit={"mobile_feeder_loss_db": 2.0})
    assert judge(site(on), on, (far,), flat)[1].lines[0].ways[3].cable_loss_db == 2.0


def test_a_strong_signal_that_is_disturbed_is_not_booked(on):
    """Two sites of one operator north and a little east of it on one carrier: the antenna's beam holds both, so half load leaves 3 dB."""
    two = (away(0.0, 3000.0), away(5.0, 3000.0))
    verdict, finding = judge(site(on), on, two, PLAN)
    line = finding.lines[0]
    assert line.margin_db > 20.0 and line.sinr_db == pytest.approx(3.1, abs=0.6) and line.gap_db == pytest.approx(0.0, abs=0.5)
    assert verdict.state is State.SURVEY_FIRST and "mobile_disturbed" in [reason.code for reason in verdict.reasons]
    assert line.second_site != line.sector.site and line.ways[2].weakest == "ratio"
    # on other carriers, or from behind the antenna, the same site disturbs nothing or less
    clear, _ = judge(site(on), on, (two[0], replace(two[1], frequency_mhz=816.0, band="800b")), PLAN)
    assert clear.state is State.BOOK
    _, behind = judge(site(on), on, (two[0], away(180.0, 3000.0)), PLAN)
    assert behind.lines[0].sinr_db == pytest.approx(3.0 + 15.0, abs=0.8)


def test_neighbours_load_counts(on):
    two = (away(0.0, 3000.0), away(5.0, 3000.0))
    by_load = [judge(site(on), on, two, plan(mobile={"load": load}))[1].lines[0].sinr_db for load in (0.1, 0.5, 1.0)]
    assert by_load[0] - by_load[1] == pytest.approx(6.99, abs=0.1) and by_load[1] - by_load[2] == pytest.approx(3.01, abs=0.1)
    own = (two[0], replace(two[1], load=0.1))
    assert judge(site(on), on, own, PLAN)[1].lines[0].sinr_db == pytest.approx(by_load[0], abs=0.1)


def test_hopeless_interference_is_not_feasible(on):
    near = [replace(away(bearing, 1500.0, operator="Other"), re_eirp_dbm=37.0) for bearing in (1.0, 359.0, 2.0, 358.0)]
    verdict, finding = judge(site(on), on, (away(0.0, 3000.0), *near), plan(mobile={"operators_sold": ("Plover",), "load": 1.0}))
    assert finding.lines[0].sinr_db < -15.0 and finding.lines[0].margin_db > 10.0
    assert verdict.state is State.NOT_FEASIBLE and verdict.reasons[0].code == "mobile_none_clear"


def test_only_what_is_sold_counts_but_all_interfere(on):
    both = (away(0.0, 3000.0), away(5.0, 2000.0, operator="Redstart"))
    _, finding = judge(site(on), on, both, plan(mobile={"operators_sold": ("Plover",)}))
    assert [line.sector.operator for line in finding.lines] == ["Plover"]
    assert [line.sector.operator for line in finding.unsold] == ["Redstart"]
    assert finding.lines[0].disturbers[0][:2] == ("Redstart", "Site 5") and finding.lines[0].sinr_db < 3.0
    verdict, finding = judge(site(on), on, both, plan(mobile={"operators_sold": ("Nobody",)}))
    assert verdict.state is State.NOT_FEASIBLE and verdict.reasons[0].code == "mobile_none_sold" and len(finding.unsold) == 2
    assert best_at(site(on), on, both, plan(mobile={"operators_sold": ("Nobody",)}))[0] == -1


def test_technologies_that_no_longer_count(on):
    old = replace(sector(frequency_mhz=947.0, band="900", re_eirp_dbm=55.0), technology="GSM")
    verdict, finding = judge(site(on), on, (old,), PLAN)
    assert verdict.state is State.NOT_FEASIBLE and finding.lines == () and finding.unsold[0].rsrp_dbm > -60.0
    verdict, finding = judge(site(on), on, (old,), plan(mobile={"technologies": ("GSM",)}))
    assert verdict.state is State.BOOK and math.isnan(finding.lines[0].rsrq_db)


def test_bands_that_the_roof_antenna_misses_are_told(on):
    carriers = (sector(), replace(sector(band="3500", frequency_mhz=3550.0), technology="NR", name="2"))
    narrow = plan(kit={"mobile_bands_mhz": ("694-960",)}, mobile={"ways": ("roof antenna",)})
    verdict, finding = judge(site(on), on, carriers, narrow)
    misses = next(reason for reason in verdict.reasons if reason.code == "mobile_antenna_misses")
    assert misses.values["bands"] == ["3500"]
    assert [line.sector.band for line in finding.lines] == ["800"] and [line.sector.band for line in finding.unsold] == ["3500"]
    assert not finding.unsold[0].ways[3].fits
    # the uplink must lie in the antenna's bands too
    _, finding = judge(site(on), on, (replace(sector(), uplink_mhz=690.0),), narrow)
    assert finding.lines == () and len(finding.unsold) == 1


def test_beyond_timing_and_guard_is_warned(on):
    wide = replace(sector(north_m=11_000.0, band="40", frequency_mhz=2350.0, re_eirp_dbm=40.0), duplex="TDD")
    verdict, _ = judge(site(on), on, (wide,), plan(mobile={"tdd_guard_us": 70.0}))
    assert "mobile_beyond_guard" in [reason.code for reason in verdict.reasons]  # 70 us is 10.5 km there and back
    verdict, _ = judge(site(on), on, (wide,), PLAN)
    assert "mobile_beyond_guard" not in [reason.code for reason in verdict.reasons]


def test_a_weak_way_back_holds_a_promise_back(on):
    """A site of great power: heard well, but a device of 23 dBm is not heard there."""
    loud = sector(north_m=11_500.0, frequency_mhz=806.0, re_eirp_dbm=70.0)
    _, finding = judge(site(on), on, (replace(loud, antenna_gain_dbi=-30.0),), PLAN)
    unit = finding.lines[0].ways[2]
    assert unit.rsrp_dbm > -80.0 and unit.uplink_margin_db < 10.0 and unit.probability < 0.95 and unit.weakest == "way back"


@pytest.mark.parametrize("re_eirp_dbm", [30.0, -60.0])
def test_an_open_cell_list_proves_nothing(on, re_eirp_dbm):
    listed = replace(sector(re_eirp_dbm=re_eirp_dbm), origin="cell list", site_error_m=600.0, azimuth_deg=math.nan, assumed=("power",))
    verdict, finding = judge(site(on), on, (listed,), PLAN)
    line = finding.lines[0]
    assert verdict.state is State.SURVEY_FIRST and verdict.how_sure.level == "low" and finding.enough == ""
    assert verdict.reasons[0].code == "mobile_list_only" and "sure_assumed" in [reason.code for reason in verdict.how_sure.because]
    assert line.bearing_error_deg == pytest.approx(math.degrees(math.atan2(1200.0, 3000.0)), abs=0.01) and math.isnan(line.sinr_db)


def test_of_a_cell_list_only_the_nearest_sites_are_looked_at(on):
    many = tuple(
        replace(away(float(k), 2000.0 + 100.0 * k), origin="cell list", band="LTE", site=f"LTE {k}", site_error_m=500.0) for k in range(20)
    )
    _, finding = judge(site(on), on, many, PLAN)
    assert finding.lines[0].sector.site == "LTE 0" and len(finding.lines) == 1


def test_compass_bearing_and_area_agree_with_the_address(on):
    sectors = (sector(), sector(band="1800", frequency_mhz=1842.5, re_eirp_dbm=40.0))
    _, finding = judge(site(on), on, sectors, PLAN)
    best = finding.lines[0]
    assert 0.0 < (best.bearing_deg - best.magnetic_bearing_deg) % 360.0 < 10.0  # east of Greenwich in central Europe
    place, strength, margin = best_at(site(on), on, sectors, PLAN)
    assert (sectors[place].band, strength, margin) == (best.sector.band, best.rsrp_dbm, best.margin_db)


def test_a_house_of_foil_and_coated_glass_takes_more(on):
    kinds = ("traditional", "thermally_efficient")
    plain, tight = (judge(site(on), on, (sector(),), plan(mobile={"building": kind}))[1].lines[0].ways[1] for kind in kinds)
    assert tight.entry_loss_db - plain.entry_loss_db == pytest.approx(11.5, abs=0.5) and tight.rsrp_dbm < plain.rsrp_dbm
