"""The links of one satellite over the cells of a map: worked at a few nodes around them as an address's are, and interpolated between.

Over some hundred metres all but the height is the same within hundredths of a decibel; tests hold it to the address's own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from siteplan.records.emitters import Satellite
from siteplan.records.plan import Plan
from siteplan.services.satellite.budget import Where, budgets, smallest_by
from siteplan.services.shared.cells import Cells

# Heights of antennas farther apart than this get a node between: the rain above them is not quite in proportion.
_HEIGHT_STEP_M = 100.0


@dataclass(frozen=True, eq=False)
class CellLinks:
    """Per cell (n,): the smallest dish of the kit that holds margin and availability on every wanted carrier (NaN none), and with it (the
    kit's smallest where none holds) the least margin of the wanted carriers in the wanted weather (NaN unknown)."""

    dish_m: np.ndarray
    weather_margin_db: np.ndarray


def links_of_cells(cells: Cells, satellite: Satellite, plan: Plan) -> CellLinks:
    """Return what an address at each cell would be told of a satellite's links; cells must lie close together (one block of a map)."""
    nothing = np.full(cells.lat_deg.shape, np.nan)
    known = np.flatnonzero(cells.known)
    if not known.size:
        return CellLinks(nothing, nothing)
    lat, lon, height = cells.lat_deg[known], cells.lon_deg[known], cells.ground_amsl_m[known]
    levels = _levels(height, max(2, 1 + int(np.ceil(np.ptp(height) / _HEIGHT_STEP_M))))
    axes = _levels(lat, 2), _levels(lon, 2), levels
    nodes = Where(*(part.ravel() for part in np.meshgrid(*axes, indexing="ij")))
    found = budgets(satellite, nodes, plan, times_pct=np.array([100.0 - plan.limits.availability_pct]))
    if found is None or not found.wanted.any():
        return CellLinks(nothing, nothing)
    clear = _between(axes, found.margin_db, (lat, lon, height))
    weather = _between(axes, found.weather_margin_db[..., -1], (lat, lon, height))
    dish = smallest_by(found, plan, clear, weather)
    tried = np.where(np.isnan(dish), found.dishes_m[0], dish)
    which = np.searchsorted(found.dishes_m, tried)
    least = weather[..., found.wanted].min(axis=-1)[np.arange(known.size), which]
    out = CellLinks(nothing.copy(), nothing.copy())
    out.dish_m[known], out.weather_margin_db[known] = dish, least
    return out


def _levels(values: np.ndarray, count: int) -> np.ndarray:
    """Return count values from the least to the greatest; one where all are the same."""
    low, high = float(values.min()), float(values.max())
    return np.linspace(low, high, count) if high > low else np.array([low])


def _between(axes: tuple[np.ndarray, ...], values: np.ndarray, at: tuple[np.ndarray, ...]) -> np.ndarray:
    """Return values (nodes, ...) at places (n,), linear along each axis; (n, ...)."""
    cube = values.reshape(*(axis.size for axis in axes), *values.shape[1:])
    corners: list[list[tuple[np.ndarray, np.ndarray]]] = []
    for axis, asked in zip(axes, at, strict=True):
        low = np.clip(np.searchsorted(axis, asked, side="right") - 1, 0, max(axis.size - 2, 0))
        high = np.minimum(low + 1, axis.size - 1)
        wide = axis[high] - axis[low]
        share = np.divide(asked - axis[low], wide, out=np.zeros_like(asked), where=wide > 0.0)
        corners.append([(low, 1.0 - share), (high, share)])
    tail = (slice(None), *(np.newaxis,) * (values.ndim - 1))
    total = np.zeros((at[0].size, *values.shape[1:]))
    for i, u in corners[0]:
        for j, v in corners[1]:
            for k, w in corners[2]:
                total += (u * v * w)[tail] * cube[i, j, k]
    return total
