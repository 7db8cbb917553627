"""ITU-R P.2109-2: what a building takes from a signal on its way in, as a distribution over buildings and rooms."""

from __future__ import annotations

import math
from statistics import NormalDist

from siteplan.errors import InputError, MethodRangeError, told

LABEL = "ITU-R P.2109-2"
FREQUENCY_MHZ = (80.0, 100_000.0)
# Coefficients r to z of table 1, by kind of building (the same in P.2109-1 and -2). Thermally efficient: metallised glass, foil-backed
# panels; whatever else a house is built of counts as traditional (P.2109-2, section 2).
BUILDINGS = {
    "traditional": (12.64, 3.72, 0.96, 9.6, 2.0, 9.1, -3.0, 4.5, -2.0),
    "thermally_efficient": (28.19, -3.0, 8.48, 13.5, 3.8, 27.8, -2.9, 9.4, -2.1),
}
_NORMAL = NormalDist()
_ONE_SIGMA_PCT = 100.0 * _NORMAL.cdf(1.0)


def building_entry_loss_db(frequency_mhz: float, *, building: str, probability_pct: float = 50.0, elevation_deg: float = 0.0) -> float:
    """Return the loss on the way into a building that is not exceeded with a probability, over buildings and places in them.

    frequency_mhz    80 to 100 000
    building         "traditional" or "thermally_efficient"
    probability_pct  above 0, below 100
    elevation_deg    of the path at the wall, above (or below) the horizontal, within 90

    Returns dB; NaN for an unknown (NaN) elevation. The place in the building is not an input: by a window the loss lies at the low end
    of the distribution, deep inside at the high end.
    Raises MethodRangeError outside these ranges, InputError for another kind of building.
    By hand: 28 GHz, traditional, 50 %: log f = 1.447158, so median 12.64 + 3.72 x 1.447158 + 0.96 x 1.447158^2 = 20.03 dB for the first
    distribution and 9.1 - 3 x 1.447158 = 4.76 dB for the second; power sum with -3 dB: 20.18 dB.
    Source: Rec. ITU-R P.2109-2 (08/2023), annex 1, section 3, eqs (1) to (10). Checked in tests/authorities/test_p2109.py.
    """
    if building not in BUILDINGS:
        raise InputError(told("the building is {building!r}; write {buildings}", building=building, buildings=" or ".join(BUILDINGS)))
    for what, value, least, most, unit in (
        ("the frequency", frequency_mhz, *FREQUENCY_MHZ, "MHz"),
        (told("the elevation at the wall"), 0.0 if math.isnan(elevation_deg) else elevation_deg, -90.0, 90.0, "deg"),
    ):
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
    if not 0.0 < probability_pct < 100.0:
        raise MethodRangeError(
            told(
                "the probability is {probability_pct:g} %; {label} holds above 0 and below 100 %",
                probability_pct=probability_pct,
                label=LABEL,
            )
        )
    r, s, t, u, v, w, x, y, z = BUILDINGS[building]
    log_f = math.log10(1e-3 * frequency_mhz)
    sigmas = _NORMAL.inv_cdf(0.01 * probability_pct)
    first = (u + v * log_f) * sigmas + r + s * log_f + t * log_f**2 + 0.212 * abs(elevation_deg)
    second = (y + z * log_f) * sigmas + w + x * log_f
    return 10.0 * math.log10(10.0 ** (0.1 * first) + 10.0 ** (0.1 * second) + 10.0**-0.3)


def building_entry_sigma_db(frequency_mhz: float, *, building: str, elevation_deg: float = 0.0) -> float:
    """Return half the distance between the losses at 84.1 % and 15.9 %: the spread of the distribution as one standard deviation, dB.

    Arguments and errors as building_entry_loss_db. The distribution is not Gaussian (its low end is cut at -3 dB), so this is an
    approximation good near its middle. Source: Rec. ITU-R P.2109-2 for both losses; the halving is common practice, no source.
    """
    high, low = (
        building_entry_loss_db(frequency_mhz, building=building, probability_pct=share, elevation_deg=elevation_deg)
        for share in (_ONE_SIGMA_PCT, 100.0 - _ONE_SIGMA_PCT)
    )
    return 0.5 * (high - low)
