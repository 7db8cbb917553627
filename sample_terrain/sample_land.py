"""The land and the town of the sample: hills, coast, houses, trees. Invented; used by make_sample.py."""

from __future__ import annotations

import csv
import json
import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import rasterio
from pyproj import Transformer
from rasterio.transform import from_origin

CRS = "EPSG:32629"
SEED = 20260611

WIDE_X, WIDE_Y, WIDE_CELLS, WIDE_CELL_M = 437_000.0, 5_281_000.0, 1000, 40.0  # north-west corner
TOWN_X, TOWN_Y, TOWN_COLS, TOWN_ROWS = 456_000.0, 5_261_700.0, 1500, 1200  # 1 m cells
HAMLET_X, HAMLET_Y, HAMLET_COLS, HAMLET_ROWS, HAMLET_CELL_M = 461_000.0, 5_262_500.0, 400, 300, 2.0
QUANTUM_M = 0.125

# Hills: easting, northing, height, how wide along x and y, all in metres.
HILLS = (
    (468_500.0, 5_271_500.0, 360.0, 1700.0, 1500.0),  # Gorse Pike
    (458_200.0, 5_256_900.0, 175.0, 3600.0, 560.0),  # Brant Ridge, between the town and the south
    (460_000.0, 5_249_800.0, 290.0, 1500.0, 1300.0),  # Brant Beacon
    (456_300.0, 5_263_900.0, 150.0, 900.0, 700.0),  # Kirk Hill, north of the town
    (472_500.0, 5_250_500.0, 330.0, 1900.0, 2600.0),  # Long Down
    (466_200.0, 5_263_300.0, 290.0, 1900.0, 620.0),  # the south wall of Hollin Gorge
    (466_200.0, 5_265_300.0, 250.0, 1900.0, 700.0),  # and its north wall
    (463_200.0, 5_277_300.0, 260.0, 2100.0, 900.0),
    (474_500.0, 5_261_000.0, 300.0, 1400.0, 2300.0),
    (475_300.0, 5_244_700.0, 240.0, 1500.0, 450.0),  # the north wall of Deep Cut
    (475_300.0, 5_242_900.0, 240.0, 1500.0, 450.0),  # and its south wall
)
GORGES = ((466_000.0, 5_264_300.0), (475_300.0, 5_243_800.0))  # Hollin Gorge, Deep Cut
ISLAND = (442_300.0, 5_262_300.0, 128.0, 900.0, 700.0)  # Skerry
SITE_NOISE = ((9000.0, 80.0), (4200.0, 60.0), (1900.0, 38.0), (850.0, 15.0), (370.0, 4.5), (130.0, 0.8))


def value_noise(x: np.ndarray, y: np.ndarray, wavelength_m: float, key: int) -> np.ndarray:
    """Return smooth noise in -1..1 at places: random values on a lattice, joined by quintic steps."""
    lattice = np.random.Generator(np.random.Philox(key=[SEED, key])).uniform(-1.0, 1.0, (256, 256))
    u, v = x / wavelength_m, y / wavelength_m
    i, j = np.floor(u).astype(np.int64), np.floor(v).astype(np.int64)
    fu, fv = u - i, v - j
    su, sv = fu**3 * (fu * (fu * 6 - 15) + 10), fv**3 * (fv * (fv * 6 - 15) + 10)
    i0, i1, j0, j1 = i % 256, (i + 1) % 256, j % 256, (j + 1) % 256
    near = lattice[j0, i0] * (1 - su) + lattice[j0, i1] * su
    far = lattice[j1, i0] * (1 - su) + lattice[j1, i1] * su
    return near * (1 - sv) + far * sv


def ramp(value: np.ndarray, low: float, high: float) -> np.ndarray:
    """Return 0 below low, 1 above high, smooth between."""
    t = np.clip((value - low) / (high - low), 0.0, 1.0)
    return t * t * (3 - 2 * t)


def hill(x: np.ndarray, y: np.ndarray, shape: tuple[float, float, float, float, float]) -> np.ndarray:
    """Return the height of one hill."""
    east, north, height, wide_x, wide_y = shape
    return height * np.exp(-0.5 * (((x - east) / wide_x) ** 2 + ((y - north) / wide_y) ** 2))


def river_y(x: np.ndarray) -> np.ndarray:
    """Return the northing of the river Sall at an easting; it reaches the sea west of the town."""
    east = x - 456_000.0
    return 5_261_270.0 + 0.115 * east + 60.0 * np.sin(east / 900.0) + 260.0 * np.sin(east / 5200.0)


def ground_m(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Return bare ground above sea level at places (easting, northing); the sea is 0."""
    coast_x = 453_900.0 + 1500.0 * np.sin((y - 5_241_000.0) / 5200.0) + 420.0 * value_noise(x * 0, y, 2100.0, 90)
    inland = x - coast_x
    rough = ramp(inland, 200.0, 6000.0)
    z = 3.0 + 0.010 * np.clip(inland, -3000.0, 40_000.0) + 14.0 * ramp(inland, 0.0, 900.0)
    for shape in HILLS:
        z = z + hill(x, y, shape)
    for number, (wavelength_m, height) in enumerate(SITE_NOISE):
        z = z + (0.15 + 0.85 * rough) * height * value_noise(x, y, wavelength_m, number)
    low = 6.0 + 18.0 * ramp(inland, 0.0, 4000.0)  # no land below the sea: hollows level out instead
    z = np.where(inland > 0.0, low + 15.0 * np.logaddexp(0.0, (z - low) / 15.0), z)
    # the valley of the Sall: land is drawn down to a flood plain that rises slowly inland
    from_river = np.abs(y - river_y(x))
    floor = 1.5 + 0.0022 * np.clip(x - 455_000.0, 0.0, 40_000.0)
    open_valley = np.exp(-((from_river / 620.0) ** 2)) * ramp(inland, -400.0, 300.0)
    z = z * (1 - open_valley) + np.minimum(z, floor + 0.018 * from_river) * open_valley
    z = np.where(from_river < 9.0, np.minimum(z, floor - 1.2), z)
    for middle_x, middle_y in GORGES:  # narrow and deep
        from_gorge = y - middle_y - 40.0 * np.sin((x - middle_x) / 420.0)
        z = z * (1 - 0.62 * np.exp(-((from_gorge / 120.0) ** 2)) * np.exp(-(((x - middle_x) / 1500.0) ** 4)))
    # the old quarry at the south of the town: a face of 48 m that looks north
    along = ramp(x, 456_930.0, 456_980.0) * (1 - ramp(x, 457_350.0, 457_420.0))
    behind = ramp(5_260_684.0 - y, 0.0, 9.0) * (1 - ramp(5_260_684.0 - y, 60.0, 420.0))
    z = z + 48.0 * along * behind
    z = np.where(inland < -30.0, -1.0, z)
    skerry = hill(x, y, ISLAND) - 30.0 + 8.0 * value_noise(x, y, 500.0, 91)
    return np.maximum(np.maximum(z, skerry), 0.0)


# ---- the town ------------------------------------------------------------------------------------------------------------
# Places in the town are metres east and north of its south-west corner.

SOUTH_WEST = (TOWN_X, TOWN_Y - TOWN_ROWS)
STREETS: dict[str, tuple[tuple[float, float], ...]] = {
    "Brine Street": ((60, 640), (700, 655), (1100, 715)),
    "Sallow Row": ((100, 520), (640, 530)),
    "Kittiwake Lane": ((250, 60), (262, 480)),
    "Cooper's Hythe": ((40, 705), (560, 725)),
    "Lantern Walk": ((700, 250), (716, 610)),
    "Fir Steep": ((800, 330), (1180, 452)),
    "Quarry Foot": ((970, 232), (1340, 232)),
    "Upper Sall Road": ((180, 905), (760, 985), (1320, 1075)),
    "Tern Terrace": ((860, 610), (1330, 560)),
    "Hazel Bank": ((480, 1010), (560, 1170)),
    "Withy Close": ((1080, 868), (1400, 905)),
    "South Parade": ((330, 150), (640, 140)),
    "Slant Row": ((700, 1170), (800, 1060)),
}
SPACING_M = {"Quarry Foot": 24.0, "Upper Sall Road": 34.0, "Fir Steep": 27.0, "Withy Close": 26.0}


@dataclass(frozen=True)
class House:
    """One building: middle, direction of its long side (degrees from east, counter-clockwise), sizes in metres."""

    street: str
    number: int
    x: float
    y: float
    turn_deg: float
    length_m: float
    width_m: float
    eave_m: float
    ridge_m: float

    def corners(self) -> list[tuple[float, float]]:
        """Return the outline, closed, counter-clockwise."""
        c, s = math.cos(math.radians(self.turn_deg)), math.sin(math.radians(self.turn_deg))
        half = [(-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1)]
        return [
            (self.x + c * a * self.length_m / 2 - s * b * self.width_m / 2, self.y + s * a * self.length_m / 2 + c * b * self.width_m / 2)
            for a, b in half
        ]


@dataclass(frozen=True)
class Tree:
    """One tree: a cone (fir) or a rounded crown."""

    x: float
    y: float
    height_m: float
    radius_m: float
    fir: bool


def lay_out_town() -> tuple[list[House], list[Tree]]:
    """Return all buildings and trees of the town."""
    dice = np.random.Generator(np.random.Philox(key=[SEED, 500]))
    houses: list[House] = []
    for street, line in STREETS.items():
        houses += _houses_of(street, line, houses, dice)
    for number, (east, north) in enumerate(((1120, 838), (1195, 846), (1270, 855), (1345, 864)), start=1):
        houses.append(House("Mast Court", number, *town_place(east, north), 6.5, 44.0, 14.0, 23.5, 24.5))
    for number, (east, north, length, width, high) in enumerate(((160, 742, 52, 20, 9.5), (330, 750, 60, 22, 11.0)), start=1):
        houses.append(House("Harbour sheds", number, *town_place(east, north), 2.0, length, width, high, high + 2.0))
    houses.append(House("Church", 1, *town_place(792, 560), 0.0, 9.0, 9.0, 34.0, 38.0))
    return houses, _trees(houses)


def lay_out_hamlet() -> list[House]:
    """Return the buildings of Upper Sall, a hamlet of which outlines are known and trees are not."""
    dice = np.random.Generator(np.random.Philox(key=[SEED, 600]))
    houses = []
    for number in range(1, 23):
        side = 1 if number % 2 else -1
        x = HAMLET_X + 90.0 + 30.0 * number
        y = HAMLET_Y - 330.0 + 0.12 * (x - HAMLET_X) + side * float(dice.uniform(12.0, 16.0))
        sizes = float(dice.uniform(10.0, 15.0)), float(dice.uniform(8.0, 10.0))
        houses.append(House("Upper Sall", number, x, y, 6.8, *sizes, 5.0, 8.2))
    houses.append(House("Upper Sall Barn", 1, HAMLET_X + 400.0, HAMLET_Y - 318.0, 6.8, 30.0, 12.0, 9.0, 13.5))
    return houses


def town_place(east: float, north: float) -> tuple[float, float]:
    return SOUTH_WEST[0] + east, SOUTH_WEST[1] + north


def _houses_of(street: str, line: tuple[tuple[float, float], ...], built: list[House], dice: np.random.Generator) -> list[House]:
    found: list[House] = []
    numbers = {1: 1, -1: 2}
    for (east0, north0), (east1, north1) in zip(line[:-1], line[1:], strict=True):
        length = math.hypot(east1 - east0, north1 - north0)
        turn_deg = math.degrees(math.atan2(north1 - north0, east1 - east0))
        along = 12.0
        while along < length - 8.0:
            for side in (1, -1):
                back = dice.uniform(11.0, 14.5)
                long_side, short_side = dice.uniform(9.0, 13.0), dice.uniform(7.5, 9.5)
                eave = float(dice.choice((3.0, 5.4, 5.8)))
                c, s = (east1 - east0) / length, (north1 - north0) / length
                place = town_place(east0 + c * along - s * back * side, north0 + s * along + c * back * side)
                house = House(street, numbers[side], *place, turn_deg, long_side, short_side, eave, eave + 0.36 * short_side)
                if _free(house, [*built, *found], street):
                    found.append(house)
                    numbers[side] += 2
            along += SPACING_M.get(street, 25.0) + dice.uniform(-2.0, 3.0)
    return found


def _free(house: House, others: list[House], street: str) -> bool:
    if any(math.hypot(house.x - other.x, house.y - other.y) < 15.0 for other in others):
        return False
    if abs(house.y - float(river_y(np.array(house.x)))) < 24.0:
        return False
    return all(_from_line(house.x, house.y, line) > 9.0 for name, line in STREETS.items() if name != street)


def _from_line(x: float, y: float, line: tuple[tuple[float, float], ...]) -> float:
    best = math.inf
    for start, end in zip(line[:-1], line[1:], strict=True):
        (x0, y0), (x1, y1) = town_place(*start), town_place(*end)
        t = min(1.0, max(0.0, ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / ((x1 - x0) ** 2 + (y1 - y0) ** 2)))
        best = min(best, math.hypot(x - x0 - t * (x1 - x0), y - y0 - t * (y1 - y0)))
    return best


def _trees(houses: list[House]) -> list[Tree]:
    trees: list[Tree] = []
    dice = np.random.Generator(np.random.Philox(key=[SEED, 501]))
    (east0, north0), (east1, north1) = STREETS["Fir Steep"]
    length = math.hypot(east1 - east0, north1 - north0)
    c, s = (east1 - east0) / length, (north1 - north0) / length
    for along in np.arange(0.0, length, 3.2):  # a row of firs behind the houses on the south side
        place = town_place(east0 + c * along + s * 30.0, north0 + s * along - c * 30.0)
        trees.append(Tree(*place, float(dice.uniform(15.0, 18.5)), 2.6, True))
    for along in np.arange(0.0, 420.0, 5.0):  # and one along Kittiwake Lane, younger
        trees.append(Tree(*town_place(284.0 + 0.03 * along, 60.0 + along), float(dice.uniform(6.5, 8.5)), 1.8, True))
    for east_low, east_high, north_low, north_high in ((4, 240, 990, 1196), (1370, 1496, 250, 470), (430, 680, 330, 450)):
        for east in np.arange(east_low, east_high, 7.0):
            for north in np.arange(north_low, north_high, 7.0):
                shift = dice.uniform(-2.0, 2.0, 2)
                place = town_place(east + shift[0], north + shift[1])
                trees.append(Tree(*place, float(dice.uniform(11.0, 20.0)), float(dice.uniform(3.0, 4.5)), False))
    for house in houses:  # gardens
        if dice.uniform() < 0.55:
            way = dice.uniform(0.0, 2 * math.pi)
            far = dice.uniform(10.0, 19.0)
            x, y = house.x + far * math.cos(way), house.y + far * math.sin(way)
            height = float(dice.uniform(3.5, 9.5))
            if all(math.hypot(x - other.x, y - other.y) > 9.0 for other in houses):
                trees.append(Tree(x, y, height, 1.2 + 0.22 * height, bool(dice.uniform() < 0.25)))
    return trees


def stand_up(ground: np.ndarray, houses: list[House], trees: list[Tree]) -> np.ndarray:
    """Return the surface: ground with houses and trees on it, at the middles of 1 m cells."""
    surface = ground.copy()
    feet = ground_m(np.array([thing.x for thing in (*trees, *houses)]), np.array([thing.y for thing in (*trees, *houses)])).tolist()
    for tree, foot in zip(trees, feet, strict=False):
        window, x, y = _around(tree.x, tree.y, tree.radius_m + 1)
        if window is None:
            continue
        away = np.hypot(x - tree.x, y - tree.y) / tree.radius_m
        crown = 1.0 - 0.6 * away if tree.fir else 1.0 - 0.45 * away**2
        surface[window] = np.where(away < 1.0, np.maximum(surface[window], foot + tree.height_m * crown), surface[window])
    for house, foot in zip(houses, feet[len(trees) :], strict=True):
        window, x, y = _around(house.x, house.y, 0.5 * math.hypot(house.length_m, house.width_m) + 1)
        if window is None:
            continue
        c, s = math.cos(math.radians(house.turn_deg)), math.sin(math.radians(house.turn_deg))
        along, across = (x - house.x) * c + (y - house.y) * s, (y - house.y) * c - (x - house.x) * s
        inside = (np.abs(along) <= house.length_m / 2) & (np.abs(across) <= house.width_m / 2)
        roof = house.eave_m + (house.ridge_m - house.eave_m) * (1 - np.abs(across) / (house.width_m / 2))
        surface[window] = np.where(inside, np.maximum(ground[window], foot + roof), surface[window])
    return surface


def _around(x: float, y: float, reach: float) -> tuple[tuple[slice, slice] | None, np.ndarray, np.ndarray]:
    col0, col1 = max(0, int(x - reach - TOWN_X)), min(TOWN_COLS, int(x + reach - TOWN_X) + 1)
    row0, row1 = max(0, int(TOWN_Y - y - reach)), min(TOWN_ROWS, int(TOWN_Y - y + reach) + 1)
    if col0 >= col1 or row0 >= row1:
        return None, np.empty(0), np.empty(0)
    cols, rows = np.meshgrid(np.arange(col0, col1), np.arange(row0, row1))
    return (slice(row0, row1), slice(col0, col1)), TOWN_X + cols + 0.5, TOWN_Y - rows - 0.5


# ---- files ---------------------------------------------------------------------------------------------------------------


def grid(west: float, north: float, *, cols: int, rows: int, cell_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Return eastings and northings of all cell middles."""
    x = west + (np.arange(cols) + 0.5) * cell_m
    y = north - (np.arange(rows) + 0.5) * cell_m
    return np.meshgrid(x, y)


def rounded(z: np.ndarray, step: float) -> np.ndarray:
    """Return heights on whole steps, as float32."""
    return (np.round(z / step) * step).astype(np.float32)


def write_raster(path: Path, z: np.ndarray, *, west: float, north: float, cell_m: float, what: str) -> None:
    """Write one GeoTIFF: float32 metres, deflated."""
    rows, cols = z.shape
    with rasterio.open(
        path, "w", driver="GTiff", width=cols, height=rows, count=1, dtype="float32", crs=CRS, nodata=-9999.0,
        transform=from_origin(west, north, cell_m, cell_m), compress="DEFLATE", predictor=3, zlevel=9,
        tiled=True, blockxsize=256, blockysize=256,
    ) as out:  # fmt: skip
        out.write(z, 1)
        out.set_band_description(1, what)
        out.set_band_unit(1, "metre")
        out.update_tags(VERTICAL_UNITS="metre", SOURCE="invented, made by make_sample.py", LICENCE="as the project")


def write_csv(path: Path, header: tuple[str, ...], rows: list[tuple[object, ...]]) -> None:
    """Write one table."""
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(rows)


TO_DEGREES = Transformer.from_crs(CRS, "EPSG:4326", always_xy=True)


def lon_lat(x: float, y: float) -> tuple[float, float]:
    """Return longitude and latitude of an easting and northing."""
    return TO_DEGREES.transform(x, y)


def write_buildings(path: Path, houses: list[House]) -> None:
    """Write the footprints: most with a height, every fifth with a number of levels only, as registers are."""
    lines = []
    for number, house in enumerate(houses):
        ring = [[round(value, 7) for value in lon_lat(x, y)] for x, y in house.corners()]
        properties = {"height": f"{house.ridge_m:.1f}"} if number % 5 else {"building:levels": str(max(1, round(house.eave_m / 3)))}
        feature = {"type": "Feature", "properties": properties, "geometry": {"type": "Polygon", "coordinates": [ring]}}
        lines.append(json.dumps(feature))
    body = ",\n".join(lines)
    path.write_text(f'{{"type": "FeatureCollection", "features": [\n{body}\n]}}\n', encoding="utf-8", newline="\n")
