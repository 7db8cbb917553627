"""The words of mobile internet: ways to the device, what disturbs, what to bring, and the labels of its numbers."""

from __future__ import annotations

from siteplan.words.formats import SentenceFormatter
from siteplan.words.language import say

_FORMATTER = SentenceFormatter()

SENTENCES: dict[str, str] = {
    "mobile_none_sold": "A mobile site is in reach, but none of an operator, technology or way that is sold.",
    "mobile_none_clear": "No operator can be used here with the kit of this plan: the best, {operator} from {site}, is strong enough, but other "
    "sites on its band disturb too much.",
    "mobile_enough_indoors": "A device anywhere indoors is enough.",
    "mobile_enough_window": "A device by the best window is enough.",
    "mobile_enough_outdoor_unit": "It takes an outdoor unit on a network cable.",
    "mobile_enough_roof_antenna": "It takes a roof antenna with two equal cables.",
    "mobile_try_indoors": "The best way is a device indoors.",
    "mobile_try_window": "The best way is a device by the best window.",
    "mobile_try_outdoor_unit": "The best way is an outdoor unit on a network cable.",
    "mobile_try_roof_antenna": "The best way is a roof antenna with two equal cables.",
    "mobile_disturbed": "{operator} at {site} sends on the same band: the signal stands only {over_db:db} over what disturbs.",
    "mobile_disturbed_same": "Another sector of the same site sends on this band: the signal stands only {over_db:db} over what disturbs.",
    "mobile_way_back": "The way back to the site is the weaker one: {margin_db:db} to spare.",
    "mobile_beyond_timing": "{site} is {distance_m:dist} away; the timing of its network ends at {reach_m:dist}.",
    "mobile_beyond_guard": "{site} is {distance_m:dist} away; its band takes turns between sending and hearing, and that holds to {reach_m:dist}.",
    "mobile_antenna_misses": "The roof antenna of this plan does not cover {bands:list} of {site}.",
    "mobile_list_only": "{operator}, {site}: known only from a list of where phones measured, not where masts stand (it may lie {error_m:dist} off). "
    "Its power, height and band are assumed. Turn the antenna between {from_deg:compass} and {to_deg:compass} and measure.",
    "mobile_list_silent": "A list of where phones measured does not prove that there is nothing: ask or measure.",
    # --- what to bring --------------------------------------------------------------------------------------------------
    "kit_antenna_ports": "One roof antenna with {count} connectors (one at +45°, one at -45°, {gain_dbi:.0f} dBi each), or {count} equal antennas",
    "kit_coax": "{count} equal cables of 50 ohm ({cable:item}), {length_m:cable} each",
    "kit_connectors": "{count} connectors for them",
    "kit_arresters": "{count} surge arresters, bonded",
    "kit_router_sockets": "One router with {count} antenna sockets",
    "kit_outdoor_unit": "{count} outdoor unit with its own antennas",
    "kit_ethernet": "{count} outdoor network cable that feeds it",
    "kit_injector": "{count} power injector",
    "kit_data_arresters": "{count} surge arresters for the network cable, bonded",
    "kit_device": "{count} indoor device, no cable through the wall",
}  # fmt: skip

# the ways to a device, by the names that findings and plans give them
WORDS: dict[str, str] = {
    "indoors": "Indoors, anywhere",
    "window": "Indoors, by the best window",
    "outdoor unit": "Outdoor unit, network cable",
    "roof antenna": "Roof antenna, two cables",
}

TEXTS: dict[str, str] = {
    "heading": "Mobile internet",
    "heading_more": "Mobile internet: ways and other cells",
    "others": "Others",
    "stand": "Stand",
    "height": "Height",
    "aim": "Aim",
    "height_mobile": "Antenna {height} above the ground",
    "ways": "Ways",
    "bring": "Bring",
    "col_operator": "Operator, band",
    "col_site": "Site",
    "col_distance": "Distance",
    "col_measured": "Read here",
    "col_way": "Way",
    "col_takes": "Wall or cable takes",
    "col_strength": "Expect",
    "col_noise": "Over noise",
    "col_over": "Over noise and other sites",
    "col_answer": "Enough?",
    "col_aim": "True and compass",
    "enough": "yes",
    "hopeless": "no",
    "doubtful": "not sure: measure",
    "doubtful_strength": "weak: measure",
    "doubtful_ratio": "disturbed: measure",
    "doubtful_back": "way back weak: measure",
    "not_sold": "not sold",
    "not_covered": "band not covered",
    "takes_nothing": "nothing",
    "signal_at": "Strength at the device by the best way that is sold, give or take {sigma:.0f} dB.",
    "ways_note": "For {operator}, band {band}, from {site}. Strength is {name} at the device, give or take {sigma:.0f} dB outdoors and more indoors. "
    "{strength}, and {ratio:.0f} dB over noise and other sites, are wanted.",
    "coax_note": "At this band {length_m:cable} of {cable:item} cable take {loss:.0f} dB of the roof antenna’s {gain:.0f} dBi: the outdoor unit gives more.",
    "listed_note": "Each bearing is the middle of a sector of directions, {error:.0f}° to either side: the list does not tell where masts stand.",
    "not_counted": "{operator}, {technology} {band}: heard here, but not sold.",
    "next_gap": "Next of {operator}, band {band}: {site}, {gap:.0f} dB weaker.",
    "next_same": "Next of {operator}, band {band}: another sector of the same site, {gap:.0f} dB weaker.",
    "name_LTE": "RSRP",
    "name_NR": "RSRP",
    "name_UMTS": "RSCP",
    "name_GSM": "RSSI",
}


def way_word(way: str) -> str:
    """Return what people call a way to the device; "" for none."""
    return say(WORDS[way]) if way else ""


def text(code: str, **values: object) -> str:
    """Return one text with its values put in."""
    return _FORMATTER.format(TEXTS[code], **values)
