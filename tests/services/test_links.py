"""Links of a satellite at one address: each term against one worked apart, and what must hold of any."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hand_ground import LAT, LON, judged, layer, plan, replace_limits, satellite, wall

from siteplan.radio.antenna import bo1213_gain_dbi
from siteplan.records.beams import Beam, Contour
from siteplan.records.emitters import Satellite, Transponder
from siteplan.records.verdict import State
from siteplan.services.satellite.budget import budgets, place
from siteplan.services.satellite.footprint import EirpReading, eirp_from_readings
from siteplan.services.satellite.links import SatelliteLinks, smallest_dishes
from siteplan.services.shared.fading import link_availability, link_fade, tilt_deg
from siteplan.sky.look_angles import look_angles, separation_deg
from siteplan.words import sentence

WHERE = (LAT, LON, 100.0)


def carrier(mhz=12_000.0, polarisation="H", eirp_dbw=52.0, source="stated", name="T1", rate=27_500.0, **more):
    return Transponder(name, mhz, polarisation, rate, "DVB-S2", "8PSK", "3/4", eirp_dbw, source, **more)


def sat(*carriers, orbit_deg=15.0, name="Testbird", **more):
    return Satellite(name, orbit_deg, tuple(carriers) or (carrier(),), **more)


def with_kit(made, **kit):
    return made.model_copy(update={"kit": made.kit.model_copy(update=kit)})


def test_a_whole_budget_by_hand():
    """Due south from 47.85 N, 12 GHz H, 52 dBW, 27.5 MBd, 0.6 m of 65 %, 0.7 dB LNB and 45 K of sky: pocket calculator.

    Range 38 207 km: 92.4478 + 20 log 12 + 20 log 38 207 = 205.67 dB. Dish: 10 log(0.65 (pi 0.6 / 0.024983)^2) = 35.68 dBi.
    45 + 290 (10^0.07 - 1) = 95.7 K: 19.81 dB. 27.5 MHz: 74.39 dB. Pointing: 0.0025 x 24.017^2 x 2 (0.04 + 0.01 / 3) = 0.125 dB. Skew 2
    degrees: 0.005 dB. Gases about 0.09 dB. 52 - 205.67 - 0.09 - 0.13 - 0.01 + 35.68 - 19.81 + 228.60 - 74.39 = 16.18 dB; 8PSK 3/4 needs
    7.91 + 1: margin 7.27 dB.
    """
    (line,) = SatelliteLinks(sat(), WHERE, plan()).lines(0.6)
    terms = {one.code: one.value for one in line.terms}
    assert terms["term_free_space_loss_db"] == pytest.approx(-205.67, abs=0.01)
    assert terms["term_dish_gain_dbi"] == pytest.approx(35.68, abs=0.01)
    assert terms["term_noise_temperature_db_k"] == pytest.approx(-19.81, abs=0.01)
    assert terms["term_bandwidth_db_hz"] == pytest.approx(-74.39, abs=0.01)
    assert terms["term_pointing_db"] == pytest.approx(-0.125, abs=0.001)
    assert terms["term_polarisation_db"] == pytest.approx(-0.0053, abs=0.0001)
    assert terms["term_gas_db"] == pytest.approx(-0.09, abs=0.04)
    assert line.cn_db == pytest.approx(sum(value for code, value in terms.items() if code.startswith("term_")))
    assert (line.cn_db, line.cni_db) == (pytest.approx(16.18, abs=0.05), pytest.approx(line.cn_db))
    assert (line.ideal_threshold_db, line.implementation_db) == (7.91, 1.0) and line.margin_db == pytest.approx(7.27, abs=0.05)
    assert line.eirp_from == "table" and line.wanted and all(one.source for one in line.terms if one.value != "")


def test_weather_is_what_the_fade_calculator_says():
    """Without interference the margin falls by just what link_fade takes, and lasts as long as link_availability says."""
    asked = {"lat_deg": LAT, "lon_deg": LON, "height_amsl_m": 100.0, "frequency_mhz": 12_000.0, "dish_m": 0.6, "efficiency": 0.65}
    look = look_angles(lat_deg=LAT, lon_deg=LON, height_ell_m=100.0, orbit_deg=30.0)
    asked |= {"elevation_deg": look.elevation_deg, "tilt_deg": tilt_deg("V", look.skew_deg)}
    (line,) = SatelliteLinks(sat(carrier(polarisation="V"), orbit_deg=30.0), WHERE, plan()).lines(0.6)
    noise_k = 45.0 + 290.0 * (10**0.07 - 1.0)
    taken = link_fade(**asked, time_pct=100.0 - 99.7, system_noise_k=noise_k)
    assert line.margin_db - line.weather_margin_db == pytest.approx(taken.margin_db, abs=1e-3)
    lasts = link_availability(**asked, margin_db=line.margin_db, system_noise_k=noise_k)
    assert line.hours_per_year == pytest.approx(lasts.hours_per_year, rel=0.01)
    assert line.hours_worst_month == pytest.approx(lasts.hours_worst_month, rel=0.01) and line.bound == lasts.bound == ""


def test_a_neighbour_three_degrees_off_by_hand():
    """Like carriers of equal EIRP: C/I is what the dish turns away, less what its own aim loses; across it is the cross-polar pattern."""
    other = sat(orbit_deg=18.0, name="Next")
    found = budgets(sat(neighbours=(other,)), place(*WHERE), plan())
    here, there = (look_angles(lat_deg=LAT, lon_deg=LON, height_ell_m=100.0, orbit_deg=orbit) for orbit in (15.0, 18.0))
    apart = separation_deg(here, there)
    assert apart == pytest.approx(3.31, abs=0.01)  # 2 asin(42 164 sin 1.5 deg / 38 207): a tenth more than the 3 degrees of orbit
    gain, further = float(found.link.gain_dbi[0, 0]), 20.0 * math.log10(there.range_km / here.range_km)
    skew = math.radians(there.skew_deg - here.skew_deg)
    like = bo1213_gain_dbi(apart, 24.017, gain)
    unlike = bo1213_gain_dbi(apart, 24.017, gain, cross_polar=True)
    towards = 10.0 * math.log10(math.cos(skew) ** 2 * 10 ** (like / 10) + math.sin(skew) ** 2 * 10 ** (unlike / 10))
    assert float(found.ci_adjacent_db["Next"][0, 0, 0]) == pytest.approx(gain - towards + further - 0.130, abs=0.01)
    (line,) = SatelliteLinks(sat(neighbours=(other,)), WHERE, plan()).lines(0.6)
    ci = float(found.ci_adjacent_db["Next"][0, 0, 0])
    assert line.cni_db == pytest.approx(-10 * math.log10(10 ** (-line.cn_db / 10) + 10 ** (-ci / 10)), abs=1e-9)

    def margin(**how):
        (found,) = SatelliteLinks(sat(neighbours=(sat(carrier(**how), orbit_deg=18.0),)), WHERE, plan()).lines(0.6)
        return found.margin_db

    alone = SatelliteLinks(sat(), WHERE, plan()).lines(0.6)[0].margin_db
    assert margin() < margin(polarisation="L") < margin(polarisation="V") < alone
    assert margin(eirp_dbw=55.0) < margin() < margin(eirp_dbw=40.0)
    assert margin() < margin(mhz=12_020.0) < margin(mhz=12_027.6) == alone  # half of it over, none of it over


def test_a_neighbour_nobody_knows_the_strength_of_is_said():
    (line,) = SatelliteLinks(sat(neighbours=(sat(carrier(eirp_dbw=math.nan), orbit_deg=18.0, name="Mute"),)), WHERE, plan()).lines(0.6)
    assert "neighbour_unknown" in line.notes
    assert "Mute" in next(one.source for one in line.terms if one.code == "ci_adjacent")


def test_the_satellites_own_other_polarisation():
    """Equal carriers across each other: C/I is the discrimination, 25 dB and tan^2 of 2 degrees (29.1 dB) together 23.6 dB."""
    pair = sat(carrier(), carrier(polarisation="V", name="T2"))
    found = budgets(pair, place(*WHERE), plan())
    assert np.allclose(found.ci_cross_db, 23.57, atol=0.02)
    (one, _) = SatelliteLinks(pair, WHERE, plan()).lines(0.6)
    rain = {line.code: line.value for line in one.terms}["weather_xpd"]
    assert 25.0 < rain < 60.0
    assert one.margin_db - one.weather_margin_db > 0.0


def test_the_eirp_that_would_do_does():
    lost = SatelliteLinks(sat(carrier(eirp_dbw=math.nan)), WHERE, plan())
    (line,) = lost.lines(0.6)
    assert math.isnan(line.margin_db) and math.isnan(line.cn_db) and math.isnan(line.weather_margin_db) and line.eirp_source == "unknown"
    needs = dict(line.needs_by_dish)
    assert list(needs) == [0.6, 0.8, 1.0, 1.2] and sorted(needs.values(), reverse=True) == list(needs.values())
    (just,) = SatelliteLinks(sat(carrier(eirp_dbw=needs[0.6] + 1e-9)), WHERE, plan()).lines(0.6)
    assert min(just.margin_db - 6.0, just.weather_margin_db) == pytest.approx(0.0, abs=1e-6)
    assert not lost.known and math.isnan(lost.smallest_dish())
    strict = replace_limits(plan(), availability_pct=99.99)
    (wet,) = SatelliteLinks(sat(carrier(eirp_dbw=math.nan)), WHERE, strict).lines(0.6)
    (held,) = SatelliteLinks(sat(carrier(eirp_dbw=wet.needs_eirp_dbw)), WHERE, strict).lines(0.6)
    assert wet.needs_eirp_dbw > line.needs_eirp_dbw and held.weather_margin_db == pytest.approx(0.0, abs=1e-6)


def test_a_larger_dish_is_never_worse_and_rain_never_helps():
    rng = np.random.default_rng(52)
    made = with_kit(plan(), dishes_m=(0.4, 0.6, 0.9, 1.2, 1.8, 2.4))
    for _ in range(25):
        lat, lon = rng.uniform(-60.0, 60.0), rng.uniform(-180.0, 180.0)
        orbit = (lon + rng.uniform(-40.0, 40.0) + 180.0) % 360.0 - 180.0
        mine = carrier(rng.uniform(10_700, 12_750), str(rng.choice(list("HVLR"))), rng.uniform(44.0, 56.0))
        beside = sat(carrier(mine.frequency_mhz + rng.uniform(-20, 20), "H", 50.0), orbit_deg=orbit + rng.choice([-6.0, 4.0]), name="B")
        found = budgets(sat(mine, orbit_deg=orbit, neighbours=(beside,)), place(lat, lon, rng.uniform(0, 1500)), made)
        if found is None or not np.isfinite(found.weather_margin_db).all():
            continue
        assert np.all(np.diff(found.margin_db[0, :, 0]) > 0.0)
        assert np.all(np.diff(found.weather_margin_db[0, :, 0, -1]) > 0.0)
        assert np.all(np.diff(found.weather_margin_db[0, :, 0, :-1], axis=-1) > -1e-9)  # less often out, more fade
        assert np.all(found.weather_margin_db[0, :, :, :-1] <= found.margin_db[0, :, :, None] + 1e-9)
        assert np.all(found.cni_db <= np.asarray(found.link.cn_db) + 1e-9)


def test_many_places_at_once_are_the_places_one_by_one():
    lat, lon, height = np.array([LAT, LAT + 0.01, LAT - 0.02]), np.array([LON, LON + 0.02, LON]), np.array([100.0, 900.0, 20.0])
    both = sat(carrier(), carrier(polarisation="V", name="T2"), neighbours=(sat(orbit_deg=18.0, name="Next"),))
    from siteplan.services.satellite.budget import Where

    together = budgets(both, Where(lat, lon, height), plan(), times_pct=np.array([0.3]))
    for k in range(3):
        alone = budgets(both, place(lat[k], lon[k], height[k]), plan())
        assert np.allclose(together.margin_db[k], alone.margin_db[0], atol=1e-3)
        assert np.allclose(together.weather_margin_db[k, ..., -1], alone.weather_margin_db[0, ..., -1], atol=1e-3)
        assert smallest_dishes(together, plan())[k] == smallest_dishes(alone, plan())[0]


def test_where_the_weather_has_no_answer_nothing_is_promised():
    low = SatelliteLinks(sat(orbit_deg=91.5), WHERE, plan())
    (line,) = low.lines(1.2)
    assert line.notes == ("weather_unknown",) and math.isnan(line.weather_margin_db) and math.isfinite(line.margin_db)
    assert math.isnan(low.smallest_dish())
    (stretched,) = SatelliteLinks(sat(orbit_deg=85.5), WHERE, plan()).lines(1.2)
    assert "low_elevation" in stretched.notes and math.isfinite(stretched.weather_margin_db)


def test_which_transponders_are_wanted():
    both = sat(carrier(), carrier(11_000.0, name="Weak", eirp_dbw=46.0), carrier(11_200.0, name="Rumour", source="assumed"))

    def wanted(*names):
        made = plan()
        made = made.model_copy(update={"satellites": made.satellites.model_copy(update={"wanted_transponders": names})})
        links = SatelliteLinks(both, WHERE, made)
        return [line.transponder.name for line in links.lines(0.6) if line.wanted], links

    assert wanted()[0] == ["T1", "Weak"] and wanted("t1")[0] == ["T1"] and wanted("15E: Weak")[0] == ["Weak"]
    assert wanted("Testbird: T1", "16E: Weak")[0] == ["T1"] and wanted("16E: Weak")[0] == ["T1", "Weak"]
    assert wanted("T1")[1].smallest_dish() == 0.6 and wanted()[1].smallest_dish() == 1.2
    assert {one.weakest for one in wanted()[1].dishes()} == {"Weak"}
    assert not wanted("Rumour")[1].known and wanted()[1].assumed() == 1


# ---- what the verdict makes of it -------------------------------------------------------------------------------------


def verdict(made=None, **how):
    found, finding = judged([layer(*wall(20, 5))], sat=how.pop("sat", None) or sat(carrier(11_000.0, **how)), made=made)
    return found, finding.views[0]


def test_rain_alone_can_undo_a_clear_view():
    made = replace_limits(plan(), availability_pct=99.999)
    found, view = verdict(made, eirp_dbw=46.9)
    assert found.state is State.SURVEY_FIRST and found.reasons[0].code == "sat_rain_weak" and math.isnan(view.dish_m)
    assert view.dishes[-1].margin_db > 6.0 and view.dishes[-1].weather_margin_db < 0.0 and not view.dishes[-1].holds
    assert "loses the picture about" in sentence(found.reasons[0]) and "T1" in sentence(found.reasons[0])
    booked, view = verdict(eirp_dbw=46.9)
    assert booked.state is State.BOOK and view.dish_m == 1.0 and view.dishes[-1].holds


def test_a_link_just_short_of_its_threshold_is_no_proof():
    """At 1.2 m some 40.9 dBW is the threshold: 2 dB less is within the error of a link, 4 dB less is not."""
    needs = SatelliteLinks(sat(carrier(11_000.0, eirp_dbw=math.nan)), WHERE, plan()).lines(1.2)[0].needs_eirp_dbw - 6.0
    for less, state in ((1.0, State.SURVEY_FIRST), (2.0, State.SURVEY_FIRST), (4.0, State.NOT_FEASIBLE)):
        found, _ = verdict(eirp_dbw=needs - less)
        assert found.state is state and found.reasons[0].code == "sat_signal_weak", less


def test_carriers_only_assumed_are_not_promised_beside_a_stated_one():
    some = sat(carrier(11_000.0), carrier(11_100.0, name="T2", source="assumed"))
    found, _ = verdict(sat=some)
    assert found.state is State.BOOK and [reason.code for reason in found.reasons] == ["sat_clear", "sat_some_assumed"]
    assert "1 of 2" in sentence(found.reasons[1])
    none, _ = verdict(sat=replace(some, transponders=some.transponders[1:]))
    assert none.state is State.SURVEY_FIRST and none.reasons[0].code == "sat_signal_unknown"


def footprint(value=52.0, half=5.0, **more):
    ring = np.array([-half, half, half, -half, -half]) + LAT, np.array([half, half, -half, -half, half]) + LON
    return Beam(contours=(Contour(value, *ring), Contour(value - 4.0, *(np.array(side) + (side - side.mean()) for side in ring))), **more)


def test_a_footprint_gives_the_eirp_and_its_source():
    """A row that only assumes 40 dBW lies 0 degrees inside the 52 dBW contour: the footprint counts, and is as good as stated."""
    drawn = sat(carrier(11_000.0, eirp_dbw=40.0, source="assumed"), beams=(footprint(source="isles.geojson"),))
    found, view = verdict(sat=drawn)
    (line,) = view.links
    assert found.state is State.BOOK and (line.eirp_dbw, line.eirp_source, line.eirp_from) == (52.0, "stated", "footprint")
    assert "isles.geojson: between contours" in line.terms[0].source
    measured = sat(carrier(11_000.0, eirp_dbw=49.0, source="measured"), beams=(footprint(),))
    assert verdict(sat=measured)[1].links[0].eirp_dbw == 49.0


def test_outside_a_footprint_nothing_is_promised_and_it_is_said():
    far = Beam(contours=tuple(Contour(one.eirp_dbw, one.lat_deg - 30.0, one.lon_deg) for one in footprint().contours))
    found, view = verdict(sat=sat(carrier(11_000.0), beams=(far,)))
    assert found.state is State.SURVEY_FIRST and found.reasons[0].code == "sat_outside_footprint" and math.isnan(view.dish_m)
    (line,) = view.links
    assert line.notes == ("outside_footprint",) and math.isnan(line.margin_db) and math.isfinite(line.needs_eirp_dbw)
    assert "does not reach this place" in sentence(found.reasons[0])


def test_which_beam_carries_what():
    both = (footprint(52.0, name="North"), footprint(45.0, name="South"))

    def eirp(beam, beams=both):
        return SatelliteLinks(sat(carrier(beam=beam, eirp_dbw=50.0), beams=beams), WHERE, plan()).lines(0.6)[0]

    assert (eirp("north").eirp_dbw, eirp("South").eirp_dbw) == (52.0, 45.0)
    assert (eirp("").eirp_dbw, eirp("").eirp_from) == (50.0, "table")  # two beams, none named
    assert eirp("", both[:1]).eirp_dbw == 52.0 and eirp("East").eirp_dbw == 50.0


def test_readings_nearby_make_an_eirp():
    near = [EirpReading(50.0, 1.0, 0.0), EirpReading(52.0, 1.0, 0.0), EirpReading(60.0, 1.0, 80_000.0)]
    assert eirp_from_readings(near) == (pytest.approx(51.0), pytest.approx(1.0 / math.sqrt(2.0)))
    assert all(math.isnan(value) for value in eirp_from_readings(near[2:]))


def test_the_default_satellite_still_books():
    assert judged([layer(*wall(20, 5))], sat=satellite())[0].state is State.BOOK


def test_readings_nearby_give_an_eirp_that_nobody_states():
    """A finished dish of 0.8 m reads what 51 dBW give there: the budget turned round says 51 again, within 50 km, unknown beyond."""
    from siteplan.records.readings import Reading
    from siteplan.services.satellite.read_eirp import dish_of, with_readings

    there = (LAT + 0.1, LON)
    (read,) = SatelliteLinks(sat(carrier(eirp_dbw=51.0)), (*there, 0.0), with_kit(plan(), dishes_m=(0.8,))).lines(0.8)
    unknown = sat(carrier(eirp_dbw=math.nan, source="assumed"))
    good = Reading("f", 1, "A", "testbird", "t1", "outlet 1", cn_db=read.cn_db, kit="dish 80 cm")
    useless = ({"locked": False}, {"kit": ""}, {"carrier": "T9"}, {"cn_db": math.nan}, {"cn_db": 59.0})
    others = [replace(good, **one) for one in useless]
    (taught,) = with_readings((unknown,), [(one, *there) for one in (good, *others)], plan())
    assert len(taught.transponders[0].readings) == 1
    near = SatelliteLinks(taught, WHERE, plan())
    (line,) = near.lines(0.6)
    assert line.eirp_dbw == pytest.approx(51.0, abs=0.02) and (line.eirp_source, line.eirp_from) == ("measured", "readings")
    assert near.known and any("readings of 1 installations" in one.source for one in line.terms)
    far = SatelliteLinks(taught, (LAT + 1.0, LON, 100.0), plan())
    assert not far.known and math.isnan(far.lines(0.6)[0].eirp_dbw)
    stated = with_readings((sat(),), [(good, *there)], plan())[0]
    assert stated.transponders[0].readings == ()  # what the operator states is not overruled
    assert judged([layer(*wall(20, 5))], sat=taught)[0].state is State.BOOK
    assert judged([layer(*wall(20, 5))], sat=unknown)[0].state is State.SURVEY_FIRST
    assert (dish_of("0.8 m dish"), dish_of("dish 80 cm"), dish_of("1,2 m")) == (0.8, 0.8, 1.2) and math.isnan(dish_of("LNB quad"))
