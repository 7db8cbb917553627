"""One question, one answer: where a dish at one place points for one satellite."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from siteplan.errors import InputError, MethodRangeError, told
from siteplan.services.shared.aiming import aim, compass_at, horizon_word, rises_on_the_other_side
from siteplan.words import aim as words

if TYPE_CHECKING:
    from datetime import date

SOURCES = {
    "angles": "vector geometry on the WGS84 ellipsoid, orbit radius 42164 km",
    "refraction": "Rec. ITU-R P.834-7, eq. (14)",
    "declination": "World Magnetic Model 2025",
}
_OVERHEAD_DEG = 89.9999


def _number(value: float, places: int = 6) -> float | None:
    return round(value, places) + 0.0 if math.isfinite(value) else None


def _bearing(value: float) -> float | None:
    return round(value, 6) % 360.0 if math.isfinite(value) else None


def _east_longitude(value: float, flag: str, notes: list[str]) -> float:
    if -180.0 <= value <= 180.0:
        return value
    taken = value - 360.0
    notes.append(words.normalised(flag, value, taken))
    return taken


def aim_for_one(
    *, lat_deg: float, lon_deg: float, orbit_deg: float, height_amsl_m: float = 0.0, on_date: date, date_given: bool = True
) -> dict[str, object]:
    """Return where a dish points for one orbital longitude, as plain numbers and sentences.

    lat_deg        -90 to 90
    lon_deg        -180 to 360, east positive; above 180 is read as west, and said
    orbit_deg      the same, of the satellite
    height_amsl_m  of the antenna, -1000 to 100 000
    on_date        of the declination
    date_given     False where on_date is today's, taken because none was given: the answer says so, and a date beyond the magnetic
                   model then leaves the compass bearing out instead of failing

    Returns azimuth_deg, magnetic_azimuth_deg, elevation_deg (geometric), refraction_deg, skew_deg, range_km, declination_deg
    (None where unknown), then horizon ("above", "grazing", "below"), compass, declination_error_deg, date, notes, inputs, sources.
    Raises InputError for a number out of range, MethodRangeError for a given date outside 2025 to 2029.
    """
    limits = (
        ("lat_deg", lat_deg, -90.0, 90.0),
        ("lon_deg", lon_deg, -180.0, 360.0),
        ("orbit_deg", orbit_deg, -180.0, 360.0),
        ("height_amsl_m", height_amsl_m, -1000.0, 100_000.0),
    )
    for name, value, least, most in limits:
        if not least <= value <= most:
            raise InputError(told("{name} is {value:g}. Allowed: {least:g} to {most:g}.", name=name, value=value, least=least, most=most))
    notes: list[str] = []
    lon, orbit = _east_longitude(lon_deg, "lon_deg", notes), _east_longitude(orbit_deg, "orbit_deg", notes)
    place = {"lat_deg": lat_deg, "lon_deg": lon, "height_amsl_m": height_amsl_m}
    try:
        compass = compass_at(**place, on_date=on_date)
    except MethodRangeError:
        if date_given:
            raise
        compass = None
    look = aim(**place, orbit_deg=orbit, declination=compass.declination_deg if compass else float("nan"))
    horizon = horizon_word(look.elevation_deg, height_amsl_m)

    if horizon == "below":
        notes.append(words.below(orbit, look.elevation_deg))
        if rises_on_the_other_side(**place, orbit_deg=orbit):
            notes.append(words.other_side(orbit))
    elif horizon == "grazing":
        notes.append(words.grazing(orbit, look.elevation_deg))
    elif look.elevation_deg > _OVERHEAD_DEG:
        notes.append(words.overhead())
    notes.extend(text for text in (words.compass_zone(compass.trust) if compass else words.compass_unknown(),) if text)
    if not date_given:
        notes.append(words.date_taken(on_date.isoformat()))
    return {
        "azimuth_deg": _bearing(look.azimuth_deg),
        "magnetic_azimuth_deg": _bearing(look.magnetic_azimuth_deg),
        "elevation_deg": _number(look.elevation_deg),
        "refraction_deg": _number(look.refraction_deg),
        "skew_deg": _number(look.skew_deg),
        "range_km": _number(look.range_km),
        "declination_deg": _number(look.declination_deg),
        "horizon": horizon,
        "compass": compass.trust if compass else "unknown",
        "declination_error_deg": _number(compass.error_deg, 2) if compass else None,
        "date": on_date.isoformat(),
        "notes": notes,
        "inputs": {"lat_deg": lat_deg, "lon_deg": lon, "orbit_deg": orbit, "height_amsl_m": height_amsl_m},
        "sources": SOURCES,
    }


def aim_lines(found: dict[str, object]) -> list[str]:
    """Return the answer of aim_for_one as lines of a table for people, plain text of at most some 100 characters a line."""
    inputs: dict = found["inputs"]  # type: ignore[assignment]
    lines = [
        told(
            "From {latitude} {longitude}, {height_amsl_m:g} m above sea level, to a satellite at {longitude_2}, on {date}",
            latitude=words.latitude(inputs["lat_deg"]),
            longitude=words.longitude(inputs["lon_deg"]),
            height_amsl_m=inputs["height_amsl_m"],
            longitude_2=words.longitude(inputs["orbit_deg"]),
            date=found["date"],
        ),
        "",
    ]

    def row(name: str, value: object, unit: str, places: int, beside: str) -> None:
        number = "unknown" if value is None else f"{value:.{places}f}{unit}"
        lines.append(f"  {name:<16}{number:>12}  {beside}".rstrip())

    declination = found["declination_deg"]
    beside = (
        ""
        if declination is None
        else told("magnetic; declination {degrees:.2f}° east", degrees=declination)
        if declination >= 0
        else told("magnetic; declination {degrees:.2f}° west", degrees=-declination)
    )
    if found["declination_error_deg"] is not None:
        beside += told(", give or take {declination_error_deg:.1f}°", declination_error_deg=found["declination_error_deg"])
    refraction = found["refraction_deg"]
    row("azimuth", found["azimuth_deg"], "°", 2, words.azimuth(found["azimuth_deg"]))  # type: ignore[arg-type]
    row("compass bearing", found["magnetic_azimuth_deg"], "°", 2, beside)
    above = {"above": told("above the horizon"), "grazing": told("below the horizon, grazing"), "below": told("below the horizon")}[
        found["horizon"]
    ]  # type: ignore[index]
    row("elevation", found["elevation_deg"], "°", 2, f"{above}; geometric")
    row(
        "refraction",
        refraction,
        "°",
        2,
        told("the air lifts the ray by this") if refraction is not None else told("not defined below the horizon"),
    )
    row("skew", found["skew_deg"], "°", 2, words.skew(found["skew_deg"]))  # type: ignore[arg-type]
    lines.append(f"  {'':<16}{'':>12}  {words.LINEAR_ONLY}")
    row("distance", found["range_km"], " km", 0, "")
    notes: list = found["notes"]  # type: ignore[assignment]
    return [*lines, *([""] if notes else []), *notes]
