"""Time of the way from antenna to outlet: python tests/benchmarks/bench_outlets.py

Recorded (2 shared cores, Python 3.11): the numbers in brackets. Held: 64 outlets cost less than three times 64 of one each, for
outlets at the end of like ways are worked once.
"""

import time

from siteplan.files.equipment import read_parts
from siteplan.records.parts import Carrier
from siteplan.signal_chain.changes import smallest_changes
from siteplan.signal_chain.levels import outlets
from siteplan.signal_chain.profiles import EN_60728_1
from siteplan.signal_chain.systems import Choice, Wish, build_auto

PARTS, _ = read_parts()
CHOICE = Choice("Cable class A 7 mm", "Aerial UHF")


def transponders(count, level_dbuv):
    """Return carriers over the whole IF, sub-bands in turn."""
    lines = ("VL", "HL", "VH", "HH")
    return [
        Carrier(f"O{n}", "Oriel", lines[n % 4], 960.0 + 1180.0 * n / count, 33.0, level_dbuv, 14.0, 8.0, "DVB-S2 8PSK 3/4")
        for n in range(count)
    ]


def timed(work, repeats=5):
    """Return the best time of a few, in ms."""
    best = float("inf")
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return 1e3 * best


def main():
    times = {}
    for count, recorded in ((1, "2"), (4, "4"), (16, "10"), (64, "75; search 560")):
        chain = build_auto(Wish(count, ("Oriel",), tv=True, to_house_m=12.0, to_outlet_m=10.0), PARTS, CHOICE)
        times[count] = timed(lambda chain=chain: outlets(chain, transponders(96, 66.0), EN_60728_1))
        search = timed(lambda chain=chain: smallest_changes(chain, transponders(96, 80.0), EN_60728_1, PARTS), 1)
        print(f"{count:>2} outlets, 96 transponders, {chain.system}: {times[count]:.0f} ms, search {search:.0f} ms  ({recorded})")
    assert times[64] < 3.0 * 64 * times[1], "64 outlets cost more than three times as much each as one alone"


if __name__ == "__main__":
    main()
