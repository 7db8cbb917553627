"""A sheet as PDF: made ready for the PDF maker, the address on every page, figures as lines, the same bytes each time."""

from __future__ import annotations

import builtins
import re

import pytest
import ready_findings as ready

from siteplan.errors import MissingLibraryError
from siteplan.report import pdf_door, sheet_page
from siteplan.report.html import place_name

RUN = ready.findings()
ROW = RUN.rows[0]
SHEET = sheet_page.page(RUN, ROW)


@pytest.fixture(scope="module")
def made():
    try:
        pdf_door.pdf_ready()
    except MissingLibraryError as error:
        pytest.skip(f"no PDF can be made here: {error}")
    return pdf_door.make_pdf(SHEET, date="2026-06-11")


@pytest.mark.quick
def test_a_page_is_made_ready():
    ready_page = pdf_door.prepared_page(SHEET, date="2026-06-11")
    assert "var(--" not in re.sub(r"@media \(prefers.*?\n\}", "", ready_page, flags=re.S)
    assert "<use" not in ready_page and "<script" not in ready_page and "<details" not in ready_page
    drawings = re.findall(r"<svg\b[^>]*>(.{7})", ready_page, re.S)
    assert len(drawings) > 5 and set(drawings) == {"<style>"}
    assert ".surface{fill: #858c92;}" in ready_page
    assert pdf_door.prepared_page(SHEET, date="2026-06-11") == ready_page


def test_the_address_stands_on_every_page(made):
    pdfium = pytest.importorskip("pypdfium2", reason="pypdfium2, which reads PDF here, is not installed")
    document = pdfium.PdfDocument(made)
    pages = [document[place].get_textpage().get_text_range() for place in range(len(document))]
    assert 2 <= len(pages) <= 4
    for place, words in enumerate(pages):
        assert place_name(ROW) in words and f"{place + 1} / {len(pages)}" in words
    # drawings are lines, not pictures
    kinds = [one.type for place in range(len(document)) for one in document[place].get_objects()]
    assert kinds.count(2) > 60 and 3 not in kinds
    assert document.get_metadata_dict()["CreationDate"].startswith("D:20260611")


def test_the_same_page_is_the_same_bytes(made):
    assert pdf_door.make_pdf(SHEET, date="2026-06-11") == made


@pytest.mark.quick
def test_nothing_but_data_is_fetched():
    with pytest.raises(ValueError, match="asks for nothing"):
        pdf_door._nothing_but_data("https://example.org/a.png")
    with pytest.raises(ValueError, match="asks for nothing"):
        pdf_door._nothing_but_data("file:///etc/hostname")


@pytest.mark.quick
def test_where_the_library_is_missing_the_error_names_what_to_install(monkeypatch):
    real = builtins.__import__

    def without(name, *rest, **more):
        if name.startswith("weasyprint"):
            raise ImportError(name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(MissingLibraryError, match=r"pip install 'siteplan\[pdf\]'") as caught:
        pdf_door.pdf_ready()
    assert caught.value.exit_code == 5
