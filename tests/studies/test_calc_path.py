"""The path calculator: the reference cases written as profile files, and a run's profile files read again."""

import json
import math

import numpy as np
import pytest
from authorities.test_p1812 import CASES, PROFILES
from radio.radio_paths import rough

from siteplan.errors import MethodRangeError
from siteplan.files.profile_file import write_profile
from siteplan.services.shared.paths import work_path
from siteplan.studies.calc_path import path_answer


@pytest.mark.quick
@pytest.mark.parametrize("case", CASES, ids=lambda case: case["case"])
def test_reference_cases_as_files(tmp_path, case):
    """0.01 dB is asked for; writing to a millimetre leaves the ten figures of the case."""
    file = tmp_path / "case.csv"
    write_profile(file, PROFILES[case["profile"]])
    found = path_answer(
        file,
        frequency_mhz=1000.0 * float(case["f_ghz"]),
        tx_height_agl_m=float(case["htg_m"]),
        rx_height_agl_m=float(case["hrg_m"]),
        lat_deg=float(case["phi_path_deg"]),
        time_pct=float(case["p_pct"]),
        n0=float(case["n0_nunits"]),
        erp_kw=float(case["ptx_erp_kw"]),
    )
    assert found["loss_db"] == pytest.approx(float(case["lb_db"]), abs=1e-5)
    assert found["field_strength_dbuv_per_m"] == pytest.approx(float(case["e_dbuvm_at_ptx"]), abs=1e-5)
    assert found["diffraction_50_db"] == pytest.approx(float(case["ld50_db"]), abs=1e-5)
    assert found["method"] == "ITU-R P.1812-8"


def test_a_file_gives_the_loss_of_its_run(tmp_path):
    """A profile as the terrain floor makes it, float32 and unrounded, gives bit for bit the same loss from its file."""
    rng = np.random.default_rng(20264)
    for number in range(20):
        made = rough(rng, float(rng.uniform(60.0, 60_000.0)))
        made = made.__class__(
            made.distance_m * 1.000037, (made.ground_amsl_m / 3.0).astype(np.float32), made.clutter_m, np.full_like(made.zone, 4), 0.0, 50.0
        )
        (run,) = work_path(made, tx_height_agl_m=41.37, rx_height_agl_m=9.12, frequencies_mhz=[618.0], erps_kw=2.5)
        file = tmp_path / f"{number}.csv"
        write_profile(file, made)
        again = path_answer(file, frequency_mhz=618.0, tx_height_agl_m=41.37, rx_height_agl_m=9.12, lat_deg=50.0, erp_kw=2.5)
        assert again["loss_db"] == run.loss_db
        assert again["field_strength_dbuv_per_m"] == run.field_strength_dbuv_per_m


@pytest.mark.quick
def test_short_path_and_no_edge(tmp_path):
    file = tmp_path / "street.csv"
    file.write_text("distance_km,height_amsl_m\n0,10\n0.1,10\n0.2,10\n", encoding="utf-8")
    found = path_answer(file, frequency_mhz=1800.0, tx_height_agl_m=30.0, rx_height_agl_m=6.0, lat_deg=50.0)
    assert found["method"] == "free space and diffraction (ITU-R P.525, P.526)"
    assert found["blocking_edge_km"] is None
    assert found["loss_db"] == pytest.approx(92.4 + 20 * math.log10(1.8) + 20 * math.log10(math.hypot(0.2, 0.024)))
    json.dumps(found, allow_nan=False)
    with pytest.raises(MethodRangeError, match="time percentage"):
        path_answer(file, frequency_mhz=1800.0, tx_height_agl_m=30.0, rx_height_agl_m=6.0, lat_deg=50.0, time_pct=60.0)
