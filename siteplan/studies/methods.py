"""What the program says of its own methods and sources: as text, as plain values."""

from __future__ import annotations

import math
from dataclasses import asdict
from itertools import groupby
from textwrap import wrap

from siteplan.errors import InputError
from siteplan.files.plan_file import defaults_table
from siteplan.files.source_notes import source_notes
from siteplan.records.methods import MethodNote, SourceNote
from siteplan.services.shared.method_notes import method_notes
from siteplan.words import diagnosis
from siteplan.words import methods as words

WIDE, INDENT, SOURCES, READINGS = 118, 20, "sources", "readings"


def methods_lines(only: str = "") -> list[str]:
    """Return what is said of every method, of one, of every source, or of the rules about readings, as lines.

    Raises InputError for another name.
    """
    if only == SOURCES:
        return _source_lines(source_notes())
    if only == READINGS:
        return [line for text in diagnosis.lines() for line in wrap(text, WIDE, subsequent_indent="  ")]
    picked = _picked(method_notes(), only)
    lines = [] if only else [words.line("head"), ""]
    before = ""
    for group in words.alike(picked):
        if group[0].kind != before and before:
            lines += [words.line("head_losses"), ""]
        before = group[0].kind
        lines += [f"{note.name}: {note.label}" for note in group]
        lines += [line for code, texts in words.entries(group[0]) for line in _entry(code, *texts)]
        lines.append("")
    if only:
        return lines[:-1]
    return [*lines, *wrap(words.text("left_out"), WIDE), "", *wrap(words.line("sources_hint", count=len(source_notes())), WIDE)]


def methods_values(only: str = "") -> dict[str, object]:
    """Return the same as plain values for JSON, with every source and every default of a plan where all are wanted."""
    if only == READINGS:
        return {"readings": diagnosis.lines()}
    picked = () if only == SOURCES else _picked(method_notes(), only)
    found: dict[str, object] = {"methods": [_method_values(note) for note in picked]} if picked else {}
    if only in ("", SOURCES):
        found["sources"] = [
            {"file": note.file, "name": note.name or None, "source": note.source, "checked": list(note.checked)} for note in source_notes()
        ]
        found["plan_defaults"] = [{"key": key, "what": what, "source": source} for key, _, what, source in defaults_table()]
    return found


def _picked(notes: tuple[MethodNote, ...], only: str) -> tuple[MethodNote, ...]:
    picked = tuple(note for group in words.alike(notes) for note in group if only in ("", note.name))
    if not picked:
        raise InputError(words.line("unknown", name=only, names=", ".join(words.METHODS)))
    return picked


def _entry(code: str, *texts: str) -> list[str]:
    """Return texts under one heading, each beginning a line of its own."""
    folded = [line for text in texts for line in wrap(text, WIDE - INDENT, break_long_words=False, break_on_hyphens=False)]
    heads = (words.HEADINGS[code], *("",) * len(folded))
    return [f"  {head:<{INDENT - 2}}{line}" for head, line in zip(heads, folded, strict=False)]


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
        "measured": [asdict(found) for found in said.measured],
        "weaknesses": list(said.weak),
    }


def _source_lines(notes: tuple[SourceNote, ...]) -> list[str]:
    lines = [words.line("sources_head", count=len(notes))]
    for file, group in groupby(notes, key=lambda note: note.file):
        lines += ["", file]
        for note in group:
            checked = f" [{', '.join(note.checked)}]" if note.checked else ""
            lines.append(words.line("source", name=note.name or words.text("module"), source=note.source, checked=checked))
    return lines
