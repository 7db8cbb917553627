"""ITU-R P.840-8: cloud water and cloud attenuation, every row.

Rows of P.840-9 are not here: that edition rests on maps which no released library carries, and no row can be worked without them.
"""

import math

import pytest
from authorities.authority_rows import rows_of

from siteplan.errors import MethodRangeError
from siteplan.radio import atmosphere, itur_door

pytestmark = pytest.mark.quick


def numbers(name):
    return [{key: float(value) for key, value in row.items()} for row in rows_of(name)]


def test_cloud_water():
    """1e-7 kg/m2: the rows carry eight decimals; 0.15 and 0.35 % lie between maps."""
    rows = numbers("p840_8_lred.csv")
    assert len(rows) == 48 and {0.15, 0.35} < {row["p_pct"] for row in rows}
    for row in rows:
        found = itur_door.cloud_water_kg_per_m2(lat_deg=row["lat_deg"], lon_deg=row["lon_deg"], time_pct=row["p_pct"])
        assert found == pytest.approx(row["lred_kg_m2"], abs=1e-7), row


def test_cloud_attenuation():
    rows = numbers("p840_8_cloud.csv")
    assert len(rows) == 48
    for row in rows:
        water = itur_door.cloud_water_kg_per_m2(lat_deg=row["lat_deg"], lon_deg=row["lon_deg"], time_pct=row["p_pct"])
        loss = water * atmosphere.cloud_db_per_kg_per_m2(frequency_mhz=1000.0 * row["f_ghz"]) / math.sin(math.radians(row["el_deg"]))
        assert loss == pytest.approx(row["a_cloud_db"], abs=1e-7), row


@pytest.mark.parametrize("time_pct", [0.05, 99.5, float("nan")])
def test_beyond_the_maps(time_pct):
    with pytest.raises(MethodRangeError, match=r"0\.1 to 99"):
        itur_door.cloud_water_kg_per_m2(lat_deg=0.0, lon_deg=0.0, time_pct=time_pct)
