"""Terrestrial TV and mobile internet at hand-worked addresses: flat coarse ground 24 km wide, senders at known distances."""

import math
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from siteplan.geodesy.projection import geod_forward, to_wgs84
from siteplan.records.emitters import Multiplex, Sector, Transmitter
from siteplan.records.ground import Grid, Layer, Surface
from siteplan.records.places import Address
from siteplan.records.plan import MobileTable, Plan, TransmittersTable
from siteplan.records.verdict import State
from siteplan.services.mobile.judge import judge as judge_mobile
from siteplan.services.shared.site import Land, site_of
from siteplan.services.terrestrial.judge import judge as judge_tv
from siteplan.terrain.view import prepare

CRS, CELL, SIZE = "EPSG:32633", 40.0, 601
WEST, NORTH = 500_000.0 - CELL * SIZE / 2, 5_300_000.0 + CELL * SIZE / 2
LON, LAT = (float(v) for v in to_wgs84(500_000.0, 5_300_000.0, CRS))
PLAN = Plan(
    file=Path("plan.toml"),
    date=date(2026, 6, 11),
    transmitters=TransmittersTable(file=Path("t.csv")),
    mobile=MobileTable(file=Path("s.csv")),
)
MODE = "DVB-T2 256QAM 2/3"


def land(ridge_m=0.0, at_m=5_000.0, known=False):
    """Flat at 100 m, with a ridge across, at_m north of the middle."""
    z = np.full((SIZE, SIZE), 100.0, dtype=np.float32)
    row = SIZE // 2 - round(at_m / CELL)
    z[row - 2 : row + 3] += ridge_m
    grid = Grid(z, (CELL, 0.0, WEST, 0.0, -CELL, NORTH), CRS, CELL, "hand")
    made = Layer(
        grid, grid if known else None, np.ones(z.shape, dtype=np.uint8) if known else None, known, known, date(2026, 1, 1), 1.0, "hand"
    )
    surface = Surface((made,))
    return Land(surface, prepare(surface), date(2026, 6, 11))


def site(on):
    return site_of(Address(2, "a", "Middle", LAT, LON, 5.0, True), on, PLAN.mount)


def transmitter(north_m=10_000.0, erp_dbw=40.0, name="North Hill", height_m=150.0, count=1, mode=MODE):
    lat, lon = geod_forward(lat_deg=LAT, lon_deg=LON, azimuth_deg=0.0, distance_m=north_m)
    channels = tuple(Multiplex(f"M{k}", 498.0 + 48.0 * k, 8.0, erp_dbw - 12.0 * k, "h", mode) for k in range(count))
    return Transmitter(name, float(lat), float(lon), height_m, channels)


def sector(north_m=3_000.0, re_eirp_dbm=31.0, azimuth_deg=180.0, band="800", frequency_mhz=806.0, operator="Plover"):
    lat, lon = geod_forward(lat_deg=LAT, lon_deg=LON, azimuth_deg=0.0, distance_m=north_m)
    return Sector(operator, "Mill", "1", float(lat), float(lon), 40.0, "LTE", band, frequency_mhz, re_eirp_dbm, azimuth_deg, 2.0)


@pytest.mark.quick
def test_a_strong_transmitter_in_sight_is_booked_and_the_field_is_free_space():
    on = land()
    verdict, finding = judge_tv(site(on), on, (transmitter(),), PLAN)
    aim = finding.aims[0]
    assert verdict.state is State.BOOK and verdict.reasons[0].code == "tv_good"
    assert aim.bearing_deg % 360 == pytest.approx(0.0, abs=0.01)
    assert aim.distance_m == pytest.approx(10_000.0, abs=0.1)
    # E = 106.92 - 20 log d(km) + ERP(dBkW) in free space (ITU-R P.525 for a half-wave dipole): 96.9 dBuV/m for 10 kW at 10 km
    line = aim.lines[0]
    assert line.field_strength_dbuv_per_m == pytest.approx(96.9, abs=3.0)
    assert line.field_strength_dbuv_per_m <= 97.2
    # terminal level: E - 20 log f + 31.5 + G(dBi) (ITU-R BT.1368)
    assert line.level_dbuv == pytest.approx(line.field_strength_dbuv_per_m - 20 * math.log10(498.0) + 31.5 + 12.15, abs=0.3)
    assert line.margin_db == pytest.approx(line.field_strength_dbuv_per_m - line.minimum_median_dbuv_per_m)


def test_medians_are_held_against_medians_never_crosswise():
    """Chance comes from the median field over the minimum field; the printed margin from the minimum MEDIAN field."""
    on = land()
    _, finding = judge_tv(site(on), on, (transmitter(erp_dbw=0.0),), PLAN)
    line = finding.aims[0].lines[0]
    # the two minima differ by 1.645 sigma of location (5.5 dB, ITU-R BT.1368): a margin of m dB over the median is m + 9.05 over the field
    from statistics import NormalDist

    z = NormalDist().inv_cdf(line.probability)
    assert z * line.sigma_db == pytest.approx(line.margin_db + 1.645 * 5.5, abs=0.05)


def test_a_ridge_costs_and_is_named_where_it_stands():
    open_land, ridge = land(), land(ridge_m=200.0, at_m=2_000.0)
    _, clear = judge_tv(site(open_land), open_land, (transmitter(),), PLAN)
    verdict, behind = judge_tv(site(ridge), ridge, (transmitter(),), PLAN)
    lost = clear.aims[0].lines[0].field_strength_dbuv_per_m - behind.aims[0].lines[0].field_strength_dbuv_per_m
    # knife edge by hand: 200 - 10 - 140 * 2/10 = 162 m above the line, d1 = 2 km, d2 = 8 km:
    # v = 162 sqrt(2 * 10000 / (0.602 * 2000 * 8000)) = 7.4,
    # J = 6.9 + 20 log(2 * 7.2) = 30 dB, and Bullington's (1 - exp(-J/6)) (10 + 0.02 d) = 10.1 dB on top (ITU-R P.526-16, 4.5.1)
    assert lost == pytest.approx(40.1, abs=1.5)
    assert behind.aims[0].ray_blocked_m == pytest.approx(2_000.0, abs=120.0)
    assert "path_blocked" in [reason.code for reason in verdict.reasons]


def test_hopeless_is_not_feasible_and_between_is_survey_first():
    on = land()
    weak, _ = judge_tv(site(on), on, (transmitter(erp_dbw=-60.0),), PLAN)
    assert weak.state is State.NOT_FEASIBLE and weak.reasons[0].code == "tv_none"
    between, finding = judge_tv(site(on), on, (transmitter(erp_dbw=0.0),), PLAN)
    while finding.aims[0].lines[0].probability > 0.9:
        step = transmitter(erp_dbw=finding.aims[0].transmitter.multiplexes[0].erp_dbw - 5.0)
        between, finding = judge_tv(site(on), on, (step,), PLAN)
    assert between.state is State.SURVEY_FIRST
    assert between.ask is not None and between.ask.code == "ask_neighbours"


def test_the_aim_with_most_channels_that_can_be_promised_wins():
    on = land()
    one = transmitter(name="One strong", erp_dbw=50.0, count=1)
    three = transmitter(name="Three", erp_dbw=46.0, count=3, north_m=9_000.0)
    _, finding = judge_tv(site(on), on, (one, three), PLAN)
    assert [aim.transmitter.name for aim in finding.aims] == ["Three", "One strong"]


def test_nothing_in_range_at_the_address_and_unknown_ground():
    on = land()
    verdict, _ = judge_tv(site(on), on, (), PLAN)
    assert verdict.state is State.NOT_FEASIBLE and verdict.reasons[0].code == "tv_too_far"
    verdict, _ = judge_tv(site(on), on, (transmitter(north_m=5.0),), PLAN)
    assert verdict.reasons[0].code == "emitter_at_address"
    verdict, _ = judge_tv(site(on), on, (transmitter(north_m=30_000.0),), PLAN)
    assert verdict.state is State.SURVEY_FIRST and verdict.reasons[0].code == "tv_unknown_path"
    verdict, _ = judge_tv(site(on), on, (), PLAN.model_copy(update={"transmitters": TransmittersTable()}))
    assert verdict.state is State.NOT_JUDGED and verdict.reasons[0].code == "none_listed_terrestrial"


def test_unknown_clutter_widens_the_error():
    bare, known = land(), land(known=True)
    _, without = judge_tv(site(bare), bare, (transmitter(),), PLAN)
    _, with_it = judge_tv(site(known), known, (transmitter(),), PLAN)
    assert without.aims[0].lines[0].sigma_db == pytest.approx(math.hypot(with_it.aims[0].lines[0].sigma_db, 8.0))


@pytest.mark.quick
def test_mobile_level_by_hand():
    on = land()
    verdict, finding = judge_mobile(site(on), on, (sector(),), PLAN)
    line = finding.lines[0]
    # free space 3 km at 806 MHz: 32.45 + 20 log 3 + 20 log 806 = 100.1 dB; 31 - 100.1 + 9 - 2 = -62 dBm, less a tilt of half a degree off
    assert line.rsrp_dbm == pytest.approx(-62.1, abs=4.0)
    assert verdict.state is State.BOOK and verdict.reasons[0].code == "mobile_good"


def test_mobile_behind_the_sector_is_weaker_by_its_front_to_back_ratio():
    on = land()
    _, front = judge_mobile(site(on), on, (sector(azimuth_deg=180.0),), PLAN)
    _, back = judge_mobile(site(on), on, (sector(azimuth_deg=0.0),), PLAN)
    assert front.lines[0].rsrp_dbm - back.lines[0].rsrp_dbm == pytest.approx(25.0, abs=1.5)  # TR 36.814: 25 dB


def test_best_sector_of_each_operator_and_band():
    on = land()
    sectors = (
        sector(),
        replace(sector(), name="2", re_eirp_dbm=20.0),
        sector(operator="Redstart", frequency_mhz=816.0),  # beside, not on the same carrier
        sector(band="1800", frequency_mhz=1840.0),
    )
    _, finding = judge_mobile(site(on), on, sectors, PLAN)
    assert [(line.sector.operator, line.sector.band, line.sector.name) for line in finding.lines] == [
        ("Plover", "800", "1"), ("Redstart", "800", "1"), ("Plover", "1800", "1"),
    ]  # fmt: skip


def test_mobile_hopeless_and_between():
    on = land()
    hopeless, _ = judge_mobile(site(on), on, (sector(re_eirp_dbm=-60.0),), PLAN)
    assert hopeless.state is State.NOT_FEASIBLE and hopeless.reasons[0].code == "mobile_none"
    between, _ = judge_mobile(site(on), on, (sector(re_eirp_dbm=-10.0),), PLAN)
    assert between.state is State.SURVEY_FIRST
    assert between.ask is not None and between.ask.code == "ask_phone_signal"


def test_a_path_under_250_m_is_worked_too():
    on = land()
    verdict, finding = judge_mobile(site(on), on, (sector(north_m=120.0),), PLAN)
    assert verdict.state is State.BOOK
    assert finding.lines[0].loss_db == pytest.approx(32.45 + 20 * math.log10(0.12 * 806.0), abs=3.0)


def test_an_unknown_path_to_another_sender_keeps_a_hopeless_one_from_being_the_last_word():
    on = land()
    weak, beyond = transmitter(erp_dbw=-40.0), transmitter(north_m=30_000.0, name="Beyond the map")
    verdict, _ = judge_tv(site(on), on, (weak,), PLAN)
    assert verdict.state is State.NOT_FEASIBLE
    verdict, _ = judge_tv(site(on), on, (weak, beyond), PLAN)
    assert verdict.state is State.SURVEY_FIRST and "tv_unknown_path" in [reason.code for reason in verdict.reasons]
    # free space over 30 km at 498 MHz and -40 dBW: 32 dBuV/m at 1 kW and 30 km less 70 dB, and 6 dB: far under any minimum field
    hopeless = transmitter(north_m=30_000.0, name="Beyond the map", erp_dbw=-40.0)
    for senders in ((weak, hopeless), (hopeless,)):
        verdict, _ = judge_tv(site(on), on, senders, PLAN)
        assert verdict.state is State.NOT_FEASIBLE
        assert "tv_unknown_path" in [reason.code for reason in verdict.reasons]  # said all the same


def test_an_unknown_path_to_another_site_keeps_mobile_open_unless_free_space_rules_it_out():
    on = land()
    weak = sector(re_eirp_dbm=-60.0)
    beyond = replace(sector(north_m=20_000.0), site="Beyond")
    verdict, _ = judge_mobile(site(on), on, (weak, beyond), PLAN)
    assert verdict.state is State.SURVEY_FIRST and "mobile_unknown_path" in [reason.code for reason in verdict.reasons]
    hopeless = replace(beyond, re_eirp_dbm=-60.0)
    verdict, _ = judge_mobile(site(on), on, (weak, hopeless), PLAN)
    assert verdict.state is State.NOT_FEASIBLE
    not_sold = PLAN.model_copy(update={"mobile": PLAN.mobile.model_copy(update={"operators_sold": ("Plover",)})})
    verdict, _ = judge_mobile(site(on), on, (weak, replace(beyond, operator="Redstart")), not_sold)
    assert verdict.state is State.NOT_FEASIBLE
