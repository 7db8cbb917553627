"""What the physics hands back: angles, skylines, clearances, profiles, losses."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np


@dataclass(frozen=True, slots=True)
class LookAngles:
    """From one place to one geostationary longitude.

    azimuth_deg true, magnetic_azimuth_deg = azimuth - declination (east positive); elevation_deg geometric; refraction_deg
    lifts the ray (apparent elevation = elevation + refraction), NaN below the horizon; skew_deg clockwise positive for an
    observer facing the satellite, (-90, 90].
    """

    azimuth_deg: float
    elevation_deg: float
    range_km: float
    skew_deg: float
    declination_deg: float = float("nan")
    magnetic_azimuth_deg: float = float("nan")
    refraction_deg: float = 0.0


@dataclass(frozen=True, eq=False)
class Skyline:
    """The horizon all around one eye: the highest thing in each azimuth sector, arrays of shape (bearings,).

    azimuth_deg           true, centre of the sector, rising
    elevation_deg         geometric elevation of the highest surface point; NaN where nothing is known in that direction
    distance_m, obstacle_amsl_m, kind    of that point (KIND_* codes)
    ground_elevation_deg  the same for bare ground alone
    known_to_m            how far the data reach in that direction
    inside_obstruction    the eye lies below the surface at its own place (own support left out)
    data_ended            (bearings,) bool: nothing is known there, or the data end at the highest place found, so more may stand behind
    """

    azimuth_deg: np.ndarray
    elevation_deg: np.ndarray
    distance_m: np.ndarray
    obstacle_amsl_m: np.ndarray
    kind: np.ndarray
    ground_elevation_deg: np.ndarray
    known_to_m: np.ndarray
    inside_obstruction: bool = False
    data_ended: np.ndarray | None = None


@dataclass(frozen=True, slots=True)
class Clearance:
    """How one dish's ray to a satellite passes what stands in the way.

    state           "clear", "partly", "blocked" or "unknown" (no data along the ray)
    spare_deg       elevation of the ray less the elevation it needs at the tightest place (needed clearance counted): >= 0 is clear
    centre_spare_deg  the same for the centre ray alone: < 0 is blocked
    clearance_m     at the tightest place, perpendicular to the ray, negative below the edge; needed_m = D/2 + 0.6 first Fresnel
    distance_m, obstacle_amsl_m, obstacle_agl_m, bearing_deg, kind   of the tightest place; kind is a name of KIND_NAMES
    loss_db         shading inside 2 D^2/lambda, knife edge beyond; 0 where clear
    known_to_m      how far the data reach along the ray
    """

    state: str
    spare_deg: float
    centre_spare_deg: float
    clearance_m: float
    needed_m: float
    distance_m: float
    obstacle_amsl_m: float
    obstacle_agl_m: float
    bearing_deg: float
    kind: str
    loss_db: float
    known_to_m: float


@dataclass(frozen=True, eq=False)
class Profile:
    """Ground between a sender (first point) and a receiver (last point); arrays of shape (steps,).

    distance_m rising from 0; ground_amsl_m bare earth; clutter_m height of what stands on it (0 at both ends by rule of
    P.1812); zone uint8: 1 sea, 3 coastal land, 4 inland (codes of ITU-R P.1812-7 table 2 order A1/A2/B as used by the reference data)
    surface_known  share of the path, 0..1, where the surface (not only the ground) is known; ground_known the same for the ground
    """

    distance_m: np.ndarray
    ground_amsl_m: np.ndarray
    clutter_m: np.ndarray
    zone: np.ndarray
    bearing_deg: float
    lat_mid_deg: float
    surface_known: float = 0.0
    complete: bool = True
    ground_known: float = 1.0

    def rounded(self) -> Profile:
        """Return the profile with the decimals of a profile file (1 mm along, 0.1 mm up): a loss worked from it is the loss of the file."""
        decimals = {"distance_m": 3, "ground_amsl_m": 4, "clutter_m": 4}
        return replace(self, **{name: getattr(self, name).astype("float64").round(places) for name, places in decimals.items()})


@dataclass(frozen=True, slots=True)
class PathLoss:
    """One answer of a propagation method: loss, field strength for the stated ERP, and every named intermediate.

    what_blocks_m  distance from the sender of the edge that governs diffraction, NaN where none
    method         name of the method that answered
    """

    loss_db: float
    field_strength_dbuv_per_m: float
    sigma_db: float
    intermediates: Mapping[str, float]
    what_blocks_m: float = float("nan")
    method: str = ""
