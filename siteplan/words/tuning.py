"""The words of a tuning card: what to tune first, what confirms the satellite, what it may be taken for. For installers."""

from __future__ import annotations

from siteplan.words.formats import SentenceFormatter
from siteplan.words.language import say

_FORMATTER = SentenceFormatter()

SENTENCES: dict[str, str] = {
    "lnb_band": "{satellite}, {transponder} ({frequency_mhz:g} MHz {polarisation}): outside what the LNB of this plan takes ({lnb}: {bands} MHz). "
    "Left out; the rest goes on.",
    "lnb_polarisation": "{satellite}, {transponder} ({frequency_mhz:g} MHz {polarisation}): the LNB of this plan ({lnb}) is made for the other kind of "
    "polarisation. Left out; the rest goes on.",
}

TEXTS: dict[str, str] = {
    "heading": "Is it the right satellite?",
    "lead": "A lock alone is no proof: neighbours send on the same frequencies. It is proved when the meter names the network, the stream or the "
    "programme given here.",
    "card": "Tuning card: {satellite}",
    "lnb": "LNB: {lnb}.",
    "position": "Switch (DiSEqC): input {position} of {positions}.",
    "stands": "It stands at {lon_deg:orbit} on that day and moves {north:.2f}° north and south, {east:.2f}° east and west (orbit of {epoch}).",
    "wanders": "Seen from here it wanders {box_deg:.2f}° over the day; the dish’s beam is {beam_deg:.1f}° wide.",
    "alone": "This table names no other satellite within 15° that rises here; others may stand there all the same.",
    "aside": "Neighbours, and how it wanders",
    "neighbours": "Compared with {names:list}; a satellite that the plan’s table does not name was not.",
    "neighbour": "{name} ({aside}, {higher}; {alike})",
    "right": "{value:deg} to the right",
    "left": "{value:deg} to the left",
    "higher": "{value:deg} higher",
    "lower": "{value:deg} lower",
    "level": "as high",
    "alike_none": "none of its {carriers} carriers is like one of ours",
    "alike_some": "{alike} of ours may be taken for one of its {carriers} carriers",
    "carriers_none": "nothing of it is listed",
    "nothing": "The plan’s table names no carrier of this satellite that the LNB takes.",
    "no_first": "No carrier of this satellite tells it from its neighbours: only the programmes do.",
    "first": "Tune these first",
    "others": "Then the others",
    "more": "and {count} more in the plan’s table",
    "col_carrier": "Carrier",
    "col_set": "Set the meter to",
    "col_rate": "Symbol rate",
    "col_proof": "It is right when the meter says",
    "carrier": "{name}: {frequency_mhz:g} MHz {polarisation}",
    "rate": "{rate:g} kBd",
    "mode": "{system} {modulation} {code_rate}",
    "stream": ", stream {stream_id}",
    "if": "IF {if_mhz:.0f} MHz, {sub_band}",
    "fixed": "IF {if_mhz:.0f} MHz, output {sub_band}",
    "user_band": "IF {if_mhz:.0f} MHz inside the LNB, {sub_band}; the receiver’s own user band on the cable",
    "supply_on": "{volt:.0f} V, 22 kHz on",
    "supply_off": "{volt:.0f} V, 22 kHz off",
    "inverted": "spectrum inverted",
    "way_V": "vertical",
    "way_H": "horizontal",
    "way_L": "left-hand circular",
    "way_R": "right-hand circular",
    "band_L": "low band",
    "band_H": "high band",
    "network_id": "network {network_id}",
    "original_network_id": "original network {original_network_id}",
    "transport_stream_id": "transport stream {transport_stream_id}",
    "programmes": "“{programme}”",
    "encrypted": "encrypted: name only, no picture",
    "unconfirmed": "nothing is listed that confirms it",
    "friend": "May be taken for {transponder} of {satellite} ({frequency_mhz:g} MHz {polarisation}, {off}): {told}.",
    "off_none": "the same frequency",
    "off": "{off_mhz:+.0f} MHz",
    "told": "{what:list} tell them apart",
    "told_one": "{what:list} tells them apart",
    "told_nothing": "nothing listed tells them apart",
    "told_network_id": "the network",
    "told_original_network_id": "the original network",
    "told_transport_stream_id": "the transport stream",
    "told_programmes": "the programme",
    "disturbed": "{names:list}: IF where {bands:list} also send: screened cable and outlet; if only this one fails, look here.",
    "band_cordless": "cordless phones",
    "band_mobile 1800": "mobile phones at 1800 MHz",
    "band_mobile 2100": "mobile phones at 2100 MHz",
    "band_mobile 1500": "mobile phones at 1500 MHz",
    "spectrum_caption": "Spectrum: what the meter should show on the cable. A block is as wide as its carrier, symbol rate × (1 + roll-off). Level: power of "
    "the whole carrier in that width, against the strongest of the satellite; what LNB and cable add or take is not in it. Stars: tune these first. Grey "
    "stripes: bands where phones send.",
    "spectrum_assumed": "The table states no roll-off for some carriers: {roll_off} taken.",
    "spectrum_unknown": "Dashed: its level is not known.",
    "spectrum_title": "Expected spectrum of {satellite}. {what}.",
    "spectrum_block": "{name} at {if_mhz:.0f} MHz, {width:.0f} MHz wide, {level}",
    "level_db": "{level:.0f} dB",
    "level_unknown": "level not known",
    "axis_if": "MHz on the cable",
    "axis_db": "dB",
    "read": "read",
}  # fmt: skip


def said(name: str, /, **values: object) -> str:
    """Return one text of the card, its values put in. Raises KeyError for a name there is no text for."""
    return _FORMATTER.format(TEXTS[name], **values) if values else say(TEXTS[name])


def sub_band(code: str) -> str:
    """Return a sub-band as a person says it: "VH" is "vertical, high band"; "V" alone is "vertical"."""
    return ", ".join([said(f"way_{code[0]}"), *([said(f"band_{code[1]}")] if len(code) > 1 else [])])
