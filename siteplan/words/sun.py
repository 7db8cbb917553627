"""The words of aiming without a compass: the sun, landmarks; and of one dish for several satellites."""

from __future__ import annotations

from siteplan.words.formats import SentenceFormatter
from siteplan.words.language import say

_FORMATTER = SentenceFormatter()

TEXTS: dict[str, str] = {
    "heading": "Aim without a compass",
    "lead": "Near steel, gutters and cars a compass is 10° to 15° off. The shadow of a plumb line is exact: when the sun crosses the bearing, "
    "the shadow points straight away from the satellite.",
    "clear_lower": "Lower than the satellite: if the dish’s place is in sunshine then, the line is likely clear.",
    "clear_higher": "Higher than the satellite: sunshine proves only the bearing, not a clear line.",
    "seldom": "{satellite}: on these days the sun does not stand above this skyline at its bearing.",
    "caption": "When the sun crosses each satellite’s bearing ({zone}), and how much higher (+) or lower (−) than the satellite it then stands",
    "col_day": "Day",
    "cell": "{time}, {difference}",
    "cell_none": "–",
    "utc": "UTC",
    "local": "local time, {zone}",
    "behind_heading": "When the sun stands behind a satellite",
    "behind": "Sunshine on the dish’s place then proves a clear line. For up to {minutes:.0f} minutes on those days the picture goes (dish of {dish:dish}).",
    "behind_line": "{satellite}: {days}.",
    "behind_days": "{from_day} to {to_day}, {time} ({zone}), nearest on {best_day}",
    "behind_day": "{from_day}, {time} ({zone})",
    "marks": "Against what is seen from the spot",
    "marks_line": "{satellite}: {marks}.",
    "mark_left end": "{aside:deg} {side} of the left end of the building {distance_m:dist} off",
    "mark_right end": "{aside:deg} {side} of the right end of the building {distance_m:dist} off",
    "mark_top": "{aside:deg} {side} of the highest point of {kind} {distance_m:dist} off",
    "mark_wall": "{aside:deg} {side} of straight out from the wall that looks {bearing:compass}",
    "side_left": "left",
    "side_right": "right",
    "sun_path": "The line with hours is the sun on the plan’s date ({zone}).",
    "hour": "{hour:.0f} h",
    # --- one dish for several satellites --------------------------------------------------------------------------------
    "dish_heading": "One dish for several satellites",
    "shared": "LNBs side by side on one {dish:dish} dish aimed at {aim}:",
    "feed": "{satellite} {apart:deg} off ({aside}, {higher}; its LNB goes to the other side), {loss:.1f} dB less",
    "alone": "{names:list} can share no dish with fixed LNBs: more than {spread:.0f}° from the others.",
    "aside_left": "{value:deg} to the left",
    "aside_right": "{value:deg} to the right",
    "higher": "{value:deg} higher",
    "lower": "{value:deg} lower",
    "motor": "A motor: axis {axis:.1f}° above the horizon towards the {pole} pole, dish bent {bend:.1f}° from square to it.",
    "motor_line": "{satellite} {turn:deg} to the {side}: {view}",
    "motor_middle": "{satellite} on the meridian: {view}",
    "view_clear": "clear",
    "view_partly": "partly in the way",
    "view_blocked": "blocked",
    "view_unknown": "not known",
    "north": "north",
    "south": "south",
    "east": "east",
    "west": "west",
    "tilt": "Face of the dish: {steps} from upright, leaning back (negative: leaning forward).",
    "tilt_step": "{satellite} {tilt:deg}",
    "tilt_unknown": "An offset dish looks lower than it aims: tilt of its face = elevation less the offset on the maker’s paper (plan key dish_offset_deg).",
}  # fmt: skip


def said(name: str, /, **values: object) -> str:
    """Return one text of the sun, its values put in. Raises KeyError for a name there is no text for."""
    return _FORMATTER.format(TEXTS[name], **values) if values else say(TEXTS[name])
