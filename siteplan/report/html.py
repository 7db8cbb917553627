"""What every page is made of: escaping, the frame of a page, the marks of the four states. All text from files passes here."""

from __future__ import annotations

import base64
import hashlib
import html
import json
import math
import re
from collections.abc import Iterable
from functools import cache
from importlib import resources

from siteplan.records.findings import AddressFinding, Findings
from siteplan.records.verdict import State
from siteplan.words import state_word
from siteplan.words.formats import capital
from siteplan.words.formats import number as plain_number
from siteplan.words.pages import text

# Control characters, and those that turn the direction of a whole line, have no place in a page.
_UNWANTED = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\u202a-\u202e\u2066-\u2069\ufffe\uffff]")

_STATE_KEYS = {State.BOOK: "book", State.SURVEY_FIRST: "survey", State.NOT_FEASIBLE: "none", State.NOT_JUDGED: "unjudged"}

# Shapes and tones of the states: filled disc, half disc, ring with a bar, dashed empty square; dark outline, white halo.
_SYMBOLS = """<svg class="defs" width="0" height="0" aria-hidden="true" focusable="false">
<symbol id="mark-book" viewBox="0 0 24 24"><circle cx="12" cy="12" r="11" class="halo"/>
<circle cx="12" cy="12" r="8.5" class="book line"/></symbol>
<symbol id="mark-survey" viewBox="0 0 24 24"><circle cx="12" cy="12" r="11" class="halo"/>
<circle cx="12" cy="12" r="8.5" class="line blank"/>
<path d="M12 3.5a8.5 8.5 0 0 0 0 17z" class="survey line"/></symbol>
<symbol id="mark-none" viewBox="0 0 24 24"><circle cx="12" cy="12" r="11" class="halo"/><circle cx="12" cy="12" r="7.5" class="none"/>
<path d="M6.8 17.2 17.2 6.8" class="none"/></symbol>
<symbol id="mark-unjudged" viewBox="0 0 24 24"><rect x="2" y="2" width="20" height="20" class="halo"/>
<rect x="4.5" y="4.5" width="15" height="15" class="unjudged"/></symbol>
</svg>"""


def esc(value: object) -> str:
    """Return any value as text that is safe between tags and inside a quoted attribute."""
    return html.escape(_UNWANTED.sub("", str(value)), quote=True)


def own(value: object) -> str:
    """Return text that a user's file gave, escaped, and with its writing direction kept to itself."""
    return f"<bdi>{esc(value)}</bdi>"


def state_key(state: State) -> str:
    """Return the short name that styles and scripts know a state by."""
    return _STATE_KEYS[state]


def mark(state: State) -> str:
    """Return the mark of a state; the word must stand beside it."""
    return f'<svg class="mark" aria-hidden="true" focusable="false"><use href="#mark-{_STATE_KEYS[state]}"/></svg>'


def state_label(state: State) -> str:
    """Return mark and word of a state."""
    return f'<span class="state">{mark(state)}<span>{esc(capital(state_word(state)))}</span></span>'


def number(value: float, decimals: int = 0, unit: str = "") -> str:
    """Return a number with its unit, or the word for unknown."""
    if not math.isfinite(value):
        return esc(text("unknown"))
    return plain_number(value, decimals) + (f"\u00a0{esc(unit)}" if unit else "")


def script_json(value: object) -> str:
    """Return JSON that may stand inside a script element: nothing in it can end the element or start a comment."""
    dumped = json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    for char, safe in (("<", "\\u003c"), (">", "\\u003e"), ("&", "\\u0026"), ("\u2028", "\\u2028"), ("\u2029", "\\u2029")):
        dumped = dumped.replace(char, safe)
    return dumped


def place_words(*, lat_deg: float, lon_deg: float) -> str:
    """Return a place to a metre: "47.51770 N, 9.48070 W"."""
    return f"{abs(lat_deg):.5f} {'S' if lat_deg < 0 else 'N'}, {abs(lon_deg):.5f} {'W' if lon_deg < 0 else 'E'}"


def css_string(value: str) -> str:
    """Return text as a quoted CSS string that can't end early."""
    # an escape eats the space that ends it
    return '"' + "".join(f"\\{ord(c):x} " if c in '"\\<>&\n\r\t' else c for c in _UNWANTED.sub("", value)) + '"'


@cache
def asset(name: str) -> str:
    """Return a file of the assets folder as text."""
    return resources.files("siteplan.report").joinpath("assets", name).read_text(encoding="utf-8")


def place_name(row: AddressFinding) -> str:
    """Return what people call an address: its name, else its id, else the row."""
    address = row.row.address
    name = (address.name or address.id) if address is not None else ""
    return name or next((cell for cell in row.row.cells.values() if cell.strip()), "") or text("row", row=row.row.row)


def plan_name(findings: Findings) -> str:
    """Return what to call the area: the plan's own name, else its folder's."""
    return findings.plan.name or findings.plan.file.parent.name or findings.plan.file.stem


def plan_date(findings: Findings) -> str:
    """Return the date the run hangs on, "" where there is none; never the clock's."""
    if findings.plan.date is not None:
        return spoken_date(findings.plan.date.isoformat())
    return spoken_date(str(findings.made_with.get("date", "")))


def spoken_date(iso: str) -> str:
    """Return "11 June 2026" for "2026-06-11" as the language writes it; any other text as it is."""
    parts = iso.split("-")
    if len(parts) != 3 or not all(part.isdigit() for part in parts) or not 1 <= int(parts[1]) <= 12:
        return iso
    day = text("first_of_month") if parts[2] == "01" else int(parts[2])
    return text("date", day=day, month=text("months").split()[int(parts[1]) - 1], year=parts[0])


def sheet_link(findings: Findings, row: AddressFinding) -> str:
    """Return the sheet's file where this run writes it, else ""."""
    return row.sheet_file if findings.plan.outputs.sheets != "none" else ""


def page(
    title: str,
    body: str,
    *,
    styles: tuple[str, ...],
    scripts: tuple[str, ...] = (),
    data: str = "",
    light_only: bool = False,
    pictures_from: str = "",
) -> str:
    """Return a whole page as one file. No page may ask for anything from anywhere: its own policy says so to the browser.

    title    plain text
    styles   style sheets, text
    scripts  scripts, text; only these run, by their hashes: nothing else on the page can
    data     JSON from script_json, in an element with id "data", "" for none
    pictures_from   the one host, "https://host", that a plan names for pictures; "" for none
    """
    digests = [base64.b64encode(hashlib.sha256(script.encode()).digest()).decode() for script in scripts]
    hashes = " ".join(f"'sha256-{digest}'" for digest in digests)
    allowed = hashes or "'none'"
    pictures = f" {esc(pictures_from)}" if pictures_from else ""
    policy = f"default-src 'none'; img-src data:{pictures}; style-src 'unsafe-inline'; script-src {allowed}; base-uri 'none'"
    scheme = "light" if light_only else "light dark"
    tone = "light-only" if light_only else "any-light"
    parts = [
        f'<!doctype html>\n<html lang="{esc(text("language"))}" class="{tone}">\n<head>\n<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{policy}; form-action \'none\'">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f'<meta name="color-scheme" content="{scheme}">\n<meta name="referrer" content="no-referrer">\n<link rel="icon" href="data:,">',
        f"<title>{esc(title)}</title>",
        *(f"<style>\n{style}\n</style>" for style in styles),
        "</head>\n<body>",
        _SYMBOLS,
        body,
    ]
    if data:
        parts.append(f'<script type="application/json" id="data">{data}</script>')
    parts += [f"<script>{script}</script>" for script in scripts]
    return "\n".join([*parts, "</body>\n</html>\n"])


def doors(files: Iterable[str], here: str) -> str:
    """Return links to the other pages of the run that lie beside this one, "" where none does.

    files  what the run writes; here  the page that the links stand on
    """
    names = frozenset(files)
    others = [(file, words) for file, words in _DOORS if file in names and file != here]
    if not others:
        return ""
    links = "".join(f'<a href="{file}">{esc(text(words))}</a>' for file, words in others)
    return f'<nav class="doors small" aria-label="{esc(text("doors"))}">{links}</nav>'


_DOORS = (("index.html", "door_front"), ("list.html", "door_list"), ("map.html", "door_map"))
