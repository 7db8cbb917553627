"""How long rays take over 1 m cells within 3 km and 30 m cells to 54 km. Run by hand: python tests/benchmarks/bench_skyline.py

Last recorded (2 shared cores, 2026-11): prepare 0.2 s; view 0.7 ms; skyline of 720 sectors, surface and ground, median 55 ms, worst 100;
17 dishes to one satellite 3 to 8 ms; a profile of 42 km 2.4 ms, of 74 km 3.3 ms.
"""

from __future__ import annotations

import time

import numpy as np

from siteplan.geodesy.projection import parse_crs, to_wgs84
from siteplan.records.ground import KIND_BUILDING, KIND_GROUND, KIND_GROWTH, Grid, Layer, Surface
from siteplan.sky.clearance import clearances
from siteplan.sky.horizon import heights_here, skyline
from siteplan.terrain.profile import profile_between
from siteplan.terrain.view import local_view, prepare

CRS = parse_crs("EPSG:25832")


def hills(cells, cell_m, west, north):
    row, col = np.mgrid[0:cells, 0:cells].astype(np.float32)
    east, up = west + (col + 0.5) * cell_m, north - (row + 0.5) * cell_m
    z = np.full(row.shape, 500.0, dtype=np.float32)
    rng = np.random.default_rng(1)
    for length, height in ((40_000, 300), (12_000, 150), (3_000, 40), (800, 8)):
        for turn in rng.uniform(0, 2 * np.pi, 3):
            z += (height / 3 * np.sin(2 * np.pi * (east * np.cos(turn) + up * np.sin(turn)) / length + 7 * turn)).astype(np.float32)
    return z


def scene():
    rng = np.random.default_rng(2)
    ground = hills(3000, 1.0, 498_500, 5_201_500)
    top, kind = ground.copy(), np.full(ground.shape, KIND_GROUND, dtype=np.uint8)
    for _ in range(900):
        r, c = rng.integers(20, 2960, 2)
        top[r : r + 10, c : c + 12] = ground[r : r + 10, c : c + 12] + rng.uniform(4, 12)
        kind[r : r + 10, c : c + 12] = KIND_BUILDING
    for _ in range(40):
        r, c = rng.integers(20, 2880, 2)
        crown = rng.random((90, 90)) < 0.4
        top[r : r + 90, c : c + 90] += np.where(crown, rng.uniform(4, 20, (90, 90)), 0).astype(np.float32)
        kind[r : r + 90, c : c + 90][crown] = KIND_GROWTH
    near = (1.0, 0.0, 498_500.0, 0.0, -1.0, 5_201_500.0)
    far = Grid(hills(3600, 30.0, 446_000, 5_254_000), (30.0, 0.0, 446_000.0, 0.0, -30.0, 5_254_000.0), CRS, 30.0)
    return Surface((Layer(Grid(ground, near, CRS, 1.0), Grid(top, near, CRS, 1.0), kind, True, True), Layer(far)))


def clock(what, *calls):
    calls[0]()
    took = []
    for call in calls:
        start = time.process_time()
        call()
        took.append(1e3 * (time.process_time() - start))
    print(f"{what:<60} median {np.median(took):7.2f} ms, worst {max(took):7.2f} ms")


def main():
    surface = scene()
    land = prepare(surface)
    clock("prepare", lambda: prepare(surface))
    rng = np.random.default_rng(3)
    places = []
    for x, y in rng.uniform(-1200, 1200, (12, 2)):
        lon, lat = to_wgs84(500_000 + x, 5_200_000 + y, CRS)
        places.append({"lat_deg": float(lat), "lon_deg": float(lon)})
    clock("local_view to 50 km", *(lambda p=p: local_view(land, **p, radius_m=50_000.0) for p in places))
    views = [local_view(land, **p, radius_m=50_000.0) for p in places]
    eyes = [max(heights_here(view)) + 3.0 for view in views]
    both = list(zip(views, eyes, strict=True))
    clock("skyline, 720 sectors, surface and ground", *(lambda v=v, e=e: skyline(v, eye_amsl_m=e) for v, e in both))
    around = rng.normal(0, 5, (17, 2))
    how = dict(look_azimuth_deg=180.0, look_elevation_deg=33.0, dish_m=0.8, frequency_mhz=11_700.0)
    clock("17 dishes to one satellite", *(
        lambda v=v, e=e: clearances(v, eyes=np.column_stack([around, np.full(17, e)]), **how) for v, e in both
    ))  # fmt: skip
    for east in (30_000, 52_000):
        lon, lat = to_wgs84(500_000 + east, 5_200_000 + east, CRS)
        clock(f"profile from {east * 1.414 / 1000:.0f} km away", *(
            lambda p=p, lat=lat, lon=lon: profile_between(
                land, tx_lat_deg=float(lat), tx_lon_deg=float(lon), rx_lat_deg=p["lat_deg"], rx_lon_deg=p["lon_deg"]
            )
            for p in places
        ))  # fmt: skip


if __name__ == "__main__":
    main()
