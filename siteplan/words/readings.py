"""Sentences and labels about readings: what was taken for what, what they say, proof and review."""

from __future__ import annotations

from siteplan.words.formats import SentenceFormatter

_FORMATTER = SentenceFormatter()

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
    "read_unknown_carrier": "{carrier} of {source} is not among what was expected here",
    "read_repeat": "{carrier} was read {count} times; the latest counts, all are kept",
    # --- one carrier -----------------------------------------------------------------------------------------------------
    "read_level_low": "level {level_dbuv:.0f} dBµV is under the window ({min_dbuv:.0f})",
    "read_level_high": "level {level_dbuv:.0f} dBµV is over the window ({max_dbuv:.0f})",
    "read_cn_short": "carrier-to-noise is {short_db:.1f} dB under what it needs",
    "read_cn_weak": "carrier-to-noise has only {margin_db:.1f} dB to spare",
    "read_cn_off": "carrier-to-noise is {off_db:.1f} dB under what was expected",
    "read_no_lock": "no signal",
    # --- what the readings say together ------------------------------------------------------------------------------------
    "read_after_lnb": "Level is low ({level_db:.0f} dB) and carrier-to-noise as expected: something after the LNB takes it: cable, connector, "
    "splitter or switch.",
    "read_before_lnb": "Level and carrier-to-noise are low by the same ({cn_db:.0f} dB): look before the LNB: pointing, something in the way, rain, "
    "the dish itself.",
    "read_both_sides": "Level ({level_db:.0f} dB) and carrier-to-noise ({cn_db:.0f} dB) are both low: pointing or something in the way, and loss on the "
    "cable as well.",
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
}
