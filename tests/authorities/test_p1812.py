"""ITU-R P.1812-8: every intermediate of the published reference cases, and measured paths worked with the reference implementation."""

import csv
import math

import measured_links
import numpy as np
import pytest
from authorities.authority_rows import DATA, rows_of
from shared_data import need_shared

from siteplan.errors import MethodRangeError
from siteplan.radio.methods import p1812
from siteplan.records.results import Profile

CASES = rows_of("p1812_cases.csv")
TOLERANCE = 1e-5  # the file holds 10 figures; asked for: 0.01 dB
# name of ours -> column of the cases. *_beta columns are at three Earth radii.
COLUMNS = {
    "free_space_db": "lbfs_db",
    "line_of_sight_p_db": "lb0p_db",
    "line_of_sight_beta_db": "lb0beta_db",
    "bullington_actual_50_db": "lbulla50_db",
    "bullington_smooth_50_db": "lbulls50_db",
    "spherical_earth_50_db": "ldsph50_db",
    "diffraction_50_db": "ld50_db",
    "bullington_actual_beta_db": "lbulla_abeta_db",
    "bullington_smooth_beta_db": "lbulls_abeta_db",
    "spherical_earth_beta_db": "ldsph_abeta_db",
    "diffraction_beta_db": "ldbeta_db",
    "diffraction_p_db": "ldp_db",
    "basic_diffraction_50_db": "lbd50_db",
    "basic_diffraction_p_db": "lbd_db",
    "least_line_of_sight_p_db": "lminb0p_db",
    "ducting_db": "lba_db",
    "least_line_of_sight_and_ducting_p_db": "lminbap_db",
    "diffraction_or_ducting_db": "lbda_db",
    "modified_diffraction_db": "lbam_db",
    "troposcatter_db": "lbs_db",
    "combined_db": "lbc_db",
    "fi": "Fi",
    "fj": "Fj",
    "fk": "Fk",
    "theta_t_mrad": "theta_t_mrad",
    "theta_r_mrad": "theta_r_mrad",
    "theta_mrad": "theta_mrad",
    "tx_horizon_km": "dlt_km",
    "rx_horizon_km": "dlr_km",
    "effective_radius_km": "ae_km",
    "smooth_earth_tx_amsl_m": "hstd_m",
    "smooth_earth_rx_amsl_m": "hsrd_m",
    "effective_height_tx_m": "hte_m",
    "effective_height_rx_m": "hre_m",
    "roughness_m": "hm_m",
    "sea_fraction": "omega_sea_fraction",
    "longest_land_km": "dtm_km",
    "longest_inland_km": "dlm_km",
    "beta0_pct": "beta0_pct",
}


def profiles():
    """Profiles of the extract; blocks of profiles that share terrain."""
    found, names = {}, []
    for line in (DATA / "p1812_profiles.csv").read_text(encoding="utf-8").splitlines():
        if line.startswith(">"):
            names = line[1:].split(",")
            found |= {name: [] for name in names}
        elif not line.startswith("#"):
            cells = [float(cell) for cell in line.split(",")]
            for place, name in enumerate(names):
                found[name].append((cells[0], cells[1], cells[2 + 2 * place], cells[3 + 2 * place]))
    made = {}
    for name, rows in found.items():
        km, height, clutter, zone = np.array(rows).T
        made[name] = Profile(km * 1000.0, height, clutter, zone.astype(np.uint8), math.nan, math.nan)
    return made


PROFILES = profiles()


def prepared(case):
    return p1812.prepare(
        PROFILES[case["profile"]],
        tx_height_agl_m=float(case["htg_m"]),
        rx_height_agl_m=float(case["hrg_m"]),
        delta_n=float(case["dn_nunits_per_km"]),
        n0=float(case["n0_nunits"]),
        lat_mid_deg=float(case["phi_path_deg"]),
        tx_coast_m=1000.0 * float(case["dct_km"]),
        rx_coast_m=1000.0 * float(case["dcr_km"]),
    )


@pytest.mark.quick
@pytest.mark.parametrize("case", CASES, ids=lambda case: case["case"])
def test_every_intermediate(case):
    found = p1812.loss_db(
        prepared(case),
        frequency_mhz=1000.0 * float(case["f_ghz"]),
        time_pct=float(case["p_pct"]),
        polarisation=case["pol"],
        erp_kw=float(case["ptx_erp_kw"]),
    )
    for ours, theirs in COLUMNS.items():
        assert found.intermediates[ours] == pytest.approx(float(case[theirs]), abs=TOLERANCE), ours
    assert found.loss_db == pytest.approx(float(case["lb_db"]), abs=TOLERANCE)
    assert found.field_strength_dbuv_per_m == pytest.approx(float(case["e_dbuvm_at_ptx"]), abs=TOLERANCE)


def test_one_search_serves_every_frequency():
    """The urban profile is asked at six frequencies and three time percentages of one geometry."""
    cases = [case for case in CASES if case["profile"] == "rburg_urban_with_clutter"]
    assert len(cases) == 6
    geometry = prepared(cases[0])
    for case in cases:
        found = p1812.loss_db(geometry, frequency_mhz=1000.0 * float(case["f_ghz"]), time_pct=float(case["p_pct"]))
        assert found.loss_db == pytest.approx(float(case["lb_db"]), abs=TOLERANCE)


def test_the_cases_reach_over_sea_coast_and_inland():
    """The published cases, which always run, hold every zone and much sea: a zone mixed up shows without ../shared."""
    zones = {int(zone) for case in CASES for zone in np.unique(PROFILES[case["profile"]].zone)}
    assert zones == {1, 3, 4}
    shares = [float(case["omega_sea_fraction"]) for case in CASES]
    assert min(shares) == 0.0
    assert max(shares) > 0.3


def test_measured_paths_as_the_reference_works_them():
    """All 258 values on 100 links over land, coast and sea; asked for: 0.05 dB; the reference code itself gives 0.0001 dB."""
    found = measured_links.rows(need_shared("standards/measured_paths"))
    assert len(found) == 258
    assert len({row.station for row in found}) == 100
    assert {row.kind for row in found} == {"land", "coastal land", "mixed", "sea"}
    for row in found:
        assert row.ours_db == pytest.approx(row.reference_db, abs=0.0002), (row.station, row.time_pct)


def test_measured_rows_without_a_reference_value_lie_outside_the_method():
    """Of the 571 rows on 123 links the other 313 are above 6 GHz, under 1 % or over 50 % of time: refused, never clamped."""
    folder = need_shared("standards/measured_paths")
    with open(folder / "paths.csv", encoding="utf-8", newline="") as file:
        mhz = {row["station"]: float(row["frequency_mhz"]) for row in csv.DictReader(file)}
    with open(folder / "measured.csv", encoding="utf-8", newline="") as file:
        rest = [row for row in csv.DictReader(file) if not row["p1812_reference_loss_db"]]
    assert (len(mhz), len(rest)) == (123, 313)
    flat = Profile(np.linspace(0, 1e5, 11), np.zeros(11), np.zeros(11), np.full(11, 4, np.uint8), 0.0, 50.0)
    level = p1812.prepare(flat, tx_height_agl_m=50.0, rx_height_agl_m=10.0)
    for row in rest:
        with pytest.raises(MethodRangeError, match="frequency|time percentage"):
            p1812.loss_db(level, frequency_mhz=mhz[row["station"]], time_pct=float(row["time_pct"]))


def test_how_far_it_lies_from_measurements():
    """Bias, sigma and RMSE of the links without quality flags, as the data's README has them for the reference; nothing is fitted."""
    found = [row for row in measured_links.rows(need_shared("standards/measured_paths")) if row.trusted]
    count, *figures = measured_links.bias_sigma_rmse([row.ours_db - row.measured_db for row in found])
    assert count == 144
    assert figures == pytest.approx([-7.7, 8.6, 11.5], abs=0.05)
    assert measured_links.bias_sigma_rmse([1.0, -3.0]) == pytest.approx((2, -1.0, 8.0**0.5, 5.0**0.5))
