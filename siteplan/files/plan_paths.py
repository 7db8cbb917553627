"""The files that a plan names, and the language it speaks where the plan itself can't be read."""

from __future__ import annotations

import difflib
import re
from pathlib import Path, PurePath

from pydantic import BaseModel

from siteplan.errors import told
from siteplan.files.toml_lines import Trail

_LANGUAGE = re.compile(r"""^\s*(?:outputs\s*\.\s*)?language\s*=\s*["']([A-Za-z]{2})["']""", re.MULTILINE)


def stated_language(path: Path) -> str:
    """Return the language that a plan names, also where the rest of it is broken; "" where none can be found."""
    try:
        text = Path(path).read_bytes()[:1_000_000].decode("utf-8", errors="replace")
    except OSError:
        return ""
    found = _LANGUAGE.search(text)
    return found[1].lower() if found else ""


def paths(table: BaseModel, trail: Trail = ()) -> list[tuple[Trail, Path]]:
    """Return where each file or folder of a plan is named, and its path."""
    found: list[tuple[Trail, Path]] = []
    for key in type(table).model_fields:
        value = getattr(table, key)
        for number, item in enumerate(value if isinstance(value, tuple) else (value,)):
            here = (*trail, key, number) if isinstance(value, tuple) and isinstance(item, BaseModel) else (*trail, key)
            if isinstance(item, PurePath):
                found.append((here, Path(item)))
            elif isinstance(item, BaseModel):
                found += paths(item, here)
    return found


def near(path: Path) -> str:
    """Return a hint at a file that is not there: a name like it, or that its folder is missing; "" where there is none."""
    try:
        there = [item.name for item in path.parent.iterdir()]
    except OSError:
        return "" if path.parent.exists() else told(" (the folder {parent} is not there either)", parent=path.parent)
    close = difflib.get_close_matches(path.name, there, 1, 0.6)
    return told("; did you mean {near}?", near=close[0]) if close else ""
