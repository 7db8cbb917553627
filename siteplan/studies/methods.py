"""What the program says of its own methods and sources: as text, as plain values."""

from __future__ import annotations

import math
from itertools import groupby
from textwrap import wrap

from siteplan.errors import InputError
from siteplan.files.plan_file import defaults_table
from siteplan.files.source_notes import source_notes
from siteplan.records.methods import Bound, MethodNote, SourceNote
from siteplan.services.shared.method_notes import method_notes
from siteplan.words import methods as words

WIDE, INDENT, SOURCES = 118, 20, "sources"


def methods_lines(only: str = "") -> list[str]:
    """Return what is said of every method, or of one, or of every source, as lines. Raises InputError for another name."""
    if only == SOURCES:
        return _source_lines(source_notes())
    picked = _picked(method_notes(), only)
    lines = [] if only else [words.text("head"), ""]
    before = ""
    for _, group in groupby(picked, key=lambda note: (id(words.METHODS[note.name]), note.bounds)):
        alike = tuple(group)
        if alike[0].kind != before and before:
            lines += [words.text("head_losses"), ""]
        before = alike[0].kind
        lines += [*_method_lines(alike), ""]
    if only:
        return lines[:-1]
    return [*lines, *wrap(words.text("left_out"), WIDE), "", *wrap(words.text("sources_hint", count=len(source_notes())), WIDE)]


def methods_values(only: str = "") -> dict[str, object]:
    """Return the same as plain values for JSON, with every source and every default of a plan where all are wanted."""
    picked = () if only == SOURCES else _picked(method_notes(), only)
    found: dict[str, object] = {"methods": [_method_values(note) for note in picked]} if picked else {}
    if only in ("", SOURCES):
        found["sources"] = [
            {"file": note.file, "name": note.name or None, "source": note.source, "checked": list(note.checked)} for note in source_notes()
        ]
        found["plan_defaults"] = [{"key": key, "what": what, "source": source} for key, _, what, source in defaults_table()]
    return found


def _picked(notes: tuple[MethodNote, ...], only: str) -> tuple[MethodNote, ...]:
    order = list(words.METHODS)
    picked = sorted((note for note in notes if only in ("", note.name)), key=lambda note: order.index(note.name))
    if not picked:
        raise InputError(words.text("unknown", name=only, names=", ".join(order)))
    return tuple(picked)


def _method_lines(alike: tuple[MethodNote, ...]) -> list[str]:
    """Return the lines of methods that differ in nothing but their names."""
    first = alike[0]
    said = words.METHODS[first.name]
    lines = [f"{note.name}: {note.label}" for note in alike]
    lines += _entry("gives", said.gives)
    if said.use:
        lines += _entry("use", said.use.format(name=first.name))
    lines += _entry("range", "; ".join(map(_bound, first.bounds)))
    lines += _entry("edition", said.edition)
    lines += _entry("equations", said.equations)
    checks = [
        words.text("check" if c.data else "check_shared", what=c.what, count=c.count, within=c.within, test=f" [{c.test}]")
        for c in said.checks
    ]
    return lines + _entry("checked", *checks) + _entry("weak", *said.weak)


def _entry(code: str, *texts: str) -> list[str]:
    """Return texts under one heading, each beginning a line of its own."""
    folded = [line for text in texts for line in wrap(text, WIDE - INDENT, break_long_words=False, break_on_hyphens=False)]
    heads = (words.HEADINGS[code], *("",) * len(folded))
    return [f"  {head:<{INDENT - 2}}{line}" for head, line in zip(heads, folded, strict=False)]


def _bound(bound: Bound) -> str:
    what = words.QUANTITIES[bound.code]
    if bound.least == bound.most:
        return words.text("bound_one", what=what, least=_number(bound.least), unit=bound.unit)
    if math.isinf(bound.most):
        return words.text("bound_from", what=what, least=_number(bound.least), unit=bound.unit)
    return words.text("bound", what=what, least=_number(bound.least), most=_number(bound.most), unit=bound.unit)


def _number(value: float) -> str:
    return f"{value:,.6g}".replace(",", " ")


def _method_values(note: MethodNote) -> dict[str, object]:
    said = words.METHODS[note.name]
    return {
        "name": note.name,
        "label": note.label,
        "kind": note.kind,
        "gives": said.gives,
        "use": said.use.format(name=note.name) or None,
        "range": [
            {"quantity": bound.code, "least": bound.least, "most": bound.most if math.isfinite(bound.most) else None, "unit": bound.unit}
            for bound in note.bounds
        ],
        "edition": said.edition,
        "equations": said.equations,
        "checked": [
            {"what": check.what, "values": check.count, "within": check.within, "test": check.test, "data": check.data or None}
            for check in said.checks
        ],
        "weaknesses": list(said.weak),
    }


def _source_lines(notes: tuple[SourceNote, ...]) -> list[str]:
    lines = [words.text("sources_head", count=len(notes))]
    for file, group in groupby(notes, key=lambda note: note.file):
        lines += ["", file]
        for note in group:
            checked = f" [{', '.join(note.checked)}]" if note.checked else ""
            lines.append(words.text("source", name=note.name or words.text("module"), source=note.source, checked=checked))
    return lines
