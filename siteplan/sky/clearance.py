"""How a dish's ray to a satellite passes what stands in the way: needed clearance, tightest place, loss."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from siteplan.constants import EARTH_RADIUS_M, SPEED_OF_LIGHT_M_PER_S
from siteplan.errors import InputError, MethodRangeError, told
from siteplan.records.ground import KIND_UNKNOWN
from siteplan.records.results import Clearance
from siteplan.records.view import Clearances, LocalView
from siteplan.sky.refraction import refraction_deg

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

# Share of the first Fresnel radius a ray must keep free (common practice; ITU-R P.530 plans terrestrial paths with it).
FRESNEL_SHARE = 0.6
# Rays near the ground bend so that they are straight over an Earth of 4/3 its radius, where the radio refractive index falls by
# 40 N-units/km (ITU-R P.310: standard refraction; ITU-R P.834: effective radius of the Earth).
MEDIAN_K = 4.0 / 3.0
# Ground this many cells around the antenna rises and falls with the antenna's own ground: its height error is not held against the
# ray (common practice, no source).
OWN_CELLS = 2.0
# More than this is not told apart: nothing comes through.
GREATEST_LOSS_DB = 60.0


def needed_clearance_m(distance_m: ArrayLike, *, dish_m: float, frequency_mhz: float) -> NDArray[np.float64]:
    """Return the clearance a dish needs along its ray, D/2 + 0.6 sqrt(lambda d).

    distance_m  (...)  along the ray

    Source: half the aperture plus 0.6 of the first Fresnel radius, the other end at infinity; common practice, no source.
    """
    wavelength = SPEED_OF_LIGHT_M_PER_S / (frequency_mhz * 1e6)
    return dish_m / 2.0 + FRESNEL_SHARE * np.sqrt(wavelength * np.asarray(distance_m, dtype=np.float64))


def covered_share(clearance_m: ArrayLike, dish_m: float) -> NDArray[np.float64]:
    """Return the share, 0..1, of a round aperture that a straight edge covers.

    clearance_m  (...)  from the centre to the edge, negative where the edge lies beyond the centre

    The covered part is a segment of a circle of radius a: (a^2 acos(c/a) - c sqrt(a^2 - c^2)) / (pi a^2).
    """
    c = np.clip(2.0 * np.asarray(clearance_m, dtype=np.float64) / dish_m, -1.0, 1.0)
    return (np.arccos(c) - c * np.sqrt(1.0 - c * c)) / np.pi


def edge_loss_db(clearance_m: ArrayLike, *, distance_m: ArrayLike, dish_m: float, frequency_mhz: float) -> NDArray[np.float64]:
    """Return the loss of an edge that a dish looks past.

    clearance_m  (...)  of the ray's centre over the edge, perpendicular, negative below it
    distance_m   (...)  from the dish to the edge, along the ray

    Within 2 D^2 / lambda the edge shades the aperture: a share f of its area gives nothing, the field sum falls to 1 - f of what it
    was and the power to its square, so the loss is -20 log10(1 - f) (uniform aperture; common practice, no source). Beyond, the
    knife edge J(v) = 6.9 + 20 log10(sqrt((v - 0.1)^2 + 1) + v - 0.1) of ITU-R P.526-16, section 4.1, 0 for v <= -0.78, with
    v = -c sqrt(2 / (lambda d)), the satellite at infinity. At most GREATEST_LOSS_DB.
    """
    c, d = np.broadcast_arrays(np.asarray(clearance_m, dtype=np.float64), np.asarray(distance_m, dtype=np.float64))
    wavelength = SPEED_OF_LIGHT_M_PER_S / (frequency_mhz * 1e6)
    with np.errstate(divide="ignore", invalid="ignore"):
        shade = -20.0 * np.log10(1.0 - covered_share(c, dish_m))
        v = -c * np.sqrt(2.0 / (wavelength * d))
        knife = np.where(v > -0.78, 6.9 + 20.0 * np.log10(np.sqrt((v - 0.1) ** 2 + 1.0) + v - 0.1), 0.0)
    return np.clip(np.where(d <= 2.0 * dish_m**2 / wavelength, shade, knife), 0.0, GREATEST_LOSS_DB)[()] + 0.0  # no -0.0


def clearances(
    view: LocalView,
    *,
    eyes: ArrayLike,
    look_azimuth_deg: float,
    look_elevation_deg: float,
    dish_m: float,
    frequency_mhz: float,
    own_support_m: float = 0.0,
    growth_m: float = 0.0,
    ground_only: bool = False,
) -> Clearances:
    """Return how the rays of one dish to one satellite pass what stands in the way, from many places and heights at once.

    eyes                (eyes, 3)  metres east and north of the view's place, and the dish's centre above sea level; give eyes of
                        one place one after the other
    look_azimuth_deg, look_elevation_deg   of the satellite: true, geometric
    dish_m, frequency_mhz
    own_support_m       surface (and ground) nearer than this is left out
    growth_m            lifts every cell that grows
    ground_only         bare ground alone

    A column's top at distance d, s to the side, must stay out of a tube of radius r(d) = D/2 + 0.6 sqrt(lambda d) around the ray: the
    ray must pass sqrt(r^2 - s^2) / cos(elevation) above it, for every |s| < r. Each place thus asks for an elevation; spare_deg is
    the ray's own elevation less the greatest that is asked for, centre_spare_deg the same for the ray alone (r = 0). Both rise
    without a jump as the dish is raised. Clear: spare_deg >= 0. Blocked: centre_spare_deg < 0. Partly: between.
    Ray and obstacles bend alike: the ray leaves at its apparent elevation (geometric plus ITU-R P.834 refraction) over an Earth of
    4/3 its radius. clearance_m, needed_m, loss_db and the place are of the tightest place: the one that decides the state.

    margin_m and centre_margin_m are what a height error is held against: by how much every column beyond OWN_CELLS cells could be
    higher (perpendicular to the ray) before the tube, or the centre ray, is touched; they may belong to another place than the
    tightest in angle.

    Raises InputError where eyes are not (eyes, 3) numbers; MethodRangeError where the dish, the frequency or the elevation makes no
    sense. Source: the tube is common practice, no source; losses as edge_loss_db(). Checked in tests/sky/test_clearance.py.
    """
    from siteplan.sky.kernels import NEAREST_M, points, tubes

    places = np.ascontiguousarray(eyes, dtype=np.float64)
    if places.ndim != 2 or places.shape[1] != 3 or not np.isfinite(places).all():
        raise InputError(told("eyes must be rows of three numbers: metres east, metres north, metres above sea level"))
    if not (dish_m > 0.0 and frequency_mhz > 0.0):
        raise MethodRangeError(
            told(
                "a dish of {dish_m} m at {frequency_mhz} MHz is not possible; both must be above 0",
                dish_m=dish_m,
                frequency_mhz=frequency_mhz,
            )
        )
    if not -1.0 <= look_elevation_deg < 90.0:
        raise MethodRangeError(
            told(
                "a ray at {look_elevation_deg} degrees can't be followed; the elevation must be -1 to below 90",
                look_elevation_deg=look_elevation_deg,
            )
        )
    if not 0.0 <= own_support_m < view.radius_m:
        raise InputError(
            told("own support must be 0 m or more, and less than the view's radius (it is {own_support_m} m)", own_support_m=own_support_m)
        )
    land = view.prepared
    order, highest = (land.ground_order, land.highest_ground_m) if ground_only else (land.surface_order, land.highest_m)
    height = float(places[0, 2]) if places.size else 0.0
    apparent = look_elevation_deg + float(refraction_deg(elevation_deg=look_elevation_deg, height_amsl_m=height))
    slope = float(np.tan(np.radians(apparent)))
    rise = float(np.hypot(1.0, slope))
    wavelength = SPEED_OF_LIGHT_M_PER_S / (frequency_mhz * 1e6)
    width = np.array([dish_m / 2.0, FRESNEL_SHARE * np.sqrt(wavelength * rise), 0.0])
    azimuth = np.radians(look_azimuth_deg)
    if np.isfinite(highest) and places.size:
        zero, east, north = np.zeros(1), places[:1, 0].copy(), places[:1, 1].copy()
        own = int(points(*land.arrays, view.sizes, order, view.coef, zero, zero, zero, east, north)[0, 1])
        near = max(own_support_m, NEAREST_M)
        beyond = max(near, OWN_CELLS * view.sizes[own, 0]) if own >= 0 else near
        out = tubes(
            *land.arrays, view.sizes, order, view.coef, places, azimuth, width, near, beyond, view.radius_m, slope,
            0.5 / (MEDIAN_K * EARTH_RADIUS_M), 0.0 if ground_only else growth_m, highest,
        )  # fmt: skip
    else:
        out = np.full((places.shape[0], 4, 8), -1.0)
    known = out[:, 0, 4] >= 0.0
    needed = np.where(known[:, None], np.degrees(np.arctan(out[:, :2, 0])), np.nan)
    margin = np.where(out[:, 2:, 4] >= 0.0, (places[:, 2:] - out[:, 2:, 0]) / rise, np.nan)
    spare, centre = apparent - needed[:, 0], apparent - needed[:, 1]
    state = np.where(~known, 0, np.where(centre < 0.0, 1, np.where(spare < 0.0, 2, 3)))
    at = np.take_along_axis(out, np.where(state == 1, 1, 0)[:, None, None], axis=1)[:, 0]
    d, s = np.where(known, at[:, 1], 1.0), np.where(known, at[:, 2], 0.0)
    here = np.broadcast_to(azimuth, d.shape).copy()
    east, north = np.ascontiguousarray(places[:, 0]), np.ascontiguousarray(places[:, 1])
    ground = points(*land.arrays, view.sizes, land.ground_order, view.coef, here, d, s, east, north)[:, 0]
    loss = edge_loss_db(np.where(known, at[:, 7], 1e9), distance_m=d * rise, dish_m=dish_m, frequency_mhz=frequency_mhz)

    def where_known(values: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.where(known, values, np.nan)

    return Clearances(
        state=state.astype(np.uint8),
        spare_deg=spare,
        centre_spare_deg=centre,
        clearance_m=where_known(at[:, 7]),
        needed_m=where_known(width[0] + width[1] * np.sqrt(d)),
        distance_m=where_known(np.hypot(d, s)),
        obstacle_amsl_m=where_known(at[:, 3]),
        obstacle_agl_m=where_known(at[:, 3] - ground),
        bearing_deg=where_known(np.mod(look_azimuth_deg + np.degrees(np.arctan2(s, d)), 360.0)),
        kind=np.where(known, at[:, 6], KIND_UNKNOWN).astype(np.uint8),
        loss_db=where_known(np.where(state == 3, 0.0, loss)),
        known_to_m=np.where(known, np.maximum(out[:, 0, 5], 0.0), 0.0),
        margin_m=margin[:, 0],
        centre_margin_m=margin[:, 1],
        margin_distance_m=np.where(out[:, 2, 4] >= 0.0, out[:, 2, 1], np.nan),
        centre_margin_distance_m=np.where(out[:, 3, 4] >= 0.0, out[:, 3, 1], np.nan),
    )


def ray_clearance(
    view: LocalView,
    *,
    eye_amsl_m: float,
    look_azimuth_deg: float,
    look_elevation_deg: float,
    dish_m: float,
    frequency_mhz: float,
    own_support_m: float = 0.0,
    offset_east_m: float = 0.0,
    offset_north_m: float = 0.0,
    growth_m: float = 0.0,
    ground_only: bool = False,
) -> Clearance:
    """Return how the ray of one dish to one satellite passes what stands in the way; clearances() for one eye.

    offset_east_m, offset_north_m  where the dish stands, from the view's own place
    """
    return clearances(
        view,
        eyes=[[offset_east_m, offset_north_m, eye_amsl_m]],
        look_azimuth_deg=look_azimuth_deg,
        look_elevation_deg=look_elevation_deg,
        dish_m=dish_m,
        frequency_mhz=frequency_mhz,
        own_support_m=own_support_m,
        growth_m=growth_m,
        ground_only=ground_only,
    ).one(0)
