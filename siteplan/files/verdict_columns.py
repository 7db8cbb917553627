"""One row of figures for each row of the input: the same columns for every table and layer that leaves the house."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from siteplan.records.emitters import Satellite
from siteplan.records.findings import AddressFinding, Aim, Findings, LinkLine, SatelliteView, SectorLine
from siteplan.records.tuning import Tuning
from siteplan.records.verdict import SERVICES
from siteplan.words import how_sure, kind_word, orbit, sentence, sentences
from siteplan.words.columns import COLUMNS, GIVEN
from siteplan.words.language import say
from siteplan.words.mobile import way_word

Value = str | int | float | None

_POLARISATION = {"h": "horizontal", "v": "vertical", "m": "mixed", "s": "slanted"}
_SPECIAL = str.maketrans(
    {"ß": "ss", "ø": "o", "Ø": "O", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE", "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "ð": "d",
     "þ": "th", "Þ": "Th", "ä": "ae", "ö": "oe", "ü": "ue", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue", "å": "a", "Å": "A", "ı": "i"}
)  # fmt: skip

# Decimals that a figure deserves, by the end of its name (the longest ending wins); text columns are not listed.
_DECIMALS = {
    "_lat_deg": 7, "_lon_deg": 7, "_deg": 1, "_m": 1, "_km": 1, "_db": 1, "_dbm": 1, "_dbuv": 1, "_per_m": 1, "_pct": 0, "row": 0,
    "dish_m": 2, "box_deg": 2, "_distance_m": 0, "outage_hours": 1, "blocked_at_m": 0, "placed_error_m": 0, "declination_deg": 2,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Column:
    """One column: key in csv and layers, heading and meaning in words; decimals None for text; `given` for the user's own."""

    key: str
    title: str
    meaning: str
    decimals: int | None = None
    given: str | None = None


def slug(text: str, longest: int = 60) -> str:
    """Return text as lower-case ASCII letters, digits and hyphens ("Ölgasse 7/2" -> "oelgasse-7-2"); "" where nothing is left."""
    # composed first, so that a decomposed "ö" still becomes "oe"
    plain = unicodedata.normalize("NFKD", unicodedata.normalize("NFC", text).translate(_SPECIAL)).encode("ascii", "ignore").decode()
    words = "".join(char.lower() if char.isalnum() else " " for char in plain).split()
    return "-".join(words)[:longest].strip("-")


def orbit_key(orbit_deg: float) -> str:
    """Return an orbital position as part of a column name: 19.2 -> "19_2e", -30 -> "30w", 0 -> "0"."""
    text = f"{abs(orbit_deg):.2f}".rstrip("0").rstrip(".").replace(".", "_")
    return text + ("e" if orbit_deg > 0 else "w" if orbit_deg < 0 else "")


def columns_of(findings: Findings) -> tuple[Column, ...]:
    """Return all columns of a run: the user's own first, in their order, then ours.

    A user's column whose name is one of ours (whatever its case) gets the ending "_given".
    """
    ours = [_column("row"), _column("job_verdict")]
    for service in SERVICES:
        ours += [_column(f"{service}_{name}") for name in ("verdict", "reasons", "how_sure", "probability_pct", "ask")]
    ours += [_column(key) for key in (
        "sheet", "placed_lat_deg", "placed_lon_deg", "placed_error_m", "ground_amsl_m", "surface_amsl_m", "declination_deg",
        "satellite_spot", "satellite_spot_height_agl_m", "visible_arc")]  # fmt: skip
    for prefix, satellite in satellites_of(findings):
        ours += [_column(key, f"{prefix}_{key[4:]}", satellite=satellite.name) for key in COLUMNS if key.startswith("sat_")]
    ours += [_column(key) for key in COLUMNS if key.startswith("terrestrial_") and key not in {column.key for column in ours}]
    ours += [_column(key) for key in COLUMNS if key.startswith("mobile_") and key not in {column.key for column in ours}]
    for prefix, operator in operators_of(findings):
        ours += [_column(key, f"{prefix}_{key[3:]}", operator=operator) for key in COLUMNS if key.startswith("op_")]
    taken = {column.key for column in ours}
    used: set[str] = set()
    given = []
    for number, name in enumerate(findings.addresses.columns, start=1):
        key = name if name.strip() else f"column_{number}"
        while key.casefold() in taken or key in used:
            key += "_given"
        used.add(key)
        given.append(Column(key, key, GIVEN, given=name))
    return (*given, *ours)


def satellites_of(findings: Findings) -> tuple[tuple[str, Satellite], ...]:
    """Return (prefix of its columns, satellite) for each satellite of the run, in the plan's order."""
    seen: dict[tuple[float, str], Satellite] = {(sat.orbit_deg, sat.name): sat for sat in findings.satellites}
    for finding in findings.rows:
        for view in finding.satellite.views if finding.satellite else ():
            seen.setdefault((view.satellite.orbit_deg, view.satellite.name), view.satellite)
    prefixes = _unique((f"satellite_{orbit_key(degrees)}", slug(name)) for degrees, name in seen)
    return tuple(zip(prefixes, seen.values(), strict=True))


def operators_of(findings: Findings) -> tuple[tuple[str, str], ...]:
    """Return (prefix of its columns, operator) for each mobile operator, in the order of the plan's table."""
    names = dict.fromkeys(sector.operator for sector in findings.sectors)
    for finding in findings.rows:
        names.update(dict.fromkeys(line.sector.operator for line in (finding.mobile.lines if finding.mobile else ())))
    prefixes = _unique((f"mobile_{slug(name).replace('-', '_') or 'operator'}", "other") for name in names)
    return tuple(zip(prefixes, names, strict=True))


def values_of(findings: Findings, columns: tuple[Column, ...]) -> Iterable[dict[str, Value]]:
    """Give one dictionary for each row of the input, in its order: column key -> text, rounded number, or None where unknown."""
    satellites, operators = satellites_of(findings), operators_of(findings)
    for finding in findings.rows:
        raw = _row_values(finding)
        raw |= _satellite_values(finding, satellites)
        raw |= _terrestrial_values(finding)
        raw |= _mobile_values(finding, operators)
        row: dict[str, Value] = {}
        for column in columns:
            if column.given is not None:
                row[column.key] = finding.row.cells.get(column.given, "")
            else:
                row[column.key] = rounded(raw.get(column.key), column.decimals)
        yield row


def rounded(value: object, decimals: int | None) -> Value:
    """Return a value as a table may hold it: None for NaN and for nothing, numbers with the decimals they deserve, never -0."""
    if value is None or value == "":
        return None
    if decimals is None or isinstance(value, str):
        return str(value)
    number = float(value)  # type: ignore[arg-type]
    if not math.isfinite(number):
        return None
    return int(round(number)) if decimals == 0 else round(number, decimals) + 0.0


def link_margin_db(view: SatelliteView) -> float:
    """Return the margin of the weakest wanted transponder with the dish chosen, or with the largest tried where none works."""
    return min((line.margin_db for line in _counted(view)), default=math.nan)


def _counted(view: SatelliteView) -> list[LinkLine]:
    """Return the links that count, with the dish chosen or else the largest tried."""
    sizes = {line.dish_m for line in view.links}
    dish_m = view.dish_m if view.dish_m in sizes else max(sizes, default=math.nan)
    return [line for line in view.links if line.dish_m == dish_m and line.wanted]


def _column(words: str, key: str = "", **names: str) -> Column:
    title, meaning = COLUMNS[words]
    key = key or words
    fitting = [end for end in _DECIMALS if key.endswith(end)]
    decimals = _DECIMALS[max(fitting, key=len)] if fitting else None
    return Column(key, _filled(say(title), names), _filled(say(meaning), names), decimals)


def _filled(text: str, names: dict[str, str]) -> str:
    for name, value in names.items():
        text = text.replace("{" + name + "}", value)
    return text


def _unique(pairs: Iterable[tuple[str, str]]) -> list[str]:
    done: list[str] = []
    for first, second in pairs:
        key, number = first, 2
        while key in done:
            key = f"{first}_{second.replace('-', '_')}" if number == 2 else f"{first}_{number}"
            number += 1
        done.append(key)
    return done


def _row_values(finding: AddressFinding) -> dict[str, object]:
    row: dict[str, object] = {"row": finding.row.row, "job_verdict": str(finding.job), "sheet": finding.sheet_file}
    for service in SERVICES:
        verdict = finding.verdicts[service]
        row[f"{service}_verdict"] = str(verdict.state)
        row[f"{service}_reasons"] = sentences(verdict.reasons)
        row[f"{service}_how_sure"] = how_sure(verdict.how_sure.level, verdict.how_sure.because) if verdict.state != "not judged" else ""
        row[f"{service}_probability_pct"] = 100.0 * verdict.probability
        row[f"{service}_ask"] = sentence(verdict.ask) if verdict.ask else ""
    address = finding.row.address
    if address is not None:
        row |= {"placed_lat_deg": address.lat_deg, "placed_lon_deg": address.lon_deg, "placed_error_m": address.position_error_m}
    return row | {
        "ground_amsl_m": finding.ground_amsl_m, "surface_amsl_m": finding.surface_amsl_m, "declination_deg": finding.declination_deg,
    }  # fmt: skip


def _satellite_values(finding: AddressFinding, satellites: tuple[tuple[str, Satellite], ...]) -> dict[str, object]:
    if finding.satellite is None:
        return {}
    row: dict[str, object] = {}
    if finding.satellite.spot is not None:
        row["satellite_spot"] = finding.satellite.spot.kind
        row["satellite_spot_height_agl_m"] = finding.satellite.spot.height_agl_m
    row["visible_arc"] = "; ".join(f"{orbit(first)} to {orbit(last)}" for first, last in finding.satellite.visible_arc)
    views = {(view.satellite.orbit_deg, view.satellite.name): view for view in finding.satellite.views}
    for prefix, satellite in satellites:
        view = views.get((satellite.orbit_deg, satellite.name))
        if view is None:
            continue
        row |= {f"{prefix}_{key}": value for key, value in _view_values(view).items()}
    return row


def _view_values(view: SatelliteView) -> dict[str, object]:
    values: dict[str, object] = {
        "verdict": str(view.state), "probability_pct": 100.0 * view.probability,
        "azimuth_deg": view.look.azimuth_deg, "magnetic_azimuth_deg": view.look.magnetic_azimuth_deg,
        "elevation_deg": view.look.elevation_deg, "skew_deg": view.look.skew_deg,
        "mount_height_agl_m": view.mount_height_agl_m, "dish_m": view.dish_m, "link_margin_db": link_margin_db(view),
        "weather_margin_db": min((line.weather_margin_db for line in _counted(view)), default=math.nan),
        "outage_hours": max((line.hours_per_year for line in _counted(view)), default=math.nan),
        "box_deg": view.box_deg,
    }  # fmt: skip
    values |= _tuning_values(view.tuning) if view.tuning is not None else {}
    if view.clearance is not None:
        edge = view.clearance
        values |= {"view": edge.state, "spare_deg": edge.spare_deg, "clearance_m": edge.clearance_m}
        if math.isfinite(edge.distance_m):
            values |= {
                "obstacle": kind_word(edge.kind), "obstacle_distance_m": edge.distance_m,
                "obstacle_height_agl_m": edge.obstacle_agl_m, "obstacle_amsl_m": edge.obstacle_amsl_m,
            }  # fmt: skip
    return values


def _tuning_values(tuning: Tuning) -> dict[str, object]:
    first = []
    for line in tuning.first:
        t = line.at.transponder
        first.append(f"{t.name} {t.frequency_mhz:g} {t.polarisation} ({line.at.if_mhz:.0f}, {line.at.sub_band})")
    alike = dict.fromkeys(other.name for other in tuning.neighbours if other.alike)
    return {"lnb": str(tuning.lnb or ""), "tune_first": "; ".join(first), "may_be": "; ".join(alike)}


def _terrestrial_values(finding: AddressFinding) -> dict[str, object]:
    aims = finding.terrestrial.aims if finding.terrestrial else ()
    if not aims:
        return {}
    best = aims[0]
    row: dict[str, object] = {
        "transmitter": best.transmitter.name, "bearing_deg": best.bearing_deg, "magnetic_bearing_deg": best.magnetic_bearing_deg,
        "distance_km": best.distance_m / 1000.0, "blocked_at_m": best.ray_blocked_m, "diffraction_db": best.diffraction_db,
        "polarisation": _polarisation(best),
        "multiplexes": "; ".join(f"{line.multiplex.name} {_signed_db(line.margin_db)}" for line in best.lines),
        "other_aims": "; ".join(f"{aim.transmitter.name} {_signed_db(aim.margin_db)}" for aim in aims[1:4]),
    }  # fmt: skip
    if best.lines:
        weakest = min(best.lines, key=lambda line: line.margin_db)
        row |= {
            "multiplex": weakest.multiplex.name, "field_strength_dbuv_per_m": weakest.field_strength_dbuv_per_m,
            "level_dbuv": weakest.level_dbuv, "margin_db": weakest.margin_db, "sigma_db": weakest.sigma_db, "cn_db": weakest.cn_db,
        }  # fmt: skip
    row["programmes"] = "; ".join(best.programmes_sure)
    choice = finding.terrestrial.choice if finding.terrestrial else None
    if choice is not None:
        row |= {
            "aerial_group": choice.group, "amplifier": choice.amplifier, "open_with": choice.open_with,
            "mobile_filter": choice.mobile.advice if choice.mobile is not None else "none",
        }  # fmt: skip
    return {f"terrestrial_{key}": value for key, value in row.items()}


def _mobile_values(finding: AddressFinding, operators: tuple[tuple[str, str], ...]) -> dict[str, object]:
    lines = finding.mobile.lines if finding.mobile else ()
    if not lines:
        return {}
    best = lines[0]
    row: dict[str, object] = {"mobile_operator": best.sector.operator, "mobile_distance_km": best.distance_m / 1000.0}
    row |= {f"mobile_{key}": value for key, value in (_line_values(best) | _way_values(best)).items()}
    row |= {"mobile_margin_db": best.margin_db, "mobile_sigma_db": best.sigma_db, "mobile_enough": way_word(finding.mobile.enough)}
    row["mobile_kit"] = "; ".join(sentence(part) for part in finding.mobile.kit)
    for prefix, operator in operators:
        own = [line for line in lines if line.sector.operator == operator]
        if own:
            row |= {f"{prefix}_{key}": value for key, value in _line_values(_strongest(own)).items()}
    return row


def _strongest(lines: Iterable[SectorLine]) -> SectorLine:
    return max(lines, key=lambda line: line.rsrp_dbm if math.isfinite(line.rsrp_dbm) else -math.inf)


def _line_values(line: SectorLine) -> dict[str, object]:
    return {
        "site": line.sector.site, "band": line.sector.band, "bearing_deg": line.bearing_deg, "rsrp_dbm": line.rsrp_dbm,
        "sinr_db": line.sinr_db,
    }  # fmt: skip


def _way_values(line: SectorLine) -> dict[str, object]:
    values: dict[str, object] = {
        "magnetic_bearing_deg": line.magnetic_bearing_deg, "technology": line.sector.technology, "way": way_word(line.way),
        "rsrq_db": line.rsrq_db, "gap_db": line.gap_db, "next_site": line.second_site,
    }  # fmt: skip
    for way in line.ways:
        key = way.way.replace(" ", "_")
        values |= {f"{key}_dbm": way.rsrp_dbm, f"{key}_over_db": way.sinr_db}
        if way.way == line.way:
            values["uplink_margin_db"] = way.uplink_margin_db
    return values


def _polarisation(aim: Aim) -> str:
    return " and ".join(_POLARISATION.get(letter, letter) for letter in sorted({line.multiplex.polarisation.lower() for line in aim.lines}))


def _signed_db(value: float) -> str:
    return f"{round(value):+d} dB" if math.isfinite(value) else "unknown"
