"""The address list: any table with coordinates in, every row back in its order, placed or rejected with its reason."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from siteplan.errors import EmptyTableError, InputError, PlanError, TableError, told, wording
from siteplan.files.column_names import (
    BOTH,
    ERROR,
    ID,
    LAT,
    LON,
    MOUNT,
    NAME,
    NAMES,
    STREET_NAMES,
    WANTED,
    WEAK_IDS,
    X,
    Y,
    is_known,
    recognise,
    roles_of,
)
from siteplan.files.job_words import mount_wanted, services_wanted
from siteplan.files.numbers import parse_number
from siteplan.files.positions import Position, Reading, advice, empty_faults, swapped_fault
from siteplan.files.rawtable import rows_text
from siteplan.files.tables import Row, Table, looks_like_total, read_table, squash
from siteplan.geodesy import projection
from siteplan.records.places import Address, AddressList, AddressRow, Reject
from siteplan.records.plan import Plan
from siteplan.records.verdict import Reason

# So many rows on one point are a postcode or village centre, not houses (common practice, no source), and such a centre lies this far off.
SHARED_BY_MORE_THAN, SHARED_ERROR_M = 5, 150.0
LARGEST_ERROR_M = 100_000.0
COARSE_M = 100.0  # addresses known no better than this are pointed out: no house can be judged from them
_ROLE_WORDS = {
    LAT: wording("latitude"), LON: wording("longitude"), X: wording("easting (x)"), Y: wording("northing (y)"), ID: "id",
    NAME: wording("name"), BOTH: wording("both coordinates"), WANTED: wording("services wanted"), MOUNT: wording("mount"),
    ERROR: wording("position error in metres"),
}  # fmt: skip

# Columns that hold postcodes, as squash() writes them.
POSTCODE_NAMES = frozenset(
    ("plz", "postleitzahl", "postcode", "postalcode", "zip", "zipcode", "codepostal", "cap", "codigopostal", "postnr", "postnummer", "psc")
)

Covered = Callable[[np.ndarray, np.ndarray], np.ndarray] | tuple[float, float, float, float]


def read_addresses(plan: Plan, ground_crs: str | Sequence[str] | None = None, covered: Covered | None = None) -> AddressList:
    """Return every row of the plan's address list, in its order, each placed or rejected.

    ground_crs  system of the ground layer (or of several), in which x and y without a system of their own are taken
    covered     tells which places (lat_deg, lon_deg arrays) the terrain covers, or bounds (lat_min, lat_max, lon_min, lon_max)

    Raises InputError (TableError, PlanError): no list, can't be read, no coordinates in it, no row that can be placed.
    """
    found = list_addresses(plan, ground_crs, covered)
    if not any(row.address is not None for row in found.rows):
        raise none_placed(found)
    return found


def none_placed(found: AddressList) -> InputError:
    """Return the one message for a list of which no row can be placed: how many, the commonest reasons, what to do."""
    if found.problem:
        return TableError(found.problem)
    counts = Counter(row.reject.reason for row in found.rows if row.reject is not None)
    first = {}
    for row in found.rows:
        if row.reject is not None:
            first.setdefault(row.reject.reason, row.row)
    why = "; ".join(
        told("{count} of {rows}: {reason} (first in row {first})", count=count, rows=len(found.rows), reason=reason, first=first[reason])
        for reason, count in counts.most_common(3)
    )
    hint = ""
    if any(note.code == "looks_swapped" for note in found.notes):
        hint = told(" If the columns' names are the wrong way round, name them in the plan under [addresses] columns.")
    elif empty_faults() & set(counts):
        hint = told(" Note that {advice}.", advice=advice())
    return InputError(
        told("{file}: none of {rows} rows can be placed ({why}).{hint}", file=found.file, rows=len(found.rows), why=why, hint=hint)
    )


def list_addresses(plan: Plan, ground_crs: str | Sequence[str] | None = None, covered: Covered | None = None) -> AddressList:
    """Return the same as read_addresses, also where no row is placed. Raises InputError where the file can't be read."""
    if plan.addresses.file is None:
        raise PlanError(
            told("this plan names no addresses"), file=plan.file.name, key="addresses.file", allowed=told("a CSV, XLSX or GeoPackage file")
        )
    try:
        table = read_table(plan.addresses.file, _known(plan), sheet=plan.addresses.sheet, layer=plan.addresses.layer)
    except EmptyTableError as wrong:
        return AddressList(plan.addresses.file.name, (), (), (), f"{wrong}; {advice()}")
    if not table.rows:
        wrong = TableError(told("there is no row below the heading; {advice}", advice=advice()), file=table.file, row=table.heading_row)
        return AddressList(table.file, table.columns, (), table.notes, str(wrong))
    roles, stated = _roles(plan, table)
    reading = Reading(table, roles)
    if not reading.by:
        shown = ", ".join(table.columns[:20]) or "none"
        bare = all(math.isfinite(parse_number(column)) for column in table.columns) and bool(table.columns)
        found = told("the first row holds numbers where the names of the columns should be") if bare else f"columns: {shown}"
        message = told(
            "no row has coordinates: no column is recognised as latitude and longitude or x and y ({found}). {advice}",
            found=found, advice=advice(),
        )  # fmt: skip
        why = told("the list has no columns of coordinates")
        rows = tuple(
            AddressRow(row.number, dict(zip(table.columns, row.cells, strict=True)), None, Reject(table.file, row.number, "", "", why))
            for row in table.rows
        )
        return AddressList(table.file, table.columns, rows, table.notes, str(TableError(message, file=table.file)))
    inside = _inside(covered)
    work = _Work(plan, reading, inside)
    work.say_columns(stated)
    work.reading = replace(reading, crs=work.choose_crs(ground_crs))
    rows = work.rows()
    return AddressList(table.file, table.columns, rows, (*table.notes, *work.notes))


def _inside(covered: Covered | None) -> Callable[[np.ndarray, np.ndarray], np.ndarray] | None:
    if covered is None or callable(covered):
        return covered
    south, north, west, east = covered
    return lambda lat, lon: (lat >= south) & (lat <= north) & (lon >= west) & (lon <= east)


# ---- which column is what ---------------------------------------------------------------------------------


def _known(plan: Plan) -> Callable[[str], bool]:
    theirs = {squash(name) for name in plan.addresses.columns.values()}
    return lambda name: is_known(name) or squash(name) in theirs


def _roles(plan: Plan, table: Table) -> tuple[dict[str, str], set[str]]:
    """Return role -> column, and the roles that the plan itself states."""
    by_name = {squash(column): column for column in reversed(table.columns)}
    stated: dict[str, str] = {}
    for ours, theirs in plan.addresses.columns.items():
        role = ours if ours in NAMES else (recognise(ours) or ("", 0))[0]
        if role not in NAMES:
            raise PlanError(
                told("unknown key"), file=plan.file.name, key=f"addresses.columns.{ours}", value=theirs, allowed=", ".join(NAMES)
            )
        column = theirs if theirs in table.columns else by_name.get(squash(theirs))
        if column is None:
            raise PlanError(
                told("{file} has no such column", file=table.file), file=plan.file.name, key=f"addresses.columns.{ours}", value=theirs,
                allowed=", ".join(table.columns),
            )  # fmt: skip
        stated[role] = column
    places = {LAT, LON, X, Y, BOTH}
    found = {role: column for role, column in roles_of(table.columns).items() if column not in stated.values()}
    if places & set(stated) or table.points:
        found = {role: column for role, column in found.items() if role not in places}
    if ID in found and _is_house_number(table, found[ID]):
        del found[ID]
    return {**found, **stated}, set(stated)


def _is_house_number(table: Table, column: str) -> bool:
    """Return whether a column called "Nr" or the like is the number of the house: it follows the street, or repeats."""
    if squash(column) not in WEAK_IDS:
        return False
    place = table.columns.index(column)
    after_street = place > 0 and squash(table.columns[place - 1]) in STREET_NAMES
    texts = [text for text in table.texts(column) if text]
    return after_street and len(set(texts)) < max(len(texts), len(table.rows))


# ---- the rows ---------------------------------------------------------------------------------------------


@dataclass
class _Work:
    """One list being read."""

    plan: Plan
    reading: Reading
    inside: Callable[[np.ndarray, np.ndarray], np.ndarray] | None
    notes: list[Reason] = field(default_factory=list)
    given_ids: frozenset[str] = frozenset()

    def say_columns(self, stated: set[str]) -> None:
        pairs = [
            told("{column} as {role}", column=column, role=told(_ROLE_WORDS[role]))
            for role, column in self.reading.roles.items()
            if role in _ROLE_WORDS and squash(column) not in (squash(role), squash(_ROLE_WORDS[role]))
        ]
        if pairs:
            self.notes.append(Reason("columns_taken", {"pairs": pairs}))

    def choose_crs(self, ground_crs: str | Sequence[str] | None) -> str:
        """Return the system of x and y: the plan's, the file's, else the ground's where the points fall inside it."""
        stated, own = self.plan.addresses.crs, self.reading.table.crs
        if stated:
            try:
                stated = projection.parse_crs(stated)
            except InputError as wrong:
                raise PlanError(str(wrong), file=self.plan.file.name, key="addresses.crs", value=self.plan.addresses.crs) from None
        by = self.reading.by
        if by == "points":
            crs = stated or own
            if crs:
                self.notes.append(Reason("crs_taken", {"crs": projection.crs_name(crs)}))
                return crs
        if stated or by not in ("map", "points") or "crs" in self.reading.roles:
            if stated and by not in ("map", "points") and not projection.is_geographic(stated):
                self.notes.append(Reason("crs_not_used", {"crs": projection.crs_name(stated)}))
            return stated
        return self._ground_crs((ground_crs,) if isinstance(ground_crs, str) else tuple(ground_crs or ()))

    def _ground_crs(self, systems: Sequence[str]) -> str:
        plain = [self.reading.plain(row) for row in self.reading.table.rows]
        x = np.array([pair[0].value for pair in plain])
        y = np.array([pair[1].value for pair in plain])
        best, most = "", 0
        for crs in (*systems, projection.WGS84):
            lon, lat = projection.to_wgs84(x, y, crs)
            known = np.isfinite(lat) & np.isfinite(lon)
            if crs == projection.WGS84:
                known &= (np.abs(x) <= 180.0) & (np.abs(y) <= 90.0)
            count = int((known & self.inside(lat, lon)).sum()) if self.inside is not None else int(known.sum())
            if count > most:
                best, most = crs, count
        if best:
            self.notes.append(Reason("ground_crs_taken", {"crs": projection.crs_name(best), "count": most, "of": len(plain)}))
        return best

    def rows(self) -> tuple[AddressRow, ...]:
        positions = [self._position(row) for row in self.reading.table.rows]
        swapped = self._swapped(positions)
        shared = self._shared(positions)
        taken: dict[str, int] = {}
        self.given_ids = frozenset(self.reading.cell(row, ID) for row in self.reading.table.rows)
        rows = []
        odd: dict[str, list[tuple[int, str]]] = {}
        for row, position, is_swapped, is_shared in zip(self.reading.table.rows, positions, swapped, shared, strict=True):
            cells = dict(zip(self.reading.table.columns, row.cells, strict=True))
            reject = self._reject(row, position, is_swapped)
            address = None
            if reject is None:
                address = self._address(row, position, is_shared, odd)
                if address.id in taken:
                    name = self.reading.roles.get(ID, "id")
                    why = told(
                        "the id {id} is already taken by row {taken}; give this row another", id=_short(address.id), taken=taken[address.id]
                    )
                    address, reject = None, self._rejected(row, name, address.id, why)
                else:
                    taken[address.id] = row.number
            rows.append(AddressRow(row.number, cells, address, reject))
        self._say_odd(odd)
        coarse = [row.row for row in rows if row.address is not None and row.address.position_error_m >= COARSE_M]
        if coarse:
            self.notes.append(Reason("coarse_positions", {"count": len(coarse), "least_m": COARSE_M, "rows": rows_text(coarse)}))
        self._say_swapped([row.number for row, yes in zip(self.reading.table.rows, swapped, strict=True) if yes])
        self._say_lost_zeros()
        last = self.reading.table.rows[-1]
        if rows[-1].reject is not None and looks_like_total(last.cells):
            self.notes.append(Reason("total_row", {"row": last.number}))
            why = told("looks like a total, not an address: {reason}", reason=rows[-1].reject.reason)
            rows[-1] = replace(rows[-1], reject=replace(rows[-1].reject, reason=why))
        return tuple(rows)

    def _position(self, row: Row) -> Position:
        if row.fault:
            return Position(fault=row.fault)
        found = self.reading.position(row)
        if not found.fault and found.lat_deg == 0.0 and found.lon_deg == 0.0:
            return replace(found, fault=told("0, 0 is a place in the sea that stands for an unknown position"))
        return found

    @property
    def _pair(self) -> str:
        return told("x and y") if self.reading.by in ("map", "points") else told("latitude and longitude")

    def _swapped(self, positions: Sequence[Position]) -> list[bool]:
        """Return which rows would lie inside the terrain with latitude and longitude (or x and y) exchanged, and don't as they are."""
        lat = np.array([position.lat_deg for position in positions])
        lon = np.array([position.lon_deg for position in positions])
        by_word = np.array([position.fault == swapped_fault() for position in positions])
        if self.inside is None:
            return list(by_word)
        given = _ask(self.inside, lat, lon)
        if self.reading.by in ("map", "points") and self.reading.crs and not projection.is_geographic(self.reading.crs):
            plain = [self.reading.plain(row) for row in self.reading.table.rows]
            x, y = np.array([pair[0].value for pair in plain]), np.array([pair[1].value for pair in plain])
            other_lon, other_lat = projection.to_wgs84(y, x, self.reading.crs)
            other = _ask(self.inside, other_lat, other_lon)
        else:
            other = _ask(self.inside, lon, lat)
        return list(by_word | (~given & other))

    def _shared(self, positions: Sequence[Position]) -> list[bool]:
        keys = [None if position.fault else (position.lat_deg, position.lon_deg) for position in positions]
        counts = Counter(key for key in keys if key is not None)
        many = {key for key, count in counts.items() if count > SHARED_BY_MORE_THAN}
        for key in counts:
            if key in many:
                numbers = [row.number for row, other in zip(self.reading.table.rows, keys, strict=True) if other == key]
                self.notes.append(Reason("shared_point", {"count": counts[key], "error_m": SHARED_ERROR_M, "rows": rows_text(numbers)}))
        return [key in many for key in keys]

    def _reject(self, row: Row, position: Position, swapped: bool) -> Reject | None:
        if swapped:
            return self._rejected(
                row, position.field, position.value, told("looks like {pair} swapped: not changed, not judged", pair=self._pair)
            )
        if position.fault:
            return self._rejected(row, position.field, position.value, position.fault)
        return None

    def _rejected(self, row: Row, column: str, value: str, why: str) -> Reject:
        return Reject(self.reading.table.file, row.number, column, value, why)

    def _address(self, row: Row, position: Position, shared: bool, odd: dict[str, list[tuple[int, str]]]) -> Address:
        reading = self.reading
        error, known = self._error(row, position, shared, odd)
        wanted, strange = services_wanted(reading.cell(row, WANTED))
        if strange:
            odd.setdefault("wanted_not_understood", []).append((row.number, " ".join(strange)))
        mount = mount_wanted(reading.cell(row, MOUNT))
        if mount is None:
            odd.setdefault("mount_not_understood", []).append((row.number, reading.cell(row, MOUNT)))
        return Address(
            row=row.number, id=reading.cell(row, ID) or self._made_up_id(row.number), name=" ".join(reading.cell(row, NAME).split()),
            lat_deg=position.lat_deg, lon_deg=position.lon_deg, position_error_m=error, position_error_known=known,
            wanted=wanted, mount=mount or "",
        )  # fmt: skip

    def _made_up_id(self, number: int) -> str:
        """Return an id for a row that gives none: its number, in a form that no other row gives."""
        made = str(number)
        while made in self.given_ids:
            made = f"row {made}"
        return made

    def _error(self, row: Row, position: Position, shared: bool, odd: dict[str, list[tuple[int, str]]]) -> tuple[float, bool]:
        """Return the position error, 1 sigma, and whether a column stated it.

        From the decimals: one step of the last digit given (4 decimals of a degree: 11 m), at least the plan's limit (common practice, no
        source).
        """
        least = self.plan.limits.position_error_m
        text = self.reading.cell(row, ERROR)
        if text:
            stated = parse_number(text.lower().removesuffix("m").lstrip("±+~").strip())
            if 0.0 <= stated <= LARGEST_ERROR_M:
                return max(least, stated), True
            odd.setdefault("position_error_not_understood", []).append((row.number, text))
        step = position.step_m if math.isfinite(position.step_m) else 0.0
        return max(least, step, SHARED_ERROR_M if shared else 0.0), False

    def _say_odd(self, odd: dict[str, list[tuple[int, str]]]) -> None:
        for code in sorted(odd):
            words = list(dict.fromkeys(_short(text) for _, text in odd[code]))
            values = {"rows": rows_text([number for number, _ in odd[code]]), "count": len(odd[code]), "words": words[:6]}
            self.notes.append(Reason(code, values))

    def _say_lost_zeros(self) -> None:
        """Say where a column of postcodes holds some of one digit less than the rest: a spreadsheet took them for numbers."""
        table = self.reading.table
        for column in table.columns:
            if squash(column) not in POSTCODE_NAMES:
                continue
            digits = {row.number: len(text) for row, text in zip(table.rows, table.texts(column), strict=True) if text.isdecimal()}
            usual = max(digits.values(), default=0)
            short = [number for number, count in digits.items() if count == usual - 1]
            if short and len(short) < len(digits) and usual >= 5 and set(digits.values()) == {usual, usual - 1}:
                self.notes.append(Reason("postcode_zero_lost", {"column": column, "rows": rows_text(short), "count": len(short)}))

    def _say_swapped(self, numbers: list[int]) -> None:
        if numbers:
            self.notes.append(Reason("looks_swapped", {"rows": rows_text(numbers), "count": len(numbers), "what": self._pair}))


def _ask(inside: Callable[[np.ndarray, np.ndarray], np.ndarray], lat: np.ndarray, lon: np.ndarray) -> np.ndarray:
    known = np.isfinite(lat) & np.isfinite(lon) & (np.abs(lat) <= 90.0) & (np.abs(lon) <= 180.0)
    out = np.zeros(lat.shape, dtype=bool)
    if known.any():
        out[known] = inside(lat[known], lon[known])
    return out


def _short(text: str) -> str:
    return text if len(text) <= 60 else text[:57] + "..."
