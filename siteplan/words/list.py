"""The words of the dispatcher's list."""

from __future__ import annotations

from siteplan.words.formats import SentenceFormatter
from siteplan.words.language import say

_FORMATTER = SentenceFormatter()

WORDS: dict[str, str] = {
    "title": "{name}: list",
    "heading": "What may be booked",
    "service": "Answer for",
    "find": "Find",
    "find_hint": "row, name, street or any word",
    "filters": "Show only rows in these states",
    "sort": "Order",
    "sort_list": "as in the list",
    "sort_survey": "survey first leads, likeliest first",
    "sort_book": "book leads",
    "sort_name": "by name",
    "group": "Together by",
    "group_none": "nothing: one list",
    "group_empty": "(empty)",
    "copy": "Copy",
    "copied": "{count} rows copied: they can be put into a spreadsheet or a message.",
    "copy_failed": "This browser lets no page copy. Save as CSV works without.",
    "save": "Save as CSV",
    "saved": "{count} rows saved as {file}.",
    "shown": "{shown} of {rows} rows shown",
    "none": "No row matches.",
    "more": "All services",
    "less": "Less",
    "ask": "Ask by phone: {question}",
    "sheet": "Sheet",
    "map": "On the map",
    "row": "row {row}",
    "group_count": "{count} rows",
    "list": "Addresses",
    "off": "Scripts are off: no search and no filters, but every row stands below.",
    "off_long": "Scripts are off, and {rows} rows are too many for a plain page. The same list with all reasons is in verdicts.xlsx and verdicts.csv.",
    "col_row": "row",
    "col_name": "name",
    "col_job": "job",
    "col_why": "{service}, why",
    "col_ask": "ask by phone",
}


def list_text(code: str, **values: object) -> str:
    """Return one text of the list, its values put in. Raises KeyError for a code there is no text for."""
    return _FORMATTER.format(WORDS[code], **values) if values else say(WORDS[code])
