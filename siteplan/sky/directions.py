"""Directions in the sky as arrows, and the angle between two of them. Source: plane and spherical trigonometry."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def arrows(azimuth_deg: ArrayLike, elevation_deg: ArrayLike) -> NDArray[np.float64]:
    """Return unit vectors (..., 3) east, north, up of directions: true bearing and elevation, degrees."""
    a, e = (np.radians(np.asarray(value, dtype=np.float64)) for value in (azimuth_deg, elevation_deg))
    return np.stack(np.broadcast_arrays(np.cos(e) * np.sin(a), np.cos(e) * np.cos(a), np.sin(e)), axis=-1)


def separation_deg(azimuth_deg: ArrayLike, elevation_deg: ArrayLike, to_azimuth_deg: ArrayLike, to_elevation_deg: ArrayLike) -> NDArray:
    """Return the angle between two directions, degrees, arrays (...); by half chords, exact for the smallest angles too."""
    a, e, b, f = (np.radians(np.asarray(v, dtype=np.float64)) for v in (azimuth_deg, elevation_deg, to_azimuth_deg, to_elevation_deg))
    chord = np.sin((e - f) / 2.0) ** 2 + np.cos(e) * np.cos(f) * np.sin((a - b) / 2.0) ** 2
    return np.degrees(2.0 * np.arcsin(np.sqrt(np.clip(chord, 0.0, 1.0))))[()]
