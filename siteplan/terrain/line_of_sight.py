"""Can one point see another: the least clearance of the straight line between two antennas over a profile."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from siteplan.constants import EARTH_RADIUS_M
from siteplan.errors import InputError, told
from siteplan.geodesy.earth import bulge_m
from siteplan.records.results import Profile


@dataclass(frozen=True, slots=True)
class LeastClearance:
    """Where a line between two antennas is tightest. clearance_m vertical, negative where something stands in it.

    distance_m     of that place, from the sender
    obstacle_amsl_m  height of what stands there; NaN, with distance_m, where there is nothing between the ends
    """

    clearance_m: float
    distance_m: float
    obstacle_amsl_m: float

    @property
    def clear(self) -> bool:
        """Return whether nothing touches the line."""
        return not self.clearance_m < 0.0


def clearances_m(
    profile: Profile, *, tx_height_agl_m: float, rx_height_agl_m: float, radius_m: float = EARTH_RADIUS_M, with_clutter: bool = True
) -> np.ndarray:
    """Return how high the straight line between two antennas passes over each point of a profile, (steps,) metres.

    tx_height_agl_m, rx_height_agl_m  antennas above the ground at their ends
    radius_m      of the Earth, or an effective radius where the ray bends
    with_clutter  over what stands on the ground, or over bare ground

    NaN where the ground is unknown. Raises InputError for heights that are not numbers.
    Source: straight chord over a parabolic Earth, x (d - x) / (2 R). Checked in tests/terrain/test_profile.py.
    """
    if not np.isfinite([tx_height_agl_m, rx_height_agl_m]).all():
        raise InputError(
            told(
                "antenna heights must be numbers of metres (they are {tx_height_agl_m} and {rx_height_agl_m})",
                tx_height_agl_m=tx_height_agl_m,
                rx_height_agl_m=rx_height_agl_m,
            )
        )
    d, ground = profile.distance_m, profile.ground_amsl_m
    top = ground + (profile.clutter_m if with_clutter else 0.0)
    share = d / d[-1]
    chord = (ground[0] + tx_height_agl_m) * (1.0 - share) + (ground[-1] + rx_height_agl_m) * share
    return chord - bulge_m(d, d[-1], radius_m) - top


def least_clearance(
    profile: Profile, *, tx_height_agl_m: float, rx_height_agl_m: float, radius_m: float = EARTH_RADIUS_M, with_clutter: bool = True
) -> LeastClearance:
    """Return where the straight line between two antennas is tightest, the ends left out; arguments as clearances_m()."""
    clear = clearances_m(
        profile, tx_height_agl_m=tx_height_agl_m, rx_height_agl_m=rx_height_agl_m, radius_m=radius_m, with_clutter=with_clutter
    )[1:-1]
    if not np.isfinite(clear).any():
        return LeastClearance(np.nan, np.nan, np.nan)
    at = int(np.nanargmin(clear))
    top = profile.ground_amsl_m[at + 1] + (profile.clutter_m[at + 1] if with_clutter else 0.0)
    return LeastClearance(float(clear[at]), float(profile.distance_m[at + 1]), float(top))
