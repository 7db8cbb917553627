"""The report of an installation and the review in a real browser: they fit, ask for nothing, print whole, and have no serious fault."""

import pytest
import ready_findings as ready

from siteplan.records.proof import Proof, Review
from siteplan.records.readings import Expected, Installation
from siteplan.report import proof_page, review_page

pytestmark = pytest.mark.browser
RUN = ready.findings()
EXPECTED = tuple(
    Expected(
        "A-1", 2, "Mill Row 3", 47.5, -9.5, "satellite", "Oriel 25E", "outlet 1", f"O{number}", "VL", 10847.0 + number, 1097.0, 27.5,
        "DVB-S2 8PSK 3/4", 65.0, 3.2, 16.0, 1.0, 9.0, 47.0, 77.0, "EN 60728-1", "book", "North",
    )
    for number in range(40)
)  # fmt: skip
DONE = Installation("A-1", 2, "Mill Row 3", True, EXPECTED, ())


@pytest.fixture(scope="module")
def reports(tmp_path_factory):
    out = tmp_path_factory.mktemp("reports")
    (out / "proof.html").write_text(proof_page.page(Proof(RUN, RUN.rows[0], DONE, (), ())), encoding="utf-8")
    (out / "review.html").write_text(review_page.page(Review((DONE,), (), False, 3.0), RUN.plan, {}), encoding="utf-8")
    return out


@pytest.mark.parametrize("width", [360, 1440])
@pytest.mark.parametrize("name", ["proof.html", "review.html"])
def test_reports_fit_and_read_without_scripts(opened, reports, name, width):
    with opened(name, base=reports, width=width, scripts=False) as page:
        assert page.locator("h1").is_visible() and len(page.inner_text("main")) > 100
    with opened(name, base=reports, width=width) as page:
        assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") <= 0


@pytest.mark.parametrize("name", ["proof.html", "review.html"])
def test_axe_finds_no_serious_fault_in_reports(opened, reports, name):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-playwright-python is not installed")
    with opened(name, base=reports) as page:
        found = axe.Axe().run(page).response["violations"]
        assert [(v["id"], v["nodes"][0]["html"][:120]) for v in found if v["impact"] in ("serious", "critical")] == []


@pytest.mark.parametrize("name", ["proof.html", "review.html"])
def test_reports_print_whole_pages(opened, reports, name):
    pdfium = pytest.importorskip("pypdfium2", reason="pypdfium2, which reads PDF here, is not installed")
    with opened(name, base=reports) as page:
        document = pdfium.PdfDocument(page.pdf(prefer_css_page_size=True, print_background=True))
        for place in range(len(document)):
            words = document[place].get_textpage().get_text_range()
            assert f"{place + 1} / {len(document)}" in words
            assert len(words.split()) > 8
