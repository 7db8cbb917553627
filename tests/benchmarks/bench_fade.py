"""Processor time of fades by ITU-R P.618-13: python tests/benchmarks/bench_fade.py

Recorded (2 shared cores, Python 3.11): the numbers in brackets at the end of each line.
"""

import time

import numpy as np


def timed(name, work, recorded, repeats=1):
    start = time.process_time()
    for _ in range(repeats):
        work()
    print(f"{name:<52}{(time.process_time() - start) / repeats * 1e3:9.2f} ms  ({recorded})")


def main():
    start = time.process_time()
    from siteplan.services.shared.fading import fade_here, fades_over_area, link_availability, link_fade

    print(f"{'import':<52}{(time.process_time() - start) * 1e3:9.2f} ms  (30)")
    link = {"elevation_deg": 34.0, "height_amsl_m": 430.0}
    places = iter(np.linspace(46.0, 48.0, 2000))
    carriers = [10_700.0 + 170.0 * number for number in range(12)]

    timed("first fade: the maps are read", lambda: fade_here(lat_deg=47.0, lon_deg=8.0, frequency_mhz=12e3, time_pct=0.1, **link), "190")
    timed(
        "first fade without a height: the ground map is read",
        lambda: fade_here(lat_deg=47.0, lon_deg=8.0, frequency_mhz=12e3, time_pct=0.1, elevation_deg=34.0),
        "170",
    )
    timed("one fade, new place", lambda: fade_here(lat_deg=next(places), lon_deg=8.0, frequency_mhz=12e3, time_pct=0.1, **link), "1", 50)

    def dozen_fades():
        lat = next(places)
        for frequency in carriers:
            link_fade(lat_deg=lat, lon_deg=8.0, frequency_mhz=frequency, time_pct=0.1, system_noise_k=110.0, **link)

    def dozen_availabilities():
        lat = next(places)
        for frequency in carriers:
            link_availability(lat_deg=lat, lon_deg=8.0, frequency_mhz=frequency, margin_db=6.0, system_noise_k=110.0, **link)

    timed("12 transponders of a new place, fades", dozen_fades, "8; 50 allowed", 20)
    timed("12 transponders of a new place, availabilities", dozen_availabilities, "27; 50 allowed", 20)
    carrier = {"orbit_deg": 19.2, "polarisation": "H", "frequency_mhz": 12e3, "time_pct": 0.01}
    area = {**carrier, "lowest_amsl_m": 200.0, "highest_amsl_m": 2500.0}
    lattice = None

    def build():
        nonlocal lattice
        lattice = fades_over_area(south_deg=47.0, north_deg=48.0, west_deg=8.0, east_deg=9.0, **area)

    timed("lattice of 1 x 1 degree", build, "30", 3)
    rng = np.random.default_rng(1)
    lat, lon, height = 47.0 + rng.random(1_000_000), 8.0 + rng.random(1_000_000), 200.0 + 2300.0 * rng.random(1_000_000)
    timed("a million places asked of it", lambda: lattice.at(lat_deg=lat, lon_deg=lon, height_amsl_m=height), "550")


if __name__ == "__main__":
    main()
