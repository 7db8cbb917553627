"""Orbits: mean elements as a TLE or an OMM states them, and where that puts a satellite over one day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class MeanElements:
    """Mean elements for SGP4, angles in degrees, at an epoch (UTC).

    number        of the satellite catalogue, 0 where not stated
    mean_motion   revolutions a day; its derivatives as SGP4 takes them: n'/2 in rev/day^2, n''/6 in rev/day^3
    bstar         drag term, 1 over Earth radii
    """

    name: str
    number: int
    epoch: datetime
    inclination_deg: float
    node_deg: float
    eccentricity: float
    perigee_deg: float
    anomaly_deg: float
    mean_motion: float
    half_first_derivative: float = 0.0
    sixth_second_derivative: float = 0.0
    bstar: float = 0.0


@dataclass(frozen=True, slots=True)
class DayOfOrbit:
    """Where a satellite is over the sidereal day that begins at 0 h UTC of a date.

    lon_deg           middle of the sub-satellite longitudes, east positive, (-180, 180]
    lon_across_deg, lat_across_deg   width and height of the figure that the sub-satellite point draws
    drift_deg_per_day   how the middle moves from one sidereal day to the next, east positive
    age_days          of the elements at the date, negative where they are of a later day
    track_m           Earth-fixed (x, y, z) of the satellite over that day, evenly spaced
    """

    number: int
    epoch: datetime
    lon_deg: float
    lon_across_deg: float
    lat_across_deg: float
    drift_deg_per_day: float
    age_days: float
    track_m: tuple[tuple[float, float, float], ...] = ()

    @property
    def half_box_deg(self) -> float:
        """Return half the greater side of the figure."""
        return 0.5 * max(self.lon_across_deg, self.lat_across_deg)
