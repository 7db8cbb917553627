"""The maps: read as the library itself reads them, without loading it, from any thread, and with words where they are absent."""

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from siteplan.errors import MissingLibraryError
from siteplan.radio import itur_door

pytestmark = pytest.mark.quick


@pytest.fixture(scope="module")
def itur_models():
    """The library's own functions; numpy's error state, which loading it changes, put back."""
    before = np.geterr()
    models = pytest.importorskip("itur.models")
    import itur  # noqa: F401
    from itur.models import itu453, itu836, itu837, itu839, itu840, itu1510, itu1511  # noqa: F401

    np.seterr(**before)
    return models


@pytest.fixture(scope="module")
def places():
    rng = np.random.default_rng(7)
    return np.degrees(np.arcsin(rng.uniform(-0.97, 0.97, 120))), rng.uniform(-180.0, 180.0, 120), rng.uniform(0.0, 4000.0, 120)


@pytest.mark.parametrize(
    ("ours", "module", "theirs", "unit", "close"),
    [
        ("rain_rate_001_mm_per_h", "itu837", lambda m, lat, lon: m.rainfall_rate(lat, lon, 0.01), 1.0, 1e-9),
        ("zero_isotherm_amsl_m", "itu839", lambda m, lat, lon: m.isoterm_0(lat, lon), 1000.0, 1e-6),
        ("temperature_k", "itu1510", lambda m, lat, lon: m.surface_mean_temperature(lat, lon), 1.0, 1e-9),
        ("wet_refractivity", "itu453", lambda m, lat, lon: m.map_wet_term_radio_refractivity(lat, lon, 50), 1.0, 1e-9),
        # the library carries 1/12 degree as 0.08333333 (a centimetre on the steepest slopes) and lifts what lies below the sea to it
        ("ground_amsl_m", "itu1511", lambda m, lat, lon: m.topographic_altitude(lat, lon), 1000.0, 0.05),
    ],
)
def test_maps_as_the_library_reads_them(itur_models, places, ours, module, theirs, unit, close):
    lat, lon, _ = places
    found = getattr(itur_door, ours)(lat_deg=lat, lon_deg=lon)
    wanted = np.array([float(theirs(getattr(itur_models, module), a, b).value) for a, b in zip(lat, lon, strict=True)])
    assert np.maximum(found, 0.0) == pytest.approx(unit * wanted, abs=close)


@pytest.mark.parametrize("time_pct", [0.5, 1.0, 4.0, 50.0])
def test_water_as_the_library_reads_it(itur_models, places, time_pct):
    lat, lon, height = places
    place = {"lat_deg": lat, "lon_deg": lon}
    theirs = itur_models.itu836
    rows = list(zip(lat, lon, height / 1000.0, strict=True))
    assert itur_door.water_vapour_kg_per_m2(**place, height_amsl_m=height, time_pct=time_pct) == pytest.approx(
        np.array([float(theirs.total_water_vapour_content(a, b, time_pct, h).value) for a, b, h in rows]), abs=1e-8
    )
    assert itur_door.vapour_density_g_per_m3(**place, height_amsl_m=height, time_pct=time_pct) == pytest.approx(
        np.array([float(theirs.surface_water_vapour_density(a, b, time_pct, h).value) for a, b, h in rows]), abs=1e-8
    )
    assert itur_door.cloud_water_kg_per_m2(**place, time_pct=time_pct) == pytest.approx(
        np.array([float(itur_models.itu840.columnar_content_reduced_liquid(a, b, time_pct).value) for a, b, _ in rows]), abs=1e-9
    )


@pytest.mark.parametrize("name", ["rain_rate_001_mm_per_h", "zero_isotherm_amsl_m", "temperature_k", "wet_refractivity", "ground_amsl_m"])
def test_there_is_no_seam(name):
    """The same place by another longitude is the same place, and either side of a seam is close."""
    ask = getattr(itur_door, name)
    lat = np.linspace(-80.0, 80.0, 33)
    for one, other in ((180.0, -180.0), (0.0, 360.0), (-0.14, 359.86), (190.0, -170.0)):
        assert ask(lat_deg=lat, lon_deg=one) == pytest.approx(ask(lat_deg=lat, lon_deg=other), abs=1e-6)
    for seam in (0.0, 180.0):
        west, east = ask(lat_deg=lat, lon_deg=seam - 1e-7), ask(lat_deg=lat, lon_deg=seam + 1e-7)
        assert west == pytest.approx(east, abs=0.01)


def test_poles_and_corners():
    for lat in (-90.0, 90.0):
        for lon in (-180.0, 0.0, 180.0, 359.99):
            assert np.isfinite(itur_door.rain_rate_001_mm_per_h(lat_deg=lat, lon_deg=lon))
            assert np.isfinite(itur_door.ground_amsl_m(lat_deg=lat, lon_deg=lon))
    assert itur_door.ground_amsl_m(lat_deg=27.988, lon_deg=86.925) > 5000.0  # the highest mountain, in cells of 9 km
    assert np.isnan(itur_door.cloud_water_kg_per_m2(lat_deg=89.0, lon_deg=100.0, time_pct=1.0))


def test_the_library_is_never_loaded_and_numpy_left_alone():
    script = (
        "import sys, warnings, numpy as np\n"
        "errors, filters = np.geterr(), list(warnings.filters)\n"
        "from siteplan.services.shared.fading import fade_here\n"
        "assert not [m for m in sys.modules if m.startswith('itur')]\n"
        "fade_here(lat_deg=45, lon_deg=8, frequency_mhz=12000, elevation_deg=30, time_pct=0.1)\n"
        "assert not {'itur', 'astropy', 'scipy', 'pyproj'} & set(sys.modules)\n"
        "assert np.geterr() == errors and warnings.filters == filters\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr


def test_many_threads_at_once(monkeypatch):
    monkeypatch.setattr(itur_door, "_KEPT", {})
    lats = np.linspace(-60.0, 60.0, 64)

    def ask(lat):
        return float(itur_door.water_vapour_kg_per_m2(lat_deg=lat, lon_deg=20.0, height_amsl_m=100.0, time_pct=1.0))

    with ThreadPoolExecutor(8) as pool:
        found = list(pool.map(ask, lats))
    assert found == [ask(lat) for lat in lats]


def test_words_where_the_maps_are_absent(monkeypatch, tmp_path):
    monkeypatch.setattr(itur_door, "_KEPT", {})
    monkeypatch.setattr(itur_door.importlib.util, "find_spec", lambda name: None)
    with pytest.raises(MissingLibraryError, match="pip install itur"):
        itur_door.rain_rate_001_mm_per_h(lat_deg=0.0, lon_deg=0.0)
    monkeypatch.setattr(itur_door, "_folder", lambda: tmp_path)
    for ask in (lambda: itur_door.rain_rate_001_mm_per_h(lat_deg=0.0, lon_deg=0.0), itur_door.gas_lines):
        with pytest.raises(MissingLibraryError, match="without its data file"):
            ask()


def test_maps_cannot_be_written_over():
    itur_door.temperature_k(lat_deg=0.0, lon_deg=0.0)
    with pytest.raises(ValueError, match="read-only"):
        itur_door._KEPT["1510/v1_t_annual.npz"][0, 0] = 0.0
