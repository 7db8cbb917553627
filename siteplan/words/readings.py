"""Sentences and labels about readings: what was taken for what, what they say, proof and review."""

from __future__ import annotations

from siteplan.words.formats import SentenceFormatter
from siteplan.words.items import item_name
from siteplan.words.language import say

_FORMATTER = SentenceFormatter()

TEXTS: dict[str, str] = {
    # --- places of measuring ---------------------------------------------------------------------------------------------
    "place_antenna": "the antenna",
    "place_router": "the router",
    "place_window": "the best window",
    "place_indoors": "the device indoors",
    "place_outdoor unit": "the outdoor unit",
    # --- limits of mobile cells by name ----------------------------------------------------------------------------------
    "limits_practice": "mobile, common practice",
    # --- one reading, as the command says it -----------------------------------------------------------------------------
    "line_where": "{source} {carrier} at {place}:",
    "line_level": "level {level:.0f} dBµV (expected {expected}),",
    "line_cn": "C/N {cn:.1f} dB (expected {expected}), {margin:.1f} dB to spare:",
    "line_rsrp": "strength {rsrp} dBm (expected {expected}),",
    "line_sinr": "ratio {sinr} dB (expected {expected}),",
    "line_rsrq": "RSRQ {rsrq} dB (expected {expected}),",
    "line_spare": "{margin:.1f} dB to spare:",
    "line_unknown": "unknown",
    "line_pass": "pass",
    "line_fail": "fail",
    "line_open": "nothing proved",
    "line_stored": "{count} readings stored in {file}",
    "line_known": ", {count} were known already",
    "line_reject": "{file}, row {row}: {field} {value!r} {reason}",
    "line_reject_row": "{file}, row {row}: {reason}",
}


def text(name: str, /, **values: object) -> str:
    """Return one text, its values put in. Raises KeyError for a name there is no text for."""
    return _FORMATTER.format(TEXTS[name], **values) if values else say(TEXTS[name])


def limits_word(name: str) -> str:
    """Return the name of limits of mobile cells in the language spoken; a company's own as it stands."""
    return say(name) if name == TEXTS["limits_practice"] else name


def place(outlet: str) -> str:
    """Return the place of a reading in words; an outlet's own name as it stands, siteplan's in the language."""
    return say(TEXTS[f"place_{outlet}"]) if f"place_{outlet}" in TEXTS else item_name(outlet)

SENTENCES: dict[str, str] = {
    # --- to which job a file belongs -----------------------------------------------------------------------------------
    "read_by_id": "matched to row {row} by id",
    "read_by_name": "matched to row {row} by the name of the file",
    "read_by_place": "matched to row {row} by its place, {distance_m:dist} away",
    "read_not_matched": "not matched: nearest job {distance_m:dist} away, not taken",
    "read_not_matched_id": "not matched: no job is called {id}",
    "read_not_matched_any": "not matched: it names no job and no place",
    # --- what was put right, or could not be -----------------------------------------------------------------------------
    "read_taken_as": "{value:g} was given as {unit}; it fits only as {taken}, so it was taken as that",
    "read_minus_missing": "{value:g} in {column} was given without its minus, and was taken with it",
    "read_unknown_carrier": "{carrier} of {source} is not among what was expected here",
    "read_repeat": "{carrier} was read {count} times ({times:list}); the latest counts, all are kept",
    "read_repeat_untimed": "{carrier} was read {count} times, nobody says when; the last row counts, all are kept",
    "read_several_carriers": "{carrier} may be {names:list}: say which satellite, polarisation or carrier it is; it does not count",
    "read_several_outlets": "{carrier} names no outlet, and it was expected at {outlets:list}: say which; it does not count",
    "read_unknown_outlet": "{carrier} was read at {outlet}, which is none of the outlets here ({outlets:list}); it does not count",
    "taught_few": "{source}: {count} installations, too few or too close together to learn from (8 in 3 blocks of land at least).",
    "taught_none": "{source}: {count} installations lie {bias_db:+.1f} dB from the prediction on average, and no correction holds: tried out of sample, block of land "
    "by block of land, the error is {none_db:.1f} dB uncorrected and {mean_db:.1f} dB with their mean taken off. None is used. "
    "{inside} of {of} lie in their 80 % interval ({low} to {high} allowed).",
    "taught_bias": "{source}: {count} installations lie {bias_db:+.1f} dB from the prediction on average, and that is used nearby, shown apart: out of sample, block of "
    "land by block of land, the error falls from {none_db:.1f} to {mean_db:.1f} dB. {inside} of {of} lie in their 80 % interval ({low} to {high} allowed).",
    "taught_spatial": "{source}: {count} installations teach a correction that varies over the land, used nearby and shown apart: out of sample, block of land by block of "
    "land, the error falls from {none_db:.1f} dB ({mean_db:.1f} dB with their mean taken off) to {used_db:.1f} dB. {inside} of {of} lie in their 80 % interval ({low} to "
    "{high} allowed).",
    "read_damaged": "{count} readings in the store are damaged and do not count: read them in again",
    "read_elsewhere": "{count} readings say that they were taken {distance_m:dist} away from this address: check the id",
    "read_level_no_unit": "the level {value} says no unit, nor does its column (dBµV, dBmV or dBm): it was left out",
    "read_other_unit": "this level would fit if it was read in {meant} and written down as {given}",
    "read_columns_unused": "columns not used: {columns}",
    "read_no_rows": "there is no reading in it",
    "read_left_out": "left out, it is no file of readings: {files}",
    "read_rssi_swapped": "RSRP {rsrp:g} dBm is more than RSSI {rssi:g} dBm, which can't be: taken the other way round",
    "read_rsrp_is_rssi": "{value:.0f} dBm is no RSRP of this cell ({expected:.0f} expected) but would be its RSSI: read the line called RSRP; not judged",
    "cells_no_limits": "Limits of mobile cells: {why}. Common practice was taken.",
    # --- one carrier -----------------------------------------------------------------------------------------------------
    "read_level_low": "level {level_dbuv:.0f} dBµV is under the window ({min_dbuv:.0f})",
    "read_level_high": "level {level_dbuv:.0f} dBµV is over the window ({max_dbuv:.0f})",
    "read_cn_short": "carrier-to-noise is {short_db:.1f} dB under what it needs",
    "read_cn_weak": "carrier-to-noise has only {margin_db:.1f} dB to spare",
    "read_level_edge": "level {level_dbuv:.1f} dBµV is hardly within its window ({min_dbuv:.0f} to {max_dbuv:.0f})",
    "read_cn_off": "carrier-to-noise is {off_db:.1f} dB under what was expected",
    "read_no_lock": "no signal",
    "read_port_low": "level {level_dbuv:.0f} dBµV is lower than any good LNB or aerial gives here ({min_dbuv:.0f})",
    "read_port_high": "level {level_dbuv:.0f} dBµV is higher than expected here ({max_dbuv:.0f})",
    "read_no_cell": "no service",
    "read_rsrp_low": "strength {rsrp_dbm:.0f} dBm is under what the plan wants ({min_dbm:.0f})",
    "read_sinr_short": "ratio to interference and noise is {short_db:.1f} dB under what the plan wants",
    "read_sinr_weak": "ratio to interference and noise has only {margin_db:.1f} dB to spare",
    "read_rsrq_short": "RSRQ is {short_db:.1f} dB under what is wanted",
    "read_not_counted": "does not count for this job",
    "read_rsrp_weak": "strength has only {margin_db:.1f} dB to spare",
    "read_other_cell": "another cell answers (identity {pci}) than the one planned ({planned})",
    # --- what the readings say together ------------------------------------------------------------------------------------
    "read_after_lnb": "Level is low ({level_db:.0f} dB) and carrier-to-noise as expected: something after the LNB takes it: cable, connector, "
    "splitter or switch.",
    "read_before_lnb": "Level and carrier-to-noise are low by the same ({cn_db:.0f} dB): look before the LNB: pointing, something in the way, rain, "
    "the dish itself.",
    "read_both_sides": "Level ({level_db:.0f} dB) and carrier-to-noise ({cn_db:.0f} dB) are both low: pointing or something in the way, and loss on the "
    "cable as well.",
    "read_before_or_noisy": "Carrier-to-noise is {cn_db:.0f} dB low, and an LNB’s own gain may hide whether level is low with it ({level_db:.0f} dB): first what is "
    "before the LNB (pointing, something in the way, rain, the dish), then the LNB itself.",
    "read_tv_after_lnb": "Level is low ({level_db:.0f} dB) and carrier-to-noise as expected: something after the aerial takes it: cable, connector, splitter, or "
    "an amplifier without power.",
    "read_tv_before_lnb": "Level ({level_db:.0f} dB) and carrier-to-noise ({cn_db:.0f} dB) are low, by more than the prediction may be wrong: look at the aerial: its aim, "
    "its polarisation, something in the way.",
    "read_tv_both_sides": "Level ({level_db:.0f} dB) and carrier-to-noise ({cn_db:.0f} dB) are both low: aim or something in the way, and loss on the cable as well.",
    "read_tv_noisy": "Level is as expected, but carrier-to-noise {cn_db:.0f} dB low: another transmitter on the channel, a mobile base station close by, or an "
    "overdriven amplifier.",
    "read_tv_before_or_noisy": "Carrier-to-noise is {cn_db:.0f} dB low, level {level_db:.0f} dB: first the aerial (aim, something in the way), then what disturbs the channel.",
    "read_noisy": "Level is as expected, but carrier-to-noise {cn_db:.0f} dB low: a noisy LNB, its turn (skew), a neighbouring satellite, or an "
    "overdriven part.",
    "read_tilt": "Level falls with frequency on the cable in every sub-band, {db_per_ghz:.0f} dB a GHz more than expected: cable, connector or water in it.",
    "read_high_band_missing": "The whole high band is missing: the 22 kHz tone does not reach the LNB, or it is the wrong LNB.",
    "read_low_band_missing": "The whole low band is missing: the 22 kHz tone is always on, or it is the wrong LNB.",
    "read_polarisation_missing": "All carriers switched by {volts:.0f} V are missing: the LNB, a port of the switch, or the voltage at the LNB.",
    "read_polarisation_low": "All carriers switched by {volts:.0f} V are {less_db:.0f} dB lower than the others: the LNB, a port of the switch, or the "
    "voltage at the LNB.",
    "read_skew": "Carrier-to-noise is {cn_db:.0f} dB low on both polarisations, just where the opposite one is in use: turn the LNB.",
    "read_one_alone": "Only {carrier} ({if_mhz:.0f} MHz on the cable) is off: something disturbs that frequency, its beam is weaker here, or a service on "
    "the ground gets into the cable.",
    "read_missing": "No signal on {carriers}.",
    # --- at the antenna itself, and between it and an outlet ------------------------------------------------------------------
    "read_between": "At the antenna carrier-to-noise is as expected, but {less_db:.0f} dB more than foretold are lost on the way to the outlet: cable, "
    "connector, splitter or switch.",
    "read_port_before": "{source}: level and carrier-to-noise are low by the same ({cn_db:.0f} dB) at the antenna already: pointing, something in the "
    "way, rain, the antenna itself.",
    "read_port_noisy": "{source}: carrier-to-noise is {cn_db:.0f} dB low at the antenna already, the level is not: a noisy LNB, its turn (skew), a "
    "neighbour, or interference.",
    "read_port_both": "{source}: level ({level_db:.0f} dB) and carrier-to-noise ({cn_db:.0f} dB) are low at the antenna already: pointing, and an LNB or "
    "connector that loses more.",
    "read_port_gain": "{source}: level is {level_db:.0f} dB off at the antenna and carrier-to-noise as expected: an LNB of little gain, or the meter’s own "
    "lead.",
    "read_port_missing": "No signal at the antenna on {carriers}.",
    # --- mobile cells together ---------------------------------------------------------------------------------------------
    "read_rssi_for_rsrp": "Every strength is {over_db:.0f} dB over what was expected, as much as a whole carrier is over one of its elements: the device "
    "showed RSSI, or it was written in the wrong column.",
    "read_cells_low": "All {count} cells are weak here ({less_db:.0f} dB under what was expected): look at what they share: cable, connectors, where the "
    "antenna stands, a wall or a coated pane before it.",
    "read_cell_low": "{carrier} is {less_db:.0f} dB weaker than expected: aim, cable, connectors, or something in the way that the ground data do not show.",
    "read_one_cell_low": "{carrier} is {less_db:.0f} dB weaker than expected while the others are not: something stands before it, the antenna looks "
    "elsewhere, or that cell sends less.",
    "read_cell_disturbed": "{carrier}: strength as expected, but the ratio to interference and noise {less_db:.0f} dB low: another site is heard as well, "
    "the network is busier than assumed, or something near disturbs. Turn the antenna a little and watch the ratio.",
    "read_pair_uneven": "Lead {lead} of the antenna is {less_db:.0f} dB weaker than the other. Change the two over at the router: if the weakness moves, it is "
    "that cable or connector; if it stays, the router.",
    "read_mobile_cable": "The cables take {more_db:.0f} dB more than they should between antenna and router: connectors, a sharp bend, water.",
    "read_cells_high_bands": "High bands are {less_db:.0f} dB weaker against low ones of the same site than expected: a thin or wet cable, leaves or a "
    "wall in the way.",
    "read_cell_stronger": "{carrier} is {more_db:.0f} dB stronger than expected: a nearer cell, or a list of senders that is out of date.",
    "read_cells_none": "No service on any cell that was tried ({count}): both leads, the router’s sockets, and whether the antenna covers the band.",
    "read_serves_other": "The device listens to another cell (identity {pci}) than planned for {carrier}: aim again, or accept it if strength and ratio are "
    "good.",
}
