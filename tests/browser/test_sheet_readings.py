"""The phone's boxes on a sheet: typed values survive a reload, and "Save readings" writes a CSV that siteplan itself reads back."""

from dataclasses import replace

import pytest
import ready_findings as ready

from siteplan.files.equipment import read_parts
from siteplan.files.readings import read_readings
from siteplan.report import sheet_page
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
