"""Seconds of ITU-R P.1812-8: python tests/benchmarks/bench_p1812.py

Recorded (2 shared cores, Python 3.11): first call with nothing compiled 2.1 s, with compiled kernels 0.3 s;
geometry of 1000 points 120-140 us; one frequency 9-13 us.
"""

import time

import numpy as np

from siteplan.records.results import Profile


def main():
    rng = np.random.default_rng(1)
    count = 1000
    distance = np.linspace(0.0, 60_000.0, count)
    ground = 200.0 + 100.0 * np.sin(distance / 7000.0) + rng.normal(0.0, 5.0, count)
    clutter = np.where(rng.random(count) < 0.3, 12.0, 0.0)
    made = Profile(distance, ground, clutter, np.full(count, 4, np.uint8), 0.0, 50.0)

    start = time.perf_counter()
    from siteplan.radio.methods import p1812

    path = p1812.prepare(made, tx_height_agl_m=100.0, rx_height_agl_m=10.0)
    p1812.loss_db(path, frequency_mhz=600.0)
    print(f"first call          {time.perf_counter() - start:8.3f} s")
    for name, repeats, work in (
        ("geometry, 1000 points", 500, lambda: p1812.prepare(made, tx_height_agl_m=100.0, rx_height_agl_m=10.0)),
        ("one frequency", 5000, lambda: p1812.loss_db(path, frequency_mhz=600.0, time_pct=10.0)),
    ):
        start = time.perf_counter()
        for _ in range(repeats):
            work()
        print(f"{name:<20}{(time.perf_counter() - start) / repeats * 1e6:8.1f} us")


if __name__ == "__main__":
    main()
