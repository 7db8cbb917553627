"""Real land made worse on purpose, and the satellite rule judged on it against the full land as truth.

Truth is the full-resolution surface of a LiDAR set (built things and canopy, whichever is higher). A degradation is what a user's data
may be like: coarser cells, height noise, a shift, no canopy, addresses off by some metres. The rule sees the degraded land and the
displaced address, and is told the errors they were given (or nothing, where a degradation says so). A shift of the data is no key of a
plan: nobody tells the rule of it.

Where the antenna stands: at the TRUE point. On a roof it stands on the true building's roof, where the sheet says if that is on this very
building, else (a neighbour's house was taken for it, or no outlines are known) at the true point. Its height is the recommended one,
above the true ground, on a roof above the true roof.

Wrong "book": the verdict is book, but over the true surface the exact ray from there at the recommended height, with the recommended dish,
is not "clear": the clearance D/2 + 0.6 sqrt(lambda d) is cut into, be it by a hair. Growth to come is no part of the truth.
Wrong "not feasible": the verdict is not feasible, but over the true surface that whole clearance is open to the smallest dish of the kit
at the greatest allowed height or at the default one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
from shared_data import SHARED

from siteplan.files import rasters
from siteplan.files.footprints import read_footprints
from siteplan.geodesy import cells
from siteplan.geodesy.projection import from_wgs84, geod_forward, to_wgs84
from siteplan.records.emitters import Satellite, Transponder
from siteplan.records.ground import KIND_BUILDING, KIND_GROWTH, KIND_OBJECT, Footprints, Grid, Surface
from siteplan.records.places import Address
from siteplan.records.plan import LimitsTable, MountTable, Plan
from siteplan.records.verdict import State
from siteplan.services.satellite.judge import judge
from siteplan.services.shared.site import Land, highest_centre_agl_m, site_of
from siteplan.sky.clearance import ray_clearance
from siteplan.sky.look_angles import look_angles
from siteplan.terrain.assembly import Outlines, Standing, assemble, onto
from siteplan.terrain.footprints import building_at
from siteplan.terrain.surface import bilinear
from siteplan.terrain.view import local_view, prepare

ON = date(2026, 6, 11)
FILES = {
    "river park": ("river_park_dtm_2m.tif", "river_park_dsm_2m.tif"),
    "city": ("city_dtm_1m.tif", "city_dsm_1m.tif", "city_canopy_1m.tif", "city_buildings.gpkg"),
    "valley": ("valley_dtm_5m.tif", "valley_building_height_2m5.tif", "valley_canopy_height_2m5.tif"),
}
FREQUENCY_MHZ = 11_000.0
# The river of the park lies below this height; nobody puts a mast on it.
RIVER_BELOW_M = 127.0
EDGE_M = 12.0
OPEN_M, ROOF_M, ROOF_STEP_M = 0.3, 3.0, 2.5
LEAST_ELEVATION_DEG, GREATEST_ELEVATION_DEG = 15.0, 40.0


@dataclass(frozen=True, eq=False)
class Truth:
    """One set at full resolution, all on one frame of (rows, cols); heights of built and canopy above ground, metres."""

    name: str
    frame: Grid
    ground: np.ndarray
    built: np.ndarray
    canopy: np.ndarray
    told_apart: bool
    footprints: Footprints | None
    land: Land
    dry: np.ndarray


@dataclass(frozen=True)
class Degradation:
    """What is made worse, and what the user says of it.

    cell_m, how   coarser cells (None: as they are), each the "mean", "max" or "nearest" of what it covers
    noise_m       height error of ground and surface, 1 sigma each, half of its variance shared; reach_m: over how far it holds together
    shift_m       the whole set lies this far off its place, in a direction drawn from the seed
    canopy        False: what grows is missing; says_so: the user states it
    position_m    error of addresses, 1 sigma a coordinate
    stated        True: the plan and the list give noise_m and position_m; False: they say nothing and the defaults are taken
    claimed_m     what the list claims for position_m, where that is not the truth
    """

    name: str
    cell_m: float | None = None
    how: str = "mean"
    noise_m: float = 0.0
    reach_m: float = 10.0
    shift_m: float = 0.0
    canopy: bool = True
    says_so: bool = True
    position_m: float = 5.0
    stated: bool = True
    claimed_m: float | None = None

    def changes(self, own_cell_m: float) -> bool:
        """Return whether a set of such cells is made worse at all by a degradation that is nothing but coarser cells."""
        return self.cell_m is None or self.cell_m > 1.01 * own_cell_m or self.noise_m > 0.0 or self.shift_m > 0.0

    @property
    def height_error_m(self) -> float | None:
        """Return what the plan states as height error."""
        return max(self.noise_m, 0.1) if self.stated else None


@dataclass(frozen=True)
class Case:
    """One address and one satellite: the verdict on the degraded land, and what the true land says of it."""

    state: State
    code: str
    wrong: bool
    probability: float
    lat_deg: float = field(repr=False)
    lon_deg: float = field(repr=False)
    orbit_deg: float = field(repr=False)
    mount: str = ""
    seed: int = 0
    true_state: str = ""
    true_spare_deg: float = math.nan
    true_distance_m: float = math.nan
    true_kind: str = ""
    mount_m: float = math.nan
    moved_m: float = math.nan
    spot_kind: str = ""


# ---- the truth ----------------------------------------------------------------------------------------------


@cache
def truth(name: str) -> Truth:
    """Return one set; the files must be there (shared_data.need_shared)."""
    grids = [rasters.read(rasters.describe(SHARED / "terrain" / file)) for file in FILES[name] if file.endswith(".tif")]
    frame = grids[1]
    ground = onto(grids[0], frame).astype(np.float64)
    if name == "valley":
        built, canopy = (np.nan_to_num(grid.z_m.astype(np.float64)) for grid in grids[1:])
    else:
        built = np.maximum(grids[1].z_m - ground, 0.0)
        canopy = grids[2].z_m.astype(np.float64) if len(grids) > 2 else np.zeros_like(ground)
    footprints = read_footprints(SHARED / "terrain" / FILES[name][3]).footprints if name == "city" else None
    top = ground + np.maximum(built, canopy)
    layer, _ = assemble(_grid(frame, ground), surface=_grid(frame, top), flown_on=ON, height_error_m=0.1)
    if name != "river park":
        stands = layer.kind == KIND_OBJECT
        layer = replace(layer, kind=np.where(stands, np.where(built >= canopy, KIND_BUILDING, KIND_GROWTH), layer.kind).astype(np.uint8))
    dry = np.isfinite(top) & ((ground > RIVER_BELOW_M) if name == "river park" else True)
    made = Surface((layer,))
    return Truth(name, frame, ground, built, canopy, name != "river park", footprints, Land(made, prepare(made), ON), dry)


def _grid(like: Grid, z: np.ndarray, transform=None, cell_m: float | None = None) -> Grid:
    return Grid(
        np.ascontiguousarray(z, dtype=np.float32), transform or like.transform, like.crs, cell_m or like.cell_m, like.name
    )


# ---- the degraded land --------------------------------------------------------------------------------------


def degraded(true: Truth, made_worse: Degradation, seed: int) -> Land:
    """Return the land a user would have, put together as a run does it; the same bytes for the same seed."""
    rng = np.random.default_rng([seed, 1])
    canopy = true.canopy if made_worse.canopy else np.zeros_like(true.canopy)
    parts = {"ground": true.ground, "built": true.ground + true.built, "canopy": true.ground + canopy}
    frame, index = _coarse(true.frame, made_worse.cell_m)
    ground = _resampled(parts["ground"], index, "nearest" if made_worse.how == "nearest" else "mean")
    built, grown = (_resampled(parts[name], index, made_worse.how) for name in ("built", "canopy"))
    noise = [_noise(rng, ground.shape, made_worse.reach_m / frame.cell_m) for _ in range(3)]
    half = math.sqrt(0.5) * made_worse.noise_m
    ground = ground + half * (noise[0] + noise[1])
    built, grown = (part + half * (noise[0] + noise[2]) for part in (built, grown))
    angle = rng.uniform(0.0, 2.0 * math.pi)
    a, b, c, d, e, f = frame.transform
    transform = (a, b, c + made_worse.shift_m * math.sin(angle), d, e, f + made_worse.shift_m * math.cos(angle))
    base = _grid(frame, ground, transform)
    common = {"flown_on": ON, "height_error_m": made_worse.height_error_m}
    if true.told_apart and true.footprints is None:
        standing = [Standing(_grid(frame, np.maximum(built - ground, 0.0), transform), KIND_BUILDING, ("buildings",))]
        if made_worse.canopy:
            standing.append(Standing(_grid(frame, np.maximum(grown - ground, 0.0), transform), KIND_GROWTH, ("trees",)))
        layer, _ = assemble(base, standing=standing, **common)
    else:
        has = ("buildings",) if not made_worse.canopy and made_worse.says_so else ("buildings", "trees")
        outlines = _outlines(true.footprints, base) if true.footprints is not None else None
        layer, _ = assemble(base, surface=_grid(frame, np.fmax(built, grown), transform), surface_has=has, outlines=outlines, **common)
    made = Surface((layer,), true.footprints)
    return Land(made, prepare(made), ON)


def _coarse(frame: Grid, cell_m: float | None) -> tuple[Grid, tuple[np.ndarray, np.ndarray]]:
    """Return the coarser frame, and rows and cols (cells, looks) of the fine cells each of its own covers."""
    rows, cols = frame.z_m.shape
    if cell_m is None or cell_m <= frame.cell_m * 1.001:
        return frame, (np.arange(rows)[:, None], np.arange(cols)[:, None])
    ratio = cell_m / frame.cell_m
    looks = 2 * math.ceil(ratio) + 1
    at = (np.arange(looks) + 0.5) / looks
    row, col = (np.floor((np.arange(int(size / ratio))[:, None] + at) * ratio).astype(int) for size in (rows, cols))
    a, b, c, d, e, f = frame.transform
    transform = (a * ratio, b * ratio, c, d * ratio, e * ratio, f)
    coarse = Grid(np.zeros((len(row), len(col)), np.float32), transform, frame.crs, frame.cell_m * ratio, frame.name)
    return coarse, (row, col)


def _resampled(z: np.ndarray, index: tuple[np.ndarray, np.ndarray], how: str) -> np.ndarray:
    row, col = index
    if how == "nearest":
        return z[row[:, row.shape[1] // 2][:, None], col[:, col.shape[1] // 2][None, :]]
    blocks = z[row[:, None, :, None], col[None, :, None, :]]
    return blocks.max(axis=(2, 3)) if how == "max" else blocks.mean(axis=(2, 3))


def _noise(rng: np.random.Generator, shape: tuple[int, int], reach_cells: float) -> np.ndarray:
    """Return a field of 1 sigma that holds together over reach_cells."""
    from scipy.ndimage import gaussian_filter

    raw = rng.standard_normal(shape)
    if reach_cells > 0.3:
        raw = gaussian_filter(raw, reach_cells / 2.0, mode="wrap")
    return raw / raw.std()


def _outlines(footprints: Footprints, frame: Grid) -> Outlines:
    import shapely

    def into(at: np.ndarray) -> np.ndarray:
        return np.column_stack(from_wgs84(at[:, 0], at[:, 1], frame.crs))

    own = [shapely.transform(polygon, into) for polygon in footprints.polygons]
    inside = np.isfinite(rasters.burn(own, np.ones(len(own)), shape=frame.z_m.shape, transform=frame.transform))
    return Outlines(inside, np.full(frame.z_m.shape, np.nan, dtype=np.float32))


# ---- who asks, and for what ---------------------------------------------------------------------------------


def receivers(true: Truth, rng: np.random.Generator, count: int, kind: str = "ground") -> list[tuple[float, float]]:
    """Return (lat_deg, lon_deg) of places where somebody could put a mast: open dry ground, or a roof ("roof")."""
    rows, cols = true.ground.shape
    edge = EDGE_M / true.frame.cell_m
    standing = np.maximum(true.built, true.canopy)
    places = _roofs(true) if kind == "roof" else _open(standing)
    found: list[tuple[float, float]] = []
    while len(found) < count:
        col, row = rng.uniform(edge, cols - edge, 4000), rng.uniform(edge, rows - edge, 4000)
        fits = places[row.astype(int), col.astype(int)]
        fits &= true.dry[row.astype(int), col.astype(int)] & np.isfinite(bilinear(true.ground + standing, col, row))
        lon, lat = to_wgs84(*cells.apply(true.frame.transform, col[fits], row[fits]), true.frame.crs)
        found += [(float(a), float(b)) for a, b in zip(lat, lon, strict=True)]
    return found[:count]


def _open(standing: np.ndarray) -> np.ndarray:
    """Return cells (rows, cols) in the open: nothing stands there or in any cell around, so that a dish finds room."""
    from scipy.ndimage import maximum_filter

    return maximum_filter(standing, 3) <= OPEN_M


def _roofs(true: Truth) -> np.ndarray:
    """Return cells (rows, cols) well on a roof: no wall or step within a cell, no tree over it."""
    from scipy.ndimage import maximum_filter, minimum_filter

    low, high = minimum_filter(true.built, 3), maximum_filter(true.built, 3)
    return (low >= ROOF_M) & (high - low <= ROOF_STEP_M) & (maximum_filter(true.canopy, 3) <= 0.0)


def orbits(true: Truth) -> list[float]:
    """Return longitudes, every 4 degrees, that stand at 15 to 40 degrees over the middle of a set."""
    rows, cols = true.ground.shape
    lon, lat = (float(v) for v in to_wgs84(*cells.apply(true.frame.transform, cols / 2, rows / 2), true.frame.crs))
    out = []
    for step in range(-18, 19):
        orbit = (round(lon) + 4 * step + 180) % 360 - 180.0
        look = look_angles(lat_deg=lat, lon_deg=lon, height_ell_m=0.0, orbit_deg=orbit)
        if LEAST_ELEVATION_DEG <= look.elevation_deg <= GREATEST_ELEVATION_DEG:
            out.append(orbit)
    return out


def plan(*, growth: bool, search: bool = False) -> Plan:
    """Return a plan of defaults; without growth nothing but the stated errors keeps a verdict careful.

    search  other spots too: what is ruled out then is a part of what is ruled out at the point given
    """
    limits = LimitsTable() if growth else LimitsTable(growth_m_per_year=0.0)
    return Plan(file=Path("plan.toml"), date=ON, limits=limits, mount=MountTable(search="auto" if search else "never"))


def satellite(orbit_deg: float) -> Satellite:
    """Return an invented satellite with one strong, stated transponder."""
    return Satellite("Testbird", orbit_deg, (Transponder("T1", FREQUENCY_MHZ, "H", 27_500.0, "DVB-S2", "8PSK", "3/4", 50.0, "stated"),))


# ---- the proof ----------------------------------------------------------------------------------------------


def cases(
    true: Truth, made_worse: Degradation, *, count: int, seed: int, kind: str = "ground", growth: bool = False, land: Land | None = None
) -> list[Case]:
    """Judge count addresses, one satellite each, on the degraded land, and hold each verdict against the truth.

    Addresses that come to lie where the degraded land is unknown are left out: they are not judged.
    """
    rng = np.random.default_rng([seed, 2])
    land = land or degraded(true, made_worse, seed)
    made, sky = plan(growth=growth), orbits(true)
    mount = kind
    out = []
    for lat, lon in receivers(true, rng, count, kind):
        orbit = float(rng.choice(sky))
        east, north = made_worse.position_m * rng.standard_normal(2)
        moved = math.hypot(east, north)
        bearing = math.degrees(math.atan2(east, north))
        at = [float(v) for v in geod_forward(lat_deg=lat, lon_deg=lon, azimuth_deg=bearing, distance_m=moved)]
        stated_m = made_worse.claimed_m or made_worse.position_m if made_worse.stated else LimitsTable().position_error_m
        address = Address(2, "a", "A", at[0], at[1], stated_m, made_worse.stated, (), mount)
        site = site_of(address, land, made.mount)
        if not site.known:
            continue
        verdict, finding = judge(site, land, (satellite(orbit),), made, pictures=False)
        case = _held(true, _stands(true, (lat, lon), finding.spot), verdict, finding, made)
        out.append(replace(case, orbit_deg=orbit, seed=seed, mount=mount, moved_m=moved))
    return out


def _stands(true: Truth, at: tuple[float, float], spot) -> tuple[float, float]:
    """Return where the antenna stands: at the true point; on the true building's roof, where the sheet says if that is on this roof."""
    if spot.kind != "roof" or true.footprints is None:
        return at
    own = building_at(true.footprints, lat_deg=at[0], lon_deg=at[1], within_m=0.0)
    sheet = building_at(true.footprints, lat_deg=spot.lat_deg, lon_deg=spot.lon_deg, within_m=0.0)
    return (spot.lat_deg, spot.lon_deg) if own is not None and sheet is not None and own.index == sheet.index else at


def _held(true: Truth, at: tuple[float, float], verdict, finding, made: Plan) -> Case:
    view, spot = finding.views[0], finding.spot
    where = Case(verdict.state, verdict.reasons[0].code, False, verdict.probability, *at, math.nan, spot_kind=spot.kind)
    if verdict.state is State.BOOK:
        seen = _true_ray(true, at, spot, view.look, view.mount_height_agl_m, view.dish_m)
        wrong = seen.state != "clear"
    elif verdict.state is State.NOT_FEASIBLE:
        tried = [
            _true_ray(true, at, spot, view.look, height, min(made.kit.dishes_m))
            for height in (highest_centre_agl_m(spot, made.mount), spot.height_agl_m)
        ]
        seen = next((one for one in tried if one.state == "clear"), tried[0])
        wrong = seen.state == "clear"
    else:
        return where
    return replace(
        where, wrong=wrong, true_state=seen.state, true_spare_deg=seen.spare_deg, true_distance_m=seen.distance_m, true_kind=seen.kind,
        mount_m=view.mount_height_agl_m,
    )  # fmt: skip


def _true_ray(true: Truth, at: tuple[float, float], spot, look, height_agl_m: float, dish_m: float):
    """Return the clearance from the true point; height_agl_m counts as at the spot: above its ground, on a roof above its roof."""
    x, y = from_wgs84(at[1], at[0], true.frame.crs)
    col, row = cells.invert(true.frame.transform, np.atleast_1d(x), np.atleast_1d(y))
    roof = spot.kind in ("roof", "chimney")
    z = true.ground + np.maximum(true.built, true.canopy) if roof else true.ground
    base = float(bilinear(z, col, row)[0])
    eye = base + height_agl_m - ((spot.roof_amsl_m - spot.ground_amsl_m) if roof else 0.0)
    return ray_clearance(
        local_view(true.land.prepared, lat_deg=at[0], lon_deg=at[1], radius_m=60_000.0),
        eye_amsl_m=eye, look_azimuth_deg=look.azimuth_deg, look_elevation_deg=look.elevation_deg, dish_m=dish_m,
        frequency_mhz=FREQUENCY_MHZ, own_support_m=spot.own_support_m,
    )  # fmt: skip
