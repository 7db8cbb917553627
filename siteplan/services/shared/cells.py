"""Cells of a map as places where an antenna may stand: on the roof where a building stands, else on the ground, and nowhere else.

A cell is what an address at its centre with the mount "roof" (where a building stands there) or "ground" is; nothing snaps to a house
near by.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from siteplan.records.ground import KIND_BUILDING, KIND_OBJECT
from siteplan.records.places import Address
from siteplan.records.plan import MountTable
from siteplan.services.shared.site import ROOF_AT_LEAST_M, Land, Site, site_of
from siteplan.terrain.footprints import buildings_under
from siteplan.terrain.surface import heights_at


@dataclass(frozen=True, eq=False)
class Cells:
    """Centres of cells (n,). on_roof where an antenna stands on a building; roof_amsl_m its roof, the surface elsewhere.

    layer_index  the layer that answers for the surface, -1 where nothing is known
    """

    lat_deg: np.ndarray
    lon_deg: np.ndarray
    ground_amsl_m: np.ndarray
    roof_amsl_m: np.ndarray
    on_roof: np.ndarray
    layer_index: np.ndarray

    @property
    def known(self) -> np.ndarray:
        """Return (n,) whether the ground is known."""
        return np.isfinite(self.ground_amsl_m)


def cells_at(land: Land, *, lat_deg: np.ndarray, lon_deg: np.ndarray) -> Cells:
    """Return cells by their centres (n,): the rules of services.shared.site for whether a roof is there, for many places at once."""
    ground, top, kind, index = heights_at(land.surface, lat_deg=lat_deg, lon_deg=lon_deg)
    footprints = land.surface.footprints
    building = buildings_under(footprints, lat_deg=lat_deg, lon_deg=lon_deg)
    inside = building >= 0
    if footprints is not None and inside.any():
        stated = np.where(inside, footprints.height_m[np.maximum(building, 0)], np.nan)
        top = np.where(np.isfinite(stated) & ~(top - ground >= ROOF_AT_LEAST_M), ground + stated, top)
    stands = inside | (kind == KIND_BUILDING) | (kind == KIND_OBJECT)
    return Cells(lat_deg, lon_deg, ground, top, stands & (top - ground >= ROOF_AT_LEAST_M), index)


def dish_heights(cells: Cells, mount: MountTable) -> tuple[np.ndarray, np.ndarray]:
    """Return (n,) height of a dish's centre above the ground by the plan's mount, and the highest that may be tried."""
    roof = cells.roof_amsl_m - cells.ground_amsl_m
    default = np.where(cells.on_roof, roof + mount.above_roof_m, mount.dish_height_agl_m)
    highest = np.where(cells.on_roof, roof + mount.highest_above_roof_m, mount.highest_agl_m)
    return default, np.maximum(default, highest)


def site_of_cell(cells: Cells, number: int, land: Land, mount: MountTable) -> Site:
    """Return one cell as the site of an address at its centre, without the houses near by that it does not lie on."""
    kind = "roof" if cells.on_roof[number] else "ground"
    address = Address(0, "", "", float(cells.lat_deg[number]), float(cells.lon_deg[number]), position_error_known=True, mount=kind)
    site = site_of(address, land, mount)
    return site if site.building is None or site.building.inside else replace(site, building=None)
