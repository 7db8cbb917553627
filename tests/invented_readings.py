"""Invented installations, healthy or with one known fault, as a meter would read them."""

import math
import random
from collections import Counter

from siteplan.records.readings import Compared, Expected, Reading
from siteplan.signal_chain.diagnosis import diagnose

NAN = float("nan")
LARGE = [
    (line, float(rf), float(rf - (9750 if line[1] == "L" else 10600)), modulation)
    for line, rfs in (("VL", (10800, 10950, 11100, 11250, 11400, 11600)), ("HL", (10805, 10952, 11180, 11320, 11405, 11640)),
                      ("VH", (11750, 11900, 12050, 12200, 12400, 12600)), ("HH", (11752, 11980, 12052, 12300, 12402, 12700)))
    for rf, modulation in zip(rfs, ("8PSK", "QPSK", "16APSK", "8PSK", "16APSK", "QPSK"), strict=True)
]  # fmt: skip
SMALL = [
    ("VL", 10847.0, 1097.0, "8PSK"), ("HL", 11223.0, 1473.0, "8PSK"), ("HH", 12604.0, 2004.0, "QPSK"), ("HL", 11641.0, 1891.0, "8PSK"),
    ("VH", 12090.0, 1490.0, "8PSK"),
]  # fmt: skip


def installation(dice, carriers, fault="healthy"):
    """Return the readings of one installation with one fault."""
    lnb, meter, noise_meter = dice.uniform(-5, 5), dice.uniform(-1.5, 1.5), dice.uniform(-1.0, 1.0)
    foretold, foretold_cn, slope = dice.gauss(0, 1.5), dice.gauss(0, 0.7), dice.gauss(0, 1.5)
    lines = {line: dice.uniform(-1, 1) for line in ("VL", "HL", "VH", "HH")}
    phase, loss = dice.uniform(0, 6.28), dice.uniform(8, 14)
    both, noisy, tilt, side = dice.uniform(4.5, 8), dice.uniform(4.5, 8), dice.uniform(10, 18), dice.choice("VH")
    alone = dice.randrange(len(carriers))
    occupied = [any(o[0][0] != c[0][0] and abs(o[1] - c[1]) < 27.5 for o in carriers) for c in carriers]
    made = []
    for place, (line, rf, if_mhz, modulation) in enumerate(carriers):
        ripple = 1.0 * math.sin(if_mhz / 150.0 + phase)
        off = lnb + meter + foretold + lines[line] + ripple + slope * (if_mhz - 1500) / 1000 + dice.gauss(0, 0.5)
        cn = noise_meter + foretold_cn + dice.gauss(0, 0.5)
        locked = True
        if fault == "after the LNB":
            off -= loss
        elif fault == "before the LNB":
            off, cn = off - both, cn - both
        elif fault == "noisy":
            cn -= noisy
        elif fault == "cable slope":
            off -= tilt * (if_mhz - 950) / 1000
        elif fault == "high band missing":
            locked = line[1] != "H"
        elif fault == "low band missing":
            locked = line[1] != "L"
        elif fault == "one polarisation missing":
            locked = line[0] != side
        elif fault == "one polarisation low":
            off -= loss if line[0] == side else 0
        elif fault == "skew":
            cn -= {"16APSK": noisy + 2, "8PSK": noisy, "QPSK": noisy - 1}[modulation] if occupied[place] else 0
        elif fault == "one carrier":
            cn -= noisy + 1 if place == alone else 0
        expected = Expected(
            "1", 2, "x", 0.0, 0.0, "satellite", "Oriel", "outlet 1", f"{line}{rf:.0f}", line, rf, if_mhz, 27.5, f"DVB-S2 {modulation} 3/4",
            65.0, 3.2, 15.0, 1.0, {"QPSK": 5.0, "8PSK": 8.0, "16APSK": 10.0}[modulation], 47.0, 77.0, "EN",
        )  # fmt: skip
        if not locked:
            off = cn = NAN
        reading = Reading("f", 1, "1", "Oriel", expected.carrier, "outlet 1", level_dbuv=65 + off, cn_db=15 + cn, locked=locked)
        made.append(Compared(reading, expected, off, cn, 15 + cn - expected.threshold_db, locked))
    return made


RIGHT = {
    "after the LNB": "read_after_lnb", "before the LNB": "read_before_lnb", "noisy": "read_noisy", "cable slope": "read_tilt",
    "high band missing": "read_high_band_missing", "low band missing": "read_low_band_missing",
    "one polarisation missing": "read_polarisation_missing", "one polarisation low": "read_polarisation_low", "skew": "read_skew",
    "one carrier": "read_one_alone",
}  # fmt: skip


def tried(fault, carriers, count, seed=7):
    """Return how often each first sentence came, "" for none."""
    dice = random.Random(f"{fault}{len(carriers)}{seed}")
    said = Counter()
    for _ in range(count):
        found = diagnose(installation(dice, carriers, fault))
        said[found[0].code if found else ""] += 1
    return said
