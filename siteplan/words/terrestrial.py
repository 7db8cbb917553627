"""The words of terrestrial TV: reasons, the TV block of a sheet, headings and labels of its explanation."""

from __future__ import annotations

from siteplan.words.formats import SentenceFormatter

_FORMATTER = SentenceFormatter()

# names of aerial groups, as radio.tv_aerial has them
WORDS = (
    "A, channels 21 to 37", "B, channels 35 to 53", "K, channels 21 to 48", "C/D, channels 48 to 69", "E, channels 35 to 69",
    "W, channels 21 to 69", "band III", "band III and UHF together",
)  # fmt: skip

SENTENCES: dict[str, str] = {
    "tv_disturbed": "{transmitter}, {bearing_deg:compass}, sends on the same or the next channel and disturbs at times.",
    "tv_open": "From here {first} and {second} can't be told apart: try both and keep the better.",
    "sat_mobile_filter": "{operator}'s mobile site {site} is {over_db:db} more than the dish of {satellite} bears at its head: a filter for its band is needed "
    "there.",
    "emitter_in_sea": "{name} would stand in the sea: check its position. It is used as it stands.",
    "emitter_in_building": "{name} has its antenna at {antenna_m:height} above ground, inside a building {building_m:height} high: check its height or "
    "position. It is used as it stands.",
}

TEXTS: dict[str, str] = {
    # --- the TV block of a sheet -----------------------------------------------------------------------------------------
    "gives": "{names:list}.",
    "gives_none": "Nothing that could be promised.",
    "gives_perhaps": "Perhaps also: {names:list}.",
    "open": "{first} and {second} can’t be told apart from here (their margins differ by {apart:db}, give or take {sigma:db}). Try both aims and "
    "keep the better C/N or MER.",
    "second_choice": "Second choice: {name}, {bearing_deg:compass}, {bearing_deg:deg} ({magnetic_deg:deg} by compass), {distance_m:dist}{spare}.",
    "second_spare": ": {margin:db} to spare",
    "second_short": ": {margin:db} short",
    "group": "Aerial group {group}, for {low:.0f} to {high:.0f} MHz.",
    "group_none": "No common aerial group takes {low:.0f} to {high:.0f} MHz: use a wideband aerial.",
    "slant": "The waves are slanted: elements at 45° take 3 dB more, if every channel aimed at is slanted alike.",
    "amplifier_none": "No amplifier and no attenuator: {weakest:.0f} to {strongest:.0f} dBµV at the end of the cable.",
    "amplifier_none_one": "No amplifier and no attenuator: {weakest:.0f} dBµV at the end of the cable.",
    "amplifier_masthead": "A mast-head amplifier is needed: the weakest channel brings {weakest:.0f} dBµV to the end of the cable. It adds about {helps:db} of "
    "margin.",
    "amplifier_attenuator": "An attenuator of {off:.0f} dB is needed: the strongest channel brings {strongest:.0f} dBµV to the end of the cable, 74 is the most.",
    "amplifier_apart": "The channels are {weakest:.0f} to {strongest:.0f} dBµV at the end of the cable, too far apart for one amplifier or attenuator: level "
    "them channel by channel.",
    "second_aerial": "A second aerial to {name} with a filter would add {adds:list}.",
    "second_aerial_unfit": "{name} would add {adds:list}, but its channels lie among the others: two aerials need two cables or a channel-wise filter.",
    "mobile_none": "Mobile senders: {site}, {operator}, brings {level:.0f} dBµV at {mhz:.0f} MHz to the aerial; no filter is needed.",
    "mobile_filter": "A filter against mobile senders is needed: {site}, {operator}, brings {level:.0f} dBµV at {mhz:.0f} MHz to the aerial.",
    "mobile_filter_first": "A filter against mobile senders is needed before the amplifier: {site}, {operator}, brings {level:.0f} dBµV at {mhz:.0f} MHz to the "
    "aerial, {after:.0f} dBµV after the amplifier.",
    "mobile_amplifier_harmful": "An amplifier does harm here, with a filter too: {site}, {operator}, brings {level:.0f} dBµV at {mhz:.0f} MHz to the aerial.",
    "uplink": "Phones send from 703 MHz on, beside channel 48: one near the aerial brings about {level:.0f} dBµV. Choose an aerial and filter that end at "
    "694 MHz.",
    "group_open": " Fit for both aims.",
    "disturbed": "{name}, {bearing_deg:compass}, {distance_m:dist}, {relation}: it raises what {multiplex} needs by {raises:db} for one hundredth of the time.",
    "relation_same channel": "on the same channel",
    "relation_overlap": "on a channel that overlaps",
    "relation_next channel": "on the next channel",
    "relation_own network": "in the same network but too late",
    "relation_first": "strongest of {count}",
    "elements_m": "horizontal or vertical",
    "elements_s": "horizontal, vertical or at 45°",
    "margin": "{margin:db} to spare",
    "margin_short": "{margin:db} short",
    "chance": "{chance:pct} sure",
    "chance_99": "{chance:pct} sure ({always:pct} for 99 % of the time)",
}

HEADINGS: dict[str, str] = {"aerial_choice": "Aerial, amplifier, filter, and what stays open"}

LABELS: dict[str, str] = {
    "tx_pattern": "pattern towards the house",
    "network": "single-frequency network",
    "guard": "guard interval",
    "network_gain": "network's share",
    "plane_loss": "lost by the plane",
    "raw_cn": "C/N of the mode, ideal receiver",
    "implementation": "implementation loss",
    "pilots": "pilot boost",
    "backstop": "back-stop noise adds",
    "noise_figure": "noise figure",
    "indoor_loss": "what the house costs",
    "unwanted_1": "unwanted sender 1",
    "unwanted_2": "unwanted sender 2",
    "unwanted_3": "unwanted sender 3",
    "unwanted_4": "unwanted sender 4",
    "unwanted_bearing": "its bearing",
    "unwanted_field": "its field",
    "unwanted_turned": "turned away by the aerial",
    "unwanted_ratio": "protection ratio",
    "unwanted_asks": "field it asks for",
    "disturbances": "unwanted senders",
    "usable_field": "usable field strength",
    "needed_median": "median field that is needed",
    "cn": "C/N",
    "receiver_level": "level at the receiver",
    "time_fade": "falls for 1 % of time",
    "served_99": "probability, 99 % of time",
    "aerial_group": "aerial group",
    "aerial_from": "from",
    "aerial_to": "to",
    "aerial_plane": "elements",
    "weakest_level": "weakest channel at the receiver",
    "strongest_level": "strongest channel at the receiver",
    "amplifier": "amplifier",
    "amplifier_helps": "what a mast-head amplifier adds",
    "open_difference": "first aim less second",
    "open_sigma": "sigma of that difference",
    "open_with": "can't be told from",
    "second_aerial": "second aerial to",
    "second_adds": "it would add",
    "mobile_strongest": "strongest mobile sender",
    "mobile_level": "its level at the terminals",
    "mobile_total": "all mobile senders",
    "mobile_amplified": "after the amplifier",
    "mobile_overload": "overload from",
    "mobile_ratio": "ratio a channel bears",
    "mobile_advice": "filter",
    "uplink_level": "a phone's uplink",
}


def tv_text(code: str, **values: object) -> str:
    """Return one text of the TV block with its values put in."""
    return _FORMATTER.format(TEXTS[code], **values)
