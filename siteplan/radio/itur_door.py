"""The itur door: the world maps of ITU-R recommendations, read from the data files that the library itur carries.

Only its data are used. Its functions take a second to load, change numpy's error state, and hold the edition in force as a setting of
the whole process; the maps need none of that: the edition of each is in the name of its file, and is fixed here. Nothing is read
before it is asked for, what was read is kept, and any number of threads may ask at once.
"""

from __future__ import annotations

import bisect
import importlib.util
import math
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from siteplan.errors import MethodRangeError, MissingLibraryError, told

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

# What each map rests on.
EDITIONS = {
    "rain rate": "Rec. ITU-R P.837-7 (2017)",
    "rain height": "Rec. ITU-R P.839-4 (2013)",
    "cloud water": "Rec. ITU-R P.840-8 (2019), maps of P.840-7",
    "water vapour": "Rec. ITU-R P.836-6 (2017)",
    "temperature": "Rec. ITU-R P.1510-1 (2017)",
    "refractivity": "Rec. ITU-R P.453-13 (2017)",
    "ground height": "Rec. ITU-R P.1511-2 (2019)",
    "gas lines": "Rec. ITU-R P.676-12 (2019), tables 1 and 2",
}

# Percentages of the average year that the maps of cloud water and water vapour are given for.
MAP_PERCENTAGES = (0.1, 0.2, 0.3, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0, 30.0, 50.0, 60.0, 70.0, 80.0, 90.0, 95.0, 99.0)


class _Grid(NamedTuple):
    """A regular grid of the whole world: its first row and column (after turning north up), and the step of both, degrees."""

    north_deg: float
    west_deg: float
    step_deg: float
    from_zero: bool  # longitudes count 0 to 360, else -180 to 180
    south_first: bool = False  # the file's first row is the southernmost


_RAIN_RATE = _Grid(90.0, -180.0, 0.125, False, south_first=True)
_MONTHLY_RAIN = _Grid(90.125, -180.125, 0.25, False, south_first=True)
_RAIN_HEIGHT = _Grid(90.0, 0.0, 1.5, True)
_VAPOUR = _Grid(90.0, 0.0, 1.125, True)
_VAPOUR_GROUND = _Grid(90.5, -0.5, 0.5, True)
_WEATHER = _Grid(90.0, -180.0, 0.75, False, south_first=True)  # temperature and refractivity
_GROUND = _Grid(90.125, -180.125, 1.0 / 12.0, False)

_KEPT: dict[str, NDArray] = {}
_LOCK = threading.Lock()


def _folder() -> Path:
    """Return where the library keeps its data; the library itself is not loaded."""
    found = importlib.util.find_spec("itur")
    if found is None or not found.submodule_search_locations:
        raise MissingLibraryError(
            told("Rain, cloud and gas losses need the maps of the library itur, which is not installed: pip install itur")
        )
    return Path(found.submodule_search_locations[0]) / "data"


def _data(name: str) -> Path:
    path = _folder() / name
    if not path.is_file():
        raise MissingLibraryError(told("The library itur is installed without its data file {name}: install itur 0.4 again.", name=name))
    return path


def _map(name: str, grid: _Grid) -> NDArray:
    """Return one world map, north up, read once."""
    kept = _KEPT.get(name)
    if kept is None:
        with _LOCK:
            kept = _KEPT.get(name)
            if kept is None:
                with np.load(_data(name)) as file:
                    values = file["arr_0"]
                kept = np.ascontiguousarray(values[::-1] if grid.south_first else values)
                kept.setflags(write=False)
                _KEPT[name] = kept
    return kept


def _position(grid: _Grid, lat_deg: ArrayLike, lon_deg: ArrayLike) -> tuple[NDArray, NDArray]:
    """Return row and column of places, fractions included; longitudes may be given either way round."""
    base = 0.0 if grid.from_zero else -180.0
    lon = base + np.mod(np.asarray(lon_deg, dtype=np.float64) - base, 360.0)
    return (grid.north_deg - np.asarray(lat_deg, dtype=np.float64)) / grid.step_deg, (lon - grid.west_deg) / grid.step_deg


def _cell(values: NDArray, row: NDArray, col: NDArray) -> tuple[NDArray, NDArray, NDArray, NDArray]:
    """Return the north-west corner of the cell each place lies in, and how far into it the place is, 0 to 1."""
    top = np.clip(np.floor(row), 0, values.shape[0] - 2).astype(np.intp)
    left = np.clip(np.floor(col), 0, values.shape[1] - 2).astype(np.intp)
    return top, left, row - top, col - left


def _bilinear(name: str, grid: _Grid, lat_deg: ArrayLike, lon_deg: ArrayLike) -> NDArray:
    """Return a map at places, bilinear (Rec. ITU-R P.1144, section 1a)."""
    values = _map(name, grid)
    top, left, down, right = _cell(values, *_position(grid, lat_deg, lon_deg))
    above = values[top, left] * (1.0 - right) + values[top, left + 1] * right
    below = values[top + 1, left] * (1.0 - right) + values[top + 1, left + 1] * right
    return above * (1.0 - down) + below * down


def _bicubic(name: str, grid: _Grid, lat_deg: ArrayLike, lon_deg: ArrayLike) -> NDArray:
    """Return a map at places, bicubic (Rec. ITU-R P.1144, section 1b: K with a = -0.5); the map has a margin around the world."""
    values = _map(name, grid)
    row, col = _position(grid, lat_deg, lon_deg)
    top = np.clip(np.floor(row), 1, values.shape[0] - 3).astype(np.intp)
    left = np.clip(np.floor(col), 1, values.shape[1] - 3).astype(np.intp)

    def weight(apart: NDArray) -> NDArray:
        d = np.abs(apart)
        return np.where(d <= 1.0, 1.5 * d**3 - 2.5 * d**2 + 1.0, -0.5 * d**3 + 2.5 * d**2 - 4.0 * d + 2.0)

    total = np.zeros(np.broadcast(row, col).shape)
    for i in range(-1, 3):
        across = sum(values[top + i, left + j] * weight(col - (left + j)) for j in range(-1, 3))
        total = total + across * weight(row - (top + i))
    return total


def rain_rate_001_mm_per_h(*, lat_deg: ArrayLike, lon_deg: ArrayLike) -> NDArray:
    """Return the rain rate exceeded for 0.01 % of the average year; (...) mm/h. Source: Rec. ITU-R P.837-7, map."""
    return _bilinear("837/v7_r001.npz", _RAIN_RATE, lat_deg, lon_deg)


def monthly_rain_mm(*, lat_deg: float, lon_deg: float) -> NDArray:
    """Return the mean rain of each month; (12,) mm. Source: Rec. ITU-R P.837-7, maps MT."""
    return np.array([_bilinear(f"837/v7_mt_month{month:02d}.npz", _MONTHLY_RAIN, lat_deg, lon_deg) for month in range(1, 13)])


def monthly_temperature_k(*, lat_deg: float, lon_deg: float) -> NDArray:
    """Return the mean temperature of each month 2 m above the ground; (12,) K. Source: Rec. ITU-R P.1510-1, maps."""
    return np.array([_bilinear(f"1510/v1_t_month{month:02d}.npz", _WEATHER, lat_deg, lon_deg) for month in range(1, 13)])


def temperature_k(*, lat_deg: ArrayLike, lon_deg: ArrayLike) -> NDArray:
    """Return the mean temperature of the year 2 m above the ground; (...) K. Source: Rec. ITU-R P.1510-1, map."""
    return _bilinear("1510/v1_t_annual.npz", _WEATHER, lat_deg, lon_deg)


def zero_isotherm_amsl_m(*, lat_deg: ArrayLike, lon_deg: ArrayLike) -> NDArray:
    """Return the mean height of 0 degrees Celsius above the sea; (...) m. Source: Rec. ITU-R P.839-4, map."""
    return 1000.0 * _bilinear("839/v4_esa0height.npz", _RAIN_HEIGHT, lat_deg, lon_deg)


def wet_refractivity(*, lat_deg: ArrayLike, lon_deg: ArrayLike) -> NDArray:
    """Return the wet term of refractivity exceeded for half the average year; (...) N-units. Source: Rec. ITU-R P.453-13, map."""
    return _bilinear("453/v13_nwet_annual_50.npz", _WEATHER, lat_deg, lon_deg)


def ground_amsl_m(*, lat_deg: ArrayLike, lon_deg: ArrayLike) -> NDArray:
    """Return the height of the ground to some kilometres, where nothing better is known; (...) m. Source: Rec. ITU-R P.1511-2, map."""
    return _bicubic("1511/v2_topo.npz", _GROUND, lat_deg, lon_deg)


def _file_of(stem: str, time_pct: float) -> str:
    return f"{stem}_{f'{time_pct:g}'.replace('.', '')}.npz"


def _between(value_at: Callable[[float], NDArray], time_pct: float) -> NDArray:
    """Return a map between the percentages it is given for, linear in their logarithm (P.836-6 step f, P.840-8 section 3)."""
    if not MAP_PERCENTAGES[0] <= time_pct <= MAP_PERCENTAGES[-1]:
        raise MethodRangeError(
            told("the maps of cloud water and water vapour are given for 0.1 to 99 % of the year, not {time_pct:g} %", time_pct=time_pct)
        )
    if time_pct in MAP_PERCENTAGES:
        return value_at(time_pct)
    above = bisect.bisect(MAP_PERCENTAGES, time_pct)
    low, high = MAP_PERCENTAGES[above - 1], MAP_PERCENTAGES[above]
    share = math.log(time_pct / low) / math.log(high / low)
    return value_at(low) * (1.0 - share) + value_at(high) * share


def cloud_water_kg_per_m2(*, lat_deg: ArrayLike, lon_deg: ArrayLike, time_pct: float) -> NDArray:
    """Return the reduced columnar cloud water exceeded for 0.1 to 99 % of the average year; (...) kg/m2, NaN near the poles.

    Raises MethodRangeError for another percentage. Source: Rec. ITU-R P.840-8, maps. Checked in tests/authorities/test_p840.py.
    """
    return _between(lambda p: _bilinear(_file_of("840/v7_lred", p), _VAPOUR, lat_deg, lon_deg), time_pct)


def _vapour_ground_km() -> NDArray:
    """Return the height of the ground at every node of the vapour maps, worked once."""
    kept = _KEPT.get("vapour ground")
    if kept is None:
        rows, cols = np.arange(161.0)[:, np.newaxis], np.arange(321.0)
        lat, lon = _VAPOUR.north_deg - rows * _VAPOUR.step_deg, _VAPOUR.west_deg + cols * _VAPOUR.step_deg
        kept = _bicubic("836/v6_topo_0dot5.npz", _VAPOUR_GROUND, lat, lon)
        kept.setflags(write=False)
        _KEPT["vapour ground"] = kept
    return kept


def _at_height(stem: str, lat_deg: ArrayLike, lon_deg: ArrayLike, height_amsl_m: ArrayLike, time_pct: float) -> NDArray:
    """Return a map of water vapour at a height: each corner of the cell brought to it by its scale height, then bilinear.

    Source: Rec. ITU-R P.836-6, annex 1, steps a to f.
    """
    values, scale = _map(_file_of(stem, time_pct), _VAPOUR), _map(_file_of("836/v6_vsch", time_pct), _VAPOUR)
    top, left, down, right = _cell(values, *_position(_VAPOUR, lat_deg, lon_deg))
    height_km, ground_km = np.asarray(height_amsl_m, dtype=np.float64) / 1000.0, _vapour_ground_km()
    total = np.zeros(np.broadcast(top, height_km).shape)
    for i, j, share in (
        (0, 0, (1.0 - down) * (1.0 - right)),
        (0, 1, (1.0 - down) * right),
        (1, 0, down * (1.0 - right)),
        (1, 1, down * right),
    ):
        row, col = top + i, left + j
        total = total + values[row, col] * np.exp((ground_km[row, col] - height_km) / scale[row, col]) * share
    return total


def water_vapour_kg_per_m2(*, lat_deg: ArrayLike, lon_deg: ArrayLike, height_amsl_m: ArrayLike, time_pct: float) -> NDArray:
    """Return the water vapour above a place exceeded for 0.1 to 99 % of the average year; (...) kg/m2, NaN near the poles.

    Raises MethodRangeError for another percentage. Source: Rec. ITU-R P.836-6, annex 2.
    """
    return _between(lambda p: _at_height("836/v6_v", lat_deg, lon_deg, height_amsl_m, p), time_pct)


def vapour_density_g_per_m3(*, lat_deg: ArrayLike, lon_deg: ArrayLike, height_amsl_m: ArrayLike, time_pct: float) -> NDArray:
    """Return the water vapour in the air at a place exceeded for 0.1 to 99 % of the average year; (...) g/m3, NaN near the poles.

    Raises MethodRangeError for another percentage. Source: Rec. ITU-R P.836-6, annex 1.
    """
    return _between(lambda p: _at_height("836/v6_rho", lat_deg, lon_deg, height_amsl_m, p), time_pct)


def gas_lines() -> tuple[NDArray, NDArray]:
    """Return the lines of oxygen (44, 7) and water vapour (35, 7): GHz, then six coefficients. Source: Rec. ITU-R P.676-12, tables 1, 2."""
    for name, key in (("676/v12_lines_oxygen.txt", "oxygen"), ("676/v12_lines_water_vapour.txt", "water")):
        if key not in _KEPT:
            lines = np.loadtxt(_data(name), delimiter=",", skiprows=1)
            lines.setflags(write=False)
            _KEPT[key] = lines
    return _KEPT["oxygen"], _KEPT["water"]
