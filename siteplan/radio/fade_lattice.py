"""Fades over an area: worked on lattices of latitude, longitude and height, and interpolated between."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from siteplan.errors import InputError, told
from siteplan.radio import itur_door
from siteplan.radio.atmosphere import Fade, climate, combine_db, fade
from siteplan.radio.rain import RAIN_ABOVE_ZERO_M, rain_path

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

# The cells of every world map are multiples of this: within a cell of a lattice each map is smooth.
_MAP_STEP_DEG = 0.125
_HEIGHT_STEP_M = 200.0
_FINEST_DEG, _FINEST_M = _MAP_STEP_DEG / 32.0, _HEIGHT_STEP_M / 64.0
_MOST_NODES = 4_000_000
# How the allowed error is dealt out to rain, gases, clouds and scintillation.
_SHARES = (0.8, 0.1, 0.06, 0.04)

Look = Callable[["NDArray", "NDArray"], tuple["NDArray", "NDArray"]]
_Work = Callable[["NDArray", "NDArray", "NDArray"], "NDArray"]


class _Area(NamedTuple):
    south_deg: float
    north_deg: float
    west_deg: float
    width_deg: float


class _Layer(NamedTuple):
    """Nodes (levels, rows, cols) of one part, row 0 in the north; one level counts at every height."""

    north_deg: float
    west_deg: float
    step_deg: float
    lowest_m: float
    step_m: float
    nodes: NDArray

    def at(self, level_m: NDArray, lat_deg: NDArray, lon_deg: NDArray) -> NDArray:
        """Return the part between its nodes, NaN outside them."""
        level = (level_m - self.lowest_m) / self.step_m if self.nodes.shape[0] > 1 else np.zeros(lat_deg.shape)
        return _trilinear(self.nodes, level, (self.north_deg - lat_deg) / self.step_deg, _east_of(self.west_deg, lon_deg) / self.step_deg)


@dataclass(frozen=True, eq=False)
class FadeLattice:
    """Fades over an area; ask it with `at`. error_db: the errors found at the middles of cells, the largest of each part added up.

    Rain is kept by the depth of the antenna below the rain height of its place: that way no cell lies across the edge of the rain.
    """

    area: _Area
    lowest_amsl_m: float
    highest_amsl_m: float
    rain: _Layer
    gas: _Layer
    cloud: _Layer
    scintillation: _Layer
    rain_height: _Layer
    error_db: float

    def at(self, *, lat_deg: ArrayLike, lon_deg: ArrayLike, height_amsl_m: ArrayLike) -> Fade:
        """Return the fade at places, all arguments broadcast; NaN outside the area and its heights, and where an input is NaN."""
        lat, lon, height = np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in (lat_deg, lon_deg, height_amsl_m)))
        edge = 1e-9
        inside = (lat >= self.area.south_deg - edge) & (lat <= self.area.north_deg + edge)
        inside &= _east_of(self.area.west_deg, lon) <= self.area.width_deg + edge
        inside &= (height >= self.lowest_amsl_m - edge) & (height <= self.highest_amsl_m + edge)
        gas, cloud, shaken = (layer.at(height, lat, lon) for layer in (self.gas, self.cloud, self.scintillation))
        rain = self.rain.at(np.maximum(self.rain_height.at(height, lat, lon) - height, 0.0), lat, lon)
        rain, gas, cloud, shaken = (np.where(inside, part, np.nan) for part in (rain, gas, cloud, shaken))
        total = combine_db(rain_db=rain, gas_db=gas, cloud_db=cloud, scintillation_db=shaken)
        return Fade(rain[()], gas[()], cloud[()], shaken[()], total[()], (rain + gas + cloud)[()])


def _east_of(west_deg: float, lon_deg: ArrayLike) -> NDArray:
    """Return how far east of a meridian places lie, 0 to 360, a hair west of it counted as on it."""
    east = np.mod(np.asarray(lon_deg, dtype=np.float64) - west_deg, 360.0)
    return np.where(east > 360.0 - 1e-9, 0.0, east)


def _trilinear(nodes: NDArray, level: NDArray, row: NDArray, col: NDArray) -> NDArray:
    """Return values between nodes (levels, rows, cols); NaN outside them."""
    outside, corners = np.zeros(row.shape, dtype=bool), []
    for at, size in zip((level, row, col), nodes.shape, strict=True):
        outside |= ~((at >= -1e-6) & (at <= size - 1 + 1e-6))
        low = np.clip(np.floor(np.nan_to_num(at)), 0, max(size - 2, 0)).astype(np.intp)
        corners.append(((low, 1.0 - (at - low)), (np.minimum(low + 1, size - 1), at - low)))
    total = np.zeros(row.shape)
    for i, share_i in corners[0]:
        for j, share_j in corners[1]:
            for k, share_k in corners[2]:
                total = total + nodes[i, j, k] * (share_i * share_j * share_k)
    return np.where(outside, np.nan, total)


def fade_lattice(
    *,
    south_deg: float,
    north_deg: float,
    west_deg: float,
    east_deg: float,
    lowest_amsl_m: float,
    highest_amsl_m: float,
    look: Look,
    frequency_mhz: float,
    time_pct: float,
    dish_m: float = 0.8,
    efficiency: float = 0.65,
    error_db: float = 0.015,
) -> FadeLattice:
    """Return fades over an area for one frequency and percentage, close enough to be interpolated.

    south_deg .. east_deg     of the area; across the date line east_deg is below west_deg
    lowest_amsl_m, highest_amsl_m   of its antennas
    look                      (lat, lon) arrays -> (elevation, tilt) arrays, degrees
    frequency_mhz, time_pct, dish_m, efficiency   as atmosphere.fade, whose errors it raises
    error_db                  lattices start with the cells of the world maps and are halved until the errors found are not above this

    Returns FadeLattice; its own error_db is above the asked only where that would have taken millions of nodes.
    Raises InputError for an area that is none, or too large for one lattice.
    Source: atmosphere.fade. Checked against direct calls in tests/radio/test_fade_lattice.py: 0.02 dB at every place.
    """
    if not (-90.0 <= south_deg <= north_deg <= 90.0 and lowest_amsl_m <= highest_amsl_m):
        raise InputError(
            told(
                "No area from {south_deg} to {north_deg} degrees north and {lowest_amsl_m} to {highest_amsl_m} m.",
                south_deg=south_deg,
                north_deg=north_deg,
                lowest_amsl_m=lowest_amsl_m,
                highest_amsl_m=highest_amsl_m,
            )
        )
    area = _Area(south_deg, north_deg, west_deg, float(_east_of(west_deg, east_deg)))

    def looked(lat: NDArray, lon: NDArray) -> dict[str, object]:
        elevation, tilt = look(lat, lon)
        return {"frequency_mhz": frequency_mhz, "elevation_deg": elevation, "time_pct": time_pct, "tilt_deg": tilt}

    def weather(level: NDArray, lat: NDArray, lon: NDArray) -> Fade:
        return fade(climate(lat_deg=lat, lon_deg=lon, height_amsl_m=level), **looked(lat, lon), dish_m=dish_m, efficiency=efficiency)

    def begins(level: NDArray, lat: NDArray, lon: NDArray) -> NDArray:
        return itur_door.zero_isotherm_amsl_m(lat_deg=lat, lon_deg=lon) + RAIN_ABOVE_ZERO_M

    def rain_at(depth: NDArray, lat: NDArray, lon: NDArray) -> NDArray:
        rate = itur_door.rain_rate_001_mm_per_h(lat_deg=lat, lon_deg=lon)
        found = rain_path(lat_deg=lat, height_amsl_m=0.0, rain_height_amsl_m=depth, rain_001_mm_per_h=rate, **looked(lat, lon))
        return found.loss_db

    rain_height, _ = _layer(begins, area, (0.0, 0.0), math.inf)
    least = max(float(rain_height.nodes.min()) - highest_amsl_m, 0.0)
    depths = (least, max(float(rain_height.nodes.max()) - lowest_amsl_m, least + 1.0))
    heights = (lowest_amsl_m, max(highest_amsl_m, lowest_amsl_m + 1.0))
    allowed = [share * error_db for share in _SHARES]
    rain, rain_error = _layer(rain_at, area, depths, allowed[0])
    gas, gas_error = _layer(lambda level, lat, lon: weather(level, lat, lon).gas_db, area, heights, allowed[1])
    cloud, cloud_error = _layer(lambda level, lat, lon: weather(level, lat, lon).cloud_db, area, (0.0, 0.0), allowed[2])
    shaken, shaken_error = _layer(lambda level, lat, lon: weather(level, lat, lon).scintillation_db, area, (0.0, 0.0), allowed[3])
    found = rain_error + gas_error + cloud_error + shaken_error
    return FadeLattice(area, lowest_amsl_m, highest_amsl_m, rain, gas, cloud, shaken, rain_height, found)


def _layer(work: _Work, area: _Area, levels_m: tuple[float, float], error_db: float) -> tuple[_Layer, float]:
    """Return one part on a lattice fine enough for an error, and the error found; one level where levels_m spans none."""
    step_deg, step_m, (low, high) = _MAP_STEP_DEG, _HEIGHT_STEP_M, levels_m
    while True:
        lat, lon = _lines(area, step_deg)
        level = low + step_m * np.arange(math.ceil((high - low) / step_m - 1e-9) + 1)
        if lat.size * lon.size * level.size > _MOST_NODES:
            raise InputError(
                told(
                    "An area of {size} x {size_2} points at {size_3} heights is too large for one lattice of fades: cut it into tiles.",
                    size=lat.size,
                    size_2=lon.size,
                    size_3=level.size,
                )
            )
        nodes = _called(work, level, lat, lon)
        if math.isinf(error_db):
            return _Layer(float(lat[0]), float(lon[0]), step_deg, low, step_m, nodes), 0.0
        across = _apart(_called(work, level, 0.5 * (lat[:-1] + lat[1:]), 0.5 * (lon[:-1] + lon[1:])), _middle(nodes))
        upward = _apart(_called(work, level[:-1] + 0.5 * step_m, lat, lon), 0.5 * (nodes[:-1] + nodes[1:])) if level.size > 1 else 0.0
        can = {
            "across": step_deg > _FINEST_DEG and 4 * nodes.size < _MOST_NODES,
            "upward": step_m > _FINEST_M and level.size > 1 and 2 * nodes.size < _MOST_NODES,
        }
        if across + upward <= error_db or not any(can.values()):
            return _Layer(float(lat[0]), float(lon[0]), step_deg, low, step_m, nodes), across + upward
        # the larger share of the error is halved first
        if can["across"] and (across >= upward or not can["upward"]):
            step_deg /= 2.0
        else:
            step_m /= 2.0


def _lines(area: _Area, step_deg: float) -> tuple[NDArray, NDArray]:
    """Return the latitudes, falling, and longitudes, rising, of a lattice that lies on the maps' own lines."""
    north = min(math.ceil(area.north_deg / step_deg - 1e-9) * step_deg, 90.0)
    west = math.floor(area.west_deg / step_deg + 1e-9) * step_deg
    rows = max(math.ceil((north - area.south_deg) / step_deg - 1e-9), 1) + 1
    cols = max(math.ceil((area.west_deg - west + area.width_deg) / step_deg - 1e-9), 1) + 1
    return np.maximum(north - step_deg * np.arange(rows), -90.0), west + step_deg * np.arange(cols)


def _called(work: _Work, level: NDArray, lat: NDArray, lon: NDArray) -> NDArray:
    found = work(level[:, np.newaxis, np.newaxis], lat[np.newaxis, :, np.newaxis], lon[np.newaxis, np.newaxis, :])
    return np.broadcast_to(found, (level.size, lat.size, lon.size))


def _middle(nodes: NDArray) -> NDArray:
    """Return the means of the four corners of each cell; (levels, rows - 1, cols - 1)."""
    along = nodes[:, :-1] + nodes[:, 1:]
    return 0.25 * (along[:, :, :-1] + along[:, :, 1:])


def _apart(direct: NDArray, between: NDArray) -> float:
    """Return the largest difference where both are known."""
    difference = np.abs(direct - between)
    return float(np.nanmax(difference)) if np.any(np.isfinite(difference)) else 0.0
