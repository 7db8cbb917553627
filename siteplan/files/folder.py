"""The folder of results: finished files in, atomically, in the place of those that the last run.json lists and of no others."""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import tempfile
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path, PurePosixPath

from siteplan.errors import OutputError, told
from siteplan.files.verdict_columns import slug

RUN_RECORD = "run.json"
# What is being put in place, so that a run that was interrupted there does not make the next one refuse its own files.
_JOURNAL = ".siteplan-writing.json"
_STAGING = ".siteplan-new-"
UNFINISHED = ".siteplan-work-"  # pieces of work that was interrupted: ours, but no result
_NAME = re.compile(r"(?!.*(^|/)\.{1,2}(/|$))[a-z0-9._-]+(/[a-z0-9._-]+)*")

Content = bytes | str | Callable[[Path], None]


def sheet_name(row: int, text: str) -> str:
    """Return the name of an address's sheet: (17, "14 Orchard Steep") -> "sheets/0017-14-orchard-steep.html"."""
    return f"sheets/{numbered(row, text)}.html"


def numbered(row: int, text: str) -> str:
    """Return the row number and an ASCII slug, as files about one address are called: "0017-orchard-steep-14"."""
    return "-".join(part for part in (f"{row:04d}", slug(text)) if part)


def publish(
    folder: Path,
    files: Mapping[str, Content],
    run_record: Callable[[], Mapping[str, object]],
    *,
    keep: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[str, ...]:
    """Write all files of a run into a folder and return notes for people: what else lies there and was left alone.

    files       name -> bytes, text, or a function that writes to the path it is given; names of a-z, 0-9, ".", "_", "-" and "/"
    run_record  gives what run.json says once all else is made; the files and their hashes are added here; it is written last
    keep        leave what the last run.json lists and this run does not write, and go on listing it (one sheet more)
    progress    called with (done, of) while files are made

    Everything is made in a hidden folder first and then moved, file by file: a failure before that leaves all as it was, an
    interruption in the middle leaves each file either old or new. Files that the last run.json lists and this run does not
    write are removed. One run at a time for each folder.
    Raises OutputError where the folder can't be written, where a file that no run of siteplan made would be overwritten
    (nothing is touched), or where a single file is held open elsewhere (the others are new, that one is old).
    """
    for name in files:
        if not _NAME.fullmatch(name) or name in (RUN_RECORD, _JOURNAL):
            raise OutputError(told("{name!r} can't be the name of an output: use a-z, 0-9, dots, hyphens and underscores.", name=name))
    folder = _ready(folder)
    ours = _listed(folder)
    _refuse_strangers(folder, files, ours)
    staging = _staging(folder)
    try:
        written = _make(staging, files, progress)
        _put(staging / _JOURNAL, json.dumps(sorted({*ours, *files})).encode())
        os.replace(staging / _JOURNAL, folder / _JOURNAL)
        held = [name for name in files if not _move(staging / name, folder / name)]
        lines = {name: _line(name, written, held) for name in files}
        notes = []
        for name in sorted(ours - {*files, RUN_RECORD}):
            if keep and (folder / name).is_file():
                lines[name] = _kept(folder, name)
            elif not _remove(folder, name):
                notes.append(told("{name} is of an earlier run and could not be removed.", name=name))
        record = {"made_by": "siteplan", **run_record(), "files": [lines[name] for name in sorted(lines)]}
        record_bytes = json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False, default=str).encode("utf-8", "replace") + b"\n"
        _put(staging / RUN_RECORD, record_bytes)
        os.replace(staging / RUN_RECORD, folder / RUN_RECORD)
        (folder / _JOURNAL).unlink()
    except OutputError:
        raise
    except OSError as error:
        why = error.strerror or error
        raise OutputError(
            told("{folder}: can't write there ({why}). Free some room or choose another folder with --out.", folder=folder, why=why)
        ) from error
    finally:
        shutil.rmtree(staging, ignore_errors=True)
    if held:
        names = ", ".join(held)
        raise OutputError(
            told(
                "{names} in {folder} is open in another program (or protected): close it and run again. All other files there are new.",
                names=names,
                folder=folder,
            )
        )
    return (*notes, *_strangers(folder, lines))


def try_folder(folder: Path, names: Iterable[str]) -> None:
    """Raise OutputError, before any work is done, where publish would: an unwritable folder, a stranger under one of these names.

    The folder is made where it does not exist; nothing else is left in it.
    """
    folder = _ready(folder)
    _refuse_strangers(folder, names, _listed(folder))
    shutil.rmtree(_staging(folder), ignore_errors=True)


def last_record(folder: Path) -> Mapping[str, object]:
    """Return what the folder's run.json says, {} where there is none of ours."""
    try:
        read = json.loads((folder / RUN_RECORD).read_bytes())
    except (OSError, ValueError):
        return {}
    return read if isinstance(read, dict) and read.get("made_by") == "siteplan" else {}


def listed_files(folder: Path) -> tuple[str, ...]:
    """Return the names that the folder's last run.json lists, () where there is none."""
    return tuple(sorted(_listed(folder) - {RUN_RECORD})) if folder.is_dir() else ()


def _ready(folder: Path) -> Path:
    try:
        folder = folder.resolve()
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, RuntimeError) as error:
        raise OutputError(
            told("{folder}: this can't be a folder for results ({error}). Choose another with --out.", folder=folder, error=error)
        ) from error
    return folder


def _staging(folder: Path) -> Path:
    try:
        for old in folder.glob(_STAGING + "*"):  # of a run that was killed
            if old.is_dir() and not old.is_symlink():
                shutil.rmtree(old, ignore_errors=True)
        return Path(tempfile.mkdtemp(prefix=_STAGING, dir=folder))
    except OSError as error:
        raise OutputError(
            told(
                "{folder}: can't write there ({strerror}). Nothing was changed; choose another folder with --out.",
                folder=folder,
                strerror=error.strerror or error,
            )
        ) from error


def _listed(folder: Path) -> set[str]:
    record = last_record(folder)
    names = {RUN_RECORD} if record else set()  # somebody else's run.json is a stranger itself
    try:
        writing = json.loads((folder / _JOURNAL).read_bytes())
    except (OSError, ValueError):
        writing = []
    for items in (record.get("files"), writing):
        found = [item.get("file") if isinstance(item, dict) else item for item in (items if isinstance(items, list) else [])]
        # the list is data: a name that we would not write is not ours to remove
        names.update(item for item in found if isinstance(item, str) and _NAME.fullmatch(item))
    return names - {_JOURNAL}


def _refuse_strangers(folder: Path, files: Iterable[str], ours: set[str]) -> None:
    for name in (*files, RUN_RECORD):
        place = folder
        for part in PurePosixPath(name).parts[:-1]:
            place = place / part
            if place.is_symlink() or (place.exists() and not place.is_dir()):
                raise OutputError(
                    told(
                        "{place} is not a plain folder; nothing was changed. Move it away or choose another folder with --out.", place=place
                    )
                )
        target = folder / name
        if target.is_dir() and not target.is_symlink():
            raise OutputError(
                told("{target} is a folder where a file is to be; nothing was changed. Choose another folder with --out.", target=target)
            )
        if os.path.lexists(target) and name not in ours:
            raise OutputError(
                told(
                    "{target} was not made by a run of siteplan, so it is not overwritten; nothing was changed. Move it away or "
                    "choose another folder with --out.",
                    target=target,
                )
            )


def _make(staging: Path, files: Mapping[str, Content], progress: Callable[[int, int], None] | None) -> dict[str, tuple[int, str]]:
    written: dict[str, tuple[int, str]] = {}
    made: set[Path] = set()
    for number, (name, content) in enumerate(files.items(), start=1):
        path = staging / name
        if path.parent not in made:
            path.parent.mkdir(parents=True, exist_ok=True)
            made.add(path.parent)
        if callable(content):
            content(path)
        else:
            _put(path, content.encode("utf-8", "replace") if isinstance(content, str) else content)
        written[name] = _measured(path)
        if progress:
            progress(number, len(files))
    return written


def _measured(path: Path) -> tuple[int, str]:
    with path.open("rb") as file:
        return path.stat().st_size, hashlib.file_digest(file, "sha256").hexdigest()


def _put(path: Path, content: bytes) -> None:
    with path.open("wb") as file:
        file.write(content)


def _move(source: Path, target: Path) -> bool:
    """Put a finished file in its place; False where another program holds the old one open."""
    target.parent.mkdir(parents=True, exist_ok=True)
    try:
        os.replace(source, target)
    except PermissionError:
        return False
    return True


def _remove(folder: Path, name: str) -> bool:
    path = folder / name
    if any((folder / part).is_symlink() for part in PurePosixPath(name).parents):
        return False
    try:
        path.unlink(missing_ok=True)
        for parent in PurePosixPath(name).parents:
            if parent != PurePosixPath("."):
                (folder / parent).rmdir()
    except FileNotFoundError:
        return True
    except OSError:
        return not os.path.lexists(path)
    return True


def _kept(folder: Path, name: str) -> dict[str, object]:
    size, digest = _measured(folder / name)
    return {"file": name, "bytes": size, "sha256": digest}


def _line(name: str, written: Mapping[str, tuple[int, str]], held: list[str]) -> dict[str, object]:
    if name in held:
        return {"file": name, "note": told("held open by another program: the file there is of an earlier run")}
    size, digest = written[name]
    return {"file": name, "bytes": size, "sha256": digest}


def _strangers(folder: Path, files: Mapping[str, object]) -> tuple[str, ...]:
    own_folders = {str(parent) for name in files for parent in PurePosixPath(name).parents}
    names = []
    for place in sorted(own_folders):
        here = folder if place == "." else folder / place
        for entry in sorted(here.iterdir()) if here.is_dir() else ():
            name = entry.relative_to(folder).as_posix()
            if name not in files and name not in own_folders and name != RUN_RECORD and not name.startswith(UNFINISHED):
                names.append(name + ("/" if entry.is_dir() else ""))
    if not names:
        return ()
    shown = ", ".join(names[:8]) + (told(" and {names} more", names=len(names) - 8) if len(names) > 8 else "")
    return (told("Left alone in {folder}, not made by siteplan: {shown}.", folder=folder, shown=shown),)
