"""The diffraction part of the ITU-R P.452-18 examples: the same delta-Bullington method on other terrain, to higher frequencies."""

import csv

import numpy as np
import pytest
from authorities.authority_rows import rows_of
from shared_data import need_shared

from siteplan.radio import kernels
from siteplan.radio.methods.kernels import TERM_NAMES, diffraction_part

TERMS = {name: place for place, name in enumerate(TERM_NAMES)}
ZONES = {"sea": 1, "coastal": 3, "inland": 4}


def hold(cases, points):
    by_name = {}
    for point in points:
        by_name.setdefault(point["profile"], []).append((float(point["d_km"]), float(point["h_amsl_m"]), ZONES[point["zone"]]))
    for case in cases:
        km, height, zone = np.array(by_name[case["profile"]]).T
        km, height = np.ascontiguousarray(km), np.ascontiguousarray(height)
        geometry = kernels.geometry(
            km,
            height,
            height,
            zone.astype(np.uint8),
            height[0] + float(case["htg_m"]),
            height[-1] + float(case["hrg_m"]),
            float(case["ae_km"]),
            3 * 6371.0,
        )
        assert geometry[kernels.HSTD] == pytest.approx(float(case["hstd_m"]), abs=1e-4)
        assert geometry[kernels.HSRD] == pytest.approx(float(case["hsrd_m"]), abs=1e-4)
        assert geometry[kernels.OMEGA] == pytest.approx(float(case["omega_sea_fraction"]), abs=1e-5)
        terms = diffraction_part(geometry, float(case["f_ghz"]), float(case["p_pct"]), float(case["beta0_pct"]), case["pol"] == "V")
        for ours, theirs in (("spherical_earth_50_db", "ldsph50_db"), ("diffraction_50_db", "ld50_db"), ("diffraction_p_db", "ldp_db")):
            assert terms[TERMS[ours]] == pytest.approx(float(case[theirs]), abs=0.001), (case, ours)


@pytest.mark.quick
def test_inland_cases():
    cases = rows_of("p452_cases.csv")
    assert len(cases) == 70
    hold(cases, rows_of("p452_profiles.csv"))


def test_cases_over_the_sea():
    """The third profile of the set, 4253 points over sea and coast, lies beside the checkout only."""
    folder = need_shared("standards")
    with open(folder / "p452_diffraction_profiles.csv", encoding="utf-8", newline="") as file:
        points = [row for row in csv.DictReader(file) if row["profile"] == "tropo_7001"]
    with open(folder / "p452_diffraction_cases.csv", encoding="utf-8", newline="") as file:
        cases = [row for row in csv.DictReader(file) if row["profile"] == "tropo_7001"]
    assert len(cases) == 35
    hold(cases, points)
