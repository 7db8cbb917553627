"""Coordinate systems and geodesics: the only module that imports pyproj. Axis order is always x (east), y (north)."""

from __future__ import annotations

import re
import threading
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from siteplan.errors import InputError, told, wording

if TYPE_CHECKING:
    import pyproj
    from numpy.typing import ArrayLike, NDArray

WGS84 = "EPSG:4326"
_ALLOWED = wording('an authority and code such as "EPSG:25832", WKT, or PROJ text such as "+proj=utm +zone=32 +datum=WGS84"')
_AUTHORITY = re.compile(r"^\s*([A-Za-z]{2,12})\s*:\s*:?\s*([0-9A-Za-z]+(?:\s*\+\s*[0-9]+)?)\s*$")
_URN = re.compile(r"^\s*urn:ogc:def:crs:[A-Za-z]+:[0-9.]*:[0-9A-Za-z]+\s*$", re.IGNORECASE)
_WKT = re.compile(r'^\s*[A-Za-z_0-9]+\s*[\[(]\s*"')
_KEPT_TRANSFORMERS = 64  # per thread; a run meets a handful of coordinate systems
_per_thread = threading.local()


def _pyproj() -> pyproj:  # type: ignore[valid-type]
    """Load pyproj once, with its fetching of datum grids switched off: a run never touches the network."""
    import pyproj
    import pyproj.network

    pyproj.network.set_network_enabled(False)
    return pyproj


def _shown(text: str) -> str:
    short = " ".join(str(text).split())
    return short if len(short) <= 80 else short[:77] + "..."


@lru_cache(maxsize=256)
def _crs(text: str) -> pyproj.CRS:
    proj = _pyproj()
    known_form = _AUTHORITY.match(text) or _URN.match(text) or _WKT.match(text) or "+proj=" in text or "+init=" in text
    if not known_form:
        hint = told(' Did you mean "EPSG:{text}"?', text=text.strip()) if text.strip().isdigit() else ""
        raise InputError(
            told("{shown!r} is not a coordinate system.{hint} Allowed: {allowed}.", shown=_shown(text), hint=hint, allowed=_ALLOWED)
        )
    match = _AUTHORITY.match(text)
    wanted = f"{match[1].upper()}:{match[2]}".replace(" ", "") if match else text.strip()
    try:
        crs = proj.CRS.from_user_input(wanted)
    except proj.exceptions.CRSError:
        raise InputError(
            told("{shown!r} is not a coordinate system that PROJ knows. Allowed: {allowed}.", shown=_shown(text), allowed=_ALLOWED)
        ) from None
    horizontal = _horizontal(crs)
    if not (horizontal.is_projected or horizontal.is_geographic):
        raise InputError(
            told(
                "{shown!r} ({type_name}) does not place points on the Earth by two coordinates. Name the projected or "
                "longitude/latitude system that the data are in. Allowed: {allowed}.",
                shown=_shown(text),
                type_name=crs.type_name,
                allowed=_ALLOWED,
            )
        )
    return crs


def _horizontal(crs: pyproj.CRS) -> pyproj.CRS:
    if crs.is_compound and crs.sub_crs_list:
        crs = crs.sub_crs_list[0]
    if len(crs.axis_info) == 3 and not crs.is_geocentric:
        crs = crs.to_2d()
    return crs


@lru_cache(maxsize=256)
def _flat_crs(text: str) -> pyproj.CRS:
    return _horizontal(_crs(text))


def parse_crs(text: str) -> str:
    """Return a coordinate system as WKT.

    text  "EPSG:25832" or another authority and code, WKT of any flavour, or PROJ text

    Returns WKT (2019). Raises InputError, saying what is allowed, where the text is something else or does not place points
    on the Earth (a local engineering system, heights alone). Source: OGC 18-010r7 (WKT of coordinate reference systems).
    """
    if not isinstance(text, str) or not text.strip():
        raise InputError(told("No coordinate system is named. Allowed: {allowed}.", allowed=_ALLOWED))
    return _crs(text).to_wkt()


def crs_name(crs: str) -> str:
    """Return a short name for messages, with its code where it has one: "ETRS89 / UTM zone 32N (EPSG:25832)"."""
    found = _crs(crs)
    authority = found.to_authority(min_confidence=90)
    return f"{found.name} ({authority[0]}:{authority[1]})" if authority else found.name


def is_geographic(crs: str) -> bool:
    """Return whether the horizontal axes are longitude and latitude in degrees; InputError for no coordinate system."""
    return bool(_flat_crs(crs).is_geographic)


def same_crs(crs_a: str, crs_b: str) -> bool:
    """Return whether two coordinate systems give the same x and y for the same place (axis order and heights set aside)."""
    return bool(_flat_crs(crs_a).equals(_flat_crs(crs_b), ignore_axis_order=True))


def unit_to_metre(crs: str) -> float:
    """Return how many metres one unit of the horizontal axes is: 1.0, 0.3048 (foot), 0.3048006... (US survey foot).

    NaN for longitude and latitude, whose unit is not a length. Raises InputError for no coordinate system.
    """
    found = _flat_crs(crs)
    return float("nan") if found.is_geographic else float(found.axis_info[0].unit_conversion_factor)


def horizontal_unit(crs: str) -> str:
    """Return the name of the unit of the horizontal axes: "metre", "foot", "US survey foot", "degree"."""
    return _flat_crs(crs).axis_info[0].unit_name


def _vertical_axis(crs: str) -> object | None:
    return next((axis for axis in _crs(crs).axis_info if axis.direction in ("up", "down")), None)


def vertical_unit_to_metre(crs: str) -> float:
    """Return how many metres one unit of the vertical axis is, where the coordinate system has one; NaN where it has none."""
    axis = _vertical_axis(crs)
    return float("nan") if axis is None else float(axis.unit_conversion_factor)  # type: ignore[attr-defined]


def vertical_name(crs: str) -> str:
    """Return the name of the heights of a compound system ("NAVD88 height (ftUS)"), "ellipsoidal height", or "" where it names none."""
    found = _crs(crs)
    if found.is_compound and len(found.sub_crs_list) > 1:
        return found.sub_crs_list[1].name
    return "" if _vertical_axis(crs) is None else "ellipsoidal height"


def wgs84_accuracy_m(crs: str) -> float:
    """Return the stated accuracy of the change from this system to WGS84 in metres, by PROJ's registry; NaN where it states none.

    Finer grids of a national datum are not fetched, so a change that needs one falls back to a few metres.
    """
    accuracy = float(_transformer(crs, True).accuracy)
    return accuracy if accuracy >= 0 else float("nan")


def _transformer(crs: str, to_wgs: bool) -> pyproj.Transformer:
    kept = getattr(_per_thread, "transformers", None)
    if kept is None:
        kept = _per_thread.transformers = {}
    key = (crs, to_wgs)
    if key not in kept:
        if len(kept) >= _KEPT_TRANSFORMERS:
            kept.clear()
        proj = _pyproj()
        own, wgs84 = _flat_crs(crs), _crs(WGS84)
        source, target = (own, wgs84) if to_wgs else (wgs84, own)
        try:
            kept[key] = proj.Transformer.from_crs(source, target, always_xy=True)
        except proj.exceptions.ProjError:
            raise InputError(
                told("{shown!r} can't be related to WGS84. Name another coordinate system.", shown=_shown(crs_name(crs)))
            ) from None
    return kept[key]


def _change(first: ArrayLike, second: ArrayLike, crs: str, to_wgs: bool) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    one, two = np.broadcast_arrays(np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64))
    out_one, out_two = _transformer(crs, to_wgs).transform(one.ravel(), two.ravel(), errcheck=False)
    out_one, out_two = np.array(out_one, dtype=np.float64), np.array(out_two, dtype=np.float64)
    bad = ~(np.isfinite(one.ravel()) & np.isfinite(two.ravel()) & np.isfinite(out_one) & np.isfinite(out_two))
    out_one[bad] = np.nan
    out_two[bad] = np.nan
    return out_one.reshape(one.shape)[()], out_two.reshape(one.shape)[()]


def wrap_lon_deg(lon_deg: ArrayLike) -> NDArray[np.float64]:
    """Return longitudes brought into (-180, 180]; NaN stays NaN."""
    lon = np.asarray(lon_deg, dtype=np.float64)
    inside = (lon > -180.0) & (lon <= 180.0)
    with np.errstate(invalid="ignore"):
        return np.where(inside, lon, 180.0 - np.mod(180.0 - lon, 360.0))[()]


def to_wgs84(x: ArrayLike, y: ArrayLike, crs: str) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return WGS84 longitude and latitude of places given in a coordinate system.

    x, y  (...)  east and north in the units of crs (longitude and latitude where it is geographic), whatever axis order it declares

    Returns (lon_deg, lat_deg), shape of x and y broadcast, longitude in (-180, 180]; NaN where a value is not finite or has no
    image. Raises InputError for no coordinate system. Source: PROJ; no datum grids are fetched.
    """
    lon, lat = _change(x, y, crs, True)
    bad = ~(np.abs(lat) <= 90.0)
    return np.where(bad, np.nan, wrap_lon_deg(lon))[()], np.where(bad, np.nan, lat)[()]


def from_wgs84(lon_deg: ArrayLike, lat_deg: ArrayLike, crs: str) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return x and y in a coordinate system of places given by WGS84 longitude and latitude.

    lon_deg, lat_deg  (...)  degrees, east and north positive

    Returns (x, y) in the units of crs; NaN where a value is not finite, beyond the poles or has no image. Raises InputError for
    no coordinate system. Source: PROJ; no datum grids are fetched.
    """
    lat = np.asarray(lat_deg, dtype=np.float64)
    return _change(lon_deg, np.where(np.abs(lat) <= 90.0, lat, np.nan), crs, False)


def local_crs(*, lat_deg: float, lon_deg: float) -> str:
    """Return the WKT of a plane of metres around one place: distances and true bearings from it are kept (azimuthal equidistant)."""
    if not (abs(lat_deg) <= 90 and np.isfinite(lon_deg)):
        raise InputError(
            told(
                "No place on the Earth: latitude {lat_deg}, longitude {lon_deg}. Allowed: latitude -90 to 90, any longitude.",
                lat_deg=lat_deg,
                lon_deg=lon_deg,
            )
        )
    return parse_crs(f"+proj=aeqd +lat_0={lat_deg:.10f} +lon_0={lon_deg:.10f} +datum=WGS84 +units=m +no_defs")


@lru_cache(maxsize=1)
def _geod() -> pyproj.Geod:
    return _pyproj().Geod(ellps="WGS84")


def _flat(*values: ArrayLike) -> tuple[tuple[int, ...], list[NDArray[np.float64]], NDArray[np.bool_]]:
    arrays = np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in values))
    known = np.all([np.isfinite(array) for array in arrays], axis=0)
    return arrays[0].shape, [np.where(known, array, 0.0).ravel() for array in arrays], known.ravel()


def geod_forward(
    *, lat_deg: ArrayLike, lon_deg: ArrayLike, azimuth_deg: ArrayLike, distance_m: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return (lat_deg, lon_deg) of the places reached from a place along a true bearing, on the WGS84 ellipsoid.

    lat_deg, lon_deg  (...)  start, degrees
    azimuth_deg       (...)  from true north, clockwise
    distance_m        (...)  along the geodesic

    All broadcast together; NaN in gives NaN. Source: Karney (2013), Algorithms for geodesics, as in PROJ.
    """
    shape, (lat, lon, azimuth, distance), known = _flat(lat_deg, lon_deg, azimuth_deg, distance_m)
    lon_out, lat_out, _ = _geod().fwd(lon, lat, azimuth, distance)
    out = (np.where(known, lat_out, np.nan), np.where(known, wrap_lon_deg(lon_out), np.nan))
    return out[0].reshape(shape)[()], out[1].reshape(shape)[()]


def geod_inverse(
    *, lat1_deg: ArrayLike, lon1_deg: ArrayLike, lat2_deg: ArrayLike, lon2_deg: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return (azimuth_deg, back_azimuth_deg, distance_m) from the first places to the second, on the WGS84 ellipsoid.

    lat1_deg, lon1_deg, lat2_deg, lon2_deg  (...)  degrees

    azimuth_deg in [0, 360) as seen at the first place, back_azimuth_deg in [0, 360) as seen from the second to the first.
    NaN in gives NaN. Source: Karney (2013), Algorithms for geodesics, as in PROJ.
    """
    shape, (lat1, lon1, lat2, lon2), known = _flat(lat1_deg, lon1_deg, lat2_deg, lon2_deg)
    azimuth, back, distance = _geod().inv(lon1, lat1, lon2, lat2)
    azimuth, back = np.mod(azimuth, 360.0), np.mod(back, 360.0)
    out = [np.where(known, value, np.nan).reshape(shape)[()] for value in (azimuth, back, distance)]
    return out[0], out[1], out[2]


_CONVERGENCE_STEP_M = 100.0


def grid_convergence_deg(*, lat_deg: ArrayLike, lon_deg: ArrayLike, crs: str) -> NDArray[np.float64]:
    """Return by how much grid north (the y axis of crs) lies east of true north; true bearing = grid bearing + convergence.

    lat_deg, lon_deg  (...)  degrees

    Returns degrees in (-180, 180], a plain number for one place; NaN where the place has no image in crs. For longitude and
    latitude it is 0 apart from a change of datum. Worked from the map itself (a step of 100 m to either side along y), so it
    holds for any projection. Checked in tests/geodesy/test_projection.py against the closed formula of transverse Mercator.
    """
    x, y = from_wgs84(lon_deg, lat_deg, crs)
    step = _CONVERGENCE_STEP_M / (111_320.0 if is_geographic(crs) else unit_to_metre(crs))
    east = north = 0.0
    for sign in (1.0, -1.0):
        lon2, lat2 = to_wgs84(x, np.asarray(y) + sign * step, crs)
        azimuth, _, _ = geod_inverse(lat1_deg=lat_deg, lon1_deg=lon_deg, lat2_deg=lat2, lon2_deg=lon2)
        east, north = east + sign * np.sin(np.radians(azimuth)), north + sign * np.cos(np.radians(azimuth))
    return np.degrees(np.arctan2(east, north))[()]
