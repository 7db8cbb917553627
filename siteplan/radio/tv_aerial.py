"""The TV aerial: what it turns away of a wave from aside or in the other plane, and which group takes which channels."""

from __future__ import annotations

import math

import numpy as np

from siteplan.errors import wording
from siteplan.radio.antenna import BT419_CROSS_POLAR_DB, bt419_discrimination_db

# Groups of UHF aerials by the channels of the 8 MHz raster they are cut for, lower and upper edge in MHz (trade practice); the narrowest
# that holds all channels is taken. A narrow one gains more and turns away what lies beside it.
GROUPS = (
    ("A, channels 21 to 37", 470.0, 606.0), ("B, channels 35 to 53", 582.0, 734.0), ("K, channels 21 to 48", 470.0, 694.0),
    ("C/D, channels 48 to 69", 686.0, 862.0), ("E, channels 35 to 69", 582.0, 862.0), ("W, channels 21 to 69", 470.0, 862.0),
    ("band III", 174.0, 240.0), (wording("band III and UHF together"), 174.0, 862.0),
)  # fmt: skip
SLANT_DB = 10.0 * math.log10(2.0)  # half the power in each plane


def turned_away_db(
    *, off_axis_deg: float, frequency_mhz: float, plane: str, polarisation: str, directivity: tuple[tuple[float, float], ...] = ()
) -> float:
    """Return how much less of a wave an aerial takes than it would from ahead in its own plane: 0 or more, dB.

    plane         of the aerial's elements, "h" or "v"
    polarisation  of the wave: "h", "v", "m" (the whole power in each plane) or "s" (half of it)
    directivity   ((degrees off the axis, dB), ...) of a table; empty: Rec. ITU-R BT.419-3

    Pattern and plane are not added: the other plane is turned away by 16 dB from every side, in place of the pattern (BT.419-3, memory).
    Of a mixed or slanted wave both parts count, as powers. Outside the bands of BT.419-3 nothing is turned away by direction.
    Checked in tests/radio/test_tv_aerial.py.
    """
    along = _pattern_db(off_axis_deg, frequency_mhz, directivity)
    across = max(along, BT419_CROSS_POLAR_DB) if directivity else BT419_CROSS_POLAR_DB
    if polarisation in ("m", "s"):
        both = -10.0 * math.log10(10.0 ** (-along / 10.0) + 10.0 ** (-across / 10.0))
        return max(0.0, both) + (SLANT_DB if polarisation == "s" else 0.0)
    return along if polarisation == plane else across


def _pattern_db(off_axis_deg: float, frequency_mhz: float, directivity: tuple[tuple[float, float], ...]) -> float:
    turn = abs((off_axis_deg + 180.0) % 360.0 - 180.0)
    if directivity:
        return float(np.interp(turn, *zip(*sorted(directivity), strict=True)))
    if 160.0 <= frequency_mhz <= 300.0 or 450.0 <= frequency_mhz <= 960.0:
        return 0.0 - float(bt419_discrimination_db(turn, frequency_mhz))
    return 0.0


def group_for(low_mhz: float, high_mhz: float) -> str:
    """Return the narrowest aerial group that takes all frequencies from low to high (channel edges), "" where none does."""
    fits = [(high - low, name) for name, low, high in GROUPS if low - 0.5 <= low_mhz and high_mhz <= high + 0.5]
    return min(fits)[1] if fits else ""
