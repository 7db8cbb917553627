"""Where an orbit puts a satellite: against astropy and sgp4 themselves, and by hand."""

import math
from dataclasses import replace
from datetime import date, datetime

import numpy as np
import pytest

from siteplan.records.orbit import MeanElements
from siteplan.sky.look_angles import look_angles
from siteplan.sky.orbit import box_across_deg, day_of, earth_fixed_m, point_below, sidereal_angle_rad
from siteplan.sky.sgp4_door import julian_date, teme_places_m

pytestmark = pytest.mark.quick
STILL = MeanElements("Still", 99001, datetime(2026, 6, 10, 6), 0.05, 90.0, 0.0001, 0.0, 340.0, 1.00273791)


def test_julian_date():
    # 2000-01-01 12:00 is 2451545.0 (IAU)
    whole, fraction = julian_date(datetime(2000, 1, 1, 12))
    assert whole + fraction == 2_451_545.0


def test_sidereal_time_against_the_library_of_the_method():
    from sgp4.propagation import gstime

    for moment in (datetime(1995, 3, 1, 7), datetime(2026, 6, 11), datetime(2029, 12, 31, 23, 59)):
        jd, fraction = julian_date(moment)
        assert float(sidereal_angle_rad(jd, fraction)) == pytest.approx(gstime(jd + fraction), abs=1e-9)


@pytest.mark.parametrize("inclination_deg", [0.05, 3.0, 9.0])
def test_the_point_below_against_astropy(inclination_deg):
    pytest.importorskip("astropy")
    from astropy import units
    from astropy.coordinates import ITRS, TEME, CartesianRepresentation
    from astropy.time import Time
    from astropy.utils import iers

    one = replace(STILL, inclination_deg=inclination_deg)
    jd, fraction = julian_date(datetime(2026, 6, 11))
    steps = fraction + np.linspace(0.0, 1.0, 9)
    days = np.full(9, jd)
    with iers.conf.set_temp("auto_download", False), iers.conf.set_temp("iers_degraded_accuracy", "warn"):
        moments = Time(days, steps, format="jd", scale="utc")
        frame = TEME(CartesianRepresentation(teme_places_m(one, days, steps).T * units.m), obstime=moments)
        there = frame.transform_to(ITRS(obstime=moments)).earth_location.geodetic
    latitude, longitude = point_below(earth_fixed_m(one, days, steps))
    assert latitude == pytest.approx(there.lat.deg, abs=0.01) and longitude == pytest.approx(there.lon.deg, abs=0.01)


def test_the_daily_figure_of_a_satellite():
    still = day_of(STILL, date(2026, 6, 11))
    assert abs(still.drift_deg_per_day) < 0.02 and still.age_days == 0.75
    tilted = day_of(replace(STILL, inclination_deg=5.0, eccentricity=0.0), date(2026, 6, 11))
    # north and south by the inclination (moon and sun pull at it by hundredths); east and west by i^2 / 4 each way: 5 deg gives 0.109
    assert tilted.lat_across_deg == pytest.approx(10.0, abs=0.1)
    assert tilted.lon_across_deg == pytest.approx(2 * math.degrees(math.radians(5.0) ** 2 / 4.0), abs=0.06)
    # an eccentric orbit swings by 2 e radians each way: 0.01 gives 2 x 1.146
    assert day_of(replace(STILL, eccentricity=0.01), date(2026, 6, 11)).lon_across_deg == pytest.approx(2.292, abs=0.05)


def test_drift_is_what_the_mean_motion_lacks():
    base = day_of(STILL, date(2026, 6, 11)).drift_deg_per_day
    # 0.001 revolutions a day more are 0.36 degrees a day eastwards
    assert day_of(replace(STILL, mean_motion=STILL.mean_motion + 0.001), date(2026, 6, 11)).drift_deg_per_day - base == pytest.approx(
        0.36, abs=0.005
    )


def test_how_wide_a_box_looks():
    radius = 42_164_000.0
    angles = np.radians(np.array([24.9, 25.0, 25.1]))
    track = np.stack((radius * np.cos(angles), radius * np.sin(angles), np.zeros(3)), axis=1)
    # straight below: seen from 35,786 km, 0.2 degrees at 42,164 km are 0.2 x 42164 / 35786 = 0.2356
    assert box_across_deg(track, lat_deg=0.0, lon_deg=25.0, height_ell_m=0.0) == pytest.approx(0.2356, abs=2e-4)
    ends = [look_angles(lat_deg=47.5, lon_deg=-9.5, height_ell_m=0.0, orbit_deg=orbit) for orbit in (24.9, 25.1)]
    across = math.radians(ends[1].azimuth_deg - ends[0].azimuth_deg) * math.cos(math.radians(ends[0].elevation_deg))
    up = math.radians(ends[1].elevation_deg - ends[0].elevation_deg)
    seen = box_across_deg(track, lat_deg=47.5, lon_deg=-9.5, height_ell_m=0.0)
    assert seen == pytest.approx(math.degrees(math.hypot(across, up)), rel=2e-3)
    assert math.isnan(box_across_deg((), lat_deg=0.0, lon_deg=0.0, height_ell_m=0.0))


def test_an_orbit_that_fails_gives_no_place():
    found = day_of(replace(STILL, eccentricity=0.95, mean_motion=16.0), date(2026, 6, 11))
    assert math.isnan(found.lon_deg)
