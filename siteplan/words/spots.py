"""The words of the search for a spot: where else a dish may stand, plan B, and the plot of a sheet."""

from __future__ import annotations

from siteplan.words.formats import SentenceFormatter
from siteplan.words.language import say

_FORMATTER = SentenceFormatter()

SENTENCES: dict[str, str] = {
    "sat_spot_ground": "From the ground {distance_m:dist} {bearing_deg:compass} of the point given, a dish {height_agl_m:height} above ground should "
    "see {satellites:list}.",
    "sat_spot_wall": "From the wall that looks {facade_deg:compass}, {distance_m:dist} {bearing_deg:compass} of the point given, a dish "
    "{height_agl_m:height} above ground should see {satellites:list}.",
    "sat_spot_roof": "From the roof {distance_m:dist} {bearing_deg:compass} of the point given, a dish {height_agl_m:height} above ground should "
    "see {satellites:list}.",
    "sat_spot_chimney": "From the chimney {distance_m:dist} {bearing_deg:compass} of the point given, a dish {height_agl_m:height} above ground should "
    "see {satellites:list}.",
    "sat_at_the_point": "At the point given:",
    "sat_spot_maybe_ground": "No spot is proved clear, nor all blocked: look first on the ground {distance_m:dist} {bearing_deg:compass} of the point "
    "given, with the dish {height_agl_m:height} above ground.",
    "sat_spot_maybe_wall": "No spot is proved clear, nor all blocked: look first at the wall that looks {facade_deg:compass}, {distance_m:dist} "
    "{bearing_deg:compass} of the point given, with the dish {height_agl_m:height} above ground.",
    "sat_spot_maybe_roof": "No spot is proved clear, nor all blocked: look first on the roof {distance_m:dist} {bearing_deg:compass} of the point "
    "given, with the dish {height_agl_m:height} above ground.",
    "sat_spot_maybe_chimney": "No spot is proved clear, nor all blocked: look first at the chimney {distance_m:dist} {bearing_deg:compass} of the "
    "point given, with the dish {height_agl_m:height} above ground.",
    "sat_all_spots_plot": "All {count} places of the plot were tried, each at every mount height allowed.",
    "sat_all_spots_building": "All {count} places on this building and within {within_m:dist} of it were tried, each at every mount height allowed.",
    "sat_all_spots_circle": "All {count} places within {within_m:dist} of the point given were tried, each at every mount height allowed.",
    "ask_spot_ground": "May the dish stand in the open, about {distance_m:dist} {bearing_deg:compass} of the middle of the house?",
    "ask_spot_wall": "May the dish hang on the wall that looks {facade_deg:compass}?",
    "ask_spot_roof": "May the dish stand on the roof, about {distance_m:dist} {bearing_deg:compass} of its middle?",
    "ask_spot_chimney": "May the dish hang on the chimney?",
}  # fmt: skip

TEXTS: dict[str, str] = {
    "plot": "Plot 1:{scale}, north up",
    "plot_title": "{name} from above, north up. The dish stands {spot}. {aims}",
    "plot_aim": "{name} {bearing:deg}",
    "plot_scale": "Printed on A4 at its own size the plot is at 1:{scale}; the bar tells.",
    "plot_places": "Tinted places were looked at, a dish as high as allowed: {ground:height} above ground, {roof:height} above a roof. Without dots it "
    "sees all that is wanted, few dots: some of it, many dots: nothing.",
    "plot_wedge": "The wedge goes to what stands in the way.",
    "plot_entry": "Square: where the cable goes in, taken as the wall nearest the point given.",
    "plot_point": "Cross: the point given.",
    "spot_letter": "dish",
    "plan_b_letter": "B",
    "entry_letter": "cable",
    "heights": "May stand in the way",
    "heights_lead": "Up to these heights above the ground there, at these distances from the dish:",
    "heights_line": "{satellite} ({bearing:compass}): {steps}.",
    "heights_step": "{height:height} at {distance_m:dist}",
    "moves": "If the dish moves",
    "moves_line": "Here {here} to spare; {m_2:len} to the left {left}, to the right {right}, {m_2:len} nearer to the satellites {nearer}, back {farther}; {m_1:len} higher "
    "{up}, {m_1:len} lower {down}.",
    "move_clear": "{spare:deg}",
    "move_blocked": "blocked",
    "move_unknown": "unknown",
    "lowest": "From this spot all are clear with the dish {height:height} above ground or higher.",
    "lowest_none": "From this spot no height up to the greatest allowed clears all.",
    "plan_b": "Plan B",
    "plan_b_line": "{where}, dish {height:height} above ground: {sees}; about {cable:cable} of cable.",
    "plan_b_none": "No other spot of another kind, or {m_3:len} away, sees any of the satellites.",
    "where_ground": "On the ground {distance_m:dist} {bearing:compass} of this spot",
    "where_wall": "On the wall that looks {facade:compass}, {distance_m:dist} {bearing:compass} of this spot",
    "where_roof": "On the roof {distance_m:dist} {bearing:compass} of this spot",
    "where_chimney": "On the chimney {distance_m:dist} {bearing:compass} of this spot",
    "spot_ground": "on the ground",
    "spot_wall": "on the wall that looks {facade:compass}",
    "spot_roof": "on the roof",
    "spot_chimney": "on the chimney",
    "sees_all": "sees all {wanted}",
    "sees_one": "sees {names:list}",
    "sees_some": "sees {count} of {wanted} ({names:list})",
    "cable": "Cable",
    "cable_line_spare": "About {cable:cable} to where it goes in: along walls, with the drop and {spare:cable} to spare.",
    "looked_plot": "{tried} places of the plot were looked at; {share:pct} of them see all.",
    "looked_building": "{tried} places on the building and within {radius:dist} of it were looked at; {share:pct} of them see all. Whose ground that is, "
    "the plan does not say.",
    "looked_circle": "{tried} places within {radius:dist} of the point given were looked at; {share:pct} of them see all. Whose ground that is, the plan "
    "does not say.",
}  # fmt: skip


def said(name: str, /, **values: object) -> str:
    """Return one text of the plot, its values put in. Raises KeyError for a name there is no text for."""
    return _FORMATTER.format(TEXTS[name], **values) if values or "{m_" in TEXTS[name] else say(TEXTS[name])
