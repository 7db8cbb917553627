"""A lattice of fades is asked at random places and heights, and stays within 0.02 dB of direct calls."""

import numpy as np
import pytest

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio.atmosphere import climate, fade
from siteplan.radio.fade_lattice import fade_lattice

pytestmark = pytest.mark.quick
PARTS = ("rain_db", "gas_db", "cloud_db", "scintillation_db", "total_db", "absorption_db")


def tilted(lat, lon):
    """A satellite's elevation and tilt, changing over an area about as they do in truth."""
    return 35.0 - 1.1 * (lat - 45.0) + 0.4 * (np.mod(lon + 180.0, 360.0) - 188.0) * 0.1, 20.0 + 0.7 * lat


def lattice_of(corner, highest, look=tilted, **how):
    lat, lon = corner
    return fade_lattice(
        south_deg=lat, north_deg=lat + 1.0, west_deg=lon, east_deg=lon + 1.0, lowest_amsl_m=0.0, highest_amsl_m=highest, look=look, **how
    )


@pytest.mark.parametrize(
    ("corner", "highest"),
    [
        ((47.31, 8.17), 2500.0),
        ((3.0, 101.0), 800.0),
        ((18.6, 73.2), 1500.0),  # where rain doubles within one cell of the map
        ((-17.5, 179.4), 900.0),  # across the date line
        ((69.03, 20.4), 2000.0),  # the rain begins lower than the mountains end
        ((-0.5, 35.6), 3200.0),  # across the equator
        ((35.55, 24.0), 2400.0),  # across 36 degrees, where the rain formula bends
    ],
)
@pytest.mark.parametrize(("frequency_mhz", "time_pct"), [(12_000.0, 0.01), (19_700.0, 0.1), (11_200.0, 2.5)])
def test_within_0_02_db_of_direct_calls(corner, highest, frequency_mhz, time_pct):
    def look(lat, lon):
        elevation, tilt = tilted(lat, lon)
        return np.clip(elevation, 12.0, 80.0), tilt

    lattice = lattice_of(corner, highest, look, frequency_mhz=frequency_mhz, time_pct=time_pct)
    assert lattice.error_db <= 0.015
    rng = np.random.default_rng(11)
    lat, lon = corner[0] + rng.random(4000), corner[1] + rng.random(4000)
    height = highest * rng.random(4000)
    found = lattice.at(lat_deg=lat, lon_deg=lon, height_amsl_m=height)
    elevation, tilt = look(lat, lon)
    direct = fade(
        climate(lat_deg=lat, lon_deg=lon, height_amsl_m=height),
        frequency_mhz=frequency_mhz,
        elevation_deg=elevation,
        time_pct=time_pct,
        tilt_deg=tilt,
    )
    for part in PARTS:
        assert np.max(np.abs(getattr(found, part) - getattr(direct, part))) <= 0.02, part


def test_nothing_outside():
    lattice = lattice_of((47.3, 8.2), 1000.0, frequency_mhz=12_000.0, time_pct=0.1)
    outside = [(47.2, 8.5, 10), (48.4, 8.5, 10), (47.5, 8.1, 10), (47.5, 9.3, 10), (47.5, 8.5, -1), (47.5, 8.5, 1001), (np.nan, 8.5, 10)]
    for lat, lon, height in outside:
        found = lattice.at(lat_deg=lat, lon_deg=lon, height_amsl_m=height)
        assert all(np.isnan(getattr(found, part)) for part in PARTS), (lat, lon, height)
    edge = lattice.at(lat_deg=[47.3, 48.3], lon_deg=[8.2, 9.2], height_amsl_m=[0.0, 1000.0])
    assert np.isfinite(edge.total_db).all()


def test_places_the_satellite_does_not_rise_for_are_unknown():
    def look(lat, lon):
        return np.where(lat > 47.8, np.nan, 20.0) + 0.0 * lon, np.full(np.broadcast(lat, lon).shape, 45.0)

    lattice = lattice_of((47.3, 8.2), 500.0, look, frequency_mhz=12_000.0, time_pct=0.1)
    assert np.isnan(lattice.at(lat_deg=48.2, lon_deg=8.5, height_amsl_m=100.0).total_db)
    assert np.isfinite(lattice.at(lat_deg=47.4, lon_deg=8.5, height_amsl_m=100.0).total_db)


def test_one_point_and_one_height_are_an_area_too():
    lattice = fade_lattice(
        south_deg=47.4, north_deg=47.4, west_deg=8.4, east_deg=8.4, lowest_amsl_m=400.0, highest_amsl_m=400.0,
        look=tilted, frequency_mhz=12_000.0, time_pct=0.1,
    )  # fmt: skip
    assert np.isfinite(lattice.at(lat_deg=47.4, lon_deg=8.4, height_amsl_m=400.0).total_db)


def test_what_is_no_area():
    with pytest.raises(InputError, match="No area"):
        fade_lattice(
            south_deg=48.0, north_deg=47.0, west_deg=8.0, east_deg=9.0, lowest_amsl_m=0.0, highest_amsl_m=1.0,
            look=tilted, frequency_mhz=12_000.0, time_pct=0.1,
        )  # fmt: skip
    with pytest.raises(InputError, match="cut it into tiles"):
        fade_lattice(
            south_deg=-80.0, north_deg=80.0, west_deg=-180.0, east_deg=179.0, lowest_amsl_m=0.0, highest_amsl_m=1000.0,
            look=tilted, frequency_mhz=12_000.0, time_pct=0.1,
        )  # fmt: skip
    with pytest.raises(MethodRangeError, match="55000 MHz"):
        lattice_of((47.3, 8.2), 100.0, frequency_mhz=60_000.0, time_pct=0.1)
