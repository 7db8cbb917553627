"""What the columns of every table mean: as text, as plain values, as the heading of an empty table."""

from __future__ import annotations

from collections.abc import Mapping
from textwrap import wrap

from siteplan.errors import InputError, told
from siteplan.files.beams import BEAM_COLUMNS
from siteplan.files.cell_list import COLUMNS as CELL_COLUMNS
from siteplan.files.column_names import NAMES as ADDRESS_NAMES
from siteplan.files.emitters import SATELLITE_COLUMNS, SECTOR_COLUMNS
from siteplan.files.equipment import COLUMNS as PART_COLUMNS
from siteplan.files.expected import EXPECTED_COLUMNS, KIT_COLUMNS
from siteplan.files.patterns import PATTERN_COLUMNS
from siteplan.files.reading_columns import NAMES as READING_NAMES
from siteplan.files.sector_patterns import COLUMNS as SECTOR_PATTERN_COLUMNS
from siteplan.files.transmitters import TRANSMITTER_COLUMNS
from siteplan.files.write_tables import REJECT_COLUMNS
from siteplan.records.parts import PART_KINDS
from siteplan.words import input_tables as words
from siteplan.words.columns import COLUMNS as VERDICT_COLUMNS
from siteplan.words.language import say

WIDE, SHOWN_NAMES = 118, 6
# name -> its columns, in the order they are shown
READ: dict[str, tuple[str, ...]] = {
    "addresses": tuple(ADDRESS_NAMES),
    "satellites": SATELLITE_COLUMNS,
    "beams": BEAM_COLUMNS,
    "transmitters": TRANSMITTER_COLUMNS,
    "patterns": PATTERN_COLUMNS,
    "sectors": SECTOR_COLUMNS,
    "sector_pattern": SECTOR_PATTERN_COLUMNS,
    "cell_list": CELL_COLUMNS,
    "parts": PART_COLUMNS,
    "readings": tuple(READING_NAMES),
}
WRITTEN: dict[str, tuple[str, ...]] = {
    "verdicts": tuple(VERDICT_COLUMNS),
    "expected": EXPECTED_COLUMNS,
    "kit": KIT_COLUMNS,
    "rejects": REJECT_COLUMNS,
}
_OTHER_NAMES: dict[str, Mapping[str, tuple[str, ...]]] = {"addresses": ADDRESS_NAMES, "readings": READING_NAMES}
_VALUES = {("parts", "kind"): {"kinds": ", ".join(PART_KINDS)}}


def columns_lines(table: str = "") -> list[str]:
    """Return the tables there are, or the columns of one, as lines. Raises InputError for a table that is not known."""
    if not table:
        return [
            *_tables(say(words.TEXTS["read"]), READ),
            "",
            *_tables(say(words.TEXTS["written"]), WRITTEN),
        ]
    columns = _columns(table)
    wide = min(max(map(len, columns)), 34) + 2
    lines = [*wrap(say(words.TEXTS[table]), WIDE), *(wrap(say(words.TEXTS["order"]), WIDE) if table in READ else ()), ""]
    for column in columns:
        needed = words.need(table, column)
        text = f"({needed}) {_meaning(table, column)}" if needed else _meaning(table, column)
        folded = wrap(f"{text}{_also(table, column)}", WIDE - wide, break_long_words=False, break_on_hyphens=False) or [""]
        lines += [f"{head:<{wide}}{line}".rstrip() for head, line in zip((column, *("",) * len(folded)), folded, strict=False)]
    return lines


def columns_values(table: str = "") -> dict[str, object]:
    """Return the same as plain values for JSON: every table where none is named."""
    names = (table,) if table else (*READ, *WRITTEN)
    return {
        name: {
            "what": say(words.TEXTS[name]),
            "columns": [{"column": column, "needed": _rank(name, column), "meaning": _meaning(name, column)} for column in _columns(name)],
        }
        for name in names
    }


def empty_table(table: str) -> str:
    """Return the heading of an empty table that siteplan reads, as a line of CSV. Raises InputError for another table."""
    if table not in READ:
        raise InputError(say(words.TEXTS["not_read"]).format(name=table, names=", ".join(READ)))
    columns = READ[table] if table != "addresses" else tuple(one for one in READ[table] if one not in ("x", "y", "coordinates", "crs"))
    return ",".join(columns)


def _columns(table: str) -> tuple[str, ...]:
    found = READ.get(table) or WRITTEN.get(table)
    if found is None:
        raise InputError(say(words.TEXTS["unknown"]).format(name=table, names=", ".join((*READ, *WRITTEN))))
    return found


def _tables(head: str, tables: Mapping[str, tuple[str, ...]]) -> list[str]:
    wide = max(map(len, (*READ, *WRITTEN))) + 2
    lines = wrap(head, WIDE)
    for name in tables:
        folded = wrap(say(words.TEXTS[name]), WIDE - wide - 2)
        lines += [f"  {first:<{wide}}{line}" for first, line in zip((name, *("",) * len(folded)), folded, strict=False)]
    return lines


def _meaning(table: str, column: str) -> str:
    return words.meaning(table, column, **_VALUES.get((table, column), {}))


def _also(table: str, column: str) -> str:
    """Return a few of the other names that a column is known by."""
    others = [name for name in _OTHER_NAMES.get(table, {}).get(column, ()) if name != column][:SHOWN_NAMES]
    return f" ({say(words.TEXTS['called']).format(names=', '.join(others))})" if others else ""


def _rank(table: str, column: str) -> str:
    """Return "yes", "one of several" or "no": whether a row can do without."""
    for group in words.NEEDED.get(table, ()):
        if column in group:
            return "yes" if len(group) == 1 else told("one of several")
    return "no"
