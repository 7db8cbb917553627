"""Look angles and skew against values computed apart from this program, and against worked examples of a handbook."""

import math

import pytest
from authorities.authority_rows import number, rows_of

from siteplan.sky.arc import arc_points
from siteplan.sky.look_angles import look_angles, look_angles_array

pytestmark = pytest.mark.quick
ROWS = rows_of("geo_look_angles_wgs84.csv")


def turn(first, second):
    return abs((first - second + 180.0) % 360.0 - 180.0)


@pytest.mark.parametrize("row", ROWS, ids=[f"{row['site']}-{row['sat_lon_deg']}-{n}" for n, row in enumerate(ROWS)])
def test_independent_table(row):
    look = look_angles(
        lat_deg=number(row["lat_deg"]),
        lon_deg=number(row["lon_deg"]),
        height_ell_m=number(row["height_m"]),
        orbit_deg=number(row["sat_lon_deg"]),
    )
    # tolerances are the table's rounding, ten and more times inside what is asked (0.01 deg, 1 km, 0.05 deg)
    assert look.elevation_deg == pytest.approx(number(row["elevation_deg"]), abs=1e-4)
    assert look.range_km == pytest.approx(number(row["range_km"]), abs=1e-3)
    if row["azimuth_deg"]:
        assert turn(look.azimuth_deg, number(row["azimuth_deg"])) <= 1e-4
        assert look.skew_deg == pytest.approx(number(row["skew_cw_deg"]), abs=1e-4)


def test_independent_table_as_arrays():
    columns = {name: [number(row[name]) for row in ROWS] for name in ("lat_deg", "lon_deg", "height_m", "sat_lon_deg", "range_km")}
    found = look_angles_array(
        lat_deg=columns["lat_deg"], lon_deg=columns["lon_deg"], height_ell_m=columns["height_m"], orbit_deg=columns["sat_lon_deg"]
    )
    assert found.range_km == pytest.approx(columns["range_km"], abs=1e-3)


def test_45_north_75_east_is_not_the_spherical_answer():
    """On a sphere it would be 100.7286 and 1.8493; the ellipsoid is what counts near the horizon."""
    look = look_angles(lat_deg=45, lon_deg=0, height_ell_m=0, orbit_deg=75)
    assert look.azimuth_deg == pytest.approx(100.6995, abs=5e-5)
    assert look.elevation_deg == pytest.approx(1.8643, abs=5e-5)


def test_handbook_examples():
    """Satellite Communications, 4th edition, examples 3.1, 3.2 and 3.4: a sphere of 6371 km. On the ellipsoid 35 N is 34.82 from
    the Earth's centre, 20 km nearer to the equator, which shortens the range by 12.5 km: hence the wide tolerances."""
    look = look_angles(lat_deg=35, lon_deg=-100, height_ell_m=0, orbit_deg=-90)
    assert look.azimuth_deg == pytest.approx(162.9, abs=0.1)
    assert look.range_km == pytest.approx(37215, abs=15)
    assert look.elevation_deg == pytest.approx(48, abs=0.5)
    arc = arc_points(lat_deg=48.42, lon_deg=-89.26, step_deg=1.0, lowest_deg=5.0)
    assert arc.orbit_deg[-1] == pytest.approx(-20.10, abs=0.2)
    assert arc.orbit_deg[0] == pytest.approx(-158.42, abs=0.2)


def test_distances_of_the_table_need_the_height():
    low, high = (look_angles(lat_deg=45, lon_deg=0, height_ell_m=h, orbit_deg=0) for h in (0.0, 4000.0))
    assert low.range_km - high.range_km == pytest.approx(4.0 * math.sin(math.radians(low.elevation_deg)), abs=0.01)
