"""Maps of the area in a real browser: what is drawn is what is said, and both are what the findings hold."""

import numpy as np
import pytest
import ready_overlays as ready

from siteplan.report import map_page
from siteplan.report.map_overlays import CIVIDIS
from siteplan.words.place import WORDS

pytestmark = pytest.mark.browser
KEYS = [f"area-{one.name}" for one in ready.overlays()]
SEEN = ("here: clear", "here: partly", "here: blocked")
SHORT, SPARE = "here: 10 dB short", "here: 10 dB to spare"
WEST_RSRP, EAST_RSRP = "here: −110 dBm, 10 dB under what is wanted", "here: −90 dBm, 10 dB over what is wanted"
CUT = (
    "[...document.querySelectorAll('.legend p:not([hidden]) *')].filter(e => { const r = e.getBoundingClientRect();"
    " return r.width > 1 && (r.left < 0 || r.right > innerWidth) }).map(e => e.textContent)"
)
ROW = """([x, y, n]) => { const c = document.querySelector('.leaflet-values-pane canvas'), r = c.getBoundingClientRect();
    const k = c.width / r.width;
    const copy = document.createElement('canvas'), g = copy.getContext('2d'); copy.width = n; copy.height = 1;
    g.drawImage(c, (x - r.left) * k, (y - r.top) * k, n * k, 1, 0, 0, n, 1); return [...g.getImageData(0, 0, n, 1).data] }"""
MIDDLE = f"{(ready.SOUTH + ready.NORTH) / 2:.7f},{(ready.WEST + ready.EAST) / 2:.7f},15.5"


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    out = tmp_path_factory.mktemp("area")
    (out / "area.html").write_text(map_page.page(ready.area_alone()), encoding="utf-8")
    (out / "map.html").write_text(map_page.page(ready.with_rows()), encoding="utf-8")
    return out


def drawn(page, key):
    page.wait_for_selector(f'html[data-values="{key}"]', state="attached")


def spot(page, quarter):
    """Return the middle of one quarter of the pictures on the screen: 0 north-west, 1 north-east, 2 south-west, 3 south-east."""
    lat = ready.SOUTH + (ready.NORTH - ready.SOUTH) * (0.75 if quarter < 2 else 0.25)
    lon = ready.WEST + (ready.EAST - ready.WEST) * (0.25 if quarter % 2 == 0 else 0.75)
    box = page.locator("#map").bounding_box()
    here = page.evaluate("location.hash").split("at=")[1].split(",")
    scale = 256 * 2 ** float(here[2]) / 360.0

    def mercator(lat_deg):
        return np.degrees(np.arcsinh(np.tan(np.radians(lat_deg))))

    x = box["x"] + box["width"] / 2 + (lon - float(here[1])) * scale
    y = box["y"] + box["height"] / 2 - (mercator(lat) - mercator(float(here[0]))) * scale
    return x, y


def patch(page, quarter, side=48):
    """Return the painted pixels round the middle of one quarter, RGBA, from the layer of the area's maps alone."""
    x, y = spot(page, quarter)
    flat = page.evaluate(
        """([x, y, n]) => { const c = document.querySelector('.leaflet-values-pane canvas'), r = c.getBoundingClientRect();
            const k = c.width / r.width;
            const copy = document.createElement('canvas'), g = copy.getContext('2d'); copy.width = copy.height = n;
            g.drawImage(c, (x - r.left) * k - n / 2, (y - r.top) * k - n / 2, n, n, 0, 0, n, n);
            return [...g.getImageData(0, 0, n, n).data] }""",
        [x, y, side],
    )
    return np.array(flat, float).reshape(side, side, 4)


def test_clear_is_untinted_partly_sparse_blocked_dense_unknown_hatched(opened, pages):
    with opened(f"area.html#q=area-sees-1&at={MIDDLE}", base=pages) as page:
        drawn(page, "area-sees-1")
        clear, partly, blocked, unknown = (patch(page, quarter) for quarter in range(4))
    share = [float((part[..., 3] > 60).mean()) for part in (clear, partly, blocked, unknown)]
    assert share[0] == 0.0 and 0.01 < share[1] < 0.15 < share[2] < 0.7 and share[3] > 0.95
    dark = unknown[..., :3].mean(axis=2) < 110
    assert 0.05 < dark.mean() < 0.5  # lines on a light ground


@pytest.mark.parametrize(
    ("quarter", "words"),
    [
        (0, (SEEN[0], "here: 2 of 2 seen", "mount height 3.0 m", "here: Hallow Hill", "here: 24 programmes", SHORT, WEST_RSRP)),
        (1, (SEEN[1], "here: 1 of 2 seen", "mount height 4.2 m", "here: Cairn Tor", "here: 0 programmes", SPARE, EAST_RSRP)),
        (2, (SEEN[2], "here: 0 of 2 seen", WORDS["say_none_mount"], *[WORDS["say_unknown"]] * 2, "here: 10 dB short", WEST_RSRP)),
        (3, (*[WORDS["say_unknown"]] * 3, "here: Cairn Tor", "here: 12 programmes", "here: 10 dB to spare", EAST_RSRP)),
    ],
)  # fmt: skip
def test_what_a_cell_holds_is_said_under_the_pointer_and_in_the_panel(opened, pages, quarter, words):
    with opened(f"area.html#at={MIDDLE}", base=pages) as page:
        for key, wanted in zip(KEYS, words, strict=True):
            page.select_option("#question", key)
            drawn(page, key)
            x, y = spot(page, quarter)
            page.mouse.move(x + 3, y)
            page.mouse.move(x, y)
            assert page.inner_text("#here").startswith(wanted)
        page.mouse.click(x, y)
        page.wait_for_selector(f".said dd >> nth={len(KEYS) - 1}")
        for said, wanted in zip(page.locator(".said dd").all_inner_texts(), words, strict=True):
            assert said.startswith(wanted)
        kept = page.evaluate("location.hash")
    with opened("area.html" + kept, base=pages) as page:
        page.wait_for_selector(f".said dd >> nth={len(KEYS) - 1}")
        assert page.locator(".said dd").all_inner_texts()[0].startswith(words[0])


def test_quantities_take_the_scales_own_tones_and_a_line_at_what_decides(opened, pages):
    with opened(f"area.html#q=area-tv-margin&at={MIDDLE}", base=pages) as page:
        drawn(page, "area-tv-margin")
        west, east = patch(page, 2, 12), patch(page, 3, 12)
        tones = np.array([[int(c[i : i + 2], 16) for i in (0, 2, 4)] for c in CIVIDIS], float)
        for part, share in ((west, 0.25), (east, 0.75)):  # -10 and +10 dB on a scale from -20 to 20
            assert np.abs(part[..., :3].mean(axis=(0, 1)) - tones[round(16 * share)]).max() < 14
        # along the middle row the line is darker than the tones beside it, at the middle column
        x, y = spot(page, 2)
        right, _ = spot(page, 3)
        flat = page.evaluate(ROW, [x, y, int(right - x)])
        light = np.array(flat, float).reshape(-1, 4)[:, :3].mean(axis=1)
        assert abs(int(np.argmin(light)) - len(light) / 2) < 6 and light.min() < 60
        assert page.locator('[data-question="area-tv-margin"] .at').inner_text() == "0 dB: just enough"


def test_names_differ_in_grey_and_are_written_on_the_map(opened, pages):
    with opened(f"area.html#q=area-best-terrestrial&at={MIDDLE}", base=pages) as page:
        drawn(page, "area-best-terrestrial")
        first, second, none = (patch(page, quarter) for quarter in (0, 1, 2))
        spread = [part[..., :3].mean(axis=2).std() for part in (first, second)]
        assert spread[1] > 2 * spread[0] + 5 or spread[1] > 15  # plain beside striped: told apart without colour
        assert np.abs(none[..., :3].mean(axis=(0, 1)) - second[..., :3].mean(axis=(0, 1))).max() > 10
        for key in page.locator('[data-question="area-best-terrestrial"] .key').all_inner_texts()[:2]:
            assert key in ("Hallow Hill", "Cairn Tor")


def test_on_a_map_with_rows_the_marks_answer_the_same_question(opened, pages):
    with opened("map.html", base=pages) as page:
        page.select_option("#question", "area-sees-1")
        drawn(page, "area-sees-1")
        on_area = page.locator(".filter b").all_inner_texts()
        assert page.locator(".legend p[data-question]:visible").count() == 2
        page.select_option("#question", "satellite-1")
        assert page.locator(".filter b").all_inner_texts() == on_area
        assert page.evaluate("document.documentElement.dataset.values") == ""
        assert patch(page, 2)[..., 3].max() == 0


def test_a_place_is_asked_for_by_keyboard(opened, pages):
    with opened(f"area.html#q=area-sees-1&at={MIDDLE}", base=pages) as page:
        drawn(page, "area-sees-1")
        page.focus("#map")
        page.keyboard.press("Enter")
        page.wait_for_selector(".said dd")
        assert page.locator(".said dd").first.inner_text().startswith("here: ")


@pytest.mark.parametrize("width", [360, 1440])
@pytest.mark.parametrize("dark", [False, True])
def test_every_question_fits_and_has_no_serious_fault(opened, pages, width, dark):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-playwright-python is not installed")
    with opened("area.html", base=pages, width=width, dark=dark) as page:
        for key in KEYS:
            page.select_option("#question", key)
            drawn(page, key)
            assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") <= 0
            assert page.evaluate(CUT) == []
        found = axe.Axe().run(page).response["violations"]
        assert [(v["id"], v["nodes"][0]["html"][:120]) for v in found if v["impact"] in ("serious", "critical")] == []


def test_with_scripts_off_the_page_says_where_the_maps_are(opened, pages):
    with opened("area.html", base=pages, scripts=False) as page:
        assert WORDS["off"] in page.inner_text("body")


def test_a_printed_map_says_which_question_it_answers(opened, pages):
    with opened(f"area.html#q=area-tv-margin&at={MIDDLE}", base=pages) as page:
        drawn(page, "area-tv-margin")
        assert not page.locator(".asked").first.is_visible()
        page.emulate_media(media="print")
        assert page.locator(".asked:visible").all_inner_texts() == ["How much to spare?"]
        assert patch(page, 3, 12)[..., 3].min() > 150


def test_on_a_phone_the_legend_follows_the_map_until_a_place_is_looked_at(opened, pages):
    with opened(f"area.html#q=area-sees-1&at={MIDDLE}", base=pages, width=360) as page:
        drawn(page, "area-sees-1")

        def tops():
            return [page.locator(name).bounding_box()["y"] for name in (".legend", "#panel")]

        legend, panel = tops()
        assert legend < panel
        box = page.locator("#map").bounding_box()
        page.mouse.click(box["x"] + box["width"] / 2 + 20, box["y"] + box["height"] / 2 + 20)
        page.wait_for_selector(".said dd")
        legend, panel = tops()
        assert panel < legend


def shots(page):
    """Return each swatch of the legend that is shown, as a picture 0 to 1."""
    import io

    pillow = pytest.importorskip("PIL.Image", reason="Pillow is not installed")
    found = page.locator(".legend p:not([hidden]) .swatch").all()
    pictures = [pillow.open(io.BytesIO(one.screenshot())).convert("RGB").resize((38, 18)) for one in found]
    return [np.asarray(one, float) / 255.0 for one in pictures]


def apart(one, other):
    """Return how far two swatches are apart: in their mean tone, or in how restless they are (dots, stripes), whichever is more."""
    tone = np.abs(one.mean(axis=(0, 1)) - other.mean(axis=(0, 1))).max()
    return max(tone, np.abs(one - other).mean())


@pytest.mark.parametrize("dark", [False, True])
def test_what_the_map_is_filled_with_differs_to_every_kind_of_colour_vision(opened, pages, dark):
    """Clear, partly, blocked, unknown and each name's pattern stay apart in grey print and to three kinds of eyes."""
    from colour_vision import SEEN_AS, seen_by

    looked = 0
    for key in KEYS:
        with opened(f"area.html#q={key}", base=pages, dark=dark) as page:
            drawn(page, key)
            swatches = shots(page)
        for kind in SEEN_AS:
            seen = [seen_by(kind, one) for one in swatches]
            for i in range(len(seen)):
                for j in range(i + 1, len(seen)):
                    looked += 1
                    assert apart(seen[i], seen[j]) > 0.06, (key, kind, i, j)
    assert looked > 40


def test_the_scale_rises_in_grey_as_well():
    """Cividis is read by its lightness alone: each step is lighter than the one before to every kind of eye."""
    from colour_vision import SEEN_AS, seen_by

    tones = np.array([[[int(colour[k : k + 2], 16) / 255.0 for k in (0, 2, 4)] for colour in CIVIDIS]])
    for kind in SEEN_AS:
        light = seen_by("grey", seen_by(kind, tones))[0, :, 0]
        assert (np.diff(light) > 0.004).all(), kind
