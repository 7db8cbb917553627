"""How often a fault is named rightly, and a healthy installation accused: PYTHONPATH=.:tests python tests/benchmarks/bench_diagnosis.py

Invented installations. Each has its own LNB (gain within 5 dB of its type, another decibel from sub-band to sub-band, a ripple over
frequency), its own meter (off by up to 1.5 dB, and half a decibel of scatter a reading; C/N by up to 1 dB and 0.5 dB) and its own error of
what was foretold (level 1.5 dB, C/N 0.7 dB, slope 1.5 dB a GHz; 1 sigma). "large": 24 carriers in four sub-bands; "small": 5, as many
plans have. A fault counts as named where the first sentence is its own. Losses are 8 to 14 dB, C/N falls by 4.5 to 8 dB.

Recorded (November 2026): healthy accused: large 14 of 2000, small 20 of 2000 (0.7 %, 1.0 %).
Named rightly of 500, large / small: after the LNB 401 / 396 (an LNB 5 dB over its type hides 8 dB of cable), before the LNB 349 / 352,
noisy LNB 358 / 346 (another 80 / 72 and 69 / 79 where both are named, for an LNB's own gain blurs it), cable slope 500 / 483, high band
missing, low band missing and one polarisation missing 500 / 500, one polarisation low 500 / 499, skew 499 / none of the small has a
carrier that faces another, one carrier alone 498 / 499.
"""

from invented_readings import LARGE, RIGHT, SMALL, tried


def main():
    for name, carriers in (("large", LARGE), ("small", SMALL)):
        said = tried("healthy", carriers, 2000)
        print(f"{name}: healthy accused {2000 - said['']} of 2000 {dict(said)}")
        for fault, code in RIGHT.items():
            said = tried(fault, carriers, 500)
            print(f"  {fault:26} named {said[code]:3} of 500; else {dict((c, n) for c, n in said.most_common() if c != code)}")


if __name__ == "__main__":
    main()
