"""Sentences and labels of the way from antenna to outlet."""

from __future__ import annotations

from siteplan.records.readings import MOST_CN_DB
from siteplan.words.formats import SentenceFormatter, number
from siteplan.words.language import say

_FORMATTER = SentenceFormatter()

SENTENCES: dict[str, str] = {
    # --- what is wrong with a chain --------------------------------------------------------------------------------
    "chain_id_twice": "Two parts of this chain are called {item:item}; give each its own name.",
    "chain_unknown_feed": "{item:item} is fed from {feed}, which this chain does not have; it has: {allowed}.",
    "chain_loop": "The chain runs in a circle through {item:item}.",
    "chain_no_source": "Nothing feeds {item:item}: connect it to an LNB, an aerial or what comes before it.",
    "chain_ends_nowhere": "{item:item} leads nowhere: connect it to an outlet or leave it out.",
    "chain_source_fed": "{item:item} is an antenna and can't be fed from anything.",
    "chain_serves_nothing": 'The chain does not say what {item:item} receives: name the satellite, or "TV", under serves.',
    "chain_no_outlet": "The chain {chain} has no outlet.",
    "chain_two_on_one_port": "{item:item} has {inputs} input, but is fed from {feeds}: use a switch or a combiner.",
    "chain_port_taken_twice": "Output {port} of {item:item} is used twice.",
    "chain_too_many_inputs": "{item:item} has {inputs} inputs; {wanted} lines are connected.",
    "chain_lnbs_combined": "{item:item} would put several LNBs onto one line ({feeds}): they use the same frequencies. Use a DiSEqC switch.",
    "chain_pair_single": "{item:item} has two leads; only {lead:item} is connected. Lay two cables alike.",
    "chain_pair_unequal": "The two leads of {item:item}, by {lead:item} and by {other:item}, differ: both need the same cable and length.",
    "chain_no_length": "{item:item} is a cable without a length: write length_m above 0, up to 2000.",
    "chain_too_long": "The chain {chain} has {items} parts; up to {most} are worked.",
    "chain_positions": "{item:item} gets {satellites} satellites; receivers can name {most} by {standard}.",
    "chain_wideband_direct": "{item:item} is a wideband LNB: each output carries one polarisation over 300 to 2350 MHz, for a wideband multiswitch. "
    "{outlet:item} would get half of the channels at most; use a quad LNB.",
    "chain_wideband_on_multiswitch": "{item:item} is a wideband LNB; {multiswitch:item} needs the four sub-bands of a quattro LNB.",
    "chain_too_many_outputs": "{item:item} has {outputs} outputs; {wanted} are connected.",
    "chain_no_such_port": "{item:item} has no output called {port}; outputs that may be named: {allowed}.",
    "chain_quattro_direct": "{item:item} is a quattro LNB: its four outputs are fixed sub-bands for a multiswitch. {outlet:item} would get only a quarter of "
    "the channels; use a quad LNB, or put a multiswitch between.",
    "chain_quad_on_multiswitch": "{multiswitch:item} needs the four fixed sub-bands of a quattro LNB; {item:item} switches its outputs. Use a quattro LNB.",
    "chain_not_wideband": "{item:item} is made for a wideband LNB; another kind feeds it.",
    "chain_wideband_with_tv": "At {item:item} a TV aerial would share the coax with a wideband LNB, which uses 300 to 2350 MHz: run a cable of its own.",
    "chain_user_band_clash": "{item:item} and {other:item} both use user band {band}; give each tuner its own.",
    "chain_user_band_unknown": "{item:item} wants user band {band}; the single-cable unit has 1 to {bands}.",
    "chain_user_band_missing": "{item:item} hangs on a single-cable system and needs a user band.",
    "chain_user_band_without": "{item:item} has a user band, but no single-cable unit is before it.",
    "chain_splitter_no_diode": "{item:item} must pass power on every output and be diode isolated: receivers of a single-cable system talk over the cable.",
    "chain_impedances": "{item:item} has {ohm:.0f} ohm, {other:item} before it {other_ohm:.0f} ohm: they can't be joined.",
    "outlets_no_chain": "The way to the outlets could not be worked: {why}.",
    "outlets_other_lnb": "The plan's LNB for {satellite} ({lnb}) and the chain's ({item:item}, {part:item}) are not of one kind: one is wideband. Use the "
    "same under [kit] lnb and in the chain.",
    "outlets_not_understood": "Row {row}: {value} is no number of outlets from 1 to {most}; {taken} was taken.",
    "chain_faulty": "{file}, chain {chain}: {why}",
    "chain_faulty_item": "{file}, chain {chain}, item {number} ({item}), {field} = {value}: {why}",
    "wiring_unknown": "{file}, [installation] {key} = {value}: not known; allowed: {allowed}.",
    "chain_named_twice": "There is more than one chain of this name; the first is taken.",
    # --- what fails at an outlet -----------------------------------------------------------------------------------
    "outlet_no_way": "{carrier} does not reach {outlet:item}: no line of this chain carries its sub-band there.",
    "outlet_no_data": "{carrier} at {outlet:item} can't be worked: {why}.",
    "outlet_low": "{carrier} arrives at {outlet:item} with {level_dbuv:.1f} dBµV; at least {min_dbuv:.0f} is wanted.",
    "outlet_high": "{carrier} arrives at {outlet:item} with {level_dbuv:.1f} dBµV; at most {max_dbuv:.0f} is wanted.",
    "outlet_cn_low": "{carrier} at {outlet:item} has a carrier-to-noise of {cn_db:.1f} dB, {lacking_db:.1f} dB short.",
    "outlet_overload": "{item:item} would be overdriven by {carrier}: {headroom_db:.0f} dB of headroom, at least {limit_db:.0f} is wanted.",
    "outlet_slope": "At {outlet:item} the {band:item} band differs by {slope_db:.0f} dB from end to end; up to {limit_db:.0f} is allowed.",
    "outlet_isolation": "{outlet:item} is only {isolation_db:.1f} dB apart from {other:item} (by {part:item}, at {mhz:.0f} MHz); {limit_db:.0f} dB is wanted.",
    "outlet_isolation_unknown": "{part:item} states no isolation between its outputs: cables and outlets alone keep {outlet:item} {isolation_db:.1f} dB "
    "apart from {other:item}, at {mhz:.0f} MHz; {limit_db:.0f} dB is wanted.",
    "outlet_voltage": "On the 18 V setting only {volts:.1f} V reach the LNB of {source}: under about {limit_v:.0f} V it selects the other polarisation.",
    "outlet_current": "{current_ma:.0f} mA are drawn from the supply of {item:item}; it gives {limit_ma:.0f} mA.",
    "outlet_mobile": "{carrier} arrives at {outlet:item} {over_db:.0f} dB stronger than the weakest TV channel; {limit_db:.0f} dB is borne.",
    # --- what readings nearby teach -----------------------------------------------------------------------------------
    "learned_lower": "{source}: readings nearby ({count} within {reach_m:dist}) are {off_db:.0f} dB lower on average than predicted. Not counted in "
    "the figures here.",
    "learned_higher": "{source}: readings nearby ({count} within {reach_m:dist}) are {off_db:.0f} dB higher on average than predicted. Not counted in "
    "the figures here.",
    "learned_right": "{source}: readings nearby ({count} within {reach_m:dist}) agree with the prediction to a decibel.",
    "learn_too_few": "{source}: {count} readings within {reach_m:dist}, too few to correct anything.",
    "learn_unsure": "{source}: {count} readings within {reach_m:dist} lie apart from the prediction, but too few places say so to correct by it.",
    "learn_no_better": "{source}: {count} readings within {reach_m:dist}; no correction foretells them better than the prediction alone, so none is "
    "made.",
    # --- what to change ----------------------------------------------------------------------------------------------
    "change_cable": "Use {part:item} for {item:item} ({metres:dist}).",
    "change_shorter": "Make {item:item} {metres:dist} shorter ({left_m:dist} in all).",
    "change_insert_before": "Put {part:item} before {item:item}.",
    "change_insert_after": "Put {part:item} behind {item:item}.",
    "change_active": "Use {part:item} instead of the passive {item:item}.",
    "change_cable_all": "Use {part:item} for {item:item} and {more} like it ({metres:dist} in all).",
    "change_shorter_all": "Make {item:item} and {more} like it {metres:dist} shorter ({left_m:dist} each).",
    "change_insert_before_all": "Put {part:item} before {item:item} and before {more} like it.",
    "change_insert_after_all": "Put {part:item} behind {item:item} and behind {more} like it.",
    "change_dish": "Use a {dish_m:dish} dish for {satellites}.",
}

TEXTS: dict[str, str] = {
    "outlets_heading": "From antenna to outlet",
    "outlets_system": "System: {system:item}. Limits: {profile:item}.",
    "outlets_at": "Expected at {outlet:item}",
    "outlets_note": "A level is the channel power of the carrier; level is held against its window, carrier-to-noise (C/N) decides. An LNB’s gain alone "
    "differs by 5 dB from piece to piece: read levels as a window, C/N to within 2 dB.",
    "outlets_if_clear": "Figures of {satellites} hold once the view is clear.",
    "outlets_same": "{count} outlets are alike; the weakest is shown.",
    "outlets_all_pass": "Every outlet passes.",
    "outlets_fail": "Not every outlet passes.",
    "outlets_change": "Smallest change that passes:",
    "outlets_no_change": "No single change or pair of changes with the parts of this list makes every outlet pass: survey first.",
    "outlets_past_help": "Carrier-to-noise is short at the antenna already, which no part behind it mends: {carriers}.",
    "outlets_change_gives": "Then {low:.0f} to {high:.0f} dBµV, {margin:.0f} dB over the threshold or more.",
    "outlets_change_price": "Parts: {price:.0f}.",
    "outlets_dishes": "Dishes: {dishes}.",
    "outlets_dish": "{dish_m:dish} for {satellites}",
    "outlets_dish_unknown": "size not known, for {satellites}",
    "outlets_user_band": "{band}: {mhz:.0f} MHz",
    "outlets_user_bands": "User band of each tuner: {bands}.",
    "outlets_positions": "Satellite position in the receiver: {positions}.",
    "outlets_position": "{satellite} {position}",
    "outlets_none_known": "No level can be expected: the strength of no carrier is known.",
    "outlets_extra": "Slope {slopes}. {volts}",
    "outlets_apart": "{isolation:.0f} dB apart from {other:item}, the nearest.",
    "outlets_slope": "{band:item} {slope:.0f} dB",
    "outlets_volts": "LNB of {source}: {volts:.1f} V at {current:.0f} mA.",
    "access_step": "a step ladder",
    "access_extension": "an extension ladder, footed and tied",
    "access_long": "a long ladder with a second person, or a roof ladder",
    "access_lift": "a lift or scaffold: higher than a ladder should reach",
    "outlets_bring": "Bring {access}. About {hours:.1f} hours, travel not counted.",
    "outlets_kit": "Kit for this address",
    "outlets_kit_changed": "Kit for this address, the first change counted",
    "col_carrier_name": "Carrier",
    "col_on_cable": "On the cable",
    "col_level": "Level",
    "col_window": "Window",
    "col_cn": "C/N",
    "col_margin": "To spare",
    "col_line": "Sub-band",
    "col_passes": "Passes",
    "col_read_level": "Read: level",
    "col_read_cn": "Read: C/N",
    "ports_heading": "What the meter shows at the antennas",
    "ports_lead": "Before any cable, at the LNB or the aerial: of each line the weakest carrier",
    "ports_rest": "{count} more carriers",
    "cells_rest": "{count} more cells",
    "cells_leads": "At the antenna read each of its two leads (A and B).",
    "cell_channel": "channel {channel}",
    "cell_pci": "PCI {pci}",
    "cell_rsrq": "RSRQ {rsrq}",
    "box_lead_a": "A",
    "box_lead_b": "B",
    "col_read_rsrq": "Read: RSRQ",
    "col_read_pci": "Read: PCI",
    "ports_note": "An LNB’s gain alone differs by 5 dB from piece to piece: at the antenna carrier-to-noise decides, the level only tells a dead LNB from a "
    "live one.",
    "cells_lead": "Mobile cells, as a router or phone names them",
    "cells_note": "Wanted there ({profile}): {wanted} dBm and {ratio} dB over interference and noise.",
    "cn_most": "over {most:.0f} dB",
    "col_cell": "Cell",
    "col_where": "At",
    "col_strength": "Strength (RSRP)",
    "col_ratio": "Ratio (SINR)",
    "col_read_strength": "Read: RSRP",
    "col_read_ratio": "Read: SINR",
    "outlets_save": "Save readings",
    "outlets_save_how": "Write what the meter shows into the boxes; x where there is no signal. Save readings writes a file on this device, without a "
    "network. Then: siteplan readings PLAN FILE",
    "outlets_saved": "0 readings written to {file}",
    "outlets_nothing_to_save": "Nothing is filled in yet.",
    "yes": "yes",
    "no": "no",
}




def cn_most() -> str:
    """Return "over 35 dB", unbroken."""
    return text("cn_most", most=MOST_CN_DB).replace(" ", "\u00a0")


def cn_words(cn_db: float, tolerance_db: float) -> str:
    """Return an expected carrier-to-noise as a meter can show it: 16.2 ± 2 dB; over 35 dB where it shows no more."""
    if cn_db > MOST_CN_DB:
        return cn_most()
    return f"{number(cn_db, 1)}\u00a0±\u00a0{tolerance_db:.0f}\u00a0dB"


def text(name: str, /, **values: object) -> str:
    """Return one label, its values put in. Raises KeyError for a name there is no text for."""
    return _FORMATTER.format(TEXTS[name], **values) if values else say(TEXTS[name])
