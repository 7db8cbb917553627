"""Do two layers say the same of the same places? Finds heights in other units and on other datums by comparison."""

from __future__ import annotations

import numpy as np

from siteplan.errors import RasterError, told
from siteplan.geodesy import cells, projection
from siteplan.records.ground import Grid, Layer
from siteplan.records.verdict import Reason
from siteplan.terrain.surface import bilinear, place

SAMPLES = 3000
LEAST_COMMON = 30
# How far two layers may lie apart in the median before it is said: this and twice both errors (common practice, no source).
LEAST_APART_M = 2.0
_RATIOS = ((3.28084, "feet"), (1 / 3.28084, "feet"), (100.0, "centimetres"), (0.01, "centimetres"))


def compare(fine: Layer, coarse: Layer) -> tuple[Reason, ...]:
    """Return a note where the grounds of two layers lie apart; RasterError where one is 3.28 or 100 times the other.

    Looks at up to 3000 known cells of the finer one, evenly spread; says nothing where fewer than 30 are known in both.
    """
    one, other = _both(fine.ground, coarse.ground)
    if one.size < LEAST_COMMON:
        return ()
    middle, middle_other = float(np.median(one)), float(np.median(other))
    spread = float(np.median(np.abs(other - middle_other))) + 5.0
    for ratio, unit in _RATIOS:
        # a factor shows only where heights are well away from zero
        if min(abs(middle), abs(middle_other)) > 5.0 and float(np.median(np.abs(one / ratio - other))) < 0.05 * abs(middle_other):
            larger = fine.ground.name if ratio > 1 else coarse.ground.name
            raise RasterError(
                told(
                    "{name} and {name_2}: the same places are about {middle:.0f} m and {middle_other:.0f} m high, as if {larger} were"
                    " in {unit}; write its vertical_unit in the plan",
                    name=fine.ground.name,
                    name_2=coarse.ground.name,
                    middle=middle,
                    middle_other=middle_other,
                    larger=larger,
                    unit=unit,
                )
            )
    apart = float(np.median(one - other))
    if abs(apart) > LEAST_APART_M + 2.0 * (fine.height_error_m + coarse.height_error_m) and abs(apart) > 0.5 * spread:
        return (Reason("layers_disagree", {"fine": fine.ground.name, "coarse": coarse.ground.name, "median_m": round(apart, 1)}),)
    return ()


def _both(fine: Grid, coarse: Grid) -> tuple[np.ndarray, np.ndarray]:
    """Return heights of both at cells of the finer one that both know."""
    known = np.flatnonzero(np.isfinite(fine.z_m))
    known = known[:: max(1, known.size // SAMPLES)]
    row, col = np.unravel_index(known, fine.z_m.shape)
    lon, lat = projection.to_wgs84(*cells.apply(fine.transform, col + 0.5, row + 0.5), fine.crs)
    other = bilinear(coarse.z_m, *place(coarse, lat_deg=lat, lon_deg=lon))
    mine = fine.z_m.ravel()[known].astype(float)
    both = np.isfinite(other)
    return mine[both], other[both]
