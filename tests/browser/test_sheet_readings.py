"""The phone's boxes on a sheet: typed values survive a reload, and "Save readings" writes a CSV that siteplan itself reads back."""

import math
from dataclasses import replace

import pytest
import ready_findings as ready

from siteplan.files.equipment import read_parts
from siteplan.files.readings import read_readings
from siteplan.records.readings import PORT, ROUTER, Expected
from siteplan.report import sheet_page
from siteplan.services.outlets.compare import compare, meaning
from siteplan.services.outlets.expectation import expected_of
from siteplan.services.outlets.judge import work

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    run = ready.findings()
    parts, _ = read_parts()
    made = [replace(row, outlets=work(row, run.plan, parts, outlet_count=1)) for row in run.rows if row.row.address]
    made = [replace(row, expected=expected_of(row)) for row in made]
    row = next(one for one in made if one.outlets and any(state.readings for state in one.outlets.outlets))
    path = tmp_path_factory.mktemp("sheet") / "sheet.html"
    path.write_text(sheet_page.page(run, row), encoding="utf-8")
    return path, row


@pytest.mark.parametrize("width", [360, 1440])
def test_saved_readings_come_back_as_readings(opened, sheet, tmp_path, width):
    path, row = sheet
    with opened(path.name, width=width, base=path.parent) as page:
        boxes = page.locator("tr[data-outlet='outlet 1'] input.box")
        assert boxes.count() >= 2
        page.get_by_role("button", name="Save readings").click()
        assert "Nothing is filled in" in page.locator(".save [role=status]").inner_text()
        boxes.nth(0).fill("61,5")
        boxes.nth(1).fill("14.2")
        if boxes.count() > 2:
            boxes.nth(2).fill("x")
        with page.expect_download() as waiting:
            page.get_by_role("button", name="Save readings").click()
        saved = tmp_path / "saved.csv"
        waiting.value.save_as(saved)
        assert boxes.nth(0).get_attribute("aria-label")
    readings, rejects = read_readings(saved)
    assert not rejects
    assert (readings[0].id, readings[0].level_dbuv, readings[0].cn_db, readings[0].locked) == (row.row.address.id, 61.5, 14.2, True)
    if len(readings) > 1:
        assert not readings[1].locked


@pytest.mark.parametrize("width", [360, 1440])
def test_a_carrier_that_stands_twice_is_one_reading(opened, sheet, tmp_path, width):
    path, row = sheet
    with opened(path.name, width=width, base=path.parent) as page:
        step = page.locator("li[data-carrier] input.box").first
        source, carrier = (step.locator("xpath=..").locator("xpath=..").get_attribute(f"data-{name}") for name in ("source", "carrier"))
        step.fill("15.5")
        twin = page.locator(f"tr[data-outlet=antenna][data-source='{source}'][data-carrier='{carrier}'] input.box").nth(1)
        assert twin.input_value() == "15.5"
        with page.expect_download() as waiting:
            page.get_by_role("button", name="Save readings").click()
        waiting.value.save_as(tmp_path / "saved.csv")
    readings, rejects = read_readings(tmp_path / "saved.csv")
    assert not rejects and [(one.outlet, one.source, one.carrier, one.cn_db) for one in readings] == [("antenna", source, carrier, 15.5)]


def test_without_scripts_the_boxes_are_paper(opened, sheet):
    path, _ = sheet
    with opened(path.name, scripts=False, base=path.parent) as page:
        assert page.locator("span.box").count() >= 2 and page.locator("input").count() == 0
        assert not page.locator(".save").is_visible()


@pytest.mark.parametrize("width", [360, 1440])
def test_a_cell_is_saved_with_its_leads_and_identity(opened, tmp_path, width):
    """At the antenna a box for each lead; x where there is no service; the folded cells are there as well."""
    run = ready.findings()
    row = next(one for one in run.rows if one.row.address)
    address = row.row.address
    cells = tuple(
        Expected(
            id=address.id, row=2, name="x", lat_deg=47.5, lon_deg=-9.5, service="mobile", source="Corvid", outlet=outlet, carrier=name,
            line="800", rf_mhz=mhz, if_mhz=math.nan, bandwidth_mhz=10.0, modulation="LTE", level_dbuv=math.nan, level_sigma_db=5.0,
            cn_db=12.0, cn_sigma_db=2.0, threshold_db=5.0, min_dbuv=math.nan, max_dbuv=math.nan, profile="mobile, common practice",
            rsrp_dbm=-85.0, rsrq_db=-9.0, min_dbm=-100.0, channel="6200", pci="37", min_rsrq_db=-15.0,
        )
        for name, mhz in (("Tower, LTE 800", 796.0), ("Crane, LTE 1800", 1842.5), ("Kirk, LTE 800", 806.0))
        for outlet in (ROUTER, PORT)
    )  # fmt: skip
    (tmp_path / "cells.html").write_text(sheet_page.page(run, replace(row, outlets=None, expected=cells)), encoding="utf-8")
    with opened("cells.html", width=width, base=tmp_path) as page:
        page.locator(".ports details summary").click()

        def put(outlet, cell, value, text):
            page.locator(f"tr[data-outlet={outlet}][data-carrier='{cell}'] input[aria-label$='{value}']").fill(text)

        put("antenna", "Tower, LTE 800", "A", "-84")
        put("antenna", "Tower, LTE 800", "B", "-93")
        put("antenna", "Tower, LTE 800", "PCI", "211")
        put("router", "Tower, LTE 800", "RSRP", "-87")
        put("router", "Tower, LTE 800", "RSRQ", "-11")
        put("router", "Kirk, LTE 800", "SINR", "x")
        with page.expect_download() as waiting:
            page.get_by_role("button", name="Save readings").click()
        waiting.value.save_as(tmp_path / "saved.csv")
    readings, rejects = read_readings(tmp_path / "saved.csv")
    assert not rejects
    compared, unknown = compare(readings, cells)
    assert not unknown and [one.expected.outlet for one in compared] == [PORT, ROUTER, ROUTER]
    assert (readings[0].rsrp_dbm, readings[0].rsrp_b_dbm, readings[0].pci) == (-84, -93, "211")
    assert [one.passes for one in compared] == [None, True, False]
    assert {"read_pair_uneven", "read_serves_other"} <= {reason.code for reason in meaning(compared)}
