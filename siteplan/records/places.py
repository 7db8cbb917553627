"""Where things are: a row of the address list, an address, the spot where an antenna stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from siteplan.records.verdict import Reason


@dataclass(frozen=True, slots=True)
class Reject:
    """One row that could not be taken, and why: file, row, field, value, reason (a sentence)."""

    file: str
    row: int
    field: str
    value: str
    reason: str


@dataclass(frozen=True, slots=True)
class Address:
    """One place to judge. Position is WGS84; `wanted` is empty where every service stands alone.

    position_error_m      1 sigma, from a column, else from the decimals given, at least 5
    position_error_known  False where it was taken from the decimals
    mount                 "" (decide from the footprint), "ground", "wall", "roof" or "chimney"
    """

    row: int
    id: str
    name: str
    lat_deg: float
    lon_deg: float
    position_error_m: float = 5.0
    position_error_known: bool = False
    wanted: tuple[str, ...] = ()
    mount: str = ""


@dataclass(frozen=True, slots=True)
class AddressRow:
    """One row of the list as the user gave it. Exactly one of `address` and `reject` is set.

    row    number of the row as a spreadsheet shows it (the header is a row too)
    cells  the user's own columns, text as given, in their order
    """

    row: int
    cells: Mapping[str, str]
    address: Address | None = None
    reject: Reject | None = None


@dataclass(frozen=True, slots=True)
class AddressList:
    """All rows of one address file, in its order. `columns` are the user's column names; `notes` say what was understood.

    problem  why the whole list can't be used, "" where rows are judged one by one
    """

    file: str
    columns: tuple[str, ...]
    rows: tuple[AddressRow, ...]
    notes: tuple[Reason, ...] = ()
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Spot:
    """Where an antenna stands and how high its centre is.

    kind             "ground", "wall", "roof" or "chimney"
    ground_amsl_m    bare earth at the spot; roof_amsl_m the surface there (equal to ground where nothing stands)
    height_agl_m     antenna centre above the ground at the spot; centre_amsl_m the same above sea level
    own_support_m    surface cells nearer than this are the mount's own support and do not block it (0: none ignored)
    facade_deg       outward normal of the wall it hangs on, true bearing; NaN where it does not hang on a wall
    snapped_m        how far the point was moved to reach its building; 0 where it was not
    """

    kind: str
    lat_deg: float
    lon_deg: float
    ground_amsl_m: float
    roof_amsl_m: float
    height_agl_m: float
    centre_amsl_m: float
    own_support_m: float = 0.0
    facade_deg: float = float("nan")
    snapped_m: float = 0.0
    notes: tuple[Reason, ...] = field(default=())
