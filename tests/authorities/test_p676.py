"""ITU-R P.676: specific attenuation of both editions, and the slant path of the approximate method."""

import math

import pytest
from authorities.authority_rows import rows_of

from siteplan.radio import gases

pytestmark = pytest.mark.quick


def numbers(name):
    return [{key: float(value) for key, value in row.items()} for row in rows_of(name)]


@pytest.mark.parametrize(("name", "count"), [("p676_12_gamma.csv", 47), ("p676_13_gamma.csv", 45)])
def test_specific_attenuation(name, count):
    """1e-8 dB/km: the rows of edition 12 carry nine decimals; edition 13 has the same lines."""
    rows = numbers(name)
    assert len(rows) == count
    for row in rows:
        air = {"frequency_ghz": row["f_ghz"], "dry_hpa": row["p_hpa"], "temperature_k": row["t_k"], "vapour_g_per_m3": row["rho_g_m3"]}
        oxygen, vapour = gases.oxygen_db_per_km(**air), gases.vapour_db_per_km(**air)
        assert oxygen == pytest.approx(row["gamma_oxygen_db_km"], abs=1e-8), row
        assert vapour == pytest.approx(row["gamma_water_db_km"], abs=1e-8), row
        assert oxygen + vapour == pytest.approx(row["gamma_total_db_km"], abs=1e-8), row


def test_slant_path():
    """1e-6 dB: the rows carry nine decimals."""
    rows = numbers("p676_12_slant_gas.csv")
    assert len(rows) == 48
    for row in rows:
        zenith = gases.zenith_gas_db(
            frequency_ghz=row["f_ghz"],
            pressure_hpa=row["p_hpa"],
            temperature_k=row["t_k"],
            vapour_g_per_m3=row["rho_g_m3"],
            vapour_kg_per_m2=row["v_t_kg_m2"],
            height_amsl_m=1000.0 * row["h_km"],
        )
        assert zenith / math.sin(math.radians(row["el_deg"])) == pytest.approx(row["a_gas_db"], abs=1e-6), row


def test_pressure_falls_with_height():
    """P.835: 1013.25 hPa at the sea; 898.76 and 540.48 hPa at 1 and 5 km in the US Standard Atmosphere 1976 (geometric height)."""
    assert gases.standard_pressure_hpa([0.0, 1000.0, 5000.0]) == pytest.approx([1013.25, 898.76, 540.48], abs=0.01)


def test_arrays_broadcast():
    air = {"dry_hpa": 1013.25, "temperature_k": 288.15, "vapour_g_per_m3": [[7.5], [0.0]]}
    found = gases.vapour_db_per_km(frequency_ghz=[12.0, 20.0, 30.0], **air)
    assert found.shape == (2, 3)
    assert found[0, 1] == pytest.approx(0.097047305, abs=1e-8)
    assert (found[1] == 0.0).all()
