"""ITU-R P.837 (rain rates), P.838 (specific attenuation of rain) and P.839 (rain height): every row."""

import pytest
from authorities.authority_rows import rows_of

from siteplan.radio import atmosphere, itur_door
from siteplan.radio.rain import rain_coefficients, rain_rate_mm_per_h

pytestmark = pytest.mark.quick


def numbers(name):
    return [{key: float(value) for key, value in row.items()} for row in rows_of(name)]


def place(row):
    return {"lat_deg": row["lat_deg"], "lon_deg": row["lon_deg"]}


def test_rain_rate_of_001_per_cent():
    """1e-9 mm/h: the same map, bilinear."""
    rows = numbers("p837_7_r001.csv")
    assert len(rows) == 6
    for row in rows:
        assert itur_door.rain_rate_001_mm_per_h(**place(row)) == pytest.approx(row["rain_rate_mm_h"], abs=1e-9)
        assert rain_rate_mm_per_h(**place(row), time_pct=0.01) == pytest.approx(row["rain_rate_mm_h"], abs=1e-9)


def test_rain_rate_of_other_percentages():
    """0.05 mm/h: the examples solve for the rate less closely than we do."""
    rows = numbers("p837_7_rain_rate.csv")
    assert len(rows) == 30
    for row in rows:
        assert rain_rate_mm_per_h(**place(row), time_pct=row["p_pct"]) == pytest.approx(row["rain_rate_mm_h"], abs=0.05), row


def test_it_does_not_always_rain():
    assert rain_rate_mm_per_h(lat_deg=51.5, lon_deg=-0.14, time_pct=60.0) == 0.0
    rates = [rain_rate_mm_per_h(lat_deg=51.5, lon_deg=-0.14, time_pct=p) for p in (0.001, 0.02, 0.1, 1.0, 5.0)]
    assert rates == sorted(rates, reverse=True) and rates[-1] > 0.0


def test_coefficients():
    """k to its seven decimals, alpha to its four."""
    rows = numbers("p838_3_k_alpha.csv")
    assert len(rows) == 38
    for row in rows:
        for tilt, letter in ((0.0, "h"), (90.0, "v")):
            k, alpha = rain_coefficients(frequency_mhz=1000.0 * row["f_ghz"], elevation_deg=0.0, tilt_deg=tilt)
            assert k == pytest.approx(row[f"k_{letter}"], abs=5.1e-8), row
            assert alpha == pytest.approx(row[f"alpha_{letter}"], abs=5.1e-5), row


def test_specific_attenuation():
    rows = numbers("p838_3_specific_attenuation.csv")
    assert len(rows) == 48
    for row in rows:
        k, alpha = rain_coefficients(frequency_mhz=1000.0 * row["f_ghz"], elevation_deg=row["el_deg"], tilt_deg=row["tau_deg"])
        assert k == pytest.approx(row["k"], abs=1e-8)
        assert alpha == pytest.approx(row["alpha"], abs=1e-8)
        assert k * row["rain_rate_mm_h"] ** alpha == pytest.approx(row["gamma_rain_db_km"], abs=1e-7)


def test_rain_height():
    """1 cm: the rows carry eight decimals of a kilometre."""
    rows = numbers("p839_4_rain_height.csv")
    assert len(rows) == 6
    for row in rows:
        assert itur_door.zero_isotherm_amsl_m(**place(row)) == pytest.approx(1000.0 * row["h0_km"], abs=0.01)
        sky = atmosphere.climate_at(**place(row), height_amsl_m=0.0)
        assert sky.rain_height_amsl_m == pytest.approx(1000.0 * row["hr_km"], abs=0.01)
