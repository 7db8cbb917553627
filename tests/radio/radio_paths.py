"""Hand-made and seeded path profiles for the tests of the radio floor."""

import numpy as np

from siteplan.records.results import Profile


def profile(distance_m, ground_amsl_m, clutter_m=None, zone=None, lat_mid_deg=50.0):
    distance = np.asarray(distance_m, dtype=float)
    ground = np.broadcast_to(np.asarray(ground_amsl_m, dtype=float), distance.shape).copy()
    clutter = np.zeros(distance.shape) if clutter_m is None else np.asarray(clutter_m, dtype=float)
    zones = np.full(distance.shape, 4, dtype=np.uint8) if zone is None else np.asarray(zone, dtype=np.uint8)
    return Profile(distance, ground, clutter, zones, 0.0, lat_mid_deg)


def rough(rng, length_m, points=None, roughness_m=2.0, clutter=True):
    """A random walk of ground, a third of it under clutter, with a stretch of sea in one case of four."""
    points = points or int(rng.integers(3, 200))
    distance = np.concatenate(([0.0], np.sort(rng.uniform(0.05, 0.95, points - 2)) * length_m, [length_m])).round(3)
    distance = np.unique(distance)
    ground = 100.0 + np.cumsum(rng.normal(0.0, roughness_m, distance.size))
    cover = np.where(rng.random(distance.size) < 0.33, rng.uniform(0.0, 25.0, distance.size), 0.0) if clutter else np.zeros(distance.size)
    zone = np.full(distance.size, 4, dtype=np.uint8)
    if rng.random() < 0.25:
        first, last = sorted(rng.integers(0, distance.size, 2))
        zone[first:last] = 1
        zone[last : last + 3] = 3
        ground[first:last], cover[first:last] = 0.0, 0.0
    return profile(distance, ground, cover, zone, float(rng.uniform(-80.0, 80.0)))
