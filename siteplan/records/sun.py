"""The sun and what is seen from the spot, as helps to aim without a compass."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class SunCrossing:
    """The sun at a satellite's bearing: when, how high, and how high the skyline stands there (NaN unknown).

    local  the same moment by the plan's timezone, None where the plan names none
    """

    utc: datetime
    local: datetime | None
    elevation_deg: float
    skyline_deg: float


@dataclass(frozen=True, slots=True)
class SunOutage:
    """The sun behind a satellite on one day: the moment it is nearest, how near, and for how long it disturbs this dish, minutes."""

    utc: datetime
    local: datetime | None
    separation_deg: float
    minutes: float


@dataclass(frozen=True, slots=True)
class Landmark:
    """Something seen near a satellite's bearing. aside_deg: of the satellite's bearing from it, positive to the right.

    what  "left end", "right end" (of a building, as seen from here), "top" (of something in the skyline) or "wall" (straight out of it)
    """

    what: str
    kind: str
    aside_deg: float
    bearing_deg: float
    distance_m: float
    height_agl_m: float = float("nan")


@dataclass(frozen=True, slots=True)
class SunAid:
    """One satellite: the days on which the sun crosses its bearing above the skyline, the outages of a year, and landmarks.

    seldom  "" where there are crossings, else "below" (the sun is below the horizon or the skyline then on all the days)
    """

    satellite: str
    azimuth_deg: float
    elevation_deg: float
    crossings: tuple[SunCrossing, ...]
    outages: tuple[SunOutage, ...]
    outage_within_deg: float
    landmarks: tuple[Landmark, ...] = ()
    seldom: str = ""


@dataclass(frozen=True, slots=True)
class SunFinding:
    """The sun over one spot. path: (azimuth_deg, elevation_deg, hour) of the plan's date while it is up, hour by timezone (else UTC)."""

    timezone: str
    days: int
    aids: tuple[SunAid, ...]
    path: tuple[tuple[float, float, float], ...] = ()
