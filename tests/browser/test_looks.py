"""What the pages look like, held against small stored pictures: a layout that falls apart is found, a word that changes is not.

The pictures are grey and about a tenth of the size. After a change that is meant, look at the page, then write them anew:
SITEPLAN_NEW_LOOKS=1 pytest tests/browser/test_looks.py. Only with the font they were drawn with (DejaVu, Debian's fonts-dejavu-core).
"""

import io
import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import ready_findings
import ready_overlays

pytestmark = pytest.mark.browser
LOOKS = Path(__file__).parent / "looks"
MEAN_MOST, FAR, FAR_MOST = 5.0, 60, 0.04  # of 255; share of pixels that are far off
SHEET = ready_findings.findings().rows[0].sheet_file
PAGES = {"front": "index.html", "sheet": SHEET, "list": "list.html", "map": "map.html#row=2", "area": "area.html#q=area-tv-margin"}


@pytest.fixture(scope="module")
def picture():
    pillow = pytest.importorskip("PIL.Image", reason="Pillow is not installed")
    finder = shutil.which("fc-match")
    font = subprocess.run([finder, "system-ui"], capture_output=True, text=True, check=False).stdout if finder else ""
    if "DejaVu" not in font:
        pytest.skip(f"pages are drawn with another font here ({font.strip() or 'unknown'}): install fonts-dejavu-core")

    def small(page, width):
        shot = pillow.open(io.BytesIO(page.screenshot())).convert("L")
        return shot.resize((width // 10, round(shot.height * (width // 10) / shot.width)), pillow.Resampling.BOX)

    return small


@pytest.fixture(scope="module")
def looked(folder):
    from siteplan.report import map_page

    (folder / "area.html").write_text(map_page.page(ready_overlays.area_alone()), encoding="utf-8")
    return folder


@pytest.mark.parametrize("width", [360, 1440])
@pytest.mark.parametrize("name", PAGES)
def test_pages_look_as_they_did(opened, looked, picture, name, width):
    from PIL import Image

    with opened(PAGES[name], base=looked, width=width) as page:
        if name == "area":
            page.wait_for_selector('html[data-values="area-tv-margin"]', state="attached")
        page.wait_for_timeout(300)
        now = picture(page, width)
    stored = LOOKS / f"{name}-{width}.png"
    if os.environ.get("SITEPLAN_NEW_LOOKS"):
        LOOKS.mkdir(exist_ok=True)
        now.save(stored, optimize=True)
    then = np.asarray(Image.open(stored), float)
    assert then.shape == np.asarray(now).shape
    off = np.abs(np.asarray(now, float) - then)
    assert off.mean() <= MEAN_MOST and (off > FAR).mean() <= FAR_MOST, (round(off.mean(), 2), round((off > FAR).mean(), 4))


@pytest.mark.parametrize("width", [360, 1440])
def test_a_layout_that_falls_apart_is_found(opened, looked, picture, width):
    from PIL import Image

    with opened(PAGES["list"], base=looked, width=width) as page:
        page.add_style_tag(content="header, #rows li { display: block !important } .filters { display: none !important }")
        now = np.asarray(picture(page, width), float)
    off = np.abs(now - np.asarray(Image.open(LOOKS / f"list-{width}.png"), float))
    assert off.mean() > MEAN_MOST or (off > FAR).mean() > FAR_MOST
