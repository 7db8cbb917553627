"""ITU-R P.833-10: what a wood, or a tree in a dish's way, takes from a signal."""

from __future__ import annotations

import math

from siteplan.errors import InputError, MethodRangeError, told

LABEL = "ITU-R P.833-10"
# Measured in one mixed forest (P.833-9, table 1): frequency MHz, specific attenuation dB/m, greatest attenuation dB.
MIXED_FOREST = ((105.9, 0.04, 9.4), (466.475, 0.12, 18.0), (949.0, 0.17, 26.5), (1852.2, 0.30, 29.0), (2117.5, 0.34, 34.1))
# Greatest attenuation A1 f^alpha, f in MHz: (A1, alpha, least MHz, most MHz). Tropical: read in one code that quotes P.833-9; the other
# two from memory. Trees of 15 to 16 m.
GREATEST = {
    "tropical": (0.18, 0.752, 900.0, 1800.0),
    "deciduous": (1.15, 0.43, 900.0, 2200.0),
    "mixed": (1.37, 0.42, 900.0, 2200.0),
}
FOLIAGE_MHZ = (1000.0, 60_000.0)


def woodland_loss_db(depth_m: float, *, specific_db_per_m: float, greatest_db: float) -> float:
    """Return the loss over an open path where one antenna stands in a wood: greatest x (1 - exp(-depth x specific / greatest)).

    depth_m            length of the path within the wood, 0 or more
    specific_db_per_m  loss of a very short way through it
    greatest_db        what it approaches: the wave then goes over or around

    Raises MethodRangeError for a length or loss that can't be. NaN stays NaN.
    By hand: 50 m at 949 MHz in the mixed forest, 0.17 dB/m and 26.5 dB: 26.5 x (1 - exp(-0.3208)) = 7.27 dB.
    Source: Rec. ITU-R P.833-10 (09/2021), annex 1, 2.1, eq. (1). Checked in tests/authorities/test_p833.py.
    """
    if depth_m < 0.0 or specific_db_per_m < 0.0 or greatest_db <= 0.0:
        raise MethodRangeError(
            told(
                "a wood {depth_m:g} m deep with {specific_db_per_m:g} dB/m and {greatest_db:g} dB at most can't be; give lengths and "
                "losses above 0",
                depth_m=depth_m,
                specific_db_per_m=specific_db_per_m,
                greatest_db=greatest_db,
            )
        )
    return greatest_db * (1.0 - math.exp(-depth_m * specific_db_per_m / greatest_db))


def mixed_forest(frequency_mhz: float) -> tuple[float, float]:
    """Return (specific attenuation dB/m, greatest attenuation dB) of the measured mixed forest at a frequency, 105.9 to 2117.5 MHz.

    Between the five measured frequencies both are read on a straight line over log f, on log scales (common practice, no source).
    Raises MethodRangeError outside. Source: Rec. ITU-R P.833-9, table 1.
    """
    least, most = MIXED_FOREST[0][0], MIXED_FOREST[-1][0]
    if not least <= frequency_mhz <= most:
        raise MethodRangeError(
            told(
                "the frequency is {frequency_mhz:g} MHz; {label} has this forest from {least:g} to {most:g} MHz",
                frequency_mhz=frequency_mhz,
                label=LABEL,
                least=least,
                most=most,
            )
        )
    for low, high in zip(MIXED_FOREST, MIXED_FOREST[1:], strict=False):
        if frequency_mhz <= high[0]:
            share = math.log(frequency_mhz / low[0]) / math.log(high[0] / low[0])
            return tuple(low[k] * (high[k] / low[k]) ** share for k in (1, 2))  # type: ignore[return-value]
    raise AssertionError  # the range was checked above


def greatest_loss_db(frequency_mhz: float, *, wood: str) -> float:
    """Return what the loss in a wood approaches, A1 f^alpha, for a name of GREATEST; 900 to 1800 or 2200 MHz.

    Raises MethodRangeError outside, InputError for another wood.
    Source: Rec. ITU-R P.833-10, annex 1, 2.1, eq. (2); coefficients of deciduous and mixed woods from memory. Checked in
    tests/authorities/test_p833.py.
    """
    if wood not in GREATEST:
        raise InputError(told("the wood is {wood!r}; write one of {greatest}", wood=wood, greatest=", ".join(GREATEST)))
    a1, alpha, least, most = GREATEST[wood]
    if not least <= frequency_mhz <= most:
        raise MethodRangeError(
            told(
                "the frequency is {frequency_mhz:g} MHz; {label} holds for this wood from {least:g} to {most:g} MHz",
                frequency_mhz=frequency_mhz,
                label=LABEL,
                least=least,
                most=most,
            )
        )
    return a1 * frequency_mhz**alpha


def foliage_figure_db(frequency_mhz: float, depth_m: float, elevation_deg: float) -> float:
    """Return a figure for the loss of a satellite's ray through trees: 0.25 f^0.39 depth^0.25 elevation^0.05. A figure, not a prediction.

    frequency_mhz  1000 to 60 000; depth_m  way through the leaves, 0 or more; elevation_deg  above 0, to 90

    One fit, to one pine wood; other trees, wet leaves and winter differ by many dB. No verdict rests on it: a ray through leaves
    counts as blocked. Raises MethodRangeError outside these ranges.
    By hand: 12 000 MHz, 5 m, 30 deg: 0.25 x 38.99 x 1.495 x 1.185 = 17.3 dB.
    Source: Rec. ITU-R P.833-10, annex 1, 2.2, slant path (formula and coefficients from memory).
    """
    for what, value, least, most, unit in (
        ("the frequency", frequency_mhz, *FOLIAGE_MHZ, "MHz"),
        (told("the way through the leaves"), depth_m, 0.0, math.inf, "m"),
        ("the elevation", elevation_deg, 0.1, 90.0, "deg"),
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
    return 0.25 * frequency_mhz**0.39 * depth_m**0.25 * elevation_deg**0.05
