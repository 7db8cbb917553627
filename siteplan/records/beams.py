"""How strongly a satellite's beam falls on the Earth: drawn contours, or a shape about a boresight."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np


@dataclass(frozen=True, eq=False, slots=True)
class Contour:
    """One line of equal EIRP through points (n,): a ring, its last point the first and the stronger side inside, or an open line."""

    eirp_dbw: float
    lat_deg: np.ndarray
    lon_deg: np.ndarray
    closed: bool = True


@dataclass(frozen=True, slots=True)
class Beam:
    """One beam. Either contours, or a peak EIRP falling off as a Gaussian about a boresight.

    name                 as the table's column beam names it; "" is every carrier's
    contours             the lines of the footprint, empty where the beam is a shape
    peak_eirp_dbw        in the boresight, NaN where the beam is contours
    boresight_lat_deg, boresight_lon_deg   where the axis meets the Earth; NaN where it is stated by angles
    boresight_east_deg, boresight_north_deg   of the axis from the line to the Earth's centre, seen from the satellite
    beamwidth_deg        full width at -3 dB along the long axis, seen from the satellite; beamwidth_across_deg along the short one
    rotation_deg         of the long axis from east towards north, as the satellite sees the Earth with north up
    source               file and feature, for the line that says where the EIRP comes from
    """

    name: str = ""
    contours: tuple[Contour, ...] = ()
    peak_eirp_dbw: float = float("nan")
    boresight_lat_deg: float = float("nan")
    boresight_lon_deg: float = float("nan")
    boresight_east_deg: float = float("nan")
    boresight_north_deg: float = float("nan")
    beamwidth_deg: float = float("nan")
    beamwidth_across_deg: float = float("nan")
    rotation_deg: float = 0.0
    source: str = ""
