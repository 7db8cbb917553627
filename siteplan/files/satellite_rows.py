"""Satellites and their transponders: one row a carrier, into records. Bad rows go, good rows stay."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import replace

from siteplan.errors import PlanError, told
from siteplan.files import channels
from siteplan.files.beams import STRONGEST_DBW, in_dbm_hint, with_beams
from siteplan.files.numbers import parse_number
from siteplan.files.plan_file import parse_orbit
from siteplan.files.sender_rows import (
    CIRCULAR,
    LINEAR,
    SenderTable,
    modulation_of,
    open_senders,
    programmes_of,
    read_rows,
    system_of,
)  # fmt: skip
from siteplan.files.tables import Row, squash
from siteplan.records.emitters import Satellite, Transponder, means
from siteplan.records.places import Reject
from siteplan.records.plan import Plan

SATELLITE_COLUMNS = (
    "satellite", "orbit_deg", "polarisation_offset_deg", "transponder", "frequency_mhz", "polarisation", "symbol_rate_kbaud", "system",
    "modulation", "code_rate", "eirp_dbw", "eirp_source", "programmes", "roll_off", "stream_id", "scrambling_code", "network_id",
    "original_network_id", "transport_stream_id", "encrypted", "beam", "catalogue_number",
)  # fmt: skip
_SAME_PLACE_DEG = 0.05
_YES, _NO = ("yes", "y", "true", "1", "encrypted"), ("no", "n", "false", "0", "free", "fta", "clear")


def read_satellites(plan: Plan) -> tuple[tuple[Satellite, ...], tuple[Reject, ...]]:
    """Return the wanted satellites with their transponders, in the plan's order (all of the table's where the plan wants none by name).

    A wanted satellite without a row comes back without transponders, named after its position. Raises TableError where the table or a
    file of beams as a whole can't be used, PlanError for a wanted transponder that is in no row.
    """
    if plan.satellites.file is None:
        if plan.satellites.beams:
            where = told("file, the table of satellites and what they send")
            raise PlanError(
                told("footprints need the table of satellites beside"), file=plan.file.name, key="satellites.beams", allowed=where
            )
        return tuple(Satellite(orbit_name(orbit), orbit) for orbit in plan.satellites.wanted), ()
    senders = open_senders(plan.satellites.file, SATELLITE_COLUMNS, placed=False, needed=("orbit_deg", "frequency_mhz"))
    found: dict[float, Satellite] = {}

    def take(row: Row) -> None:
        satellite, transponder = _satellite(senders, row), _transponder(senders, row)
        first = found.setdefault(satellite.orbit_deg, satellite)
        if transponder is not None:
            if any(_same_carrier(transponder, other) for other in first.transponders):
                raise senders.fault(row, "frequency_mhz", told("this carrier of {name} is already in an earlier row", name=first.name))
            found[satellite.orbit_deg] = replace(first, transponders=(*first.transponders, transponder))

    rejects = read_rows(senders, take)
    drawn, no_beams = with_beams(tuple(found.values()), plan.satellites.beams)
    found = {satellite.orbit_deg: satellite for satellite in drawn}
    _all_meant(plan, drawn)
    if not plan.satellites.wanted:
        wanted = sorted(found.values(), key=lambda satellite: satellite.orbit_deg)
    else:
        wanted = [_wanted(orbit, found) for orbit in plan.satellites.wanted]
    return tuple(_among(satellite, found.values()) for satellite in wanted), (*rejects, *no_beams)


def _all_meant(plan: Plan, satellites: Iterable[Satellite]) -> None:
    """Raise PlanError for a wanted transponder that no row of the table is."""
    for entry in plan.satellites.wanted_transponders:
        if not any(means(entry, one, carrier) for one in satellites for carrier in one.transponders):
            known = ", ".join(f"{orbit_name(one.orbit_deg)}: {carrier.name}" for one in satellites for carrier in one.transponders)
            raise PlanError(
                told(
                    "no transponder of the table is called that"
                ), file=plan.file.name, key="satellites.wanted_transponders", value=f'"{entry}"',
                allowed=known if len(known) <= 300 else f"{known[:297]}...",
            )  # fmt: skip


def _among(satellite: Satellite, known: Iterable[Satellite]) -> Satellite:
    others = sorted((other for other in known if other.orbit_deg != satellite.orbit_deg), key=lambda other: other.orbit_deg)
    return replace(satellite, neighbours=tuple(others))


def orbit_name(orbit_deg: float) -> str:
    """Return "19.2E", "30W" or "0E"."""
    return f"{abs(orbit_deg):g}{'W' if orbit_deg < 0 else 'E'}"


def _wanted(orbit: float, found: dict[float, Satellite]) -> Satellite:
    nearest = min(found, key=lambda other: abs((other - orbit + 180.0) % 360.0 - 180.0), default=None)
    if nearest is not None and abs((nearest - orbit + 180.0) % 360.0 - 180.0) <= _SAME_PLACE_DEG:
        return found[nearest]
    return Satellite(orbit_name(orbit), orbit)


def _satellite(senders: SenderTable, row: Row) -> Satellite:
    text = senders.word(row, "orbit_deg")
    orbit = parse_orbit(text)
    if math.isnan(orbit):
        raise senders.fault(row, "orbit_deg", told('is no orbital position; write degrees east from -180 to 180, or "19.2E", "30W"'))
    orbit = 180.0 if orbit == -180.0 else orbit + 0.0
    offset = senders.number(row, "polarisation_offset_deg", -90.0, 90.0, 0.0)
    number = _count(senders, row, "catalogue_number", 999_999_999)
    return Satellite(senders.text(row, "satellite") or orbit_name(orbit), orbit, (), offset, catalogue_number=number)


def _transponder(senders: SenderTable, row: Row) -> Transponder | None:
    """Return the carrier of a row; None where the row names a satellite and nothing else."""
    carrier = ("transponder", "frequency_mhz", "polarisation", "symbol_rate_kbaud", "system", "modulation", "code_rate")
    if not any(senders.text(row, key) for key in carrier):
        return None
    frequency = senders.number(row, "frequency_mhz", 0.0, 1e9)
    if not 3000.0 <= frequency <= 31000.0:
        raise senders.fault(
            row, "frequency_mhz", told("is out of range; the downlink frequency in MHz is wanted, 3000 to 31000, such as 11739")
        )
    polarisation = (LINEAR | CIRCULAR).get(squash(senders.word(row, "polarisation")))
    if polarisation is None:
        raise senders.fault(row, "polarisation", told("is no polarisation; write H, V, L or R"))
    rate = senders.number(row, "symbol_rate_kbaud", 0.0, 1e9)
    if not 100.0 <= rate <= 500_000.0:
        raise senders.fault(row, "symbol_rate_kbaud", told("is out of range; thousands of symbols a second, 100 to 500000, are wanted"))
    system = system_of(senders.text(row, "system") or "DVB-S2")
    modulation = modulation_of(senders.text(row, "modulation") or "QPSK")
    code_rate = senders.word(row, "code_rate").upper().replace(" ", "")
    fault = channels.mode_fault(system, modulation, code_rate, channels.SATELLITE_MODES)
    if fault:
        known = channels.SATELLITE_MODES.get(system)
        key = "system" if known is None else "modulation" if modulation not in known else "code_rate"
        raise senders.fault(row, key, fault)
    eirp = senders.power_dbw(row, "eirp")
    source = senders.text(row, "eirp_source").lower() or "assumed"
    if source not in ("stated", "measured", "assumed"):
        raise senders.fault(row, "eirp_source", told("write stated (by the operator), measured or assumed"))
    if not math.isnan(eirp) and not 0.0 <= eirp <= STRONGEST_DBW:
        key = next(key for key in ("eirp_dbw", "eirp_dbm", "eirp_kw", "eirp_w") if senders.text(row, key))
        raise senders.fault(
            row,
            key,
            told(
                "is out of range; EIRP from 0 to {strongest_dbw:g} dBW is allowed{in_dbm_hint}",
                strongest_dbw=STRONGEST_DBW,
                in_dbm_hint=in_dbm_hint(key, eirp),
            ),
        )
    name = senders.text(row, "transponder") or f"{frequency:g} {polarisation}"
    return Transponder(
        name=name, frequency_mhz=frequency, polarisation=polarisation, symbol_rate_kbaud=rate, system=system, modulation=modulation,
        code_rate=code_rate, eirp_dbw=eirp, eirp_source=source, programmes=programmes_of(senders, row), roll_off=_roll_off(senders, row),
        stream_id=_count(senders, row, "stream_id", 255), scrambling_code=_count(senders, row, "scrambling_code", 262_141),
        network_id=_count(senders, row, "network_id", 65_535), original_network_id=_count(senders, row, "original_network_id", 65_535),
        transport_stream_id=_count(senders, row, "transport_stream_id", 65_535), encrypted=_encrypted(senders, row),
        beam=senders.text(row, "beam"),
    )  # fmt: skip


def _roll_off(senders: SenderTable, row: Row) -> float:
    """Return the roll-off as a share; NaN where the cell is empty. EN 300 421, EN 302 307-1 and -2 have 0.05 to 0.35."""
    value = senders.number(row, "roll_off", 0.0, 100.0, math.nan)
    if not math.isnan(value) and not 0.04 <= value <= 0.5:
        more = told(" ({value:g} % is written {value_2:g})", value=value, value_2=value / 100.0) if 4.0 <= value <= 50.0 else ""
        raise senders.fault(row, "roll_off", told("is out of range; a share such as 0.35, 0.2 or 0.05 is wanted{more}", more=more))
    return value


def _count(senders: SenderTable, row: Row, key: str, most: int) -> int | None:
    """Return a whole number from 0 to most, written in decimals or as 0x1F; None where the cell is empty."""
    text = senders.text(row, key)
    if not text:
        return None
    hexadecimal = re.fullmatch(r"0[xX]([0-9a-fA-F]{1,8})", text)
    value = float(int(hexadecimal[1], 16)) if hexadecimal else parse_number(text)
    if not (0 <= value <= most and value == int(value)):
        raise senders.fault(row, key, told("is no whole number from 0 to {most}", most=most))
    return int(value)


def _encrypted(senders: SenderTable, row: Row) -> bool | None:
    text = squash(senders.text(row, "encrypted"))
    if text and text not in _YES and text not in _NO:
        raise senders.fault(row, "encrypted", told("is neither yes nor no; leave it empty where nobody knows"))
    return text in _YES if text else None


def _same_carrier(one: Transponder, other: Transponder) -> bool:
    near = abs(one.frequency_mhz - other.frequency_mhz) < 0.0005 * (one.symbol_rate_kbaud + other.symbol_rate_kbaud) / 2
    same = all(getattr(one, key) == getattr(other, key) for key in ("polarisation", "name", "stream_id", "beam"))
    return near and same
