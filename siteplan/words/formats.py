"""How numbers become words: no more digits than a number deserves, never without its unit."""

from __future__ import annotations

import math
import string

_COMPASS = (
    "north", "north-north-east", "north-east", "east-north-east", "east", "east-south-east", "south-east", "south-south-east",
    "south", "south-south-west", "south-west", "west-south-west", "west", "west-north-west", "north-west", "north-north-west",
)  # fmt: skip
_COMPASS_SHORT = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")


def compass(bearing_deg: float) -> str:
    """Return the nearest of sixteen compass words for a true bearing: 157 -> "south-south-east"."""
    return _COMPASS[round((bearing_deg % 360.0) / 22.5) % 16] if math.isfinite(bearing_deg) else "unknown direction"


def compass_short(bearing_deg: float) -> str:
    """Return the same in letters: 157 -> "SSE"."""
    return _COMPASS_SHORT[round((bearing_deg % 360.0) / 22.5) % 16] if math.isfinite(bearing_deg) else "?"


def distance(metres: float) -> str:
    """Return a distance with two figures: 34 m, 620 m, 2.3 km, 23 km."""
    if not math.isfinite(metres):
        return "unknown distance"
    if metres < 9.95:
        return f"{metres:.1f} m"
    if metres < 995:
        two = float(f"{metres:.2g}")
        return f"{two:.0f} m"
    km = metres / 1000.0
    return f"{km:.1f} km" if km < 9.95 else f"{km:.0f} km"


def height(metres: float) -> str:
    """Return a height or length to a decimetre: 5.1 m; a hill to the metre."""
    if not math.isfinite(metres):
        return "unknown height"
    return f"{metres:.1f} m" if abs(metres) < 100 else f"{metres:.0f} m"


def degrees(value: float) -> str:
    """Return an angle to a tenth: 22.4°."""
    return f"{value:.1f}°" if math.isfinite(value) else "unknown"


def decibels(value: float) -> str:
    """Return decibels to the whole dB: 14 dB."""
    return f"{value:.0f} dB" if math.isfinite(value) else "unknown"


def orbit(orbit_deg: float) -> str:
    """Return an orbital longitude as people write it: 19.2E, 30W, 0."""
    text = f"{abs(orbit_deg):.1f}".removesuffix(".0")
    return text + ("E" if orbit_deg > 0 else "W" if orbit_deg < 0 else "")


def per_cent(share: float) -> str:
    """Return a probability as whole per cent, never 0 % or 100 %."""
    if not math.isfinite(share):
        return "unknown"
    return "under 1 %" if share < 0.01 else "over 99 %" if share > 0.99 else f"{100 * share:.0f} %"


_COUNTS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def hours(value: float) -> str:
    """Return a time as people say it, no finer than it is known: five minutes, 40 minutes, half an hour, four hours, three days."""
    if not math.isfinite(value):
        return "an unknown time"
    minutes = round(60.0 * value / 5.0) * 5
    if minutes <= 5:
        return "five minutes"
    if minutes < 55:
        return "half an hour" if minutes == 30 else f"{minutes} minutes"
    if value < 47.5:
        whole = round(value)
        return "an hour" if whole == 1 else f"{_COUNTS[whole] if whole < len(_COUNTS) else whole} hours"
    days = round(value / 24.0)
    return f"{_COUNTS[days] if days < len(_COUNTS) else days} days"


def listing(items: object) -> str:
    """Return "a", "a and b", "a, b and c"."""
    words = [str(item) for item in items] if not isinstance(items, str) else [items]  # type: ignore[attr-defined]
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1] if words else "none"


_FORMATS = {
    "compass": compass, "dist": distance, "height": height, "deg": degrees, "db": decibels, "orbit": orbit, "pct": per_cent, "list": listing,
    "hours": hours,
}  # fmt: skip


class SentenceFormatter(string.Formatter):
    """str.format with our own formats: {distance_m:dist}, {bearing_deg:compass}, {spare_deg:deg}, {margin_db:db}."""

    def format_field(self, value: object, format_spec: str) -> str:
        """Apply one of our formats, or Python's."""
        if format_spec in _FORMATS:
            return _FORMATS[format_spec](value)  # type: ignore[operator]
        return super().format_field(value, format_spec)
