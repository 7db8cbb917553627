"""A new plan file as text: remarks, the keys that are known, and everything else that can be written, behind a #."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from siteplan.errors import OutputError, told, wording
from siteplan.files.emitters import SATELLITE_COLUMNS, SECTOR_COLUMNS
from siteplan.files.plan_file import defaults_table
from siteplan.files.transmitters import TRANSMITTER_COLUMNS
from siteplan.words import new_plan as words

WIDE = 140
_THERE = wording("{place} is there already, so it is not overwritten; nothing was changed. Rename it or name another folder")
# what a new plan calls its tables of senders: table of the plan -> (file, columns, an invented row)
SENDER_FILES: dict[str, tuple[str, tuple[str, ...], str]] = {
    "satellites": (
        "satellites.csv", SATELLITE_COLUMNS,
        "Oriel 25E,25.0,0.0,O1,10847.0,V,27500,DVB-S2,8PSK,3/4,52.0,stated,Harbour One; Harbour Two,0.25,,,61,61,1101,no,",
    ),
    "transmitters": (
        "transmitters.csv", TRANSMITTER_COLUMNS,
        "Gorse Pike,47.596144,-9.419018,,165.0,Coast A,22,8 MHz,482.0,8.0,2.0,,,h,DVB-T2 256QAM 2/3,Harbour One; Tide News,North Coast,"
        "omni,,,,0.5,,,,1/16,32k",
    ),
    "mobile": (
        "sectors.csv", SECTOR_COLUMNS,
        "Corvid,Church Tower,800-1,47.501537,-9.573727,,32.0,LTE,800,806.0,22.0,,,,,,,,30.0,7.0,65.0,9.0,,,,,,,,",
    ),
}  # fmt: skip
_REMARKS = {"satellites": words.SATELLITES, "transmitters": words.TRANSMITTERS, "mobile": words.MOBILE}


@dataclass(frozen=True)
class Block:
    """One table of the plan: remarks above it, its keys, and whether it is in use (else each of its lines stands behind a #).

    head   name of the table, "" for remarks alone
    notes  key -> remark at the end of its line; idle: keys that stand behind a # in a table that is in use
    """

    head: str
    keys: Mapping[str, object]
    remarks: Sequence[str] = ()
    used: bool = True
    notes: Mapping[str, str] = ()  # type: ignore[assignment]
    idle: Sequence[str] = ()


def plan_text(*, name: str, on_date: date, terrain: Sequence[Block], addresses: Block, senders_used: Mapping[str, bool]) -> str:
    """Return the text of a new plan.

    name          of the area, any text
    senders_used  table of senders -> whether its file holds rows
    """
    lines = [*_remark(words.HEAD), "", f"name = {toml_value(_plain(name))}", f"date = {on_date.isoformat()}   # {words.DATE}", ""]
    lines += _remark(words.TERRAIN)
    for block in terrain:
        lines += [*_block(block), ""]
    lines += [*_remark(words.ADDRESSES), *_block(addresses), ""]
    defaults = _defaults()
    for table, (file, _, example) in SENDER_FILES.items():
        keys = {"file": file} | {key: value for key, (value, _) in defaults.pop(table, {}).items()}
        if table == "satellites":
            keys = {"wanted": ["25E", "5W"]} | keys
        remark = _REMARKS[table].format(example=example)
        lines += [*_block(Block(table, keys, (remark,), senders_used[table], idle=[key for key in keys if key != "file"])), ""]
    outputs = {"folder": "outputs"} | {key: value for key, (value, _) in defaults.pop("outputs", {}).items()}
    lines += [*_block(Block("outputs", outputs, (words.OUTPUTS,), used=False)), "", *_remark(words.DEFAULTS)]
    for table, rows in defaults.items():
        keys, notes = {key: value for key, (value, _) in rows.items()}, {key: note for key, (_, note) in rows.items()}
        lines += ["", *_block(Block(table, keys, used=False, notes=notes))]
    return "\n".join(lines) + "\n"


def _defaults() -> dict[str, dict[str, tuple[object, str]]]:
    """Return table -> key -> (value, what it is and where the default comes from)."""
    out: dict[str, dict[str, tuple[object, str]]] = {}
    for dotted, value, what, source in defaults_table():
        table, key = dotted.split(".", 1)
        out.setdefault(table, {})[key] = value, f"{what} [{source}]"
    return out


def header_line(table: str) -> str:
    """Return the first (and only) line of an empty table of senders."""
    return ",".join(SENDER_FILES[table][1]) + "\n"


def toml_value(value: object) -> str:
    """Return a value as TOML writes it. Text is quoted so that nothing in it can end it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(map(toml_value, value))}]"
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{key} = {toml_value(item)}' for key, item in value.items())} }}"
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, date):
        return value.isoformat()
    return '"' + "".join(_letter(letter) for letter in str(value)) + '"'


def _letter(letter: str) -> str:
    if letter in '"\\':
        return "\\" + letter
    return letter if letter.isprintable() else f"\\U{ord(letter):08X}"


def relative(path: Path, folder: Path) -> str:
    """Return a path as seen from a folder, with forward slashes; the whole path where there is no way (another drive)."""
    try:
        return Path(os.path.relpath(path.parent.resolve() / path.name, folder.resolve())).as_posix()
    except ValueError:
        return path.absolute().as_posix()


def fits(path: Path, folder: Path) -> bool:
    """Return whether a plan in a folder, which is text in UTF-8, can hold a path."""
    text = relative(path, folder)
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return not any(ord(letter) < 32 for letter in text)


def _block(block: Block) -> list[str]:
    mark = "" if block.used else "#"
    head = f"[[{block.head}]]" if block.head == "terrain" else f"[{block.head}]"
    lines = [line for remark in block.remarks for line in _remark(remark)]
    if not block.head:
        return lines
    lines.append(mark + head)
    notes = dict(block.notes)
    for key, value in block.keys.items():
        note = f"   # {_plain(notes[key])}" if key in notes else ""
        lines.append(f"{mark or ('#' if key in block.idle else '')}{key} = {toml_value(value)}{note}")
    return lines


def _plain(text: str) -> str:
    """Return text without anything that could end its line: what files say must never become a key."""
    return "".join(letter if letter.isprintable() else " " for letter in text)


def _remark(text: str) -> list[str]:
    lines = []
    for part in text.split("\n"):
        line = "#"
        for word in _plain(part).split(" "):
            if len(line) + 1 + len(word) > WIDE and len(line) > 1:
                lines.append(line)
                line = "#"
            line += " " + word
        lines.append(line)
    return lines


def write_new(folder: Path, name: str, text: str) -> None:
    """Write a file that must not be there yet. Raises OutputError: it is there, or it can't be written."""
    place = folder / name
    try:
        with place.open("x", encoding="utf-8", newline="\n") as out:
            out.write(text)
    except FileExistsError:
        raise OutputError(told(_THERE, place=place)) from None
    except OSError as wrong:
        raise OutputError(
            told("{place}: can't be written ({strerror}); name another folder", place=place, strerror=wrong.strerror or wrong)
        ) from None


def ready_folder(folder: Path, name: str) -> None:
    """Make a folder for a new plan. Raises OutputError: it can't be made, or a plan lies in it."""
    if os.path.lexists(folder / name):
        raise OutputError(told(_THERE, place=folder / name))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as wrong:
        raise OutputError(
            told("{folder}: this can't be a folder for a plan ({strerror}); name another", folder=folder, strerror=wrong.strerror or wrong)
        ) from None
