"""A link budget worked step by step in a university problem set, question 12.1 of 1library.co/article/...zlg8j512 (read in 2026).

9 m antenna, efficiency 68 %, 6.285 GHz, 38 500 km, 500 K, 27 MHz, satellite antenna 31 dB less 2 dB, 0.5 dB for the clear air. Printed to
0.1: Gt 53.8 dB (its table then says 53.9), Lp 200.1 dB, received power Pt - 117.7 dBW, noise -228.6 + 27.0 + 74.3 = -127.3 dBW. C/N 26 dB
asks for Pt = -127.3 + 26 + 117.7 = 16.4 dBW. A link is the same from either end, so the 9 m antenna stands for the dish here.
"""

import pytest

from siteplan.radio.satellite_link import satellite_cn

pytestmark = pytest.mark.quick


def test_every_term_of_the_worked_answer():
    found = satellite_cn(
        eirp_dbw=16.4 + 29.0, range_km=38_500.0, frequency_mhz=6285.0, dish_m=9.0, efficiency=0.68, lnb_noise_figure_db=0.0,
        antenna_noise_k=500.0, symbol_rate_kbaud=27_000.0, gas_db=0.5,
    )  # fmt: skip
    terms = {term.name: float(term.value) for term in found.terms}
    assert terms["dish_gain_dbi"] == pytest.approx(53.8, abs=0.1)
    assert terms["free_space_loss_db"] == pytest.approx(-200.1, abs=0.05)
    assert terms["noise_temperature_db_k"] == pytest.approx(-27.0, abs=0.05)
    assert terms["bandwidth_db_hz"] == pytest.approx(-74.3, abs=0.05)
    assert terms["boltzmann_db"] == pytest.approx(228.6, abs=0.05)
    noise = -(terms["noise_temperature_db_k"] + terms["bandwidth_db_hz"] + terms["boltzmann_db"])
    assert noise == pytest.approx(-127.3, abs=0.05)
    assert found.cn_db == pytest.approx(26.0, abs=0.15)  # the answer goes on with a gain rounded up by 0.1
