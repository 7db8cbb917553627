"""Pictures of streets only where the plan names a server, from that server alone; without one the page may ask nobody."""

from dataclasses import replace

import pytest
import ready_findings as ready

from siteplan.records.plan import MapTable
from siteplan.report import map_page

pytestmark = pytest.mark.browser
URL = "https://streets.invalid/grey/{z}/{x}/{y}.png"
RUN = replace(ready.findings(), plan=ready.plan(map=MapTable(tile_url=URL, tile_attribution="Tess Streets & Co, open data")))


def test_only_the_named_server_is_asked_and_it_is_named(chromium, tmp_path):
    place = tmp_path / "map.html"
    place.write_text(map_page.page(RUN), encoding="utf-8")
    context = chromium.new_context(viewport={"width": 1000, "height": 800})
    asked, faults = [], []
    context.route("https://**/*", lambda handler: (asked.append(handler.request.url), handler.abort()))
    page = context.new_page()
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda message: faults.append(message.text) if "Content Security" in message.text else None)
    page.goto(place.as_uri())
    page.wait_for_timeout(300)
    assert asked and all(url.startswith("https://streets.invalid/grey/") for url in asked) and faults == []
    assert "Tess Streets & Co, open data" in page.inner_text(".legend")
    # the page's own policy refuses every other host
    page.evaluate("(() => { const i = new Image(); i.src = 'https://elsewhere.invalid/x.png'; document.body.append(i); })()")
    page.wait_for_timeout(200)
    assert not any("elsewhere" in url for url in asked) and faults
    context.close()


def test_without_a_url_nothing_of_it_is_in_the_page():
    assert "https://streets" not in map_page.page(ready.findings()) and "img-src data:;" in map_page.page(ready.findings())
    assert "img-src data: https://streets.invalid;" in map_page.page(RUN)
