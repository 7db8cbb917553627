"""Noise along a chain: Friis' law carried as carrier-to-noise from part to part."""

from __future__ import annotations

import math
from functools import lru_cache

from siteplan.units import COAX_OHM, dbm_to_dbuv

BOLTZMANN_J_PER_K = 1.380649e-23
T0_K = 290.0


@lru_cache(maxsize=1024)
def floor_dbuv(bandwidth_mhz: float, impedance_ohm: float = COAX_OHM) -> float:
    """Return the thermal noise k T0 B of a matched source, dBuV: 3.8 dBuV in 8 MHz at 75 ohm."""
    dbm = 10.0 * math.log10(BOLTZMANN_J_PER_K * T0_K * bandwidth_mhz * 1e6) + 30.0
    return float(dbm_to_dbuv(dbm, impedance_ohm))


def noise_figure_of(gain_db: float, noise_figure_db: float) -> float:
    """Return the noise figure of a part: its own where it has one; of a passive part at T0 its loss (Friis, Proc. IRE 32, 1944, p. 419)."""
    if math.isfinite(noise_figure_db):
        return noise_figure_db
    return max(-gain_db, 0.0)


def cn_after(cn_db: float, *, level_in_dbuv: float, noise_figure_db: float, bandwidth_mhz: float, impedance_ohm: float = COAX_OHM) -> float:
    """Return C/N after a part: the noise it adds, referred to its input, is k T0 B (F - 1).

    The same as Friis' formula for cascades (Friis, Proc. IRE 32, 1944, p. 419), written for carriers:
    1/cn_out = 1/cn_in + k T0 B (F-1) / C_in.
    """
    excess = 10.0 ** (noise_figure_db / 10.0) - 1.0
    if excess <= 0.0:
        return cn_db
    added_dbuv = floor_dbuv(bandwidth_mhz, impedance_ohm) + 10.0 * math.log10(excess)
    ratio = 10.0 ** (-cn_db / 10.0) + 10.0 ** ((added_dbuv - level_in_dbuv) / 10.0)
    return -10.0 * math.log10(ratio)


def cascade_noise_figure_db(stages: tuple[tuple[float, float], ...]) -> float:
    """Return the noise figure of stages (gain_db, noise_figure_db): F = F1 + (F2-1)/G1 + (F3-1)/(G1 G2) + ... (Friis 1944)."""
    total, gain = 0.0, 1.0
    for place, (gain_db, figure_db) in enumerate(stages):
        figure = 10.0 ** (figure_db / 10.0)
        total = figure if place == 0 else total + (figure - 1.0) / gain
        gain *= 10.0 ** (gain_db / 10.0)
    return 10.0 * math.log10(total)
