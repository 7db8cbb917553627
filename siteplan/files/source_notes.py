"""What the package's own code says of its sources: docstrings and the comments over constants, read from the installed files."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from siteplan.records.methods import SourceNote

PACKAGE = Path(__file__).resolve().parents[1]
_SOURCE = re.compile(r"\bSource:\s*(.+?)(?:\n\s*\n|\Z)", re.S)
_CHECKED = re.compile(r"(?:tests/[\w/]+|\btest_\w+)\.py")
# without a "Source:" clause only the physics is looked at, where a standard may be named in passing
_PHYSICS = ("radio/", "sky/", "signal_chain/", "geodesy/", "units.py", "constants.py")
_CHECKED_CLAUSE = re.compile(
    r"[.;,]?\s*(?:and\s+)?(?:[Cc]hecked(?:, every step,| by hand)?|Own checks)\s+(?:against[^.]*?\s+)?in\s+tests/.*\Z", re.S
)
# how standards are named; "from memory" and "common practice" are sources too, of the honest kind
_STANDARD = re.compile(
    r"ITU-R|\bP\.\d{3,4}|\bBT\.\d|\bBO\.\d|\bBS\.\d|\bETSI\b|\bEN \d|\b3GPP\b|\bT[RS] \d|\bGE06\b|\bRR No|\bIEC\b|\bISO\b|WGS84 ellipsoid|"
    r"World Magnetic|\bWMM|\bCFR\b|\bEBU\b|\bNREL\b|common practice|from memory|\(memory|; memory"
)  # fmt: skip


def source_notes(package: Path = PACKAGE) -> tuple[SourceNote, ...]:
    """Return one note for each function, class, module and constant that names its source, in the order of files and lines.

    package  a folder of Python files; this package where absent
    """
    notes: list[SourceNote] = []
    for file in sorted(package.rglob("*.py")):
        place = file.relative_to(package).as_posix()
        if not place.startswith(("cli/", "words/", "report/", "files/source_notes")):
            text = file.read_text(encoding="utf-8")
            notes += _notes(place, ast.parse(text), text.splitlines())
    return tuple(notes)


def _notes(place: str, tree: ast.Module, lines: list[str]) -> Iterator[SourceNote]:
    yield from _documented(place, tree, "")
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            yield from _documented(place, node, node.name)
            for inner in node.body:
                if isinstance(inner, ast.FunctionDef):
                    yield from _documented(place, inner, f"{node.name}.{inner.name}")
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            yield from _constant(place, node, lines)


def _documented(place: str, node: ast.Module | ast.ClassDef | ast.FunctionDef, name: str) -> Iterator[SourceNote]:
    text = ast.get_docstring(node) or ""
    stated = _SOURCE.search(text)
    if stated:
        said = stated[1]
    else:
        parts = re.split(r"(?<=[.;])\s+(?=[A-Z(])|\n\s*\n", text) if place.startswith(_PHYSICS) else []
        said = " ".join(part for part in parts if _STANDARD.search(part))
    if said:
        yield SourceNote(place, name, _tidy(said), tuple(dict.fromkeys(_CHECKED.findall(text))))


def _constant(place: str, node: ast.Assign | ast.AnnAssign, lines: list[str]) -> Iterator[SourceNote]:
    targets = node.targets if isinstance(node, ast.Assign) else [node.target]
    names = [part.id for target in targets for part in ast.walk(target) if isinstance(part, ast.Name)]
    above, at = [], node.lineno - 2
    while at >= 0 and lines[at].startswith("#"):
        above.insert(0, lines[at].lstrip("# "))
        at -= 1
    beside = lines[(node.end_lineno or node.lineno) - 1].partition("  # ")[2]
    said = " ".join((*above, beside)).strip()
    if names and _STANDARD.search(said):
        yield SourceNote(place, ", ".join(names), _tidy(said), tuple(dict.fromkeys(_CHECKED.findall(said))))


def _tidy(text: str) -> str:
    """Return one line without the clause that names the tests."""
    line = " ".join(text.replace("fmt: skip", "").split())
    return _CHECKED_CLAUSE.sub("", line).strip().rstrip(".;,") or line
