"""The log file: the only place a traceback goes."""

from __future__ import annotations

import os
import sys
import tempfile
import traceback
from datetime import UTC, datetime
from pathlib import Path


def log_place() -> Path:
    """Return the log file's path: in the user's state folder where that can be written, else in a temporary folder."""
    base = os.environ.get("LOCALAPPDATA") or os.environ.get("XDG_STATE_HOME") or os.path.join(os.path.expanduser("~"), ".local", "state")
    for folder in (Path(base) / "siteplan", Path(tempfile.gettempdir()) / "siteplan"):
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with open(folder / "siteplan.log", "a", encoding="utf-8"):
                return folder / "siteplan.log"
        except OSError:
            continue
    return Path(os.devnull)


def log_bug(wrong: BaseException) -> Path:
    """Append a traceback with the command line that led to it; return where."""
    place = log_place()
    with open(place, "a", encoding="utf-8") as out:
        out.write(f"\n{datetime.now(UTC).isoformat(timespec='seconds')} {' '.join(sys.argv)}\n")
        out.write("".join(traceback.format_exception(wrong)))
    return place
