"""Small rasters, vector files and plans for the tests of terrain; each made by hand in a few cells."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import rasterio
from rasterio.transform import Affine

from siteplan.records.ground import Grid
from siteplan.records.plan import Plan

UTM = "EPSG:32633"
ORIGIN = (500_000.0, 5_300_000.0)  # on the central meridian: grid north is true north there


def write_tif(path: Path, z, *, cell=1.0, origin=ORIGIN, crs=UTM, transform=None, nodata=None, unit=None, tags=None, dtype=None, **more):
    """Write heights (rows, cols) or (bands, rows, cols) as a GeoTIFF; origin is the north-west corner."""
    z = np.asarray(z)
    z = z if dtype is None else z.astype(dtype)
    bands = z if z.ndim == 3 else z[None]
    transform = transform or Affine(cell, 0, origin[0], 0, -cell, origin[1])
    with rasterio.open(
        path, "w", driver="GTiff", height=bands.shape[1], width=bands.shape[2], count=bands.shape[0], dtype=bands.dtype, crs=crs,
        transform=transform, nodata=nodata, **more,
    ) as out:  # fmt: skip
        out.write(bands)
        if unit:
            out.set_band_unit(1, unit)
        out.update_tags(**(tags or {}))
    return path


def plan_of(folder: Path, *tables: dict) -> Plan:
    """Return a plan of terrain tables alone."""
    return Plan(file=folder / "plan.toml", terrain=tables)


def grid_of(z, *, cell=1.0, origin=ORIGIN, crs=UTM, name="by hand") -> Grid:
    """Return a Grid in metres, row 0 in the north."""
    transform = (cell, 0.0, origin[0], 0.0, -cell, origin[1])
    return Grid(z_m=np.asarray(z, dtype=np.float32), transform=transform, crs=crs, cell_m=cell, name=name)
