"""Patterns of transmitting antennas: how much weaker than at its greatest a transmitter beams towards a place."""

from __future__ import annotations

import math

import numpy as np

from siteplan.errors import MethodRangeError, told
from siteplan.radio.antenna import FRONT_TO_BACK_DB, SIDE_LOBE_DB
from siteplan.records.emitters import Pattern

CARDIOID_DEEPEST_DB = 20.0  # a real cardioid has no true null (common practice, no source)


def pattern_loss_db(pattern: Pattern, *, bearing_deg: float, depression_deg: float) -> float:
    """Return how much weaker than at its greatest a transmitter beams towards a place: 0 or more, dB.

    bearing_deg     of the place from the transmitter, clockwise from true north
    depression_deg  of the ray as it leaves the antenna, positive below the horizon

    Both cuts are added, at most 25 dB together (40 dB where a table is among them). Tables are straight in dB between their points, level
    beyond the ends of a vertical one.
    Raises MethodRangeError for a shape that is not known. Source: cardioid 20 log((1 + cos phi)/2); directional and vertical
    12 (angle/width)^2 as Rec. ITU-R BT.1195-1 and 3GPP TR 36.814 have parabolic main lobes. Checked by hand in tests/radio/test_pattern.py.
    """
    across, along = horizontal_loss_db(pattern, bearing_deg), vertical_loss_db(pattern, depression_deg)
    most = 40.0 if pattern.losses or pattern.vertical_losses else FRONT_TO_BACK_DB
    return min(across + along, most)


def horizontal_loss_db(pattern: Pattern, bearing_deg: float) -> float:
    """Return the loss of the horizontal cut alone; arguments and source as pattern_loss_db."""
    if pattern.shape == "omni":
        return 0.0
    turn = (bearing_deg - pattern.azimuth_deg + 180.0) % 360.0 - 180.0
    if pattern.shape == "cardioid":
        share = (1.0 + math.cos(math.radians(turn))) / 2.0
        return min(CARDIOID_DEEPEST_DB, -20.0 * math.log10(max(share, 1e-6)))
    if pattern.shape == "directional":
        return min(FRONT_TO_BACK_DB, 12.0 * (turn / pattern.beamwidth_deg) ** 2)
    if pattern.shape == "table" and pattern.losses:
        return float(np.interp(bearing_deg % 360.0, *zip(*pattern.losses, strict=True), period=360.0))
    raise MethodRangeError(told("the pattern shape {shape!r} is not known", shape=pattern.shape))


def vertical_loss_db(pattern: Pattern, depression_deg: float) -> float:
    """Return the loss of the vertical cut alone; arguments and source as pattern_loss_db."""
    if pattern.vertical_losses:
        return float(np.interp(depression_deg, *zip(*pattern.vertical_losses, strict=True)))
    if not math.isfinite(pattern.vertical_beamwidth_deg):
        return 0.0
    return min(SIDE_LOBE_DB, 12.0 * ((depression_deg - pattern.tilt_deg) / pattern.vertical_beamwidth_deg) ** 2)
