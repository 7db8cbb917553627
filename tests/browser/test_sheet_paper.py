"""Sheet, report of an installation and review on paper and on a phone, in a real browser."""

import re

import pytest
import ready_findings as ready

pytestmark = pytest.mark.browser
RUN = ready.findings()
SHEETS = [row.sheet_file or f"sheets/row-{row.row.row}.html" for row in RUN.rows]


@pytest.fixture(scope="module")
def pdfium():
    return pytest.importorskip("pypdfium2", reason="pypdfium2, which reads PDF here, is not installed")


@pytest.mark.parametrize("name", SHEETS)
def test_every_printed_page_names_the_address_and_its_number(opened, pdfium, name):
    with opened(name) as page:
        heading = page.inner_text("h1")
        document = pdfium.PdfDocument(page.pdf(prefer_css_page_size=True, print_background=True))
        pages = [" ".join(document[place].get_textpage().get_text_range().split()) for place in range(len(document))]
        assert 1 <= len(pages) <= 4
        for place, words in enumerate(pages):
            assert " ".join(heading.split())[:30] in words and f"{place + 1} / {len(pages)}" in words


def test_no_heading_stands_alone_at_a_foot_and_no_row_is_cut(opened, pdfium):
    with opened(SHEETS[0]) as page:
        headings = {" ".join(words.split()) for words in page.locator("h2, h3").all_inner_texts()}
        document = pdfium.PdfDocument(page.pdf(prefer_css_page_size=True, print_background=True))
        for place in range(len(document)):
            lines = [line.strip() for line in document[place].get_textpage().get_text_range().splitlines() if line.strip()]
            body = [line for line in lines if not re.fullmatch(r"\d+ / \d+", line)]
            assert body[-1] not in headings, body[-2:]


@pytest.mark.parametrize("width", [360, 1440])
def test_folds_open_and_fit(opened, width):
    with opened(SHEETS[0], width=width, scripts=False) as page:
        for fold in page.locator("summary").all():
            fold.click()
        assert page.locator("details:not([open])").count() == 0
        assert page.locator("details svg").first.is_visible()


def test_the_code_of_the_spot_is_drawn_dark_on_light(opened):
    with opened(SHEETS[0]) as page:
        box = page.locator("svg.code").bounding_box()
        assert box["width"] >= 80 and abs(box["width"] - box["height"]) < 1


def test_what_prints_grey_is_told_apart_by_shape(opened):
    with opened(SHEETS[0]) as page:
        page.emulate_media(media="print")
        page.add_style_tag(content="html { filter: grayscale(1) }")
        words = page.locator(".verdict strong").all_inner_texts()
        marks = page.locator(".verdict svg.mark use").evaluate_all("all => all.map(one => one.getAttribute('href'))")
        assert len(words) == len(marks) == 3 and len(set(map(str.lower, words))) == len(set(marks))
