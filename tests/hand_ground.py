"""A flat square of ground with one thing standing on it, and the answers that follow on paper.

The square lies on the central meridian of UTM 33N at 47.85 N. A satellite due south stands at 35.04 degrees there, so a dish 3 m up at
the middle looks over a wall at distance d when the wall is lower than 3 + d tan(35.04 deg): 17.0 m at 20 m.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np

from siteplan.geodesy.projection import to_wgs84
from siteplan.records.emitters import Satellite, Transponder
from siteplan.records.ground import KIND_BUILDING, KIND_GROUND, KIND_GROWTH, Grid, Layer, Surface
from siteplan.records.places import Address
from siteplan.records.plan import LimitsTable, MountTable, Plan
from siteplan.services.satellite.judge import judge
from siteplan.services.shared.site import Land, site_of
from siteplan.terrain.view import prepare

SIZE, GROUND_M, CRS = 401, 100.0, "EPSG:32633"
WEST, NORTH = 500_000.0 - SIZE / 2, 5_300_000.0 + SIZE / 2
LON, LAT = (float(v) for v in to_wgs84(500_000.0, 5_300_000.0, CRS))
ON = date(2026, 6, 11)
SOUTH_DEG = 15.0  # orbital longitude due south of the square
NAMES = {"building": KIND_BUILDING, "growth": KIND_GROWTH}


def _grid(z, cell=1.0):
    return Grid(np.asarray(z, dtype=np.float32), (cell, 0.0, WEST, 0.0, -cell, NORTH), CRS, cell, "hand")


def wall(distance_m, height_m, kind="building", *, thick_m=4):
    """A wall from edge to edge, its near face distance_m south of the middle."""
    ground = np.full((SIZE, SIZE), GROUND_M)
    top, kinds = ground.copy(), np.full((SIZE, SIZE), KIND_GROUND, dtype=np.uint8)
    first = SIZE // 2 + round(distance_m)
    top[first : first + thick_m] += height_m
    kinds[first : first + thick_m] = NAMES[kind]
    return ground, top, kinds


def layer(ground, top=None, kinds=None, *, trees=True, error_m=0.3, flown=date(2026, 6, 11)):
    surface = None if top is None else _grid(top)
    return Layer(_grid(ground), surface, kinds, top is not None, top is not None and trees, flown, error_m, "hand")


def satellite(orbit_deg=SOUTH_DEG, eirp_dbw=52.0, source="stated", name="Testbird"):
    return Satellite(name, orbit_deg, (Transponder("T1", 11_000.0, "H", 27_500.0, "DVB-S2", "8PSK", "3/4", eirp_dbw, source),))


def plan(tmp=None, search="never", **limits):
    """A plan of defaults that judges the point itself; search="auto" looks for other spots too."""
    from pathlib import Path

    return replace_limits(Plan(file=Path("plan.toml"), date=ON, mount=MountTable(search=search)), **limits)


def replace_limits(made: Plan, **limits) -> Plan:
    return made.model_copy(update={"limits": LimitsTable(**limits)})


def judged(layers, *, sat=None, position_error_m=1.0, mount="ground", made=None, footprints=None):
    """Return (verdict, finding) for the middle of the square."""
    surface = Surface(tuple(layers), footprints)
    land = Land(surface, prepare(surface), ON)
    made = made or plan()
    address = Address(2, "a", "Middle", LAT, LON, position_error_m, True, (), mount)
    satellites = (sat,) if isinstance(sat, Satellite) else sat if sat is not None else (satellite(),)
    return judge(site_of(address, land, made.mount), land, satellites, made, pictures=False)


__all__ = ["replace", "judged", "layer", "plan", "satellite", "wall"]
