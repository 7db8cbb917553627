"""`siteplan check`: read everything a plan names and say what was understood, without computing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from siteplan.errors import told
from siteplan.files.addresses import none_placed
from siteplan.files.equipment import read_parts
from siteplan.files.plan_file import defaults_table
from siteplan.files.rawtable import rows_text
from siteplan.records.places import AddressList, Reject
from siteplan.records.plan import Plan
from siteplan.records.verdict import Reason
from siteplan.studies.inputs import OUTSIDE, GroundFrames, Inputs, read_inputs_on_ground, unfit_senders
from siteplan.studies.outlets import faults_of
from siteplan.studies.speech import open_plan
from siteplan.studies.surfaces import describe_terrain
from siteplan.words import sentence

SHOWN_REJECTS = 12
ABOUT_SATELLITES = ("lnb_", "orbit_")
USED_THOUGH_ODD = ("emitter_in_sea", "emitter_in_building")  # told by stand(), and kept


def check(plan_path: Path) -> dict[str, object]:
    """Return what was understood of a plan, as plain values.

    `addresses`: file, read, accepted (placed where the ground is known), rejected, accepted_ids, rejects (row, field, value, reason) and
    notes; read = accepted + rejected. `terrain`: what each layer is. `satellites`, `orbits`, `transmitters`, `mobile`: counts, rejects,
    who is left out, who is odd (used as it stands, though it can hardly stand there).
    `problem`: why nothing can be judged where no address was accepted, else None. Raises InputError and its kin where
    a file can't be read at all.
    """
    plan = open_plan(plan_path)
    inputs, frames = read_inputs_on_ground(plan)
    rows = inputs.addresses.rows
    ids = [row.address.id for row in rows if row.address is not None]
    rejects = [row.reject for row in rows if row.reject is not None]
    return {
        "plan": str(plan.file),
        "name": plan.name,
        "date": plan.date.isoformat() if plan.date else None,
        "addresses": {
            "file": inputs.addresses.file, "read": len(rows), "accepted": len(ids), "rejected": len(rejects), "accepted_ids": ids,
            "rejects": [_plain(reject) for reject in rejects], "notes": _notes(inputs, about_satellites=False),
        },
        "terrain": [dict(layer) for layer in describe_terrain(plan)],
        **_senders(plan, inputs, inputs.rejects[len(rejects) :]),
        "wiring": wiring(plan),
        "problem": None if ids else _problem(inputs.addresses, frames),
    }  # fmt: skip


def _notes(inputs: Inputs, *, about_satellites: bool) -> list[str]:
    return [sentence(note) for note in inputs.notes if note.code.startswith(ABOUT_SATELLITES) == about_satellites]


def _plain(reject: Reject) -> dict[str, object]:
    return {"row": reject.row, "field": reject.field, "value": reject.value, "reason": reject.reason}


def _problem(addresses: AddressList, frames: GroundFrames) -> str:
    outside = any(row.reject is not None and row.reject.reason == told(OUTSIDE) for row in addresses.rows)
    return str(none_placed(addresses)) + (" " + told("The ground covers {frames}.", frames=frames.words()) if outside else "")


def _senders(plan: Plan, inputs: Inputs, rejects: Sequence[Reject]) -> dict[str, object]:
    tv, mobile = (left_out_or_odd(some) for some in unfit_senders(plan, inputs))

    def table(file: Path | None, **counts: object) -> dict[str, object]:
        own = [_plain(reject) for reject in rejects if file is not None and reject.file == file.name]
        return {"file": file.name if file else None, **counts, "rejects": own}

    def beside(files: Iterable[Path | None]) -> list[dict[str, object]]:
        named = [file for file in files if file is not None]
        return [{"file": file.name, "rejects": [_plain(one) for one in rejects if one.file == file.name]} for file in named]

    return {
        "satellites": table(
            plan.satellites.file, accepted=len(inputs.satellites), names=[satellite.name for satellite in inputs.satellites],
            transponders=sum(len(satellite.transponders) for satellite in inputs.satellites),
            left_out=_notes(inputs, about_satellites=True),
            beams=beside(plan.satellites.beams),
        ),
        "orbits": {key: value for key, value in table(plan.satellites.orbits).items() if key in ("file", "rejects")},
        "transmitters": table(
            plan.transmitters.file, accepted=len(inputs.transmitters), names=list(dict.fromkeys(one.name for one in inputs.transmitters)),
            multiplexes=sum(len(one.multiplexes) for one in inputs.transmitters), **tv,
            beside=beside((plan.transmitters.patterns, *plan.transmitters.scan_tables)),
        ),
        "mobile": table(
            plan.mobile.file, accepted=len(inputs.sectors), operators=sorted({sector.operator for sector in inputs.sectors}),
            sites=len({(sector.operator, sector.site) for sector in inputs.sectors}), **mobile,
        ),
    }  # fmt: skip


def left_out_or_odd(reasons: Iterable[Reason]) -> dict[str, list[str]]:
    """Return what is told of senders as sentences: left_out (not used at all), odd (used, its position or height in doubt)."""
    found: dict[str, list[str]] = {"left_out": [], "odd": []}
    for reason in reasons:
        found["odd" if reason.code in USED_THOUGH_ODD else "left_out"].append(sentence(reason))
    return found


def wiring(plan: Plan) -> dict[str, object]:
    """Return what is wrong with the parts list, the chains and the limits that a plan names: file, parts, rejects, faults (sentences)."""
    parts, rejects = read_parts(plan.installation.parts)
    file = plan.installation.parts.name if plan.installation.parts else None
    return {"file": file, "parts": len(parts), "rejects": [_plain(reject) for reject in rejects], "faults": faults_of(plan, parts)}


# ---- for people --------------------------------------------------------------------------------------------


def check_lines(found: Mapping[str, object]) -> list[str]:
    """Return what check found as lines a dispatcher can read."""
    addresses: Mapping[str, object] = found["addresses"]  # type: ignore[assignment]
    counts = {key: addresses[key] for key in ("file", "read", "accepted", "rejected")}
    lines = [sentence(Reason("check_rows", counts)), *_reject_lines(addresses["rejects"])]  # type: ignore[arg-type]
    lines += [f"  {note}" for note in addresses["notes"]]  # type: ignore[attr-defined]
    lines += ["", told("Terrain, the finest cells that cover a place first:")]
    for layer in found["terrain"]:  # type: ignore[attr-defined]
        lines += [f"  {_layer_line(layer)}", *(f"    {note}" for note in layer["notes"])]
    lines.append("")
    for key, code, what in (
        ("satellites", "check_satellites", "Satellites"),
        ("transmitters", "check_transmitters", "Terrestrial transmitters"),
        ("mobile", "check_sectors", "Mobile sectors"),
    ):
        table: Mapping[str, object] = found[key]  # type: ignore[assignment]
        if not table["accepted"] and not table["rejects"]:
            lines.append(sentence(Reason("check_none", {"what": what})))
            continue
        lines.append(sentence(Reason(code, _sender_values(key, table))))
        lines += _reject_lines(table["rejects"], str(table["file"]))  # type: ignore[arg-type]
        for more in (*table.get("beams", ()), *table.get("beside", ())):  # type: ignore[attr-defined]
            lines += _reject_lines(more["rejects"], more["file"])
        if key == "satellites":
            lines += _reject_lines(found["orbits"]["rejects"], str(found["orbits"]["file"]))  # type: ignore[index]
        lines += [f"  {why}" for key in ("left_out", "odd") for why in table.get(key, ())]  # type: ignore[attr-defined]
    laid: Mapping[str, object] = found["wiring"]  # type: ignore[assignment]
    lines += _reject_lines(laid["rejects"], str(laid["file"]))  # type: ignore[arg-type]
    return lines + [str(fault) for fault in laid["faults"]]  # type: ignore[attr-defined]


def _sender_values(key: str, table: Mapping[str, object]) -> dict[str, object]:
    if key == "mobile":
        return {"count": table["accepted"], "sites": table["sites"], "operators": table["operators"]}
    parts = table["transponders" if key == "satellites" else "multiplexes"]
    return {"count": table["accepted"], "names": _few(table["names"]), "parts": parts}  # type: ignore[arg-type]


def _few(names: Sequence[str]) -> list[str]:
    return [*names[:8], f"{len(names) - 8} more"] if len(names) > 9 else list(names)


def _reject_lines(rejects: Sequence[Mapping[str, object]], file: str = "") -> list[str]:
    """Return one line for each column and reason, the rows that share it together."""
    groups: dict[tuple[str, str], list[Mapping[str, object]]] = {}
    for reject in rejects:
        groups.setdefault((str(reject["field"]), str(reject["reason"])), []).append(reject)
    lines = []
    for (field, reason), members in list(groups.items())[:SHOWN_REJECTS]:
        first = str(members[0]["value"])
        values = {
            "rows": rows_text([int(member["row"]) for member in members]),  # type: ignore[call-overload]
            "where": f"{file}, " if file else "",
            "reason": reason,
            "field": ", " + told("column {field}", field=field) if field and field != "position" else "",
            "value": f" ({_clean(first)})" if first else "",
        }
        lines.append("  " + sentence(Reason("check_reject", values)))
    hidden = sum(len(members) for members in list(groups.values())[SHOWN_REJECTS:])
    return [*lines, "  " + sentence(Reason("check_more_rejects", {"count": hidden}))] if hidden else lines


def _clean(text: str) -> str:
    """Return a cell's text fit for a terminal: no control characters, at most 60 letters."""
    plain = "".join(letter if letter.isprintable() else " " for letter in text)
    return plain if len(plain) <= 60 else plain[:57] + "..."


def _layer_line(layer: Mapping[str, object]) -> str:
    knows = {
        (True, True): told("buildings and trees known"),
        (True, False): told("buildings known, trees unknown"),
        (False, True): told("trees known, buildings unknown"),
        (False, False): told("buildings and trees unknown"),
    }[bool(layer["knows_buildings"]), bool(layer["knows_trees"])]
    files = [f"{file['file']} ({file['role']})" for file in layer["files"]]  # type: ignore[attr-defined]
    if "footprints" in layer:
        files.append(f"{layer['footprints']['file']} (buildings)")  # type: ignore[index]
    crs = layer["files"][0]["crs"]  # type: ignore[index]
    values = {
        "files": files, "cell_m": layer["cell_m"], "knows": knows, "crs": crs,
        "flown": told("flown {date}", date=layer["flown_on"]) if layer["flown_on"] else told(
            "nobody says when it was flown"
        ), "datum": layer["vertical_datum"],
        "unit": layer["files"][0]["vertical_unit"],  # type: ignore[index]
    }  # fmt: skip
    return sentence(Reason("check_terrain", values))


def defaults_lines() -> list[str]:
    """Return every default with its value, what it is and where it comes from, one a line."""
    rows = [(key, _value(default), what, source) for key, default, what, source in defaults_table()]
    wide, across = max(len(row[0]) for row in rows), max(len(row[1]) for row in rows)
    return [f"{key:<{wide}}  {value:<{across}}  {what}  [{source}]" for key, value, what, source in rows]


def defaults_values() -> list[dict[str, object]]:
    """Return the same as plain values."""
    return [
        {"key": key, "default": _plain_default(default), "what": what, "source": source} for key, default, what, source in defaults_table()
    ]


def _plain_default(default: object) -> object:
    if isinstance(default, tuple):
        return [_plain_default(item) for item in default]
    return default if isinstance(default, str | int | float | bool | None) else str(default)


def _value(default: object) -> str:
    return ", ".join(map(_value, default)) if isinstance(default, tuple) else f"{default:g}" if isinstance(default, float) else str(default)
