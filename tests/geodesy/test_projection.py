"""Coordinate systems: what is taken, what is refused and in which words, axis order, units, convergence, and no network."""

import math
import threading

import numpy as np
import pytest

from siteplan.errors import InputError
from siteplan.geodesy import projection as proj

pytestmark = pytest.mark.quick
UTM32 = "EPSG:25832"


@pytest.mark.parametrize(
    "text",
    [
        "EPSG:25832",
        "epsg:25832",
        " EPSG : 25832 ",
        "urn:ogc:def:crs:EPSG::25832",
        "+proj=utm +zone=32 +ellps=GRS80 +units=m +no_defs",
        "EPSG:4326+5773",
    ],
)
def test_what_is_taken(text):
    wkt = proj.parse_crs(text)
    assert wkt.startswith(("PROJCRS", "GEOGCRS", "COMPOUNDCRS", "BOUNDCRS"))
    assert proj.parse_crs(wkt) == wkt


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "No coordinate system"),
        ("25832", 'Did you mean "EPSG:25832"'),
        ("UTM 32", "is not a coordinate system"),
        ("EPSG:99999", "PROJ knows"),
        ("EPSG:5703", "does not place points"),  # heights alone
        ("EPSG:4978", "does not place points"),  # from the Earth's centre
        ('LOCAL_CS["site grid",UNIT["metre",1]]', "does not place points"),
        ("/etc/passwd", "is not a coordinate system"),
        ("+proj=nonsense", "PROJ knows"),
        ("X" * 5000, "..."),
    ],
)
def test_what_is_refused(text, word):
    with pytest.raises(InputError, match="Allowed") as refused:
        proj.parse_crs(text)
    assert word in str(refused.value)
    assert len(str(refused.value)) < 500


def test_units_and_names():
    assert proj.is_geographic("EPSG:4326") and not proj.is_geographic(UTM32)
    assert math.isnan(proj.unit_to_metre("EPSG:4258"))
    assert proj.unit_to_metre(UTM32) == 1.0
    assert proj.unit_to_metre("EPSG:2263") == pytest.approx(1200 / 3937, rel=1e-12)  # US survey foot
    assert proj.horizontal_unit("EPSG:2263") == "US survey foot"
    assert proj.unit_to_metre("EPSG:2222") == pytest.approx(0.3048, rel=1e-12)  # international foot
    assert proj.crs_name(UTM32) == "ETRS89 / UTM zone 32N (EPSG:25832)"
    assert math.isnan(proj.vertical_unit_to_metre(UTM32)) and proj.vertical_name(UTM32) == ""
    assert proj.vertical_unit_to_metre("EPSG:2263+6360") == pytest.approx(1200 / 3937, rel=1e-12)
    assert "NAVD88" in proj.vertical_name("EPSG:2263+6360")
    assert proj.vertical_name("EPSG:4979") == "ellipsoidal height"
    assert proj.same_crs("EPSG:4326", "OGC:CRS84") and not proj.same_crs("EPSG:4326", UTM32)


def test_axis_order_is_always_east_then_north():
    lon, lat = proj.to_wgs84(9.5, 47.25, "EPSG:4326")  # declares latitude first
    assert (lon, lat) == (9.5, 47.25)
    x, y = proj.from_wgs84(9.0, 0.0, "EPSG:32632")
    assert x == pytest.approx(500_000.0, abs=1e-6) and y == pytest.approx(0.0, abs=1e-6)
    # Gauss-Krueger declares northing first
    x, y = proj.from_wgs84(9.0, 50.0, "EPSG:31467")
    assert 3.4e6 < x < 3.6e6 and 5.4e6 < y < 5.6e6


def test_published_transverse_mercator_point():
    """EPSG Guidance Note 7-2, section on Transverse Mercator: 50 30 N 0 30 E in the British National Grid."""
    on_wgs84 = proj.to_wgs84(0.5, 50.5, "EPSG:4277")  # the same datum there and back, so only the projection is tested
    x, y = proj.from_wgs84(*on_wgs84, "EPSG:27700")
    assert (x, y) == pytest.approx((577_274.99, 69_740.50), abs=0.02)


def test_unknown_stays_unknown():
    lon, lat = proj.to_wgs84([500_000.0, np.nan, np.inf, 500_000.0], [5e6, 5e6, 5e6, -np.inf], UTM32)
    assert np.isfinite([lon[0], lat[0]]).all() and np.isnan(lon[1:]).all() and np.isnan(lat[1:]).all()
    x, y = proj.from_wgs84([9.0, 9.0, np.nan], [91.0, 47.0, 47.0], UTM32)
    assert np.isnan(x[[0, 2]]).all() and np.isnan(y[[0, 2]]).all() and np.isfinite(x[1])
    lon, lat = proj.to_wgs84(10.0, 95.0, "EPSG:4326")
    assert np.isnan(lon) and np.isnan(lat)


def test_arrays_keep_their_shape_and_inputs_are_left_alone():
    xs, ys = np.linspace(4e5, 6e5, 6).reshape(2, 3), np.full((2, 3), 5.2e6)
    before = xs.copy()
    lon, lat = proj.to_wgs84(xs, ys, UTM32)
    assert lon.shape == lat.shape == (2, 3) and (xs == before).all()
    x, y = proj.from_wgs84(lon, lat, UTM32)
    assert x == pytest.approx(xs, abs=1e-5) and y == pytest.approx(ys, abs=1e-5)
    assert proj.to_wgs84([], [], UTM32)[0].shape == (0,)
    assert proj.to_wgs84(np.zeros((3, 1)) + 5e5, np.full(4, 5e6), UTM32)[0].shape == (3, 4)


def test_longitudes_wrap():
    assert proj.wrap_lon_deg([-180.0, 180.0, 181.0, 540.0, -190.0, 0.0]).tolist() == [180.0, 180.0, -179.0, 180.0, 170.0, 0.0]
    assert proj.to_wgs84(190.0, 10.0, "EPSG:4326")[0] == -170.0


def test_convergence_where_it_is_large():
    """Transverse Mercator: tan(convergence) = tan(dlon) sin(lat) on the sphere; within 0.01 deg of the ellipsoid at this size."""
    for lat, dlon in ((60.0, 8.0), (-60.0, 8.0), (70.0, -20.0), (45.0, 3.0)):
        found = proj.grid_convergence_deg(lat_deg=lat, lon_deg=9.0 + dlon, crs="EPSG:32632")
        assert found == pytest.approx(math.degrees(math.atan(math.tan(math.radians(dlon)) * math.sin(math.radians(lat)))), abs=0.02)


def test_convergence_turns_a_grid_bearing_into_a_true_one():
    lat, lon, crs = 66.0, 24.0, "EPSG:25832"  # 15 degrees off the middle of its zone
    x, y = proj.from_wgs84(lon, lat, crs)
    for grid_bearing in (0.0, 77.0, 201.0):
        lon2, lat2 = proj.to_wgs84(
            x + 50 * math.sin(math.radians(grid_bearing)), y + 50 * math.cos(math.radians(grid_bearing)), crs
        )
        true, _, _ = proj.geod_inverse(lat1_deg=lat, lon1_deg=lon, lat2_deg=lat2, lon2_deg=lon2)
        turned = (grid_bearing + proj.grid_convergence_deg(lat_deg=lat, lon_deg=lon, crs=crs)) % 360.0
        assert abs((true - turned + 180) % 360 - 180) < 0.001
    assert abs(proj.grid_convergence_deg(lat_deg=lat, lon_deg=lon, crs=crs)) > 13.0


def test_convergence_of_degrees_feet_and_the_southern_grid():
    assert proj.grid_convergence_deg(lat_deg=52.0, lon_deg=5.0, crs="EPSG:4326") == pytest.approx(0.0, abs=1e-6)
    # Lambert conic of New York Long Island: cone constant sin(41.03 - 40.67 pair) about 0.654
    assert proj.grid_convergence_deg(lat_deg=41.0, lon_deg=-72.0, crs="EPSG:2263") == pytest.approx(2.0 * 0.6540, abs=0.01)
    # the y axis of the South African grids runs south
    assert abs(proj.grid_convergence_deg(lat_deg=-30.0, lon_deg=29.0, crs="EPSG:2053")) == pytest.approx(180.0, abs=1e-6)
    both = proj.grid_convergence_deg(lat_deg=[60.0, np.nan], lon_deg=[12.0, 12.0], crs=UTM32)
    assert both.shape == (2,) and np.isnan(both[1])


def test_geodesics():
    # Vincenty's own test line: Flinders Peak to Buninyong (Geodetic Datum of Australia manual; GRS80, 0.1 mm off WGS84)
    azimuth, back, distance = proj.geod_inverse(
        lat1_deg=-(37 + 57 / 60 + 3.72030 / 3600), lon1_deg=144 + 25 / 60 + 29.52440 / 3600,
        lat2_deg=-(37 + 39 / 60 + 10.15610 / 3600), lon2_deg=143 + 55 / 60 + 35.38390 / 3600,
    )  # fmt: skip
    assert distance == pytest.approx(54_972.271, abs=0.001)
    assert azimuth == pytest.approx(306 + 52 / 60 + 5.37 / 3600, abs=0.01 / 3600)
    assert back == pytest.approx(127 + 10 / 60 + 25.07 / 3600, abs=0.01 / 3600)
    lat, lon = proj.geod_forward(lat_deg=50.0, lon_deg=179.99, azimuth_deg=90.0, distance_m=[0.0, 5000.0, np.nan])
    assert lon[0] == pytest.approx(179.99) and -180 < lon[1] < -179.9 and np.isnan([lon[2], lat[2]]).all()
    azimuth, _, distance = proj.geod_inverse(lat1_deg=50, lon1_deg=5, lat2_deg=50, lon2_deg=5)
    assert distance == 0.0 and 0 <= azimuth < 360


def test_a_plane_around_a_place():
    crs = proj.local_crs(lat_deg=48.0, lon_deg=11.0)
    assert proj.from_wgs84(11.0, 48.0, crs) == pytest.approx((0.0, 0.0), abs=1e-6)
    lat, lon = proj.geod_forward(lat_deg=48.0, lon_deg=11.0, azimuth_deg=30.0, distance_m=20_000.0)
    assert proj.from_wgs84(lon, lat, crs) == pytest.approx((10_000.0, 20_000 * math.cos(math.pi / 6)), abs=0.01)
    with pytest.raises(InputError, match="Allowed"):
        proj.local_crs(lat_deg=98.0, lon_deg=11.0)


def test_each_thread_has_its_own_transformer():
    seen, wrong = [], []

    def work(x):
        for _ in range(50):
            lon, lat = proj.to_wgs84(x, 5.3e6, UTM32)
            back = proj.from_wgs84(lon, lat, UTM32)
            if abs(back[0] - x) > 1e-5:
                wrong.append(x)
        seen.append(id(proj._transformer(UTM32, True)))

    threads = [threading.Thread(target=work, args=(4e5 + 1e4 * n,)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not wrong and len(seen) == 4


def test_nothing_is_fetched():
    import pyproj.network

    proj.to_wgs84(5e5, 5e6, "EPSG:27700")
    assert not pyproj.network.is_network_enabled()
    assert math.isnan(proj.wgs84_accuracy_m("EPSG:27700")) or proj.wgs84_accuracy_m("EPSG:27700") > 0
