"""Readings beside what was expected: which carrier each row is, what it is off by, whether it passes, and what all say together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import median

from siteplan.geodesy.earth import earth_distance_m
from siteplan.records.readings import MOST_CN_DB, PORT, Compared, Expected, Reading
from siteplan.records.verdict import Reason
from siteplan.services.outlets.compare_cells import cells_fitting, compared_cell
from siteplan.signal_chain.diagnosis import diagnose
from siteplan.signal_chain.diagnosis_mobile import diagnose_cells
from siteplan.signal_chain.diagnosis_port import between, diagnose_port

NEAR_MHZ = 5.0  # an LNB's oscillator drifts by a few MHz: common practice, no source
WEAK_DB = 1.0  # passes by less than this are weak
CN_TOLERANCE_DB = 2.0
ALIKE_MHZ = 2.0  # a carrier this much farther off than the nearest may be meant as well: an oscillator drifts. Common practice, no source
OTHER_UNIT_DB, FITS_DB = 20.0, 8.0  # a level this far off, that would be this near in another unit. Common practice, no source


def compare(readings: Sequence[Reading], expected: Sequence[Expected]) -> tuple[tuple[Compared, ...], tuple[Reading, ...]]:
    """Return readings beside their expectation, and those of carriers that were not expected.

    A carrier is found by its name, else by frequency: in the air or on the cable, within 5 MHz, the nearest; where a reading names its
    satellite, outlet or polarisation only those are looked at. One that fits several carriers or outlets is not guessed: it counts as
    not expected, and why_unknown says so.
    """
    made, unknown = [], []
    for reading in readings:
        fitting = _fitting(reading, expected)
        if len(fitting) == 1:
            made.append(_compared(reading, fitting[0]))
        else:
            unknown.append(reading)
    return tuple(made), tuple(unknown)


def why_unknown(reading: Reading, expected: Sequence[Expected]) -> Reason:
    """Return why a reading could not be set beside what was expected: nothing fits, or more than one carrier or outlet."""
    carrier = name_of(reading)
    fitting = _fitting(reading, expected)
    names = list(dict.fromkeys(f"{one.carrier} ({one.source})" for one in fitting))
    outlets = list(dict.fromkeys(one.outlet for one in fitting))
    if len(names) > 1:
        return Reason("read_several_carriers", {"carrier": carrier, "names": names[:8]})
    if len(outlets) > 1:
        return Reason("read_several_outlets", {"carrier": carrier, "outlets": outlets[:8]})
    there = list(dict.fromkeys(one.outlet for one in expected if one.outlet))
    if reading.outlet and there and not any(_same(reading.outlet, outlet) for outlet in there):
        return Reason("read_unknown_outlet", {"carrier": carrier, "outlet": reading.outlet, "outlets": there[:8]})
    return Reason("read_unknown_carrier", {"carrier": carrier, "source": reading.source or "?"})


def elsewhere(readings: Sequence[Reading], expected: Sequence[Expected], within_m: float) -> tuple[Reason, ...]:
    """Return a word where readings that name their address were taken far from it: the greatest distance of those that say where."""
    if not expected:
        return ()
    home = expected[0]
    away = [
        float(earth_distance_m(lat1_deg=one.lat_deg, lon1_deg=one.lon_deg, lat2_deg=home.lat_deg, lon2_deg=home.lon_deg))
        for one in readings
        if math.isfinite(one.lat_deg) and math.isfinite(one.lon_deg)
    ]
    far = [metres for metres in away if metres > within_m]
    return (Reason("read_elsewhere", {"count": len(far), "distance_m": max(far)}),) if far else ()


def latest(compared: Sequence[Compared]) -> tuple[Compared, ...]:
    """Return only the latest reading of each carrier at each outlet, in the order of what was expected."""
    kept: dict[tuple, Compared] = {}
    for one in sorted(compared, key=lambda one: one.reading.moment):  # those of one moment as they came
        key = (one.expected.source, one.expected.outlet, one.expected.carrier)
        kept[key] = one
    first = {(one.expected.source, one.expected.outlet, one.expected.carrier): place for place, one in reversed(list(enumerate(compared)))}
    return tuple(kept[key] for key in sorted(kept, key=lambda key: first[key]))


def meaning(compared: Sequence[Compared]) -> tuple[Reason, ...]:
    """Return what the readings say together, satellite by satellite and outlet by outlet.

    What several say alike is said once, with the middle of its values; a reason that holds for some alone names them under "those".
    """
    groups: dict[tuple[str, str], list[Compared]] = {}
    cells = [one for one in compared if one.expected.service == "mobile"]
    for one in compared:
        if one.expected.service != "mobile":
            groups.setdefault((one.expected.source, one.expected.outlet), []).append(one)
    told: dict[tuple, list[tuple[str, str, Reason]]] = {}
    for (source, outlet), group in groups.items():
        lost = between(groups.get((source, PORT), ()), group) if outlet != PORT else None
        said = diagnose_port(group) if outlet == PORT else (lost,) if lost is not None else diagnose(group)
        for reason in said:
            own = tuple(str(reason.values[key]) for key in ("carrier", "carriers") if key in reason.values)
            told.setdefault((reason.code, *own), []).append((source, outlet, reason))
    return (*diagnose_cells(cells), *(_together(ones, tuple(groups)) for ones in told.values()))


def _together(ones: Sequence[tuple[str, str, Reason]], groups: Sequence[tuple[str, str]]) -> Reason:
    """Return what some sources say alike as one reason: numbers by their middle, under "those" the sources where there are others."""
    first = ones[0][2]
    values: dict[str, object] = dict(first.values)
    for key, value in first.values.items():
        if isinstance(value, float):
            values[key] = median(float(reason.values[key]) for _, _, reason in ones)  # type: ignore[arg-type]
    if len({(source, outlet) for source, outlet, _ in ones}) < len(groups):
        several = len({outlet for _, outlet in groups}) > 1
        values["those"] = list(dict.fromkeys(f"{source} ({outlet})" if several and outlet else source for source, outlet, _ in ones))
    return Reason(first.code, values)


def name_of(reading: Reading) -> str:
    """Return what a reading calls its carrier or cell: its name, else its frequency, band or identity."""
    if reading.carrier or math.isfinite(reading.frequency_mhz) or not reading.of_cell:
        return reading.carrier or f"{reading.frequency_mhz:g} MHz"
    return " ".join(part for part in (reading.technology, reading.band, f"PCI {reading.pci}" if reading.pci else reading.cell_id) if part)


def repeats(readings: Sequence[Reading]) -> tuple[Reason, ...]:
    """Return which carriers were read more than once, and when."""
    times: dict[tuple[str, ...], list[Reading]] = {}
    for reading in readings:
        key = (reading.source, reading.outlet, name_of(reading), reading.pci)
        times.setdefault(key, []).append(reading)
    found = []
    for key, ones in times.items():
        said = [one.taken_at for one in sorted(ones, key=lambda one: one.moment) if one.taken_at]
        if len(ones) > 1:
            said = [*said[:1], "…", *said[-4:]] if len(said) > 6 else said
            values = {"carrier": key[2], "count": len(ones), "times": said}
            found.append(Reason("read_repeat" if said else "read_repeat_untimed", values))
    return tuple(found)


def _fitting(reading: Reading, expected: Sequence[Expected]) -> list[Expected]:
    """Return the expectations that a reading may be of: one where it is clear."""
    fitting = [
        one
        for one in expected
        if _same(reading.source, one.source)
        and _same(reading.outlet, one.outlet)
        and (_says_nothing(reading) or reading.of_cell == (one.service == "mobile"))
        and (not reading.polarisation or one.line[:1] not in ("V", "H") or one.line[:1] == reading.polarisation)
    ]
    if not reading.outlet:  # who reads at the antenna itself says so
        fitting = [one for one in fitting if one.outlet != PORT] or fitting
    if reading.of_cell:
        return cells_fitting(reading, fitting)
    found = [one for one in fitting if reading.carrier and reading.carrier.casefold() == one.carrier.casefold()]
    if not found and math.isfinite(reading.frequency_mhz):
        off = [(_off_mhz(reading.frequency_mhz, one), one) for one in fitting]
        best = min((mhz for mhz, _ in off), default=math.inf)
        found = [one for mhz, one in off if mhz <= NEAR_MHZ and mhz <= best + ALIKE_MHZ]
    return found


def _says_nothing(reading: Reading) -> bool:
    """Return whether a row says only that there was no signal: then its name alone tells a cell from a carrier."""
    return not reading.locked and bool(reading.carrier) and not reading.of_cell


def _off_mhz(frequency_mhz: float, one: Expected) -> float:
    return min((abs(mhz - frequency_mhz) for mhz in (one.rf_mhz, one.if_mhz) if math.isfinite(mhz)), default=math.inf)


def _same(asked: str, there: str) -> bool:
    return not asked or not there or asked.casefold() == there.casefold()


def _compared(reading: Reading, expected: Expected) -> Compared:
    return compared_cell(reading, expected) if expected.service == "mobile" else _carrier(reading, expected)


def required(expected: Sequence[Expected], read: Sequence[Compared]) -> tuple[Expected, ...]:
    """Return what a report must show: every carrier at every outlet, one mobile cell, and whatever else was read.

    Readings at the antenna itself help to find faults and are nobody's duty; of the cells one is enough, the customer has one operator.
    """
    there = [one.expected for one in read]
    cell_read = any(one.service == "mobile" and one.outlet != PORT for one in there)
    first = next((one for one in expected if one.service == "mobile" and one.outlet != PORT), None)
    return tuple(
        one
        for one in expected
        if one in there or (one.outlet != PORT and (one.service != "mobile" or (one is first and not cell_read)))
    )


def _carrier(reading: Reading, expected: Expected) -> Compared:
    noise = next((value for value in (reading.cn_db, reading.mer_db) if math.isfinite(value)), math.nan)
    if math.isnan(noise) and math.isfinite(reading.margin_db):
        noise = reading.margin_db + expected.threshold_db
    margin = noise - expected.threshold_db
    reasons: list[Reason] = []
    if not reading.locked:
        reasons.append(Reason("read_no_lock"))
    at_port, values = expected.outlet == PORT, {}
    if math.isfinite(reading.level_dbuv):
        values |= {"level_dbuv": reading.level_dbuv, "min_dbuv": expected.min_dbuv, "max_dbuv": expected.max_dbuv}
        if reading.level_dbuv < expected.min_dbuv:
            reasons.append(Reason("read_port_low" if at_port else "read_level_low", values))
        if reading.level_dbuv > expected.max_dbuv:
            reasons.append(Reason("read_port_high" if at_port else "read_level_high", values))
    if margin < 0.0:
        reasons.append(Reason("read_cn_short", {"short_db": -margin}))
    passes: bool | None = not [one for one in reasons if not one.code.startswith("read_port_")]  # at the antenna C/N alone decides
    if reading.locked and math.isnan(noise):
        passes = None if passes else False  # a level alone proves nothing good
    reasons += _other_unit(reading.level_dbuv, expected.level_dbuv)
    off = min(noise, MOST_CN_DB) - min(expected.cn_db, MOST_CN_DB) if math.isfinite(noise) and math.isfinite(expected.cn_db) else math.nan
    if passes and margin < WEAK_DB:
        reasons.append(Reason("read_cn_weak", {"margin_db": margin}))
    if passes and min(reading.level_dbuv - expected.min_dbuv, expected.max_dbuv - reading.level_dbuv) < WEAK_DB and not at_port:
        reasons.append(Reason("read_level_edge", values))
    if passes and off < -max(CN_TOLERANCE_DB, expected.cn_sigma_db):
        reasons.append(Reason("read_cn_off", {"off_db": -off}))
    return Compared(reading, expected, reading.level_dbuv - expected.level_dbuv, off, margin, passes, tuple(reasons))


def _other_unit(level_dbuv: float, expected_dbuv: float) -> list[Reason]:
    """Return a word where a level is far from what was expected, and near it were it in another unit: dBmV is 60 dB off, dBm 108.75."""
    off = level_dbuv - expected_dbuv
    if abs(off) < OTHER_UNIT_DB:
        return []
    shifts = {"dBµV": {"dBmV": 60.0, "dBm": 108.75}, "dBmV": {"dBµV": -60.0, "dBm": 48.75}, "dBm": {"dBµV": -108.75, "dBmV": -48.75}}
    for given, others in shifts.items():
        for meant, shift in others.items():
            if abs(off + shift) <= FITS_DB:
                return [Reason("read_other_unit", {"given": given, "meant": meant})]
    return []
