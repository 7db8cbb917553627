"""What each rule about readings rests on: its thresholds, how often it is right, and what learning from readings was worth."""

from __future__ import annotations

from siteplan.signal_chain import diagnosis as rules
from siteplan.words.formats import SentenceFormatter
from siteplan.words.language import say

_FORMATTER = SentenceFormatter()

TEXTS: dict[str, str] = {
    "head": "What the readings of one satellite at one outlet mean together. Low is measured under expected, the middle of all carriers. All thresholds are common "
    "practice, no source.",
    "read_after_lnb": "Loss after the LNB: level at least {low:.1f} dB low (or {normal:.0f} dB and out of the profile’s window), C/N at most {cn_normal:.0f} dB low.",
    "read_before_lnb": "Before the LNB: C/N at least {cn_low:.0f} dB low, and level low by half as much and {apart:.0f} dB more.",
    "read_noisy": "Noise, skew, a neighbour or overload: C/N at least {cn_low:.0f} dB low, and level low by less than half as much less {apart:.0f} dB.",
    "read_before_or_noisy": "One of these two: C/N at least {cn_low:.0f} dB low, level between them; an LNB’s own gain (5 dB either way) hides which.",
    "read_both_sides": "Before and after the LNB: C/N at least {cn_low:.0f} dB low, level {low:.1f} dB lower still.",
    "read_tilt": "Cable, connector, water: level falls by {tilt:.0f} dB a GHz of IF more than expected and {sure:.0f} times its own error, and by half of that in every sub-band "
    "whose carriers lie {span:.0f} MHz apart.",
    "read_high_band_missing": "22 kHz tone or wrong LNB: all carriers of one band without signal (two at least), while the other band has some.",
    "read_polarisation_missing": "13/18 V: all carriers of one polarisation without signal (two at least), while the other has some.",
    "read_polarisation_low": "13/18 V: one polarisation {side:.0f} dB lower than the other, slope counted out, and {sure:.0f} times its own error.",
    "read_skew": "Skew: C/N at least {cn_low:.0f} dB low on both polarisations where the opposite one is in use, and that much worse than on free carriers; with none free, "
    "high-order modulation {worse:.0f} dB worse than the rest.",
    "read_one_alone": "One carrier alone: its C/N {alone:.0f} dB lower than the middle of the rest, or no signal while all others have one.",
    "aerial": "Terrestrial TV is foretold less surely: there low also means beyond {sigmas:.0f} sigmas of its own prediction. C/N above 35 dB counts as 35 dB: no "
    "common meter shows more.",
    "rates": "Tried on invented installations (tests/benchmarks/bench_diagnosis.py): LNBs 5 dB either way, meters 1.5 dB either way. Healthy ones accused: 14 of 2000 "
    "with 24 carriers, 20 of 2000 with 5. Named rightly, of 500: loss after the LNB 401, before it 349 (and 80 where both are named), noisy LNB 358 (69), cable 500, "
    "band or polarisation missing 500, polarisation low 500, skew 499, one carrier 498.",
    "learnt": "Corrections learnt from readings are tried block of land by block of land. RMSE out of sample, plain mean of what was measured beside it: 60 places "
    "round a TV mast 5.06 dB with a bias, 4.99 dB with a residual over the land (not a twentieth better: it stays off), plain mean 5.40 dB; 48 of 60 lay in their "
    "80 % interval (42 to 54 allowed). 29 long links 9.21 dB uncorrected, 7.23 dB with a bias of 3.0 times its own error (just not sure enough: it stays off), plain mean 25.67 dB; "
    "24 of 29 in their interval (19 to 27 allowed).",
    "noise": "On pure noise a correction stays on in 12 of 400 sets of 10 readings, 8 of 400 of 20, and 0 of 100 of 40.",
}


def lines() -> list[str]:
    """Return every rule with its thresholds as they are in force, a line each; then how often they were right."""
    values = {
        "low": -rules.LEVEL_LOW_DB, "normal": -rules.LEVEL_NORMAL_DB, "cn_low": -rules.CN_LOW_DB, "cn_normal": -rules.CN_NORMAL_DB,
        "apart": rules.APART_DB, "tilt": -rules.TILT_DB_PER_GHZ, "sure": rules.SURE, "span": rules.TILT_SPAN_MHZ, "side": rules.SIDE_DB,
        "worse": rules.WORSE_DB, "alone": rules.ALONE_DB, "sigmas": rules.SIGMAS,
    }  # fmt: skip
    return [_FORMATTER.format(text, **values) if "{" in text else say(text) for text in TEXTS.values()]
