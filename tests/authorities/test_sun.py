"""The sun's direction against NREL/TP-560-34302 and astropy, and its nearest approach to satellites against astropy."""

import numpy as np
import pytest
from authorities.authority_rows import rows_of

from siteplan.sky.directions import separation_deg
from siteplan.sky.look_angles import look_angles
from siteplan.sky.sun import approaches, sun_direction

pytestmark = pytest.mark.quick
DIRECTIONS, MINIMA = rows_of("sun_direction.csv"), rows_of("sun_outage_minima.csv")


def place_of(row):
    return {"lat_deg": float(row["lat_deg"]), "lon_deg": float(row["lon_deg"]), "height_ell_m": float(row["height_m"])}


@pytest.mark.parametrize("row", DIRECTIONS, ids=lambda row: f"{row['site'][:12]} {row['utc']}")
def test_direction_to_a_hundredth_of_a_degree(row):
    azimuth, elevation = sun_direction(utc=np.datetime64(row["utc"].rstrip("Z")), **place_of(row))
    assert azimuth == pytest.approx(float(row["azimuth_deg"]), abs=0.01)
    assert elevation == pytest.approx(float(row["elevation_deg"]), abs=0.01)


@pytest.mark.parametrize("row", MINIMA, ids=lambda row: f"{row['site']} {row['date']}")
def test_nearest_approach_to_a_satellite(row):
    place = place_of(row)
    look = look_angles(orbit_deg=float(row["sat_lon_deg"]), **place)
    found = approaches(
        first=np.datetime64(row["date"]), days=1, azimuth_deg=look.azimuth_deg, elevation_deg=look.elevation_deg, **place
    )
    assert found.utc.size == 1
    off = found.utc[0] - np.datetime64(f"{row['date']}T{row['utc_of_min_separation']}")
    assert abs(off / np.timedelta64(1, "s")) <= 30.0
    assert found.separation_deg[0] == pytest.approx(float(row["min_separation_deg"]), abs=0.02)


@pytest.mark.filterwarnings("ignore")  # astropy says that it guesses UT1 for years to come
def test_against_astropy_over_ten_years():
    """400 places and moments drawn from a fixed seed; no tables are fetched: UT1 is taken as UTC beyond those astropy carries."""
    coordinates = pytest.importorskip("astropy.coordinates")
    from astropy.time import Time
    from astropy.utils import iers

    rng = np.random.default_rng(1)
    utc = np.datetime64("2024-01-01T00:00:00") + rng.integers(0, 10 * 365 * 86_400, 400).astype("timedelta64[s]")
    lat, lon = rng.uniform(-65, 65, 400), rng.uniform(-180, 180, 400)
    with iers.conf.set_temp("auto_download", False), iers.conf.set_temp("iers_degraded_accuracy", "ignore"), iers.conf.set_temp(
        "auto_max_age", None
    ):
        when = Time(utc)
        frame = coordinates.AltAz(obstime=when, location=coordinates.EarthLocation.from_geodetic(lon, lat, 0.0))
        sun = coordinates.get_sun(when).transform_to(frame)
    azimuth, elevation = sun_direction(lat_deg=lat, lon_deg=lon, utc=utc)
    assert separation_deg(azimuth, elevation, sun.az.deg, sun.alt.deg).max() < 0.005
