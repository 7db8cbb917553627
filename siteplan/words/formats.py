"""How numbers become words: no more digits than a number deserves, never without its unit."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence

from siteplan.words.items import item_name
from siteplan.words.language import FOOT_M, INCH_M, MILE_M, NumberFormatter, figures, say, spoken

_COMPASS = (
    "north", "north-north-east", "north-east", "east-north-east", "east", "east-south-east", "south-east", "south-south-east",
    "south", "south-south-west", "south-west", "west-south-west", "west", "west-north-west", "north-west", "north-north-west",
)  # fmt: skip
_COMPASS_SHORT = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")



def compass(bearing_deg: float) -> str:
    """Return the nearest of sixteen compass words for a true bearing: 157 -> "south-south-east"."""
    return say(_COMPASS[round((bearing_deg % 360.0) / 22.5) % 16]) if math.isfinite(bearing_deg) else say("unknown direction")


def compass_short(bearing_deg: float) -> str:
    """Return the same in letters: 157 -> "SSE"."""
    return say(_COMPASS_SHORT[round((bearing_deg % 360.0) / 22.5) % 16]) if math.isfinite(bearing_deg) else "?"


def distance(metres: float) -> str:
    """Return a distance with two figures: 34 m, 620 m, 2.3 km, 23 km; in feet and miles where the plan wants them."""
    if not math.isfinite(metres):
        return say("unknown distance")
    if spoken().units == "feet":
        return _in_feet(metres)
    if metres < 9.95:
        return figures(f"{metres:.1f}") + " m"
    if metres < 995:
        two = float(f"{metres:.2g}")
        return f"{two:.0f} m"
    km = metres / 1000.0
    return figures(f"{km:.1f}" if km < 9.95 else f"{km:.0f}") + " km"


def _in_feet(metres: float) -> str:
    feet = metres / FOOT_M
    if feet < 99.5:
        return f"{feet:.0f} ft"
    if feet < 2640:
        return f"{float(f'{feet:.2g}'):.0f} ft"
    miles = metres / MILE_M
    return figures(f"{miles:.1f}" if miles < 9.95 else f"{miles:.0f}") + " mi"


def height(metres: float) -> str:
    """Return a height or length to a decimetre: 5.1 m; a hill to the metre; to half a foot where the plan wants feet."""
    if not math.isfinite(metres):
        return say("unknown height")
    if spoken().units == "feet":
        feet = metres / FOOT_M
        return figures(f"{round(2.0 * feet) / 2.0:.1f}" if abs(feet) < 100 else f"{feet:.0f}") + " ft"
    return figures(f"{metres:.1f}" if abs(metres) < 100 else f"{metres:.0f}") + " m"


def dish_size(metres: float) -> str:
    """Return the diameter of a dish: 0.6 m; where the plan wants feet in whole inches, as dishes are sold there: 24 in."""
    metres = float(metres)
    if not math.isfinite(metres):
        return say("unknown")
    if spoken().units == "feet":
        return f"{metres / INCH_M:.0f} in"
    return figures(f"{metres:.2f}".rstrip("0").rstrip(".") if metres < 10 else f"{metres:.0f}") + " m"


def length(metres: float) -> str:
    """Return a length as it was stated or chosen: 1 m, 0.5 m, 250 m, 1 km; 3.3 ft, 820 ft, 0.62 mi."""
    if not math.isfinite(metres):
        return say("unknown")
    if spoken().units == "feet":
        feet = metres / FOOT_M
        return figures(f"{feet:.2g}" if abs(feet) < 100 else f"{feet:.0f}") + " ft" if abs(feet) < 2640 else figures(f"{metres / MILE_M:.2g}") + " mi"
    return (figures(f"{metres:.3g}") + " m") if abs(metres) < 1000 else (figures(f"{metres / 1000.0:.3g}") + " km")


def shift(metres: float) -> str:
    """Return a length with its sign: +0.4 m, -1.3 ft."""
    if not math.isfinite(metres):
        return say("unknown")
    return ("+" if metres >= 0 else "\u2212") + height(abs(metres))


def kilometres(km: float) -> str:
    """Return a distance that is known in kilometres: 20 km, 12 mi."""
    return distance(1000.0 * km)


def run_of_cable(metres: float) -> str:
    """Return a length of cable to the metre or foot: 25 m, 82 ft."""
    if not math.isfinite(metres):
        return say("unknown")
    return f"{metres / FOOT_M:.0f} ft" if spoken().units == "feet" else f"{metres:.0f} m"


def degrees(value: float) -> str:
    """Return an angle to a tenth: 22.4°."""
    return figures(f"{value:.1f}") + "°" if math.isfinite(value) else say("unknown")


def decibels(value: float) -> str:
    """Return decibels to the whole dB: 14 dB."""
    return f"{value:.0f} dB" if math.isfinite(value) else say("unknown")


def orbit(orbit_deg: float) -> str:
    """Return an orbital longitude as people write it: 19.2E, 30W, 0; the letters stay, they are part of satellites' names."""
    text = f"{abs(orbit_deg):.1f}".removesuffix(".0")
    return text + ("E" if orbit_deg > 0 else "W" if orbit_deg < 0 else "")


def capital(words: str) -> str:
    """Return words with a capital at the front, the rest as it is: German nouns keep theirs."""
    return words[:1].upper() + words[1:]


def per_cent(share: float) -> str:
    """Return a probability as whole per cent, never 0 % or 100 %."""
    if not math.isfinite(share):
        return say("unknown")
    return say("under 1 %") if share < 0.01 else say("over 99 %") if share > 0.99 else f"{100 * share:.0f} %"


_COUNTS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def hours(value: float) -> str:
    """Return a time as people say it, no finer than it is known: five minutes, 40 minutes, half an hour, four hours, three days."""
    if not math.isfinite(value):
        return say("an unknown time")
    minutes = round(60.0 * value / 5.0) * 5
    if minutes <= 5:
        return say("five minutes")
    if minutes < 55:
        return say("half an hour") if minutes == 30 else say("{count} minutes").format(count=minutes)
    if value < 47.5:
        whole = round(value)
        return say("an hour") if whole == 1 else say("{count} hours").format(count=_counted(whole))
    return say("{count} days").format(count=_counted(round(value / 24.0)))


def _counted(number: int) -> str:
    return say(_COUNTS[number]) if number < len(_COUNTS) else str(number)


def listing(items: object) -> str:
    """Return "a", "a and b", "a, b and c"."""
    words = [str(item) for item in items] if not isinstance(items, str) else [items]  # type: ignore[attr-defined]
    if len(words) > 1:
        return say("{first} and {last}").format(first=", ".join(words[:-1]), last=words[-1])
    return words[0] if words else say("none")


def number(value: float, decimals: int = 0) -> str:
    """Return a number with so many decimals as the language writes it; a true minus sign; the word for unknown."""
    return figures(f"{value + 0.0:.{decimals}f}").replace("-", "\u2212") if math.isfinite(value) else say("unknown")


def grouped(count: int) -> str:
    """Return a count with its thousands apart as the language writes it: 12,000."""
    return figures(f"{count:,}")


# what these functions say themselves, beside the numbers: for the catalogues
WORDS = (
    *_COMPASS, *_COMPASS_SHORT, *_COUNTS, "unknown direction", "unknown distance", "unknown height", "unknown", "under 1 %", "over 99 %",
    "an unknown time", "five minutes", "half an hour", "{count} minutes", "an hour", "{count} hours", "{count} days", "{first} and {last}", "none",
)  # fmt: skip
_FORMATS = {
    "compass": compass, "dist": distance, "height": height, "deg": degrees, "db": decibels, "orbit": orbit, "pct": per_cent, "list": listing,
    "hours": hours, "item": item_name, "dish": dish_size, "cable": run_of_cable, "len": length,
    "shift": shift, "km": kilometres,
}  # fmt: skip


_FIXED = re.compile(r"m_(\d+(?:_\d+)?)")


class SentenceFormatter(NumberFormatter):
    """str.format with our own formats: {distance_m:dist}, {bearing_deg:compass}, {spare_deg:deg}, {margin_db:db}; in the language spoken now."""

    def vformat(self, format_string: str, args: Sequence[object], kwargs: Mapping[str, object]) -> str:
        """Translate the template, then put the values in."""
        return super().vformat(say(format_string), args, kwargs)

    def get_value(self, key: int | str, args: Sequence[object], kwargs: Mapping[str, object]) -> object:
        """Return a value; {m_250:len} and {m_0_5:len} are lengths that stand in the text itself, in metres."""
        if isinstance(key, str) and key not in kwargs and (fixed := _FIXED.fullmatch(key)):
            return float(fixed[1].replace("_", "."))
        return super().get_value(key, args, kwargs)

    def format_field(self, value: object, format_spec: str) -> str:
        """Apply one of our formats, or Python's; numbers get the language's decimal mark."""
        if format_spec in _FORMATS:
            return _FORMATS[format_spec](value)  # type: ignore[operator]
        return super().format_field(value, format_spec)
