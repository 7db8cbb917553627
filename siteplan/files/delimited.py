"""Text tables: commas, semicolons, tabs or bars between cells; UTF-8, UTF-16 or a Windows code page."""

from __future__ import annotations

import codecs
import csv
import io
from collections import Counter
from pathlib import Path

from siteplan.errors import TableError, told
from siteplan.files.rawtable import RawRow, RawTable, trimmed
from siteplan.records.verdict import Reason

DELIMITERS = (";", ",", "\t", "|")
LARGEST_BYTES = 200_000_000
_LONGEST_CELL = 1_000_000
_BREAKS_IN_A_CELL = 50  # more line breaks in one cell mean a quotation mark that was never closed
_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF32_LE, "utf-32"), (codecs.BOM_UTF32_BE, "utf-32"), (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)  # fmt: skip


def read_delimited(path: Path) -> tuple[RawTable, ...]:
    """Return the ways a text table can be read, one a delimiter, the most regular first.

    Rows are numbered as a spreadsheet shows them: a line break inside quotation marks does not count, an empty line does; a first line
    "sep=;" is an instruction and no row. Raises TableError: not text, empty, a quotation mark never closed.
    """
    text, notes = decoded(path)
    if not text.strip():
        raise TableError(told("this file is empty; name a table with a heading row and one row for each address or sender"), file=path.name)
    first = text.split("\n", 1)[0].strip().strip('"').lower()
    if first.startswith("sep=") and len(first) == 5:
        return (_parsed(path, text.split("\n", 1)[1] if "\n" in text else "", first[4], notes),)
    tables = [_parsed(path, text, delimiter, notes) for delimiter in DELIMITERS if delimiter in text]
    if not tables:
        return (_parsed(path, text, "\t", notes),)
    tables.sort(key=lambda table: -_regularity(table))
    return (*tables, _lines_as_cells(text, notes))


def decoded(path: Path) -> tuple[str, tuple[Reason, ...]]:
    """Return the text of a file, and a note where the encoding had to be guessed.

    A byte-order mark decides; else UTF-16 where every other byte is zero; else UTF-8; else the Windows code page that makes the better
    text: 1252 (western), or 1250 (central European) where 1252 would give letters that no western word holds.
    Raises TableError: can't be read, or is not text.
    """
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise TableError(told("larger than {largest_bytes} MB; split it", largest_bytes=LARGEST_BYTES // 1_000_000), file=path.name)
        raw = path.read_bytes()
    except OSError as wrong:
        raise TableError(told("this file can't be read ({strerror})", strerror=wrong.strerror or wrong), file=path.name) from None
    for mark, name in _BOMS:
        if raw.startswith(mark):
            return _decode(path, raw, name), ()
    head = raw[:4000]
    if head and head.count(0):
        zeros = (head[::2].count(0), head[1::2].count(0))
        if max(zeros) > len(head) // 8 and min(zeros) <= max(zeros) // 8:
            return _decode(path, raw, "utf-16-be" if zeros[0] > zeros[1] else "utf-16-le"), ()
        raise TableError(told("this is not a text table; save it as CSV or XLSX"), file=path.name)
    try:
        return raw.decode("utf-8"), ()
    except UnicodeDecodeError:
        pass
    name = "cp1250" if _central_european(raw) else "cp1252"
    note = Reason("encoding_taken", {"file": path.name, "encoding": "Windows-" + name[2:]})
    return raw.decode(name, errors="replace").replace("\x00", ""), (note,)


def _decode(path: Path, raw: bytes, name: str) -> str:
    try:
        return raw.decode(name)
    except UnicodeDecodeError:
        raise TableError(
            told("starts as {name} text but does not go on so; save it as CSV in UTF-8", name=name.upper()), file=path.name
        ) from None


def _central_european(raw: bytes) -> bool:
    """Return whether bytes that are signs in code page 1252 but letters in 1250 stand inside words (ł ś ź ż ą ę ...)."""
    western = raw.decode("cp1252", errors="replace")
    signs = Counter()
    for before, sign, after in zip(western, western[1:], western[2:], strict=False):
        if sign in "³¹¿œŸŒ¯£¥¼¾æêñ" and before.isalpha() and (after.isalpha() or after in " ,;\t\n\r"):
            signs[sign in "³¹¿œŸŒ¯£¥¼¾"] += 1
    return signs[True] > 0


def _parsed(path: Path, text: str, delimiter: str, notes: tuple[Reason, ...]) -> RawTable:
    rows: list[RawRow] = []
    csv.field_size_limit(_LONGEST_CELL)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    number = 0
    try:
        for number, cells in enumerate(reader, 1):
            for cell in cells:
                if cell.count("\n") > _BREAKS_IN_A_CELL:
                    raise _never_closed(path, number)
            rows.append(RawRow(number, tuple(cells)))
    except csv.Error:
        raise _never_closed(path, number + 1) from None
    kept, empty = trimmed(rows)
    return RawTable(kept, empty=empty, notes=notes)


def _never_closed(path: Path, row: int) -> TableError:
    return TableError(told('a quotation mark (") is opened here and never closed; close it or take it out'), file=path.name, row=row)


def _lines_as_cells(text: str, notes: tuple[Reason, ...]) -> RawTable:
    """Return the text as a table of one column: for lists of "47.1, 11.2" under one heading."""
    rows = [RawRow(number, (line.strip().strip('"'),)) for number, line in enumerate(text.splitlines(), 1)]
    kept, empty = trimmed(rows)
    return RawTable(kept, empty=empty, notes=notes)


def _regularity(table: RawTable) -> float:
    """Return the share of rows with the commonest number of cells (above 1), and a little for more cells."""
    lengths = Counter(len(row.cells) for row in table.rows[:200] if len(row.cells) > 1)
    if not lengths:
        return 0.0
    cells, count = max(lengths.items(), key=lambda item: (item[1], item[0]))
    return count / max(1, len(table.rows[:200])) + min(cells, 50) * 1e-3
