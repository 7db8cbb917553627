"""Readings in: each file matched to its job, compared with what was expected, stored, and what it says in words."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from siteplan.errors import InputError, TableError, told
from siteplan.files.expected import EXPECTED_FILE, read_expected
from siteplan.files.reading_columns import printable
from siteplan.files.readings import read_readings_told
from siteplan.files.verdict_columns import slug
from siteplan.geodesy.earth import earth_distance_m
from siteplan.records.places import Reject
from siteplan.records.plan import Plan
from siteplan.records.readings import Compared, Expected, Reading, ReadingsFile
from siteplan.records.verdict import Reason
from siteplan.services.outlets.compare import compare, elsewhere, latest, meaning, repeats, why_unknown
from siteplan.services.outlets.compare_cells import counted
from siteplan.store.readings_store import open_store
from siteplan.studies.inputs import store_of
from siteplan.studies.speech import open_plan
from siteplan.words import readings as words
from siteplan.words import sentence
from siteplan.words.formats import number

SUFFIXES = (".csv", ".tsv", ".txt", ".xlsx", ".json")


@dataclass(frozen=True, slots=True)
class Taken:
    """What came in: one entry for each file and job in it, and what could not be read."""

    files: tuple[ReadingsFile, ...]
    rejects: tuple[Reject, ...]
    stored: int
    known: int
    store: Path
    notes: tuple[tuple[str, Reason], ...] = ()  # (file or folder, what is to be told of it)


def expected_of_plan(plan: Plan) -> tuple[Expected, ...]:
    """Return what the last run of a plan expected. Raises InputError where there was none."""
    return read_expected((plan.outputs.folder or plan.file.parent / "outputs") / EXPECTED_FILE)


def take_readings(plan_file: Path, place: Path, *, now: datetime) -> Taken:
    """Read one file or every file of a folder, match, compare and store. A bad file is a reject, the others go on.

    Raises InputError: no such place, no file of readings in it, no run before, nothing that could be read.
    """
    plan = open_plan(plan_file)
    expected = expected_of_plan(plan)
    found, rejects, stored, known, notes = [], [], 0, 0, []
    files, left_out = _files(place)
    homes = {line.id: line for line in reversed(expected)}  # the first line of each
    if left_out:
        notes.append((place.name, Reason("read_left_out", {"files": ", ".join(left_out)})))
    with open_store(store_of(plan)) as store:
        for file in files:
            try:
                readings, bad, said = read_readings_told(file, now=now)
            except TableError as wrong:
                rejects.append(Reject(file.name, 0, "", "", str(wrong)))
                continue
            rejects += bad
            notes += [(file.name, note) for note in said]
            with store.together():  # a file is taken whole or not at all
                for one in _matched(file, readings, expected, plan.readings.match_within_m):
                    if one.row:
                        home = homes[one.id]
                        taken = [compared.reading for compared in one.compared] + list(one.unknown)
                        where = {"lat_deg": home.lat_deg, "lon_deg": home.lon_deg}
                        new, old = store.add(id=one.id, name=home.name, row=one.row, **where, readings=taken)
                        stored, known = stored + new, known + old
                    found.append(one)
    if not found and rejects:
        raise InputError(printable(told("no reading could be used: {reject}", reject="; ".join(_reject(bad) for bad in rejects[:20]))))
    return Taken(tuple(found), tuple(rejects), stored, known, store_of(plan), tuple(notes))


def _files(place: Path) -> tuple[tuple[Path, ...], tuple[str, ...]]:
    """Return the files of readings, and the names of whatever else lies in the folder, that nothing is lost without a word."""
    if place.is_file():
        return (place,), ()
    if not place.is_dir():
        raise InputError(told("{place}: no such file or folder", place=place))
    there = sorted(one for one in place.iterdir() if not one.name.startswith((".", "~")))
    files = tuple(one for one in there if one.suffix.lower() in SUFFIXES and one.is_file())
    if not files:
        raise InputError(told("{place} holds no file of readings ({suffixes})", place=place, suffixes=", ".join(SUFFIXES)))
    others = [printable(one.name) for one in there if one not in files]
    return files, (*others[:10], *(("…",) if len(others) > 10 else ()))


def _matched(file: Path, readings: Sequence[Reading], expected: Sequence[Expected], within_m: float) -> list[ReadingsFile]:
    """Return the file's readings job by job: by id, else by the file's name, else by place."""
    homes: dict[str, Expected] = {}
    for line in expected:
        homes.setdefault(line.id, line)
    groups: dict[tuple[str, float, float], list[Reading]] = {}
    for reading in readings:
        key = (reading.id, *(() if reading.id else (_plain(reading.lat_deg), _plain(reading.lon_deg))))
        groups.setdefault((key + (0.0, 0.0))[:3], []).append(reading)  # type: ignore[arg-type]
    made = []
    for group in groups.values():
        home, how = _home(file, group[0], homes, within_m)
        if home is None:
            made.append(ReadingsFile(file.name, how, unknown=tuple(group)))
            continue
        mine = [line for line in expected if line.id == home.id]
        compared, unknown = compare(group, mine)
        compared = counted(compared, mine)
        reasons = [why_unknown(one, mine) for one in unknown]
        unknown_ones = [reason for place, reason in enumerate(reasons) if reason not in reasons[:place]]
        said = (*elsewhere(group, mine, within_m), *meaning(latest(compared)), *repeats(group), *unknown_ones)
        made.append(ReadingsFile(file.name, how, home.id, home.row, compared, unknown, said))
    return made


def _plain(value: float) -> float:
    return 0.0 if math.isnan(value) else round(value, 5)


def _home(file: Path, reading: Reading, homes: dict[str, Expected], within_m: float) -> tuple[Expected | None, Reason]:
    if reading.id:
        home = homes.get(reading.id)
        return (home, Reason("read_by_id", {"row": home.row})) if home else (None, Reason("read_not_matched_id", {"id": reading.id}))
    named = [home for home in homes.values() if file.stem in (home.id, slug(home.id), slug(home.name), f"{home.row:04d}-{slug(home.name)}")]
    if len(named) == 1:
        return named[0], Reason("read_by_name", {"row": named[0].row})
    if not (math.isfinite(reading.lat_deg) and math.isfinite(reading.lon_deg)):
        return None, Reason("read_not_matched_any")
    away = [
        (
            float(earth_distance_m(lat1_deg=reading.lat_deg, lon1_deg=reading.lon_deg, lat2_deg=home.lat_deg, lon2_deg=home.lon_deg)),
            home.row,
            home,
        )
        for home in homes.values()
    ]
    if not away:
        return None, Reason("read_not_matched_any")
    metres, row, home = min(away, key=lambda one: one[:2])
    if metres <= within_m:
        return home, Reason("read_by_place", {"row": row, "distance_m": metres})
    return None, Reason("read_not_matched", {"distance_m": metres})


def taken_lines(taken: Taken) -> list[str]:
    """Return what came in as lines for people."""
    lines = [f"{file}: {sentence(note)}" for file, note in taken.notes]
    for one in taken.files:
        lines.append(f"{one.file}: {sentence(one.matched)}")
        for compared in latest(one.compared):
            lines.append(f"  {_line(compared)}")
        lines += [f"  {sentence(reason)}" for reason in one.findings]
    lines += [_reject(bad) for bad in taken.rejects]
    known = words.text("line_known", count=taken.known) if taken.known else ""
    lines.append(words.text("line_stored", count=taken.stored, file=taken.store.name) + known)
    return [printable(line) for line in lines]


def _reject(bad: Reject) -> str:
    if not bad.row:
        return bad.reason
    if not bad.field:
        return words.text("line_reject_row", file=bad.file, row=bad.row, reason=bad.reason)
    return words.text("line_reject", file=bad.file, row=bad.row, field=bad.field, value=bad.value, reason=bad.reason)


def _line(one: Compared) -> str:
    reading, expected = one.reading, one.expected
    parts = [words.text("line_where", source=expected.source, carrier=expected.carrier, place=words.place(expected.outlet))]
    if math.isfinite(reading.rsrp_dbm):
        parts.append(words.text("line_rsrp", rsrp=number(reading.rsrp_dbm, 0), expected=_said(expected.rsrp_dbm, 0)))
    if math.isfinite(reading.level_dbuv):
        parts.append(words.text("line_level", level=reading.level_dbuv, expected=_said(expected.level_dbuv, 0)))
    if expected.service == "mobile":
        parts += _cell_parts(one)
    elif math.isfinite(one.ratio_db):
        parts.append(words.text("line_cn", cn=one.ratio_db, expected=_said(expected.cn_db, 1), margin=one.margin_db))
    parts.append(words.text({True: "line_pass", False: "line_fail", None: "line_open"}[one.passes]))
    notes = [sentence(reason) for reason in (*one.reasons, *reading.notes)]
    return " ".join(parts) + (f" ({'; '.join(notes)})" if notes else "")


def _cell_parts(one: Compared) -> list[str]:
    parts = []
    if math.isfinite(one.ratio_db):
        parts.append(words.text("line_sinr", sinr=number(one.ratio_db, 1), expected=_said(one.expected.cn_db, 1)))
    if math.isfinite(one.reading.rsrq_db):
        parts.append(words.text("line_rsrq", rsrq=number(one.reading.rsrq_db, 0), expected=_said(one.expected.rsrq_db, 0)))
    return parts + ([words.text("line_spare", margin=one.margin_db)] if math.isfinite(one.margin_db) else [])


def _said(value: float, decimals: int) -> str:
    return number(value, decimals) if math.isfinite(value) else words.text("line_unknown")


def taken_json(taken: Taken) -> str:
    """Return the same as JSON: files with row, id, matched, readings (expected, measured, pass) and findings; rejects."""
    files = []
    for one in taken.files:
        readings = [
            {
                "source": c.expected.source, "carrier": c.expected.carrier, "outlet": c.expected.outlet,
                "level_dbuv": _or_none(c.reading.level_dbuv), "rsrp_dbm": _or_none(c.reading.rsrp_dbm),
                "expected_rsrp_dbm": _or_none(c.expected.rsrp_dbm),
                "expected_level_dbuv": _or_none(c.expected.level_dbuv),
                "margin_db": _or_none(c.margin_db), "level_off_db": _or_none(c.level_off_db),
                "cn_off_db": _or_none(c.cn_off_db), "pass": c.passes, "reasons": [sentence(reason) for reason in c.reasons],
                "taken_at": c.reading.taken_at, "notes": [sentence(note) for note in c.reading.notes],
            }
            for c in one.compared
        ]  # fmt: skip
        files.append(
            {
                "file": one.file, "matched": sentence(one.matched), "id": one.id or None, "row": one.row or None, "readings": readings,
                "unknown": [{"source": u.source, "carrier": u.carrier, "frequency_mhz": _or_none(u.frequency_mhz)} for u in one.unknown],
                "findings": [{"code": reason.code, "text": sentence(reason)} for reason in one.findings],
            }
        )  # fmt: skip
    notes = [{"file": file, "code": note.code, "text": sentence(note)} for file, note in taken.notes]
    rejects = [{"file": r.file, "row": r.row, "field": r.field, "value": r.value, "reason": r.reason} for r in taken.rejects]
    made = {"files": files, "rejects": rejects, "notes": notes, "stored": taken.stored, "known": taken.known}
    return json.dumps(made, indent=2, ensure_ascii=False)


def _or_none(value: float) -> float | None:
    return round(value, 2) if math.isfinite(value) else None


def installation_of(id: str, readings: Sequence[Reading], expected: Sequence[Expected]) -> tuple[tuple[Compared, ...], tuple[Reading, ...]]:
    """Return the latest reading of each carrier of one installation beside its expectation, and all readings that no longer count."""
    compared, unknown = compare(readings, [line for line in expected if line.id == id])
    newest = latest(compared)
    return newest, tuple(one.reading for one in compared if one not in newest) + tuple(replace(one) for one in unknown)
