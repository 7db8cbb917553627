"""The sentences about weather: the fade calculator's notes, and how long a picture is gone in a year."""

from __future__ import annotations

from siteplan.words.aim import latitude, longitude
from siteplan.words.formats import hours

# Values: hours_per_year, hours_worst_month (h), available_pct, worst_month_pct (per cent of time), wanted_pct, margin_db.
SENTENCES = {
    "weather_outage": "About {hours_per_year:hours} a year without picture in heavy rain.",
    "weather_outage_under": "Less than {hours_per_year:hours} a year without picture in heavy rain.",
    "weather_outage_over": "More than {hours_per_year:hours} a year without picture: rain, and often cloud, is too much for this dish.",
    "weather_worst_month": "In the wettest month about {hours_worst_month:hours} of it.",
    "weather_propagation_only": "Weather alone is counted: power cuts, faults and snow on the dish come on top.",
    "weather_unknown": "How much rain takes can't be said here: {why}",
}

_STRETCHED = {
    "low_elevation": (
        "Elevation under 5°: ITU-R P.618, P.676 and P.840 state scintillation, gases and clouds from 5° up. These three are stretched, "
        "and reflections near the horizon, which fade deeper, are not in them."
    ),
    "scintillation_frequency": "Scintillation is stated for 4 to 20 GHz by ITU-R P.618; here its formula is stretched.",
    "scintillation_time": "Scintillation is stated for 0.01 % of the year and more by ITU-R P.618; here its formula is stretched.",
}

LEFT_OUT = (
    "free-space loss, pointing and obstruction: attenuation by the weather alone is given",
    "the loss of G/T to the warmer sky, which depends on the receiver: see noise_rise_k",
    "wet snow, sand, water on the dish",
)


def stretched(code: str) -> str:
    """Return the sentence for a range that an answer stretches (radio.atmosphere.extended)."""
    return _STRETCHED[code]


def outage_code(bound: str) -> str:
    """Return which sentence of an outage fits: by the bound of an availability, "", "under" or "over"."""
    return f"weather_outage_{bound}" if bound else "weather_outage"


def fade_heading(*, lat_deg: float, lon_deg: float, frequency_mhz: float, elevation_deg: float, time_pct: float) -> str:
    """Return the first line of the fade calculator."""
    return (
        f"At {latitude(lat_deg)} {longitude(lon_deg)}, {frequency_mhz:g} MHz, elevation {elevation_deg:g}°: exceeded for {time_pct:g} % of the "
        "average year"
    )


def how_long(*, time_pct: float, hours_per_year: float, worst_month_pct: float) -> str:
    """Return a percentage of the year in words, and what it is in the worst month."""
    return f"{time_pct:g} % is about {hours(hours_per_year)} a year; in the worst month the same fade is exceeded for {worst_month_pct:.2g} %."


def height_taken(height_amsl_m: float) -> str:
    """Return that no height was given and which was taken."""
    return f"No height was given; {height_amsl_m:.0f} m above sea level was taken from the world map of ITU-R P.1511, good to some 100 m in hills."


def above_the_rain(rain_height_amsl_m: float) -> str:
    """Return why rain takes nothing on a high mountain."""
    return f"The place lies above the rain height of {rain_height_amsl_m:.0f} m: what falls there is snow, and rain takes nothing."


def no_rain() -> str:
    """Return why rain takes nothing in a desert."""
    return "It rains here for less than 0.01 % of the year: rain takes nothing."


def noise_note(*, noise_rise_k: float, example_k: float, example_db: float) -> str:
    """Return what the total leaves out: a lossy sky is a warm one."""
    return (
        f"Attenuation only. For as long, the sky is also {noise_rise_k:.0f} K noisier: with {example_k:g} K of dish and LNB in clear sky, G/T falls by "
        f"another {example_db:.1f} dB."
    )
