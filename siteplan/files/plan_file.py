"""The plan file: TOML in, one checked Plan out. Every complaint names file, line, key, value and what is allowed."""

from __future__ import annotations

import difflib
import math
import re
import tomllib
import typing
from datetime import date, datetime
from pathlib import Path

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from siteplan.errors import PlanError, told, wording
from siteplan.files.lnb_key import WORDS_ALLOWED, lnb_fault, lnb_of
from siteplan.files.plan_paths import near, paths
from siteplan.files.toml_lines import Trail, key_lines
from siteplan.records.plan import Plan, tile_host

_SLASHES = wording("In double quotes a backslash starts a code: write C:/Users/... with forward slashes, or use single quotes")
_AT_LINE = re.compile(r"\(at line (\d+), column (\d+)\)|\(at end of document\)")
_REMOTE = re.compile(r"^[\\/]+vsi|^[a-z][a-z0-9+.-]+:/", re.IGNORECASE)
_ORBIT = re.compile(r"\s*([+-]?\d+(?:[.,]\d+)?)\s*(?:°|deg(?:rees)?)?\s*([A-Za-z]*)\s*")
_EAST, _WEST = {"e", "east", "ost"}, {"w", "west"}
_ORBITS = wording('degrees east from -180 to 180, or text such as "19.2E" and "30W"')
# files that need not be there when a plan is read
_TILE_URL = wording('"https://host/path/{z}/{x}/{y}.png" with nothing else in braces')
_BOUNDS = (
    ("ge", wording("from {value}")), ("gt", wording("above {value}")), ("le", wording("to {value}")), ("lt", wording("below {value}")),
)  # fmt: skip
_MADE_LATER = {("outputs", "folder"), ("readings", "store"), ("file",)}
LARGEST_PLAN_BYTES = 2_000_000


def read_plan(path: Path) -> Plan:
    """Return the checked plan of one TOML file; paths in it are made absolute (they are relative to the plan).

    Raises PlanError naming file, line, key, value and what is allowed: no such file, not TOML, unknown key, wrong type, out of range,
    a file it names is missing.
    """
    path = Path(path)
    text = _text(path)
    reader = _Reader(path.name, path.resolve().parent, text)
    data = reader.parse()
    if "file" in data:
        raise reader.error(("file",), told("unknown key"), value=data["file"], allowed=reader.known(Plan))
    data["file"] = str(path.resolve())
    try:
        plan = Plan.model_validate(reader.shaped(Plan, data, ()), strict=True)
    except ValidationError as wrong:
        raise reader.complaint(wrong) from None
    reader.check(plan)
    return plan


def defaults_table() -> list[tuple[str, object, str, str]]:
    """Return (key, default, what it is, source) of every key that has a sourced default, in the order of the plan."""
    rows = []
    for table, field in Plan.model_fields.items():
        model = _model_of(field.annotation)
        for key, inner in model.model_fields.items() if model else ():
            extra = inner.json_schema_extra
            if isinstance(extra, dict) and "source" in extra:
                rows.append((f"{table}.{key}", inner.default, inner.description or "", str(extra["source"])))
    return rows


def parse_orbit(value: object) -> float:
    """Return degrees east, west negative, from 19.2, "19.2E", "30W" or "4.8° E"; NaN where it is none of these."""
    if isinstance(value, bool):
        return math.nan
    if isinstance(value, (int, float)):
        return float(value) if -180.0 <= value <= 180.0 else math.nan
    match = _ORBIT.fullmatch(value) if isinstance(value, str) else None
    if match is None:
        return math.nan
    number, letter = float(match[1].replace(",", ".")), match[2].lower()
    if letter and (letter not in _EAST | _WEST or number < 0):
        return math.nan
    number = -number if letter in _WEST else number
    return number if -180.0 <= number <= 180.0 else math.nan


def _text(path: Path) -> str:
    if path.is_dir():
        plans = sorted(found.name for found in path.glob("*.toml"))
        hint = told("; name the plan in it: {plans}", plans=", ".join(plans[:5])) if plans else told("; name a plan file such as plan.toml")
        raise PlanError(told("this is a folder{hint}", hint=hint), file=str(path))
    try:
        if path.stat().st_size > LARGEST_PLAN_BYTES:
            raise PlanError(told("this is too large for a plan; a plan is a short TOML text"), file=path.name)
        raw = path.read_bytes()
    except FileNotFoundError:
        raise PlanError(told("no such plan file; check the name"), file=str(path)) from None
    except OSError as wrong:
        raise PlanError(told("this plan can't be read ({strerror})", strerror=wrong.strerror or wrong), file=str(path)) from None
    try:
        return raw.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as wrong:
        line = raw.count(b"\n", 0, wrong.start) + 1
        raise PlanError(told("a plan is text in UTF-8, this one is not; save it as UTF-8"), file=path.name, line=line) from None


def _model_of(annotation: object) -> type[BaseModel] | None:
    """Return the table that a field holds: itself, or one of a list."""
    for part in (annotation, *typing.get_args(annotation)):
        if isinstance(part, type) and issubclass(part, BaseModel):
            return part
    return None


def _holds(annotation: object, kind: type) -> bool:
    return annotation is kind or any(_holds(part, kind) for part in typing.get_args(annotation))


def _is_list(annotation: object) -> bool:
    return typing.get_origin(annotation) is tuple


class _Reader:
    """One plan being read: its text, and where its keys stand."""

    def __init__(self, name: str, folder: Path, text: str) -> None:
        self.name, self.folder, self.text = name, folder, text
        self.lines: dict[Trail, int] = {}

    def parse(self) -> dict[str, object]:
        try:
            data = tomllib.loads(self.text)
        except tomllib.TOMLDecodeError as wrong:
            raise self._broken(str(wrong)) from None
        except RecursionError:
            raise PlanError(told("this plan is nested too deep to be one"), file=self.name) from None
        self.lines = key_lines(self.text)
        return data

    def _broken(self, said: str) -> PlanError:
        rows = self.text.split("\n")
        match = _AT_LINE.search(said)
        line = int(match[1]) if match and match[1] else len(rows)
        shown = rows[line - 1].strip() if line <= len(rows) else ""
        what = _AT_LINE.sub("", said).strip()
        if re.search(r'"[^"]*\\', shown) and ("escape" in what.lower() or "\\" in what or "hex" in what.lower()):
            return PlanError(told("this path can't be read"), file=self.name, line=line, value=shown, allowed=_SLASHES)
        return PlanError(
            told("this is not valid TOML: {what}", what=what[:1].lower() + what[1:]),
            file=self.name,
            line=line,
            value=shown[:200],
        )

    def line(self, trail: Trail) -> int | None:
        while trail:
            for known in (trail, (*trail, 0)):
                if known in self.lines:
                    return self.lines[known]
            trail = trail[:-1]
        return None

    def error(self, trail: Trail, message: str, *, value: object = "", allowed: str = "") -> PlanError:
        return PlanError(message, file=self.name, line=self.line(trail), key=_dots(trail), value=_shown(value), allowed=allowed)

    @staticmethod
    def known(model: type[BaseModel]) -> str:
        return ", ".join(key for key in model.model_fields if not (model is Plan and key == "file"))

    # ---- from TOML's own types to the plan's ------------------------------------------------------------

    def shaped(self, model: type[BaseModel], data: dict[str, object], trail: Trail) -> dict[str, object]:
        out: dict[str, object] = {}
        for key, value in data.items():
            here = (*trail, key)
            field = model.model_fields.get(key)
            if field is None:
                raise self._unknown(model, here, value)
            out[key] = self._value(field, value, here)
        return out

    def _unknown(self, model: type[BaseModel], trail: Trail, value: object) -> PlanError:
        key = str(trail[-1])
        near = difflib.get_close_matches(key.lower(), model.model_fields, 1, 0.6)
        message = told("unknown key")
        if near:
            message += told("; did you mean {near}?", near=near[0])
        else:
            homes = [t for t, f in Plan.model_fields.items() if (m := _model_of(f.annotation)) and m is not model and key in m.model_fields]
            if homes:
                message += told("; {key} belongs in [{homes}]", key=key, homes=homes[0])
        return self.error(trail, message, value=value, allowed=self.known(model))

    def _value(self, field: FieldInfo, value: object, trail: Trail) -> object:
        kind = field.annotation
        inner = _model_of(kind)
        if inner is not None:
            return self._tables(inner, value, trail) if _is_list(kind) else self._table(inner, value, trail)
        if trail == ("satellites", "wanted"):
            return self._orbits(value, trail)
        if trail == ("kit", "lnb"):
            return self._lnbs(value, trail)
        if _is_list(kind) and isinstance(value, str):
            value = [value]
        if isinstance(value, list):
            if not _is_list(kind):
                raise self.error(trail, told("one value is wanted here, not a list"), value=value)
            return tuple(self._one(kind, item, trail) for item in value)
        return self._one(kind, value, trail)

    def _tables(self, model: type[BaseModel], value: object, trail: Trail) -> tuple[object, ...]:
        if isinstance(value, dict):
            raise self.error(trail, told("write [[{trail}]] with two brackets on each side: there may be several", trail=trail[-1]))
        if not isinstance(value, list):
            raise self.error(
                trail, told("a list of tables is wanted here"), value=value, allowed=told("[[{trail}]] and its keys below", trail=trail[-1])
            )
        return tuple(self._table(model, item, (*trail, number)) for number, item in enumerate(value))

    def _table(self, model: type[BaseModel], value: object, trail: Trail) -> dict[str, object]:
        if isinstance(value, list):
            raise self.error(trail, told("write [{trail}] with one bracket on each side, once", trail=trail[-1]))
        if not isinstance(value, dict):
            raise self.error(
                trail,
                told("a table is wanted here"),
                value=value,
                allowed=told("[{trail}] and its keys below: {known}", trail=trail[-1], known=self.known(model)),
            )
        return self.shaped(model, value, trail)

    def _one(self, kind: object, value: object, trail: Trail) -> object:
        if _holds(kind, Path) and isinstance(value, str):
            return self._path(value, trail)
        if isinstance(value, list) and any(_is_list(part) for part in typing.get_args(kind)):
            return tuple(value)  # a list of pairs
        if _holds(kind, date):
            return self._date(value, trail)
        if isinstance(value, float) and math.isnan(value) and trail[-1] != "nodata":
            raise self.error(trail, told("a number is wanted here"), value="nan")
        return value

    def _path(self, value: str, trail: Trail) -> Path:
        if trail == ("file",):
            return Path(value)
        if any(ord(letter) < 32 for letter in value):
            raise self.error(trail, told("this path can't be read"), value=value, allowed=_SLASHES)
        if not value.strip():
            raise self.error(trail, told("this path is empty; name a file or leave the key out"))
        if _REMOTE.match(value):
            raise self.error(trail, told("siteplan works offline and reads local files only; download it first"), value=value)
        try:
            written = Path(value).expanduser()
        except RuntimeError:
            written = Path(value)
        return Path(self.folder / written)

    def _date(self, value: object, trail: Trail) -> object:
        if isinstance(value, str):
            try:
                return date.fromisoformat(value.strip())
            except ValueError:
                raise self.error(
                    trail, told("this is not a date"), value=value, allowed=told("year-month-day, such as 2026-06-11")
                ) from None
        if isinstance(value, datetime) or not isinstance(value, date):
            raise self.error(trail, told("a date is wanted here"), value=value, allowed=told("year-month-day, such as 2026-06-11"))
        return value

    def _orbits(self, value: object, trail: Trail) -> tuple[float, ...]:
        items = value if isinstance(value, list) else [value]
        orbits: list[float] = []
        for item in items:
            orbit = parse_orbit(item)
            if math.isnan(orbit):
                raise self.error(trail, told("this is no orbital position"), value=item, allowed=_ORBITS)
            orbit = 180.0 if orbit == -180.0 else orbit + 0.0
            if orbit not in orbits:
                orbits.append(orbit)
        return tuple(orbits)

    def _lnbs(self, value: object, trail: Trail) -> tuple[object, ...]:
        items = value if isinstance(value, list) else [value]
        if not items:
            raise self.error(trail, told("name an LNB here, or leave the key out"), value=value, allowed=WORDS_ALLOWED)
        found = []
        for item in items:
            try:
                found.append(lnb_of(item))
            except ValueError as wrong:
                message, allowed = wrong.args
                raise self.error(trail, message, value=item, allowed=allowed) from None
        return tuple(found)

    # ---- complaints -----------------------------------------------------------------------------------

    def complaint(self, wrong: ValidationError) -> PlanError:
        first = wrong.errors(include_url=False)[0]
        trail = tuple(first["loc"])
        context = first.get("ctx", {})
        kind = first["type"]
        if kind == "missing":
            allowed = told("the file name of a raster of the bare ground") if trail[-1] == "ground" else ""
            return self.error(trail, told("this key is missing"), allowed=allowed)
        limits = {"greater_than_equal": "ge", "greater_than": "gt", "less_than_equal": "le", "less_than": "lt"}
        if kind in limits:
            return self.error(trail, told("out of range"), value=first["input"], allowed=self._range(trail) or str(context[limits[kind]]))
        if kind == "literal_error":
            return self.error(trail, told("this value is not known"), value=first["input"], allowed=str(context["expected"]))
        wanted = {
            "float_type": told("a number"), "int_type": told("a whole number"), "string_type": told("text in quotes"),
            "path_type": told("a file name in quotes"),
            "tuple_type": told("a list in square brackets"), "dict_type": told("a table"), "is_instance_of": told("a file name in quotes"),
            "finite_number": told("a finite number"),
        }.get(kind)  # fmt: skip
        return self.error(
            trail,
            told("{wanted} is wanted here", wanted=wanted) if wanted else first["msg"].removeprefix("Value error, "),
            value=first["input"],
        )

    def _range(self, trail: Trail) -> str:
        field = self._field(trail)
        if field is None:
            return ""
        parts = []
        for bound in field.metadata:
            for name, words in _BOUNDS:
                if getattr(bound, name, None) is not None:
                    parts.append((name in ("le", "lt"), told(words, value=f"{getattr(bound, name):g}")))
        return " ".join(part for _, part in sorted(parts))

    @staticmethod
    def _field(trail: Trail) -> FieldInfo | None:
        model: type[BaseModel] | None = Plan
        field = None
        for step in trail:
            if isinstance(step, int):
                continue
            if model is None or step not in model.model_fields:
                return field
            field = model.model_fields[step]
            model = _model_of(field.annotation)
        return field

    def check(self, plan: Plan) -> None:
        """Raise PlanError for what no single key shows: missing files, a van without dishes."""
        if not plan.kit.dishes_m or any(not 0.2 <= dish <= 20.0 for dish in plan.kit.dishes_m):
            trail, shown = ("kit", "dishes_m"), list(plan.kit.dishes_m)
            raise self.error(
                trail, told("dish diameters in metres are wanted here"), value=shown, allowed=told("one or more from 0.2 to 20")
            )
        turns = plan.kit.aerial_directivity
        if turns and (len(turns) < 2 or min(turns)[0] != 0.0 or any(not (0.0 <= at <= 180.0 and 0.0 <= off <= 60.0) for at, off in turns)):
            allowed = told(
                "[degrees off the axis, dB turned away], two or more from 0 to 180 degrees and 0 to 60 dB, one of them at 0 degrees"
            )
            raise self.error(
                ("kit", "aerial_directivity"), told("this is no directivity"), value=[list(pair) for pair in turns], allowed=allowed
            )
        for lnb in plan.kit.lnb:
            fault = lnb_fault(lnb, plan.kit.lnb_feeds) if {"lnb", "lnb_feeds"} & plan.kit.model_fields_set else ""
            if fault:
                raise self.error(("kit", "lnb" if "lnb" in plan.kit.model_fields_set else "lnb_feeds"), fault)
        if plan.map.tile_url and not tile_host(plan.map.tile_url):
            raise self.error(("map", "tile_url"), told("this is no address of map pictures"), value=plan.map.tile_url, allowed=_TILE_URL)
        if plan.map.tile_url and not plan.map.tile_attribution.strip():
            raise self.error(("map", "tile_attribution"), told("say here whom the map pictures come from, as their owner asks"))
        missing = [(trail, path) for trail, path in paths(plan) if tuple(trail) not in _MADE_LATER and not path.exists()]
        if missing:
            trail, path = missing[0]
            also = [other.name for _, other in missing[1:4]]
            more = (
                told("; also missing: {also}{missing}", also=", ".join(also), missing=told(" and more") if len(missing) > 4 else "")
                if also
                else ""
            )
            raise self.error(
                trail,
                told("no such file: {path}{near}{more}", path=path, near=near(path), more=more),
                allowed=told("paths are relative to the plan file"),
            )
        for trail, path in paths(plan):
            if tuple(trail) not in _MADE_LATER and trail[0] != "terrain" and path.is_dir():
                raise self.error(trail, told("this is a folder; name a file in it"), value=path.name)


def _dots(trail: Trail) -> str:
    out = ""
    for step in trail:
        out += f"[{step + 1}]" if isinstance(step, int) else f".{step}" if out else step
    return out


def _shown(value: object) -> str:
    if value == "":
        return ""
    text = str(value) if not isinstance(value, str) else f'"{value}"'
    return text if len(text) <= 120 else text[:117] + "..."
