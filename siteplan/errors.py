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
"""

from __future__ import annotations


class SiteplanError(Exception):
    """Base of all errors that are meant for a person."""

    exit_code = 1


class InputError(SiteplanError, ValueError):
    """We were given something wrong."""

    exit_code = 3


class TableError(InputError):
    """A table, or one cell of it, can't be used; carries the facts as attributes."""

    def __init__(
        self, message: str, *, file: str = "", row: int | None = None, field: str = "", value: str = "", allowed: str = ""
    ) -> None:
        self.file, self.row, self.field, self.value, self.allowed = file, row, field, value, allowed
        where = ", ".join(part for part in (file, f"row {row}" if row is not None else "", f"column {field}" if field else "") if part)
        text = f"{where}: {message}" if where else message
        if value:
            text += f" (it says {value!r})"
        if allowed:
            text += f". Allowed: {allowed}"
        super().__init__(text)


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
        where = ", ".join(part for part in (file, f"line {line}" if line is not None else "", f"key {key}" if key else "") if part)
        text = f"{where}: {message}" if where else message
        if value:
            text += f" (it says {value})"
        if allowed:
            text += f". Allowed: {allowed}"
        super().__init__(text)


class MethodRangeError(SiteplanError, ValueError):
    """The whole question lies outside the range a method was published for."""

    exit_code = 3


class OutputError(SiteplanError, OSError):
    """A result can't be written, or would overwrite something that is not ours."""

    exit_code = 4


class MissingLibraryError(SiteplanError, ImportError):
    """A library of an optional extra is not installed."""

    exit_code = 5
