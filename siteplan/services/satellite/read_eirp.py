"""What finished installations say of a carrier's EIRP: their readings turned round through the same link budget that foretells them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import replace

from siteplan.records.emitters import ReadEirp, Satellite, Transponder
from siteplan.records.plan import Plan
from siteplan.records.readings import Reading
from siteplan.services.satellite.links import SatelliteLinks

# A meter's C/N, pointing and the weather of the day: common practice, no source.
READING_ERROR_DB = 1.5
_DISH = re.compile(r"(\d+(?:[.,]\d+)?)\s*(m|cm)\b", re.IGNORECASE)


def dish_of(kit: str) -> float:
    """Return the dish's diameter in metres that a reading's kit names ("0.8 m dish", "dish 80 cm"), NaN where it names none."""
    match = _DISH.search(kit)
    if match is None:
        return math.nan
    size = float(match[1].replace(",", ".")) * (0.01 if match[2].lower() == "cm" else 1.0)
    return size if 0.2 <= size <= 20.0 else math.nan


def with_readings(satellites: tuple[Satellite, ...], readings: Iterable[tuple[Reading, float, float]], plan: Plan) -> tuple[Satellite, ...]:
    """Return the satellites with what readings say of those carriers whose EIRP is unknown or only assumed.

    readings  each with latitude and longitude of its installation. Counted are those that locked, name their satellite and carrier, give a
              C/N (or MER) and whose kit names the dish: the EIRP is what the clear-sky budget with that dish needs for that C/N.
    """
    found = list(readings)
    return tuple(replace(one, transponders=tuple(_read(one, carrier, found, plan) for carrier in one.transponders)) for one in satellites)


def _read(satellite: Satellite, carrier: Transponder, readings: list[tuple[Reading, float, float]], plan: Plan) -> Transponder:
    if math.isfinite(carrier.eirp_dbw) and carrier.eirp_source != "assumed":
        return carrier
    made = []
    for reading, lat_deg, lon_deg in readings:
        noise = reading.cn_db if math.isfinite(reading.cn_db) else reading.mer_db
        dish_m = dish_of(reading.kit)
        named = reading.source.casefold() == satellite.name.casefold() and reading.carrier.casefold() == carrier.name.casefold()
        if named and carrier.name and reading.locked and math.isfinite(noise) and math.isfinite(dish_m):
            made.append(
                ReadEirp(lat_deg, lon_deg, noise - _cn_at_0_dbw(satellite, carrier, (lat_deg, lon_deg), dish_m, plan), READING_ERROR_DB)
            )
    good = tuple(one for one in made if 0.0 < one.eirp_dbw < 90.0)  # what no satellite sends is a faulty reading
    return replace(carrier, readings=good) if good else carrier


def _cn_at_0_dbw(satellite: Satellite, carrier: Transponder, where: tuple[float, float], dish_m: float, plan: Plan) -> float:
    alone = replace(satellite, transponders=(replace(carrier, eirp_dbw=0.0, eirp_source="measured"),), neighbours=(), beams=())
    kit = plan.model_copy(update={"kit": plan.kit.model_copy(update={"dishes_m": (dish_m,)})})
    lines = SatelliteLinks(alone, (*where, 0.0), kit).lines(dish_m)
    return lines[0].cn_db if lines else math.nan
