"""What the program can say of its own methods: their ranges, their checks, and where every formula comes from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Bound:
    """One quantity of a method's range; least = most where it holds at one value alone. code is a key of words.methods.QUANTITIES."""

    code: str
    least: float
    most: float
    unit: str


@dataclass(frozen=True, slots=True)
class MethodNote:
    """One method: its name in a plan (path methods) or in words.methods, its label in the output, and where it holds.

    kind  "path" may be named in a plan; "loss" is added to a path or stands alone
    """

    name: str
    label: str
    kind: str
    bounds: tuple[Bound, ...]


@dataclass(frozen=True, slots=True)
class SourceNote:
    """What one piece of the code says of where it comes from: file and name in it, the source, and the tests that check it."""

    file: str
    name: str
    source: str
    checked: tuple[str, ...] = ()
