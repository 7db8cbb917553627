"""How a verdict came about: one number a line, each with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass, field

from siteplan.records.verdict import Verdict


@dataclass(frozen=True, slots=True)
class Step:
    """One number (or word) on the way to a verdict.

    code    names it; its label is in siteplan.words.explain
    value   NaN or None: not known, or does not apply here
    unit    "" for words and shares
    source  standard with its equation, the file it was read from, or "common practice, no source"
    """

    code: str
    value: float | str | bool | None
    unit: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """Steps that belong together. code names the heading, subject what it is about (a satellite, a transmitter and multiplex)."""

    code: str
    steps: tuple[Step, ...]
    subject: str = ""
    service: str = ""  # "" for the address itself

    def value(self, code: str) -> float | str | bool | None:
        """Return the value of one step; KeyError where there is none."""
        return {step.code: step.value for step in self.steps}[code]


@dataclass(frozen=True, slots=True)
class PathCommand:
    """The command that gives a path's loss again from the profile file beside; loss_db is what the judge worked with."""

    subject: str
    command: str
    loss_db: float
    profile_file: str
    service: str


@dataclass(frozen=True, slots=True)
class Explained:
    """One address explained."""

    row: int
    id: str
    name: str
    plan: str
    date: str
    verdicts: dict[str, Verdict]
    sections: tuple[Section, ...]
    commands: tuple[PathCommand, ...] = ()
    folder: str = ""
    notes: tuple[str, ...] = field(default=())
