"""Seconds of ITU-R P.1812-8, beside a peer in the same run: PYTHONPATH=. python tests/benchmarks/bench_p1812.py

The peer is the same algebra as plain Python (this file again with compilation switched off): same machine, same load, same profiles.

Recorded (2 shared cores, Python 3.11): first call with nothing compiled 2.1 s, with compiled kernels 0.3 s; geometry of 1000 points
120-140 us; one frequency 9-13 us; a whole path of 330 points and one frequency 84 us, 37 times the plain Python of the same run (100
points 15 times, 2000 points 72 times). The README of the measured links gives 610 us at 330 samples for the reference implementation,
on another machine.
"""

import os
import subprocess
import sys
import time

import numpy as np

from siteplan.records.results import Profile

SIZES = (100, 330, 800, 2000)


def made(count):
    rng = np.random.default_rng(1)
    distance = np.linspace(0.0, 60_000.0, count)
    ground = 200.0 + 100.0 * np.sin(distance / 7000.0) + rng.normal(0.0, 5.0, count)
    clutter = np.where(rng.random(count) < 0.3, 12.0, 0.0)
    return Profile(distance, ground, clutter, np.full(count, 4, np.uint8), 0.0, 50.0)


def seconds(work, least_s=0.3):
    """Seconds of one call, the best of three runs of at least so long."""
    work()
    best = float("inf")
    for _ in range(3):
        start, count = time.perf_counter(), 0
        while time.perf_counter() - start < least_s:
            work()
            count += 1
        best = min(best, (time.perf_counter() - start) / count)
    return best


def whole_paths():
    """Microseconds of a whole path at one frequency, from profile to loss, by the number of points; and its loss."""
    from siteplan.radio.methods import p1812

    found = []
    for count in SIZES:
        profile = made(count)

        def work(profile=profile):
            return p1812.loss_db(p1812.prepare(profile, tx_height_agl_m=100.0, rx_height_agl_m=10.0), frequency_mhz=600.0, time_pct=10.0)

        found.append((1e6 * seconds(work), work().loss_db))
    return found


def main():
    if "--plain" in sys.argv:
        print(*(f"{value!r}" for pair in whole_paths() for value in pair))
        return
    start = time.perf_counter()
    from siteplan.radio.methods import p1812

    profile = made(1000)
    path = p1812.prepare(profile, tx_height_agl_m=100.0, rx_height_agl_m=10.0)
    p1812.loss_db(path, frequency_mhz=600.0)
    print(f"first call            {time.perf_counter() - start:8.3f} s")
    whole = seconds(lambda: p1812.prepare(profile, tx_height_agl_m=100.0, rx_height_agl_m=10.0))
    print(f"geometry, 1000 points {1e6 * whole:8.1f} us")
    print(f"one frequency         {1e6 * seconds(lambda: p1812.loss_db(path, frequency_mhz=600.0, time_pct=10.0)):8.1f} us")

    plain = subprocess.run(
        [sys.executable, __file__, "--plain"], env={**os.environ, "NUMBA_DISABLE_JIT": "1"}, capture_output=True, text=True, check=True
    )
    numbers = [float(word) for word in plain.stdout.replace("np.float64(", "").replace(")", "").split()]
    peer = list(zip(numbers[::2], numbers[1::2], strict=True))
    print("\na whole path, one frequency        us   plain Python us   ratio   paths a second")
    for count, (ours_us, ours_db), (peer_us, peer_db) in zip(SIZES, whole_paths(), peer, strict=True):
        assert abs(ours_db - peer_db) < 1e-9
        print(f"{count:6d} points              {ours_us:10.1f}{peer_us:18.1f}{peer_us / ours_us:8.1f}{1e6 / ours_us:17.0f}")


if __name__ == "__main__":
    main()
