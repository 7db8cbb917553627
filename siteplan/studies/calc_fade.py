"""One question, one answer: what the weather takes from a satellite's signal at one place."""

from __future__ import annotations

import math

from siteplan.errors import InputError, told
from siteplan.services.shared.fading import EDITIONS, HIGHEST_M, LOWEST_M, Weather, fade_here, hours_per_year, worst_month_pct
from siteplan.words import weather as words

# Only for the note on noise: dish and LNB of an ordinary household installation.
_EXAMPLE_NOISE_K = 100.0
# P.618 names no limits for these; they keep slips of the pen out.
_LIMITS = {
    "lat_deg": (-90.0, 90.0),
    "lon_deg": (-180.0, 360.0),
    "frequency_mhz": (-math.inf, math.inf),
    "elevation_deg": (-90.0, 90.0),
    "time_pct": (-math.inf, math.inf),
    "height_amsl_m": (LOWEST_M, HIGHEST_M),
    "dish_m": (0.1, 50.0),
    "dish_efficiency": (0.1, 1.0),
    "tilt_deg": (-180.0, 180.0),
    "rain_001_mm_per_h": (0.0, 400.0),
}


def fade_for_one(
    *,
    lat_deg: float,
    lon_deg: float,
    frequency_mhz: float,
    elevation_deg: float,
    time_pct: float,
    height_amsl_m: float | None = None,
    dish_m: float = 0.8,
    dish_efficiency: float = 0.65,
    tilt_deg: float = 45.0,
    rain_001_mm_per_h: float | None = None,
) -> dict[str, object]:
    """Return the attenuation exceeded for a percentage of the average year, as plain numbers and sentences.

    lat_deg, lon_deg       -90 to 90, -180 to 360, east positive
    frequency_mhz          1000 to 55 000
    elevation_deg          1 to 90; under 5 stretched, and said
    time_pct               0.001 to 5
    height_amsl_m          of the antenna; None takes the ground of a world map, and says so
    dish_m, dish_efficiency   smooth the scintillation
    tilt_deg               of the polarisation against the horizontal: 0 horizontal, 90 vertical, 45 circular or unknown
    rain_001_mm_per_h      exceeded for 0.01 % of the year; None takes the world map's

    Returns rain_db, gas_db, cloud_db, scintillation_db, total_db (not their sum), then what led to them, notes, left_out, inputs,
    editions. Raises InputError for a number out of range, MethodRangeError outside what the method was published for.
    """
    inputs: dict[str, float | None] = {
        "lat_deg": lat_deg,
        "lon_deg": lon_deg,
        "frequency_mhz": frequency_mhz,
        "elevation_deg": elevation_deg,
        "time_pct": time_pct,
        "height_amsl_m": height_amsl_m,
        "dish_m": dish_m,
        "dish_efficiency": dish_efficiency,
        "tilt_deg": tilt_deg,
        "rain_001_mm_per_h": rain_001_mm_per_h,
    }
    for name, value in inputs.items():
        least, most = _LIMITS[name]
        if value is not None and not (math.isfinite(value) and least <= value <= most):
            allowed = f"{least:g} to {most:g}" if math.isfinite(least) else "a number"
            raise InputError(told("{name} is {value:g}. Allowed: {allowed}.", name=name, value=value, allowed=allowed))
    lon = lon_deg - 360.0 if lon_deg > 180.0 else lon_deg
    found = fade_here(
        lat_deg=lat_deg,
        lon_deg=lon,
        frequency_mhz=frequency_mhz,
        elevation_deg=elevation_deg,
        time_pct=time_pct,
        height_amsl_m=height_amsl_m,
        tilt_deg=tilt_deg,
        dish_m=dish_m,
        efficiency=dish_efficiency,
        rain_001_mm_per_h=rain_001_mm_per_h,
    )
    hours, month = hours_per_year(time_pct), worst_month_pct(time_pct)
    return {
        **{name: _number(getattr(found, name)) for name in ("rain_db", "gas_db", "cloud_db", "scintillation_db", "total_db")},
        "noise_rise_k": _number(found.noise_rise_k, 2),
        "clear_sky_gas_db": _number(found.clear_sky_gas_db),
        "cross_polar_db": _number(found.cross_polar_db, 2),
        "rain_001_mm_per_h": _number(found.rain_001_mm_per_h),
        "rain_height_amsl_m": _number(found.rain_height_amsl_m, 1),
        "height_amsl_m": _number(found.height_amsl_m, 1),
        "k": _number(found.k, 9),
        "alpha": _number(found.alpha, 9),
        "specific_rain_db_per_km": _number(found.specific_db_per_km),
        "slant_path_in_rain_km": _number(found.slant_km),
        "hours_per_year": _number(hours, 4),
        "worst_month_pct": _number(month),
        "notes": _notes(found, inputs, hours, month),
        "left_out": list(words.LEFT_OUT),
        "inputs": {**inputs, "lon_deg": lon},
        "editions": EDITIONS,
    }


def _number(value: float, places: int = 6) -> float | None:
    return round(value, places) + 0.0 if math.isfinite(value) else None


def _notes(found: Weather, inputs: dict[str, float | None], hours: float, month: float) -> list[str]:
    notes = [words.how_long(time_pct=float(inputs["time_pct"] or 0.0), hours_per_year=hours, worst_month_pct=month)]
    fall_db = 10.0 * math.log10(1.0 + found.noise_rise_k / _EXAMPLE_NOISE_K)
    notes.append(words.noise_note(noise_rise_k=found.noise_rise_k, example_k=_EXAMPLE_NOISE_K, example_db=fall_db))
    if inputs["height_amsl_m"] is None:
        notes.append(words.height_taken(found.height_amsl_m))
    if found.rain_height_amsl_m <= found.height_amsl_m:
        notes.append(words.above_the_rain(found.rain_height_amsl_m))
    elif found.rain_001_mm_per_h <= 0.0:
        notes.append(words.no_rain())
    return notes + [words.stretched(code) for code in found.stretched]


_ROWS = (
    ("rain", "rain_db", "dB", 2),
    ("gases", "gas_db", "dB", 2),
    ("clouds", "cloud_db", "dB", 2),
    ("scintillation", "scintillation_db", "dB", 2),
    ("total", "total_db", "dB", 2),
)


def fade_lines(found: dict[str, object]) -> list[str]:
    """Return the answer of fade_for_one as lines of plain text for people."""
    inputs: dict = found["inputs"]  # type: ignore[assignment]
    beside = {
        "rain_db": told(
            "rain of {rain_001_mm_per_h:.1f} mm/h for 0.01 % of the year, up to {rain_height_amsl_m:.0f} m",
            rain_001_mm_per_h=found["rain_001_mm_per_h"],
            rain_height_amsl_m=found["rain_height_amsl_m"],
        ),
        "gas_db": told("{clear_sky_gas_db:.2f} dB of it on half of all days", clear_sky_gas_db=found["clear_sky_gas_db"]),
        "scintillation_db": told("dish of {dish_m:g} m", dish_m=inputs["dish_m"]),
        "total_db": told("gases + √((rain + clouds)² + scintillation²), not the sum"),
    }
    asked = {name: inputs[name] for name in ("lat_deg", "lon_deg", "frequency_mhz", "elevation_deg", "time_pct")}
    lines = [words.fade_heading(**asked), ""]
    for name, key, unit, places in _ROWS:
        lines.append(f"  {name:<16}{found[key]:>9.{places}f} {unit}  {beside.get(key, '')}".rstrip())
    editions: dict = found["editions"]  # type: ignore[assignment]
    notes: list = found["notes"]  # type: ignore[assignment]
    return [*lines, "", *notes, "", f"{editions['method']}; {editions['gases']}; {editions['clouds']}; {editions['rain rate']}"]
