"""Link budget of a mobile sector: the reference signal power (terrestrial TV: terrestrial_link.py; satellite: satellite_link.py)."""

from __future__ import annotations

import math
from collections.abc import Mapping

from siteplan.errors import InputError, told

# Resource blocks of a carrier. LTE: 3GPP TS 36.101, table 5.6-1. NR: TS 38.101-1, table 5.3.2-1 (keyed by MHz and kHz).
LTE_RESOURCE_BLOCKS = {1.4: 6, 3.0: 15, 5.0: 25, 10.0: 50, 15.0: 75, 20.0: 100}
NR_RESOURCE_BLOCKS: Mapping[tuple[float, float], int] = {
    (5.0, 15.0): 25,
    (10.0, 15.0): 52,
    (15.0, 15.0): 79,
    (20.0, 15.0): 106,
    (10.0, 30.0): 24,
    (15.0, 30.0): 38,
    (20.0, 30.0): 51,
    (40.0, 30.0): 106,
    (50.0, 30.0): 133,
    (60.0, 30.0): 162,
    (80.0, 30.0): 217,
    (100.0, 30.0): 273,
}


def re_eirp_dbm(*, total_power_dbm: float, resource_blocks: int, antenna_gain_dbi: float = 0.0, feeder_loss_db: float = 0.0) -> float:
    """Return the EIRP of one resource element: power spread evenly over 12 resource_blocks, plus gain, less feeder.

    Raises InputError for less than one block. Source: 3GPP TS 36.213, 5.2; TS 38.214, 4.1. Checked in tests/authorities/test_rsrp.py.
    """
    if resource_blocks < 1:
        raise InputError(told("a carrier has {resource_blocks} resource blocks; give 1 or more", resource_blocks=resource_blocks))
    return total_power_dbm - 10.0 * math.log10(12.0 * resource_blocks) + antenna_gain_dbi - feeder_loss_db


def resource_blocks(*, technology: str, bandwidth_mhz: float, subcarrier_khz: float = 15.0) -> int:
    """Return how many resource blocks a carrier has; InputError naming the bandwidths there are. Source: TS 36.101, TS 38.101-1."""
    if technology.upper() == "LTE":
        table = {(width, 15.0): blocks for width, blocks in LTE_RESOURCE_BLOCKS.items()}
    elif technology.upper() == "NR":
        table = dict(NR_RESOURCE_BLOCKS)
    else:
        raise InputError(told("the technology is {technology!r}; write LTE or NR", technology=technology))
    found = table.get((float(bandwidth_mhz), float(subcarrier_khz)))
    if found is None:
        allowed = ", ".join(told("{width:g} MHz at {spacing:g} kHz", width=width, spacing=spacing) for width, spacing in table)
        raise InputError(
            told(
                "{technology} with {bandwidth_mhz:g} MHz and {subcarrier_khz:g} kHz is not known; there are {allowed}",
                technology=technology,
                bandwidth_mhz=bandwidth_mhz,
                subcarrier_khz=subcarrier_khz,
                allowed=allowed,
            )
        )
    return found


def rsrp_dbm(*, re_eirp_dbm: float, pattern_db: float, loss_db: float, gain_dbi: float, feeder_loss_db: float) -> float:
    """Return the reference signal power at a device: EIRP of one resource element, pattern, path loss, antenna gain, feeder.

    pattern_db 0 or negative. Source: 3GPP TS 36.214 / 38.215, RSRP is the power of one resource element. Checked in test_rsrp.py.
    """
    return re_eirp_dbm + pattern_db - loss_db + gain_dbi - feeder_loss_db
