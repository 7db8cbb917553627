"""Progress on stderr while a run works, and the run's clock: times go nowhere but into run.json."""

from __future__ import annotations

import sys
import time
from datetime import UTC, datetime

import typer

from siteplan.errors import told


class Working:
    """A progress line that steps aside where nobody watches: every tenth part is printed where stderr is not a terminal."""

    def __init__(self, quiet: bool) -> None:
        self._quiet = quiet
        self._live = sys.stderr.isatty()
        self._what = ""
        self._shown = -1
        self._last = 0.0

    def __enter__(self) -> Working:
        return self

    def __exit__(self, *_: object) -> None:
        if self._live and self._shown >= 0 and not self._quiet:
            sys.stderr.write("\r" + " " * 60 + "\r")

    def say(self, text: str) -> None:
        """Print one line for the person who waits."""
        if not self._quiet:
            typer.echo(text, err=True)

    def step(self, what: str, done: int, total: int) -> None:
        """Show how far the work is."""
        if self._quiet or not total:
            return
        if what != self._what:
            self._what, self._shown = what, -1
        part = 10 * done // total
        if self._live and (time.monotonic() - self._last > 0.1 or done == total):
            self._last = time.monotonic()
            self._shown = part
            sys.stderr.write("\r" + told("{what}: {done} of {total}", what=what, done=done, total=total) + "   ")
            sys.stderr.flush()
        elif not self._live and part > self._shown:
            self._shown = part
            typer.echo(told("{what}: {done} of {total}", what=what, done=done, total=total), err=True)

    @staticmethod
    def now() -> datetime:
        """Return the time now, in UTC."""
        return datetime.now(UTC)
