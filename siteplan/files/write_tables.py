"""Tables out: verdicts.csv for programs, rejects.csv, and verdicts.xlsx made for people.

verdicts.csv and rejects.csv are UTF-8 without a byte order mark, with commas, decimal points, "\\n" between rows and quotes where
needed (RFC 4180 but for the line end): what scripts read without being told anything. A spreadsheet that garbles accents there
is what verdicts.xlsx is for.
"""

from __future__ import annotations

import csv
import io
import math
import re
import zipfile
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from siteplan.errors import told
from siteplan.files.verdict_columns import Column, Value, columns_of, values_of
from siteplan.records.findings import Findings
from siteplan.records.verdict import SERVICES, State
from siteplan.words import sentences, service_word

if TYPE_CHECKING:
    from openpyxl import Workbook

REJECT_COLUMNS = ("file", "row", "field", "value", "reason")

# What a spreadsheet may take for a formula at the start of a cell, and what is a plain number all the same.
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
_PLAIN_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")
# Control characters that XML 1.0 cannot hold.
_NOT_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")

# Light tints of the four colours of the states; the word always stands in the cell.
_TINTS = {State.BOOK: "D6E8F3", State.SURVEY_FIRST: "FBEACB", State.NOT_FEASIBLE: "D9D9D9", State.NOT_JUDGED: "F5F5F5"}
_ZIP_DATE = (1980, 1, 1, 0, 0, 0)


def verdicts_csv(findings: Findings) -> bytes:
    """Return verdicts.csv: one line for each row of the input, in its order, the user's own columns first.

    Text that a spreadsheet would run as a formula gets an apostrophe in front; plain numbers (-3.5) stay as they are.
    """
    columns = columns_of(findings)
    rows = ([_cell(values[column.key], column.decimals) for column in columns] for values in values_of(findings, columns))
    return _csv([column.key for column in columns], rows)


def rejects_csv(findings: Findings) -> bytes:
    """Return rejects.csv: file, row, field, value and reason of everything that could not be taken; a heading alone where nothing was."""
    rows = ([item.file, str(item.row), item.field, item.value, item.reason] for item in findings.rejects)
    return _csv(REJECT_COLUMNS, rows)


def defused(text: str) -> str:
    """Return text with an apostrophe in front where a spreadsheet would run it as a formula; plain numbers are left alone."""
    return "'" + text if text.startswith(_FORMULA_STARTS) and not _PLAIN_NUMBER.fullmatch(text) else text


def verdicts_xlsx(findings: Findings) -> bytes:
    """Return verdicts.xlsx: the list to work from, what its columns mean, and what was not judged; the same bytes each time.

    Every cell is typed text or a number, never a formula. Times inside are the plan's date, or 1980.
    """
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    book.properties.creator = "siteplan"
    columns = columns_of(findings)
    _verdict_sheet(book, findings, columns)
    _meaning_sheet(book, columns)
    _not_judged_sheet(book, findings)
    raw = io.BytesIO()
    book.save(raw)
    day = findings.plan.date
    stamp = datetime(day.year, day.month, day.day) if day else datetime(*_ZIP_DATE)
    return _same_each_time(raw.getvalue(), stamp)


def _csv(header: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([defused(name) for name in header])
    writer.writerows([defused(cell) for cell in row] for row in rows)
    # a lone surrogate from a badly decoded file must not stop the run
    return text.getvalue().encode("utf-8", "replace")


def _cell(value: Value, decimals: int | None) -> str:
    if value is None:
        return ""
    return f"{value:.{decimals}f}" if isinstance(value, float) and decimals is not None else str(value)


class _Sheet:
    """One worksheet, written row by row, with our few styles."""

    def __init__(self, book: Workbook, title: str, *, widths: Sequence[float], frozen: str, rows: int) -> None:
        from openpyxl.cell import WriteOnlyCell
        from openpyxl.styles import Alignment, Font, PatternFill
        from openpyxl.utils import get_column_letter

        self.sheet: Any = book.create_sheet(title)
        self.sheet.freeze_panes = frozen
        for number, width in enumerate(widths, start=1):
            self.sheet.column_dimensions[get_column_letter(number)].width = width
        self.sheet.auto_filter.ref = f"A1:{get_column_letter(max(len(widths), 1))}{rows + 1}"
        self.sheet.page_setup.orientation = "landscape"
        self.sheet.page_setup.paperSize = 9  # A4
        self.sheet.print_title_rows = "1:1"
        self._make = WriteOnlyCell
        self._wrapped = Alignment(wrap_text=True, vertical="top")
        self._top = Alignment(vertical="top")
        self._bold = Font(bold=True)
        self._fills = {state: PatternFill("solid", fgColor=tint) for state, tint in _TINTS.items()}
        self._heading = PatternFill("solid", fgColor="E8EEF2")

    def head(self, titles: Sequence[str]) -> None:
        cells = []
        for title in titles:
            cell = self._text(title)
            cell.font, cell.alignment, cell.fill = self._bold, self._wrapped, self._heading
            cells.append(cell)
        self.sheet.append(cells)

    def row(self, values: Iterable[tuple[Value, int | None]]) -> None:
        cells = []
        for value, decimals in values:
            if value is None or value == "":
                cells.append(None)
            elif isinstance(value, str):
                cell = self._text(value)
                cell.alignment = self._wrapped
                if value in self._fills:
                    cell.fill = self._fills[State(value)]
                cells.append(cell)
            else:
                cell = self._make(self.sheet, value=value)
                cell.number_format = "0." + "0" * decimals if decimals else "0"
                cell.alignment = self._top
                cells.append(cell)
        self.sheet.append(cells)

    def _text(self, text: str) -> Any:
        clean = _NOT_XML.sub("\ufffd", text).encode("utf-8", "replace").decode()[:32_000]
        cell = self._make(self.sheet, value=clean)
        cell.data_type = "s"  # text whatever it begins with: never a formula, never an error code
        return cell


def _verdict_sheet(book: Workbook, findings: Findings, columns: Sequence[Column]) -> None:
    # nobody reads thirty empty columns: those that hold nothing in any row are left to verdicts.csv
    rows = list(values_of(findings, tuple(columns)))
    shown = [column for column in columns if column.given is not None or any(row[column.key] is not None for row in rows)]
    widths = [_width(column, rows) for column in shown]
    sheet = _Sheet(book, "Verdicts", widths=widths, frozen="B2", rows=len(rows))
    sheet.head([column.title for column in shown])
    for row in rows:
        sheet.row((row[column.key], column.decimals) for column in shown)


def _width(column: Column, rows: Sequence[dict[str, Value]]) -> float:
    if column.key.endswith("_reasons"):
        return 60.0
    if column.key.endswith(("_how_sure", "_ask")):
        return 36.0
    longest = max((len(str(row[column.key] or "")) for row in rows), default=0)
    return float(min(max(longest + 2, 9, math.ceil(len(column.title) / 3) + 3), 28))


def _meaning_sheet(book: Workbook, columns: Sequence[Column]) -> None:
    sheet = _Sheet(book, told("What the columns mean"), widths=(38, 38, 90), frozen="A2", rows=len(columns))
    sheet.head(("Heading here", told("Name in verdicts.csv"), told("What it is")))
    for column in columns:
        sheet.row(((column.title, None), (column.key, None), (column.meaning, None)))


def _not_judged_sheet(book: Workbook, findings: Findings) -> None:
    lines: list[tuple[Value, ...]] = []
    for finding in findings.rows:
        verdicts = [finding.verdicts[service] for service in SERVICES if finding.verdicts[service].state is State.NOT_JUDGED]
        whys: dict[str, list[str]] = {}
        for verdict in verdicts:
            whys.setdefault(sentences(verdict.reasons), []).append(service_word(verdict.service))
        name = finding.row.address.name or finding.row.address.id if finding.row.address else next(iter(finding.row.cells.values()), "")
        lines += [(findings.addresses.file, finding.row.row, name, ", ".join(services), why) for why, services in whys.items()]
    own = findings.addresses.file
    lines += [(item.file, item.row, item.value, item.field, item.reason) for item in findings.rejects if item.file != own]
    sheet = _Sheet(book, "Not judged", widths=(24, 8, 32, 34, 90), frozen="A2", rows=len(lines))
    sheet.head(("File", "Row", told("Who, or what it says"), told("Service, or column"), "Why"))
    for line in lines:
        sheet.row((value, 0) for value in line)


def _same_each_time(raw: bytes, stamp: datetime) -> bytes:
    """Write the zip again with fixed times, and fixed dates inside docProps/core.xml: the library stamps the clock into both."""
    when = f"{stamp:%Y-%m-%dT%H:%M:%S}Z".encode()
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in sorted(old.namelist(), key=lambda part: (part != "[Content_Types].xml", part)):
            body = old.read(name)
            if name == "docProps/core.xml":
                body = re.sub(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*", rb"\g<1>" + when, body)
            entry = zipfile.ZipInfo(name, _ZIP_DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o600 << 16
            new.writestr(entry, body)
    return out.getvalue()
