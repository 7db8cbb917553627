"""The plot, the sun and one dish for several on a sheet, from findings judged on hand-made land."""

import math
import re
from dataclasses import replace
from datetime import date

import pytest
from hand_ground import LAT, LON, layer, plan, satellite, wall

from siteplan.records.findings import AddressFinding, Findings
from siteplan.records.ground import Surface
from siteplan.records.places import Address, AddressList, AddressRow
from siteplan.records.verdict import SERVICES, Reason, State, Verdict
from siteplan.report import plot_plan, sheet_page, sheet_spot, sheet_sun
from siteplan.services.satellite.judge import judge
from siteplan.services.shared.site import Land, site_of
from siteplan.terrain.view import prepare

AUTUMN = date(2026, 10, 8)


def made(wall_m=(20, 10), *, on=AUTUMN, zone="", **kit):
    land = Land(Surface((layer(*wall(*wall_m)),)), None, on)
    land = replace(land, prepared=prepare(land.surface))
    wanted = plan(search="auto")
    wanted = wanted.model_copy(update={"date": on, "timezone": zone, "kit": wanted.kit.model_copy(update=kit)})
    address = Address(2, "a", "<Middle>", LAT, LON, 1.0, True, (), "ground")
    birds = (satellite(name="<South>"), satellite(orbit_deg=21.0, name="Beside"), satellite(orbit_deg=-15.0, name="West"))
    verdict, finding = judge(site_of(address, land, wanted.mount), land, birds, wanted, pictures=True)
    none = {service: Verdict(service, State.NOT_JUDGED, (Reason("not_ordered"),)) for service in SERVICES}
    row = AddressFinding(AddressRow(2, {"name": "<Middle>"}, address), none | {"satellite": verdict}, verdict.state, satellite=finding)
    return Findings(plan=wanted, addresses=AddressList("a.csv", (), (row.row,)), rows=(row,)), row


@pytest.fixture(scope="module")
def sheet():
    return made()


def test_the_plot_is_true_to_its_scale(sheet):
    findings, row = sheet
    spots = row.satellite.spots
    assert plot_plan.scale_of(spots, row.satellite.views) == 500
    drawing = plot_plan.plot(spots, row.satellite.views, key="p", title="t")
    bar = float(re.search(r'class="pole" d="M[\d.]+ [\d.]+v4h([\d.]+)v-4"', drawing)[1])
    assert bar / 400.0 * plot_plan.SIDE_MM == pytest.approx(10.0 / 500 * 1000, abs=0.2)  # 10 m are 20 mm
    assert "10 m" in drawing and 'class="north"' in drawing and drawing.count('class="aim-dish"') == 3


def test_the_block_says_heights_moves_plan_b_and_cable(sheet):
    findings, row = sheet
    page = sheet_spot.block(findings, row, "<Middle>")
    assert "&lt;South&gt;" in page and "<South>" not in page
    for words in ("at 10 m", "2 m to the left", "Plan B", "About 6 m to where it goes in", "193 places within 8.0 m"):
        assert words in page, words


def test_the_sun_of_each_day_and_behind_the_satellite(sheet):
    findings, row = sheet
    page = sheet_sun.block(findings, row)
    aid = row.satellite.sun.aids[0]
    assert len(aid.crossings) == 15
    # due south of 15 E the sun culminates 12.6 minutes before noon in early October: 12:00 - 1 h (15 E) - 12.6 min = 10:47 UTC
    assert aid.crossings[0].utc.strftime("%H:%M") in ("10:46", "10:47", "10:48")
    assert "10:47" in page and "UTC" in page
    days = [one for one in aid.outages if one.utc.month == 10]
    assert days and min(one.separation_deg for one in days) < 0.2
    assert all(one.minutes <= 2.0 * aid.outage_within_deg / 0.25 for one in aid.outages)
    # it sinks by 0.4 degrees a day: within these days it is seen above and below the satellite
    assert {one.elevation_deg > aid.elevation_deg for one in aid.crossings} == {True, False}
    assert "only the bearing" in page and "likely clear" in page


def test_local_time_is_the_plans_own():
    _, row = made(zone="Europe/Berlin")
    one = row.satellite.sun.aids[0].crossings[0]
    assert (one.local.hour, one.local.minute) == (one.utc.hour + 2, one.utc.minute)


def test_a_wall_that_hides_the_sun_too_gives_no_crossing():
    _, row = made((14, 30), on=date(2026, 12, 21))
    assert not row.satellite.sun.aids[0].crossings and row.satellite.sun.aids[0].seldom == "below"


def test_one_dish_for_neighbours_and_a_motor_for_all():
    findings, row = made(dish_offset_deg=25.0)
    dish = row.satellite.dish
    (shared,) = dish.shared
    assert {feed.satellite for feed in shared.feeds} == {"<South>", "Beside"} and dish.alone == ("West",)
    # 6 degrees along the orbit are 6 x 42164 / 38200 = 6.6 seen from here, a little less for the slant
    assert max(feed.apart_deg for feed in shared.feeds) == pytest.approx(6.6, abs=0.15)
    turns = {line.satellite: line.motor_deg for line in dish.motor.lines}
    assert turns["West"] < turns["<South>"] < turns["Beside"] and abs(turns["<South>"]) < 1e-6
    tilt = dict(dish.tilts)["<South>"]
    assert tilt == pytest.approx(row.satellite.views[0].look.elevation_deg - 25.0)
    page = sheet_sun.block(findings, row)
    assert "&lt;South&gt;" in page and "LNBs side by side" in page and "towards the north pole" in page and math.isfinite(tilt)


def test_the_whole_sheet_holds_all_of_it(sheet):
    findings, row = sheet
    page = sheet_page.page(findings, row)
    assert page.index("Plot 1:500") < page.index("Aim without a compass") < page.index("One dish for several satellites")
    assert 'class="sun"' in page and len(page.encode()) < 300_000
