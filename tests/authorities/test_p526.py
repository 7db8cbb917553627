"""ITU-R P.526: the delta-Bullington examples step by step, the knife edge and Fresnel zones."""

import numpy as np
import pytest
from authorities.authority_rows import DATA, rows_of

from siteplan.errors import MethodRangeError
from siteplan.radio import fresnel, kernels
from siteplan.radio.methods.kernels import TERM_NAMES, diffraction_part

pytestmark = pytest.mark.quick
TERMS = {name: place for place, name in enumerate(TERM_NAMES)}


def paths():
    found = {}
    for line in (DATA / "p526_paths.csv").read_text(encoding="utf-8").splitlines():
        if not line.startswith("#"):
            name, length, *heights = line.split(",")
            km = 0.05 * np.arange(len(heights))
            km[-1] = float(length)
            found[name] = (km, np.array([float(height) for height in heights]))
    return found


PATHS = paths()


@pytest.mark.parametrize("case", rows_of("p526_cases.csv"), ids=lambda case: case["case"])
def test_delta_bullington(case):
    """0.01 dB: the examples use 3e8 m/s, which alone makes up to 0.005 dB."""
    km, height = PATHS[case["path"]]
    geometry = kernels.geometry(
        km,
        height,
        height,
        np.full(km.size, kernels.ZONE_INLAND, dtype=np.uint8),
        height[0] + float(case["htg_m"]),
        height[-1] + float(case["hrg_m"]),
        float(case["ae_km"]),
        3 * 6371.0,
    )
    assert geometry[kernels.HTE_DIFFRACTION] == pytest.approx(float(case["htep_m"]), abs=1e-5)
    assert geometry[kernels.HRE_DIFFRACTION] == pytest.approx(float(case["hrep_m"]), abs=1e-5)
    terms = diffraction_part(geometry, 1e-3 * float(case["f_mhz"]), 50.0, 5.0, case["pol"] == "V")
    for ours, theirs in (
        ("bullington_actual_50_db", "lbulla_db"),
        ("bullington_smooth_50_db", "lbulls_db"),
        ("spherical_earth_50_db", "ldsph_db"),
        ("diffraction_50_db", "ld_db"),
    ):
        assert terms[TERMS[ours]] == pytest.approx(float(case[theirs]), abs=0.01), ours


def test_knife_edge():
    """P.526-16, 4.1: an edge on the ray costs 6.0 dB, one far below nothing; worked by hand from eq. (31)."""
    assert fresnel.knife_edge_loss_db(0.0) == pytest.approx(6.03, abs=0.01)
    assert fresnel.knife_edge_loss_db(-0.78) == 0.0
    assert fresnel.knife_edge_loss_db(-0.7799) == pytest.approx(0.0, abs=0.02)
    assert fresnel.knife_edge_loss_db(2.4) == pytest.approx(20.54, abs=0.02)
    assert np.isnan(fresnel.knife_edge_loss_db([np.nan, 1.0])[0])
    # one radius over the ray is nu = sqrt 2
    radius = fresnel.fresnel_radius_m(from_tx_m=500.0, to_rx_m=1500.0, frequency_mhz=600.0)
    assert fresnel.knife_edge_nu(height_m=radius, from_tx_m=500.0, to_rx_m=1500.0, frequency_mhz=600.0) == pytest.approx(2**0.5)


def test_fresnel_radius_and_fraction():
    """17.3 sqrt(d1 d2 / (f d)) m with km and GHz, as P.526 prints it: 10 km, half way, 1 GHz: 27.4 m."""
    assert fresnel.fresnel_radius_m(from_tx_m=5000.0, to_rx_m=5000.0, frequency_mhz=1000.0) == pytest.approx(27.38, abs=0.02)
    assert fresnel.fresnel_radius_m(from_tx_m=0.0, to_rx_m=5000.0, frequency_mhz=1000.0) == 0.0
    assert fresnel.fresnel_radius_m(from_tx_m=5000.0, to_rx_m=5000.0, frequency_mhz=1000.0, zone=4) == pytest.approx(2 * 27.38, abs=0.04)
    steps = np.array([1000.0, 5000.0])
    clearance = np.array([[50.0, 27.375], [50.0, -27.375], [50.0, np.nan]])
    found = fresnel.fresnel_fraction(clearance, steps, np.full(3, 10000.0), np.full(3, 1000.0))
    assert found[:2] == pytest.approx([1.0, -1.0], abs=1e-3)
    assert np.isnan(found[2])
    with pytest.raises(MethodRangeError, match="above 0"):
        fresnel.fresnel_fraction(clearance[0], steps, 10000.0, 0.0)
