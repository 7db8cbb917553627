"""Noise of receivers: temperatures from noise figures, and the power it makes in a bandwidth."""

from __future__ import annotations

import math

from siteplan.constants import BOLTZMANN_J_PER_K, REFERENCE_TEMPERATURE_K
from siteplan.errors import MethodRangeError, told

BOLTZMANN_DBW_PER_K_HZ = 10.0 * math.log10(BOLTZMANN_J_PER_K)


def noise_temperature_k(noise_figure_db: float) -> float:
    """Return the noise temperature a noise figure adds: 290 (10^(F/10) - 1) K; MethodRangeError below 0 dB. Source: definition."""
    if not noise_figure_db >= 0.0:
        raise MethodRangeError(told("the noise figure is {noise_figure_db} dB; give 0 or more", noise_figure_db=noise_figure_db))
    return REFERENCE_TEMPERATURE_K * (10.0 ** (noise_figure_db / 10.0) - 1.0)


def noise_power_dbw(*, bandwidth_hz: float, temperature_k: float) -> float:
    """Return the thermal noise 10 log(k T B), dBW; MethodRangeError unless both are above 0. Source: definition."""
    if not (bandwidth_hz > 0.0 and temperature_k > 0.0):
        raise MethodRangeError(
            told(
                "noise needs a bandwidth and a temperature above 0, not {bandwidth_hz} Hz and {temperature_k} K",
                bandwidth_hz=bandwidth_hz,
                temperature_k=temperature_k,
            )
        )
    return BOLTZMANN_DBW_PER_K_HZ + 10.0 * math.log10(temperature_k * bandwidth_hz)


def receiver_noise_dbw(*, bandwidth_hz: float, noise_figure_db: float) -> float:
    """Return the noise of a receiver at its input, F + 10 log(k T0 B), dBW.

    Source: GE06 Agreement, annex 2; Rec. ITU-R BT.1368. Checked in tests/authorities/test_dvbt.py.
    """
    return noise_figure_db + noise_power_dbw(bandwidth_hz=bandwidth_hz, temperature_k=REFERENCE_TEMPERATURE_K)
