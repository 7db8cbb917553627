"""Single-frequency networks: how much of each sender's signal helps and how much disturbs, by when it arrives."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.constants import SPEED_OF_LIGHT_M_PER_S
from siteplan.errors import wording

WEIGHTING = wording(
    "quadratic outside the guard interval, up to 7/24 of the useful symbol (EBU BPN 066, memory); window where C/(N+I) is best"
)
LATEST_SHARE = 7.0 / 24.0  # of the useful symbol: what channel estimation follows (DVB-T; EBU BPN 066, memory)


def arrival_us(*, distance_m: float, delay_us: float) -> float:
    """Return when a sender's signal arrives after the network's time mark: travel time and its own static delay, microseconds."""
    return 1e6 * distance_m / SPEED_OF_LIGHT_M_PER_S + delay_us


def useful_share(late_us: float, *, guard_us: float, useful_us: float) -> float:
    """Return the share, 0..1, of a signal that helps where it arrives late_us after the window's start; the rest disturbs.

    Inside the guard interval all of it; before and after it ((Tu - |t|)/Tu)^2 with t the time outside, up to LATEST_SHARE of Tu after the
    window's start or before it, then nothing. Unknown lengths: all of it where it arrives together (within 1 us), else nothing.
    Source: EBU BPN 066 (memory). Checked by hand in tests/radio/test_single_frequency.py.
    """
    if not (math.isfinite(guard_us) and math.isfinite(useful_us)):
        return 1.0 if abs(late_us) < 1.0 else 0.0
    if 0.0 <= late_us <= guard_us:
        return 1.0
    outside = late_us - guard_us if late_us > 0.0 else -late_us
    if max(late_us, -late_us) > max(LATEST_SHARE * useful_us, guard_us):
        return 0.0
    return ((useful_us - outside) / useful_us) ** 2


def best_window(
    arrivals_us: Sequence[float], useful_dbuv: Sequence[float], unwanted_dbuv: Sequence[float], *, noise_dbuv: float,
    guard_us: float, useful_us: float,
) -> tuple[float, ...]:  # fmt: skip
    """Return each sender's useful share for the window start, of those at an arrival, that gives the best C/(N+I).

    useful_dbuv, unwanted_dbuv  strength of each where it helps (median) and where it disturbs (1 % of time); noise_dbuv in the same unit
    """
    best, shares = -math.inf, ()
    for start in arrivals_us:
        found = tuple(useful_share(at - start, guard_us=guard_us, useful_us=useful_us) for at in arrivals_us)
        helps = sum(share * 10.0 ** (level / 10.0) for share, level in zip(found, useful_dbuv, strict=True))
        hurts = sum((1.0 - share) * 10.0 ** (level / 10.0) for share, level in zip(found, unwanted_dbuv, strict=True))
        ratio = helps / (hurts + 10.0 ** (noise_dbuv / 10.0))
        if ratio > best * (1.0 + 1e-12):
            best, shares = ratio, found
    return shares
