"""Every error siteplan raises on purpose. A message says what is wrong, where, and what to do next.

SiteplanError
├── InputError (ValueError)         we were given something wrong                      exit 3
│   ├── TableError                  a cell of a table: file, row, field, value
│   ├── RasterError                 no CRS, wrong bands, two grids that do not fit
│   ├── DatumError                  heights or positions on different datums
│   └── PlanError                   a key or value in the plan file
├── MethodRangeError (ValueError)   outside the range a method was published for       exit 3
├── OutputError (OSError)           cannot write, or would overwrite                   exit 4
└── MissingLibraryError (ImportError)  names the extra to install                      exit 5

What is told here and on any floor below the words is written once, in English, as a template inside told(...): tests/catalogues.py gathers
these templates into the catalogues, and the floor of words puts itself in as the teller once another language is spoken (tell_by).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

_teller: Callable[[str, Mapping[str, object]], str] | None = None


def tell_by(teller: Callable[[str, Mapping[str, object]], str] | None) -> None:
    """Choose who words what is told from now on: a function of template and values; None: the English template itself."""
    global _teller
    _teller = teller


def told(template: str, /, **values: object) -> str:
    """Return a text for people from its English template and the values named in it, in the language spoken now."""
    if _teller is not None:
        return _teller(template, values)
    return template.format(**values) if values else template


def wording(template: str) -> str:
    """Return a template as it is: marks a text that is kept under a name and told later, for the catalogues."""
    return template


class SiteplanError(Exception):
    """Base of all errors that are meant for a person."""

    exit_code = 1


class InputError(SiteplanError, ValueError):
    """We were given something wrong."""

    exit_code = 3


def _placed(where: tuple[str, ...], message: str, value: str, allowed: str) -> str:
    """Return a message with its place in front, what stands there and what may."""
    place = ", ".join(part for part in where if part)
    text = told("{place}: {message}", place=place, message=message) if place else message
    if value:
        text += " " + told("(it says {value})", value=value)
    if allowed:
        text += ". " + told("Allowed: {allowed}", allowed=told(allowed))
    return text


class TableError(InputError):
    """A table, or one cell of it, can't be used; carries the facts as attributes."""

    def __init__(
        self, message: str, *, file: str = "", row: int | None = None, field: str = "", value: str = "", allowed: str = ""
    ) -> None:
        self.file, self.row, self.field, self.value, self.allowed = file, row, field, value, allowed
        where = (file, told("row {row}", row=row) if row is not None else "", told("column {field}", field=field) if field else "")
        super().__init__(_placed(where, message, repr(value) if value else "", allowed))


class EmptyTableError(TableError):
    """A table file without a single byte."""


class RasterError(InputError):
    """A terrain file can't be used."""


class DatumError(InputError):
    """Heights or positions lie on different datums."""


class PlanError(InputError):
    """A key or value in the plan file can't be used; carries file, line, key, value and what is allowed."""

    def __init__(self, message: str, *, file: str = "", line: int | None = None, key: str = "", value: str = "", allowed: str = "") -> None:
        self.file, self.line, self.key, self.value, self.allowed = file, line, key, value, allowed
        where = (file, told("line {line}", line=line) if line is not None else "", told("key {key}", key=key) if key else "")
        super().__init__(_placed(where, message, value, allowed))


class MethodRangeError(SiteplanError, ValueError):
    """The whole question lies outside the range a method was published for."""

    exit_code = 3


class OutputError(SiteplanError, OSError):
    """A result can't be written, or would overwrite something that is not ours."""

    exit_code = 4


class MissingLibraryError(SiteplanError, ImportError):
    """A library of an optional extra is not installed."""

    exit_code = 5
