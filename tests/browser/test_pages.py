"""All pages in a real browser, network cut: nothing is asked for, nothing fails, nothing serious is wrong for people who can't see."""

import math
import re

import pytest
import ready_findings as ready

from siteplan.records.verdict import State
from siteplan.words import sentence, sentences

pytestmark = pytest.mark.browser
RUN = ready.findings()
SHEET = RUN.rows[0].sheet_file
CORNERS = " return [r.left, r.top, r.right, r.bottom] })()"
ALL = (
    "index.html", "list.html", "list.html#for=satellite&by=2", "map.html", "map.html#row=2", SHEET, RUN.rows[1].sheet_file,
    "sheets/row-8.html", "methods.html",
)  # fmt: skip


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("width", [360, 1440])
def test_page_fits_and_asks_for_nothing(opened, name, width):
    with opened(name, width=width) as page:
        page.wait_for_timeout(200)
        assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") <= 0
        small = page.evaluate(
            """[...document.querySelectorAll('button,select,input,summary,a.button')].filter(e => {
                const r = e.getBoundingClientRect(); return r.width && (r.width < 40 || r.height < 40)})
                .map(e => e.outerHTML.slice(0, 80))"""
        )
        assert small == []


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("dark", [False, True])
def test_axe_finds_no_serious_fault(opened, name, dark):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-playwright-python is not installed")
    with opened(name, dark=dark) as page:
        found = axe.Axe().run(page).response["violations"]
        assert [(v["id"], v["nodes"][0]["html"][:120]) for v in found if v["impact"] in ("serious", "critical")] == []


def test_a_name_with_a_script_in_it_is_only_a_name(opened):
    for name in ("map.html#row=4", RUN.rows[2].sheet_file, "index.html"):
        with opened(name) as page:
            page.wait_for_timeout(100)
            assert page.evaluate("window.alerted === undefined")
            assert page.locator("body script:not(#data)").count() == (2 if name.startswith("map") else 0)
            if not name.startswith("index"):
                assert ready.SCRIPT_NAME in page.inner_text("body")


# ---- sheet -------------------------------------------------------------------------------------------------------------------


def test_sheet_reads_with_scripts_off_and_stays_light(opened):
    with opened(SHEET, width=360, scripts=False, dark=True) as page:
        text = " ".join(page.inner_text("body").split())
        assert sentences(RUN.rows[0].verdicts["satellite"].reasons) in text and "Local codes" in text
        assert page.locator("svg.slim").first.is_visible() and not page.locator("svg.wide").first.is_visible()
    with opened(SHEET, dark=True) as page:
        assert page.evaluate("getComputedStyle(document.documentElement).backgroundColor") == "rgb(255, 255, 255)"
        assert page.locator("svg.wide").first.is_visible() and not page.locator("svg.slim").first.is_visible()


def test_sheet_text_is_large_enough_on_a_phone(opened):
    with opened(SHEET, width=360) as page:
        assert page.evaluate("parseFloat(getComputedStyle(document.body).fontSize)") >= 16
        # words in drawings too: their size on the screen, not in the drawing
        sizes = page.evaluate(
            """[...document.querySelectorAll('svg.slim text, .above svg text')].map(t => {
                const svg = t.ownerSVGElement, size = parseFloat(getComputedStyle(t).fontSize);
                return size * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width})"""
        )
        assert sizes and min(sizes) >= 9.5


def test_no_word_of_a_drawing_is_cut(opened):
    for width in (360, 1440):
        with opened(SHEET, width=width) as page:
            cut = page.evaluate(
                """[...document.querySelectorAll('svg.plot text')].filter(t => {
                    const s = t.ownerSVGElement.getBoundingClientRect(), r = t.getBoundingClientRect();
                    return r.width && (r.left < s.left - 1 || r.right > s.right + 1 || r.top < s.top - 1 || r.bottom > s.bottom + 1)})
                    .map(t => t.textContent)"""
            )
            assert cut == []


def test_sheet_prints_to_whole_a4_pages(opened):
    with opened(SHEET) as page:
        pdf = page.pdf(prefer_css_page_size=True, print_background=True)
        boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)
        assert 2 <= len(boxes) <= 5
        assert all(abs(float(w) - 595) < 1.5 and abs(float(h) - 842) < 1.5 for w, h in boxes)
        # at the width that is printed (A4 less two margins of 15 mm) nothing sticks out
        page.set_viewport_size({"width": 680, "height": 1000})
        page.emulate_media(media="print")
        assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") <= 0
        wide = page.evaluate(
            "[...document.querySelectorAll('table, svg.plot, code')].filter(e => e.getBoundingClientRect().right > innerWidth + 1).length"
        )
        assert wide == 0


# ---- map ---------------------------------------------------------------------------------------------------------------------


def counts(page):
    return [int(t.replace(",", "")) for t in page.locator(".filter b").all_inner_texts()]


def test_counts_follow_the_question_and_add_up(opened):
    with opened("map.html") as page:
        for key, service in (("job", None), ("satellite", "satellite"), ("terrestrial", "terrestrial"), ("mobile", "mobile")):
            page.select_option("#question", key)
            states = [row.job if service is None else row.verdicts[service].state for row in RUN.rows]
            assert counts(page) == [states.count(state) for state in State]
            assert sum(counts(page)) == len(RUN.rows)
            assert page.locator(".legend p[data-question]:visible").count() == 1


def test_counts_filter_list_and_marks(opened):
    with opened("map.html") as page:
        assert page.locator(".row-button").count() == len(RUN.rows)
        painted = pixels(page)
        page.click('.filter[data-state="survey"]')
        assert page.locator(".row-button").count() == sum(row.job is State.SURVEY_FIRST for row in RUN.rows)
        assert 0 < pixels(page) < painted
        assert page.get_attribute('.filter[data-state="book"]', "aria-pressed") == "false"
        page.click('.filter[data-state="book"]')
        wanted = sum(row.job in (State.SURVEY_FIRST, State.BOOK) for row in RUN.rows)
        assert page.locator(".row-button").count() == wanted
        page.click('.filter[data-state="survey"]')
        page.click('.filter[data-state="book"]')  # none left: all again
        assert page.locator(".row-button").count() == len(RUN.rows)


def pixels(page):
    """How much of the marks' canvas is painted."""
    return page.evaluate(
        """() => { const c = document.querySelector('.leaflet-marks-pane canvas'), copy = document.createElement('canvas');
            copy.width = c.width; copy.height = c.height;
            const g = copy.getContext('2d', { willReadFrequently: true });
            g.drawImage(c, 0, 0);
            const d = g.getImageData(0, 0, c.width, c.height).data;
            let n = 0; for (let i = 3; i < d.length; i += 4) if (d[i]) n++; return n }"""
    )


@pytest.mark.parametrize(("words", "row"), [("2", 2), ("quay lane", 3), ("ÖLGASSE", 9), ("T-10", 10), ("ropewalk", 10), ("hyperlink", 5)])
def test_a_row_is_found_by_number_name_or_street(opened, words, row):
    with opened("map.html") as page:
        page.fill("#find", words)
        page.press("#find", "Enter")
        assert f"row={row}" in page.evaluate("location.hash")
        panel = page.inner_text("#panel")
        found = next(r for r in RUN.rows if r.row.row == row)
        assert found.row.address.name in panel
        for verdict in found.verdicts.values():
            assert sentences(verdict.reasons) in panel
            assert verdict.ask is None or sentence(verdict.ask) in panel


def test_nothing_found_says_so(opened):
    with opened("map.html") as page:
        page.fill("#find", "no such street")
        assert "No row matches." in page.inner_text("#panel")
        page.fill("#find", "")
        assert page.locator(".row-button").count() == len(RUN.rows)


def test_panel_links_the_sheet_that_was_written(opened, folder):
    with opened("map.html#row=2") as page:
        link = page.get_attribute("#panel a.button", "href")
        assert link == SHEET and (folder / link).is_file()
        page.click("#panel a.button")
        page.wait_for_load_state()
        assert page.inner_text("h1") == "Ada Quill"
    with opened("map.html#row=7") as page:
        assert page.locator("#panel a").count() == 0
        assert "siteplan sheet plan.toml T-7" in page.inner_text("#panel")


def test_clicking_a_mark_opens_its_address(opened):
    with opened("map.html") as page:
        page.click(".row-button >> nth=1")
        page.click("#panel .plainlink")  # back to the list; the map stays centred on the address
        box = page.locator("#map").bounding_box()
        page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        assert page.locator("#panel .one").count() == 1
        assert "row=" in page.evaluate("location.hash")


@pytest.mark.parametrize("question, rows", [("terrestrial", "AIM"), ("mobile", "SITE")])
def test_a_wedge_runs_to_what_blocks_a_transmitter_or_a_site(opened, question, rows):
    with opened("map.html") as page:
        place = {"AIM": 14, "SITE": 15}[rows]
        data = page.evaluate("JSON.parse(document.getElementById('data').textContent).rows")
        blocked = [row[0] for row in data if len(row) > place and row[place] and len(row[place]) > 2 and row[place][2] > 0]
        free = [row[0] for row in data if len(row) > place and row[place] and len(row[place]) == 2]
    assert blocked
    with opened(f"map.html#q={question}&row={blocked[0]}") as page:
        assert page.locator("path.wedge").count() == 1
    for row in free[:1]:
        with opened(f"map.html#q={question}&row={row}") as page:
            assert page.locator("path.wedge").count() == 0


def test_map_list_and_front_page_lead_to_each_other(opened):
    with opened("list.html") as page:
        assert page.locator("nav.doors a").evaluate_all("all => all.map(one => one.getAttribute('href'))") == ["index.html", "map.html"]
    with opened("map.html") as page:
        links = page.locator("nav.doors a").evaluate_all("all => all.map(one => one.getAttribute('href'))")
        assert links == ["index.html", "list.html"]


def test_wedge_runs_from_the_spot_to_what_blocks(opened):
    view = RUN.rows[0].satellite.views[0]
    with opened("map.html#q=satellite&row=2") as page:
        box = page.evaluate("(() => { const r = document.querySelector('path.wedge').getBoundingClientRect();" + CORNERS)
        scale = page.evaluate(
            "(() => { const s = document.querySelector('.leaflet-control-scale-line');"
            " return [s.getBoundingClientRect().width, s.textContent] })()"
        )
        metres = float(scale[1].split()[0]) / scale[0]
        land = page.locator("#map").bounding_box()
        spot = (land["x"] + land["width"] / 2, land["y"] + land["height"] / 2)
        # south-east: the spot is the wedge's north-western corner, the farthest corner lies as far away as the thing stands
        assert box[0] == pytest.approx(spot[0], abs=3) and box[1] == pytest.approx(spot[1], abs=3)
        reach = math.hypot(box[2] - spot[0], box[3] - spot[1]) * metres
        assert reach == pytest.approx(view.clearance.distance_m, rel=0.12)
        assert "growth 9.1 m high, 34 m away" in page.inner_text("#map")


def land_at_centre(page, right, down):
    """How opaque the painted land is so many px right of and below the middle of the map."""
    return page.evaluate(
        """([right, down]) => { const c = document.querySelector('.leaflet-relief-pane canvas'), r = c.getBoundingClientRect();
            const m = document.querySelector('#map').getBoundingClientRect(), k = c.width / r.width;
            const x = (m.left + m.width / 2 + right - r.left) * k, y = (m.top + m.height / 2 + down - r.top) * k;
            const one = document.createElement('canvas'), g = one.getContext('2d');
            one.width = one.height = 1;
            g.drawImage(c, Math.floor(x), Math.floor(y), 1, 1, 0, 0, 1, 1);
            return g.getImageData(0, 0, 1, 1).data[3] }""",
        [right, down],
    )


@pytest.mark.parametrize("zoom", [11, 14.5, 19])
def test_pictures_of_the_land_lie_on_their_bounds(opened, zoom):
    # the middle of the map is put on a corner of the wide picture: land is painted on one side of it, nothing on the others
    wide = RUN.backdrops[0]
    corners = ((wide.north_deg, wide.west_deg, 1, 1), (wide.north_deg, wide.east_deg, -1, 1), (wide.south_deg, wide.east_deg, -1, -1))
    for lat, lon, right, down in corners:
        with opened(f"map.html#at={lat:.8f},{lon:.8f},{zoom}") as page:
            page.wait_for_function("document.documentElement.dataset.land === 'drawn'")
            assert land_at_centre(page, 2.5 * right, 2.5 * down) == 255
            assert land_at_centre(page, -2.5 * right, 2.5 * down) == 0
            assert land_at_centre(page, 2.5 * right, -2.5 * down) == 0


def test_unknown_land_lies_where_it_is_unknown(opened):
    # rows of the picture are equal steps of Web Mercator, columns of longitude: the hole's corner is column 30, row 96 of 160 x 120
    wide = RUN.backdrops[0]
    rows, cols = wide.alpha.shape

    def mercator(lat_deg):
        return math.asinh(math.tan(math.radians(lat_deg)))

    y = mercator(wide.north_deg) + (mercator(wide.south_deg) - mercator(wide.north_deg)) * 96 / rows
    lat, lon = math.degrees(math.atan(math.sinh(y))), wide.west_deg + (wide.east_deg - wide.west_deg) * 30 / cols
    half_cell = 0.5 * (wide.east_deg - wide.west_deg) / cols * 256 * 2**15 / 360
    with opened(f"map.html#at={lat:.8f},{lon:.8f},15") as page:
        page.wait_for_function("document.documentElement.dataset.land === 'drawn'")
        # half a cell away is the middle of a cell; between middles the browser blends, a px is a 64th of the way
        assert land_at_centre(page, -half_cell, half_cell) < 32
        assert min(land_at_centre(page, half_cell, half_cell), land_at_centre(page, -half_cell, -half_cell)) > 223


def test_state_is_kept_in_the_pages_own_address(opened):
    with opened("map.html") as page:
        page.select_option("#question", "mobile")
        page.click('.filter[data-state="survey"]')
        page.click(".row-button >> nth=0")
        kept = page.evaluate("location.hash")
        panel = page.inner_text("#panel")
    with opened("map.html" + kept) as page:
        assert page.input_value("#question") == "mobile"
        assert page.get_attribute('.filter[data-state="book"]', "aria-pressed") == "false"
        assert page.inner_text("#panel") == panel
        assert page.evaluate("location.hash") == kept


@pytest.mark.parametrize("wrong", ["q=nonsense&s=x,y&row=999&at=a,b,c", "at=999,999,99", "row=<script>", "%E0%A4%A"])
def test_a_wrong_address_still_opens_the_map(opened, wrong):
    with opened("map.html#" + wrong) as page:
        assert page.locator(".row-button").count() == len(RUN.rows)


def test_pointer_shows_where_it_is_and_the_ruler_measures(opened):
    with opened("map.html#at=47.52,-9.48,16") as page:
        box = page.locator("#map").bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        page.mouse.move(x, y)
        lat, lon = re.match(r"([\d.]+) N, ([\d.]+) W", page.inner_text("#here")).groups()
        assert float(lat) == pytest.approx(47.52, abs=2e-4) and float(lon) == pytest.approx(9.48, abs=2e-4)
        page.click("#measure")
        page.mouse.click(x - 100, y)
        page.mouse.click(x + 100, y)
        # 200 px at zoom 16 on WGS84: 360 / (256 * 2^16) degrees a px, one degree here is 75 323 m
        wide = 200 * 360 / (256 * 2**16) * 75_323
        got = re.match(r"(\d+) m, east", page.inner_text("#here"))
        assert got and float(got.group(1)) == pytest.approx(wide, rel=0.03)


def test_map_works_by_keyboard(opened):
    with opened("map.html") as page:
        page.focus('.filter[data-state="none"]')
        page.keyboard.press("Space")
        assert page.locator(".row-button").count() == sum(row.job is State.NOT_FEASIBLE for row in RUN.rows)
        page.focus(".row-button >> nth=0")
        page.keyboard.press("Enter")
        assert page.locator("#panel .one").count() == 1
        page.focus("#map")
        before = page.evaluate("location.hash")
        page.keyboard.press("ArrowRight")
        page.wait_for_timeout(600)
        assert page.evaluate("location.hash") != before


def test_map_without_scripts_is_a_table(opened):
    with opened("map.html", scripts=False) as page:
        assert page.locator("noscript tr, .off tr").count() >= len(RUN.rows)
        assert sentences(RUN.rows[0].verdicts["satellite"].reasons) in page.inner_text("body")


def test_ten_thousand_addresses_open_quickly(opened, tmp_path):
    from siteplan.report import map_page

    (tmp_path / "map.html").write_text(map_page.page(ready.many_findings()), encoding="utf-8")
    with opened("map.html", base=tmp_path) as page:
        seconds = page.evaluate("performance.getEntriesByType('navigation')[0].loadEventEnd / 1000")
        assert seconds < 5  # about 0.4 s alone; the rest is room for a busy machine
        assert sum(counts(page)) == 10_000
        assert page.locator(".row-button").count() == 40
        page.click("#panel > button.plainlink")
        assert page.locator(".row-button").count() == 80
        drawing = page.evaluate(
            "(() => { const t = performance.now(); document.querySelector('#farther').click(); return performance.now() - t })()"
        )
        assert drawing < 1500


def test_large_counts_and_long_labels_fit_a_phone(opened, tmp_path):
    from siteplan.report import map_page

    (tmp_path / "map.html").write_text(map_page.page(ready.many_findings(4_000)), encoding="utf-8")
    with opened("map.html", base=tmp_path, width=360) as page:
        outside = "(e => { const r = e.getBoundingClientRect(); return r.left < 15 || r.right > innerWidth - 15 })"
        assert page.evaluate(f"[...document.querySelectorAll('header > *, .filter')].filter({outside}).map(e => e.className)") == []
    with opened("map.html#q=satellite&row=2", width=360) as page:
        cut = "(e => { const r = e.getBoundingClientRect(); return r.left < 0 || r.right > innerWidth })"
        assert page.locator(".tag span").count() == 1
        assert page.evaluate(f"[...document.querySelectorAll('.tag span')].filter({cut}).length") == 0


# ---- marks -------------------------------------------------------------------------------------------------------------------


def test_the_four_marks_differ_in_grey_and_to_every_kind_of_colour_vision(opened):
    """Each mark as a picture, seen in grey and by three kinds of colour vision, differs from each other one in many pixels."""
    import io

    pillow = pytest.importorskip("PIL.Image", reason="Pillow is not installed")
    import numpy as np
    from colour_vision import SEEN_AS, seen_by

    with opened("map.html") as page:
        marks = []
        for key in ("book", "survey", "none", "unjudged"):
            shot = page.locator(f'.filter[data-state="{key}"] .mark').screenshot()
            marks.append(np.asarray(pillow.open(io.BytesIO(shot)).convert("RGB").resize((24, 24)), float) / 255.0)
    for name in SEEN_AS:
        seen = [seen_by(name, mark) for mark in marks]
        for i in range(4):
            for j in range(i + 1, 4):
                different = np.abs(seen[i] - seen[j]).max(axis=2) > 0.25
                assert different.mean() > 0.08, (name, i, j)
