"""ITU-R P.2108-1: loss by clutter near an antenna where nothing is known of the buildings and trees themselves.

Three methods, one for each kind of path. None may be added to a method whose profile holds the clutter's own heights (P.1812 with
clutter): the same trees and houses would count twice.
"""

from __future__ import annotations

import math
from statistics import NormalDist

from siteplan.errors import InputError, MethodRangeError, told

LABEL = "ITU-R P.2108-1"
HEIGHT_GAIN_LABEL = "ITU-R P.2108-1, 3.1"
HEIGHT_GAIN_MHZ = (30.0, 3000.0)
TERRESTRIAL_MHZ = (500.0, 67_000.0)
TERRESTRIAL_LEAST_M = 250.0
TERRESTRIAL_FLAT_FROM_M = 2000.0  # the loss of this length is the most there is
SLANT_MHZ = (10_000.0, 100_000.0)
STREET_WIDTH_M = 27.0  # P.2108-1, 3.1: where the real width is unknown
# kind of clutter -> default height of it, m (P.2108-1, table 3), and whether it is a wall of houses or trees that the wave bends over
CLUTTER = {
    "water": (10.0, False),
    "open_rural": (10.0, False),
    "suburban": (10.0, True),
    "urban": (15.0, True),
    "trees_forest": (15.0, True),
    "dense_urban": (20.0, True),
}
_NORMAL = NormalDist()


def _within(what: str, value: float, least: float, most: float, unit: str) -> None:
    if not least <= value <= most:
        raise MethodRangeError(
            told(
                "{what} is {value:g} {unit}; {label} holds from {least:g} to {most:g} {unit}",
                what=what,
                value=value,
                unit=unit,
                label=LABEL,
                least=least,
                most=most,
            )
        )


def _sigmas(share_pct: float) -> float:
    if not 0.0 < share_pct < 100.0:
        raise MethodRangeError(
            told("the location percentage is {share_pct:g} %; {label} holds above 0 and below 100 %", share_pct=share_pct, label=LABEL)
        )
    return _NORMAL.inv_cdf(0.01 * share_pct)


def height_gain_loss_db(
    frequency_mhz: float,
    height_agl_m: float,
    *,
    clutter: str,
    clutter_height_m: float | None = None,
    street_width_m: float = STREET_WIDTH_M,
) -> float:
    """Return what an antenna below the clutter around it loses against one at its top, dB; 0 at the top and above.

    frequency_mhz     30 to 3000
    height_agl_m      of the antenna, above 0
    clutter           a name of CLUTTER; clutter_height_m None takes its default height
    street_width_m    from the antenna's side to the other side of the street

    Raises MethodRangeError outside these ranges, InputError for another kind of clutter.
    By hand: 1500 MHz, antenna 2 m, suburban 10 m, street 27 m: angle atan(8/27) = 16.50 deg, nu = 0.342 sqrt(1.5) sqrt(8 x 16.50) =
    4.813, J = 6.9 + 20 log(4.818 + 4.713) = 26.48, less 6.03: 20.45 dB.
    Source: Rec. ITU-R P.2108-1 (09/2021), annex 1, 3.1, eqs (1) and (2). Checked in tests/authorities/test_p2108.py.
    """
    if clutter not in CLUTTER:
        raise InputError(told("the clutter is {clutter!r}; write one of {clutter_2}", clutter=clutter, clutter_2=", ".join(CLUTTER)))
    _within("the frequency", frequency_mhz, *HEIGHT_GAIN_MHZ, "MHz")
    usual_m, bends = CLUTTER[clutter]
    top = usual_m if clutter_height_m is None else clutter_height_m
    for name, metres in (("antenna height", height_agl_m), ("clutter height", top), ("street width", street_width_m)):
        if not (math.isfinite(metres) and metres > 0.0):
            raise MethodRangeError(told("the {name} is {metres:g} m; {label} holds above 0 m", name=name, metres=metres, label=LABEL))
    if height_agl_m >= top:
        return 0.0
    f_ghz = 1e-3 * frequency_mhz
    if not bends:
        return -(21.8 + 6.2 * math.log10(f_ghz)) * math.log10(height_agl_m / top)
    below = top - height_agl_m
    nu = 0.342 * math.sqrt(f_ghz) * math.sqrt(below * math.degrees(math.atan(below / street_width_m)))
    edge = 0.0 if nu <= -0.78 else 6.9 + 20.0 * math.log10(math.sqrt((nu - 0.1) ** 2 + 1.0) + nu - 0.1)
    return edge - 6.03


def terrestrial_clutter_loss_db(frequency_mhz: float, distance_m: float, *, location_pct: float = 50.0) -> float:
    """Return the clutter loss at one end of a terrestrial path, not exceeded at a share of locations, antenna well below the roofs.

    frequency_mhz  500 to 67 000
    distance_m     of the whole path, at least 250; the loss is never more than that of 2 km, as the Recommendation says
    location_pct   above 0, below 100

    Raises MethodRangeError outside these ranges.
    Source: Rec. ITU-R P.2108-1 (09/2021), annex 1, 3.2, eqs (3) to (5). Checked in tests/authorities/test_p2108.py.
    """
    _within("the frequency", frequency_mhz, *TERRESTRIAL_MHZ, "MHz")
    sigmas = _sigmas(location_pct)
    if not (math.isfinite(distance_m) and distance_m >= TERRESTRIAL_LEAST_M):
        raise MethodRangeError(
            told(
                "the path length is {distance_m:g} m; {label}, 3.2 holds from {terrestrial_least_m:g} m",
                distance_m=distance_m,
                label=LABEL,
                terrestrial_least_m=TERRESTRIAL_LEAST_M,
            )
        )
    at_2_km = _terrestrial_db(frequency_mhz, TERRESTRIAL_FLAT_FROM_M, sigmas)
    return at_2_km if distance_m >= TERRESTRIAL_FLAT_FROM_M else min(_terrestrial_db(frequency_mhz, distance_m, sigmas), at_2_km)


def _terrestrial_db(frequency_mhz: float, distance_m: float, sigmas: float) -> float:
    """Return eqs (3) to (5) of P.2108-1, 3.2 as they stand, before the bound at 2 km."""
    log_f, log_d = math.log10(1e-3 * frequency_mhz), math.log10(1e-3 * distance_m)
    long_db = -2.0 * math.log10(10.0 ** (-5.0 * log_f - 12.5) + 10.0**-16.5)
    short_db = 32.98 + 23.9 * log_d + 3.0 * log_f
    from_long, from_short = 10.0 ** (-0.2 * long_db), 10.0 ** (-0.2 * short_db)
    sigma_db = math.sqrt((4.0**2 * from_long + 6.0**2 * from_short) / (from_long + from_short))
    return -5.0 * math.log10(from_long + from_short) + sigma_db * sigmas


def slant_clutter_loss_db(frequency_mhz: float, elevation_deg: float, *, location_pct: float = 50.0) -> float:
    """Return the clutter loss of a path to a satellite or aircraft, not exceeded at a share of locations, antenna among buildings.

    frequency_mhz  10 000 to 100 000
    elevation_deg  0 to 90, of the path at the antenna
    location_pct   above 0, below 100

    Returns dB; may be a little below 0, where reflections add up. Raises MethodRangeError outside these ranges.
    Source: Rec. ITU-R P.2108-1 (09/2021), annex 1, 3.3, eq. (6). Checked in tests/authorities/test_p2108.py.
    """
    _within("the frequency", frequency_mhz, *SLANT_MHZ, "MHz")
    _within("the elevation", elevation_deg, 0.0, 90.0, "deg")
    sigmas = _sigmas(location_pct)
    steepness = 0.05 * (1.0 - elevation_deg / 90.0) + math.pi * elevation_deg / 180.0
    spread = -93.0 * (1e-3 * frequency_mhz) ** 0.175 * math.log(1.0 - 0.01 * location_pct) / math.tan(steepness)
    return max(spread, 0.0) ** (0.5 * (90.0 - elevation_deg) / 90.0) - 1.0 + 0.6 * sigmas
