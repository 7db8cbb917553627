"""Elements of an orbit file brought to the satellites they belong to: where each stands on the plan's date, or why its place is kept."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date as Date
from datetime import datetime

from siteplan.records.emitters import Satellite
from siteplan.records.orbit import DayOfOrbit, MeanElements
from siteplan.records.verdict import Reason
from siteplan.sky.orbit import day_of

# Elements farther than this from the date say no more where a satellite is kept: it is steered every week or two (common practice).
OLDEST_DAYS = 30.0
# Farther from the table's place than this the elements belong to another satellite, or the table is wrong.
SAME_SATELLITE_DEG = 2.0
# A satellite that stands this far from the table's place, or drifts this fast, is worth a word: a tenth of a small dish's beam.
WORTH_SAYING_DEG = 0.2
DRIFTS_DEG_PER_DAY = 0.02
# Geostationary, loosely: the figure of a day stays within this much of the equator and of its middle.
WIDEST_FIGURE_DEG = 40.0


def with_orbits(
    satellites: Sequence[Satellite], elements: Sequence[MeanElements], on_date: Date | None
) -> tuple[tuple[Satellite, ...], tuple[Reason, ...]]:
    """Return the satellites with their day of orbit where the elements give one, and a reason for each wanted one that they don't.

    Elements belong to a satellite by its catalogue number, else by its name (case, spaces and marks do not count). Neighbours are looked
    up as well, without a word. on_date None: nothing is looked up, and that is said.
    """
    if not elements:
        return tuple(satellites), ()
    if on_date is None:
        return tuple(satellites), (Reason("orbit_undated"),)
    noon = datetime(on_date.year, on_date.month, on_date.day, 12)
    elements = sorted(elements, key=lambda one: abs(one.epoch - noon), reverse=True)  # of several sets the nearest in time is taken
    by_number = {one.number: one for one in elements if one.number}
    by_name = {_plain(one.name): one for one in elements if one.name}

    def of(satellite: Satellite) -> tuple[Satellite, list[Reason]]:
        found = by_number.get(satellite.catalogue_number or -1) or by_name.get(_plain(satellite.name))
        if found is None:
            return satellite, [Reason("orbit_none", {"satellite": satellite.name, "orbit_deg": satellite.orbit_deg})]
        day, notes = _day(satellite, found, on_date)
        return replace(satellite, day=day), notes

    out, said = [], []
    for satellite in satellites:
        placed, notes = of(satellite)
        out.append(replace(placed, neighbours=tuple(of(other)[0] for other in placed.neighbours)))
        said += notes
    return tuple(out), tuple(said)


def _plain(name: str) -> str:
    return "".join(letter for letter in name.casefold() if letter.isalnum())


def _day(satellite: Satellite, elements: MeanElements, on_date: Date) -> tuple[DayOfOrbit | None, list[Reason]]:
    day = day_of(elements, on_date)
    values = {
        "satellite": satellite.name, "orbit_deg": satellite.orbit_deg, "found_deg": day.lon_deg, "epoch": elements.epoch.date().isoformat(),
        "age_days": abs(day.age_days), "drift_deg": abs(day.drift_deg_per_day), "way": "east" if day.drift_deg_per_day > 0 else "west",
        "mean_motion": elements.mean_motion, "lat_deg": day.lat_across_deg / 2.0,
    }  # fmt: skip
    if abs(day.age_days) > OLDEST_DAYS:
        return None, [Reason("orbit_old", values)]
    if not math.isfinite(day.lon_deg) or max(day.lon_across_deg, day.lat_across_deg) > WIDEST_FIGURE_DEG:
        return None, [Reason("orbit_not_stationary", values)]
    off = abs((day.lon_deg - satellite.orbit_deg + 180.0) % 360.0 - 180.0)
    if off > SAME_SATELLITE_DEG:
        return None, [Reason("orbit_elsewhere", values)]
    notes = [Reason("orbit_moved", values)] if off > WORTH_SAYING_DEG else []
    notes += [Reason("orbit_drifts", values)] if abs(day.drift_deg_per_day) > DRIFTS_DEG_PER_DAY else []
    return day, notes
