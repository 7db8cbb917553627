"""One place and one satellite, joined: look angles with compass bearing and refraction."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from siteplan.sky.look_angles import look_angles
from siteplan.sky.magnetic import compass_trust, declination_deg, declination_error_deg
from siteplan.sky.refraction import lowest_visible_deg, refraction_deg

if TYPE_CHECKING:
    from datetime import date

    from siteplan.records.results import LookAngles


class Compass(NamedTuple):
    """Magnetic north at one place and date: declination (east positive), its 1-sigma error, and "good", "caution" or "useless"."""

    declination_deg: float
    error_deg: float
    trust: str


def compass_at(*, lat_deg: float, lon_deg: float, height_amsl_m: float, on_date: date) -> Compass:
    """Return what a compass does at one place on a date; heights above sea level stand for heights above the ellipsoid.

    The difference of the two (up to 110 m) moves declination by less than 0.001 degrees. Raises MethodRangeError outside the years
    of the magnetic model. Source: sky.magnetic.
    """
    place = {"lat_deg": lat_deg, "lon_deg": lon_deg, "height_ell_m": height_amsl_m, "on_date": on_date}
    return Compass(declination_deg(**place), declination_error_deg(**place), compass_trust(**place))


def magnetic_bearing_deg(true_bearing_deg: float, declination: float) -> float:
    """Return the compass bearing of a true bearing, [0, 360); declination east positive, NaN stays NaN."""
    turned = (true_bearing_deg - declination) % 360.0
    return 0.0 if turned >= 360.0 else turned


def horizon_word(elevation_deg: float, height_amsl_m: float = 0.0) -> str:
    """Return "above" or "below" the level horizon, or "grazing" where only the bending of the air lets it be seen, over open sea.

    elevation_deg geometric. Source: sky.refraction.lowest_visible_deg.
    """
    if elevation_deg >= 0.0:
        return "above"
    return "grazing" if elevation_deg >= lowest_visible_deg(height_amsl_m=height_amsl_m) else "below"


def aim(
    *,
    lat_deg: float,
    lon_deg: float,
    orbit_deg: float,
    height_amsl_m: float = 0.0,
    on_date: date | None = None,
    declination: float | None = None,
) -> LookAngles:
    """Return where a dish points: look angles, what the air adds, and the compass bearing.

    lat_deg, lon_deg  WGS84, east positive
    orbit_deg         east longitude of the satellite, west negative
    height_amsl_m     of the antenna, -1000 to 100 000; taken as height above the ellipsoid (110 m more or less is 1e-5 degrees)
    on_date           of the declination; None leaves declination and magnetic azimuth NaN
    declination       degrees, where the caller knows it already: on_date is then not needed

    Returns LookAngles; refraction_deg NaN where the satellite is too low to be seen even over open sea. Raises InputError for a
    place off the Earth, MethodRangeError for a height or date out of range.
    Source: sky.look_angles, sky.refraction, sky.magnetic; checked in tests/services/test_aiming.py.
    """
    look = look_angles(lat_deg=lat_deg, lon_deg=lon_deg, height_ell_m=height_amsl_m, orbit_deg=orbit_deg)
    seen = horizon_word(look.elevation_deg, height_amsl_m) != "below"
    lift = float(refraction_deg(elevation_deg=look.elevation_deg, height_amsl_m=height_amsl_m)) if seen else float("nan")
    if declination is None:
        declination = float("nan")
        if on_date is not None:
            declination = declination_deg(lat_deg=lat_deg, lon_deg=lon_deg, height_ell_m=height_amsl_m, on_date=on_date)
    return replace(
        look,
        refraction_deg=lift,
        declination_deg=declination,
        magnetic_azimuth_deg=magnetic_bearing_deg(look.azimuth_deg, declination),
    )


def rises_on_the_other_side(*, lat_deg: float, lon_deg: float, orbit_deg: float, height_amsl_m: float = 0.0) -> bool:
    """Return whether a satellite that never rises here would, were its longitude on the other side of Greenwich (30 E for 30 W)."""
    place = {"lat_deg": lat_deg, "lon_deg": lon_deg, "height_ell_m": height_amsl_m}
    here = look_angles(orbit_deg=orbit_deg, **place).elevation_deg
    other = look_angles(orbit_deg=-orbit_deg, **place).elevation_deg
    return horizon_word(here, height_amsl_m) == "below" and other >= 0.0
