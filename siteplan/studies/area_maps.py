"""From a judged area to what people get: rasters with their table of names, and the questions that the map page shows.

The page's questions are drawn from the rasters themselves, so that a map drawn today and one drawn by a later run are the same.
"""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from siteplan.errors import RasterError
from siteplan.files import rasters
from siteplan.files.raster_info import Band
from siteplan.files.run_record import settings, versions
from siteplan.geodesy import cells, projection
from siteplan.records.findings import Overlay
from siteplan.records.plan import Plan
from siteplan.studies.area_grid import AreaGrid
from siteplan.studies.coverage import NO_NAME, Coverage, Radio
from siteplan.studies.inputs import hashes_of
from siteplan.terrain.hillshade import from_mercator, mercator
from siteplan.words.area import CLASS_WORDS, area_text, band_text

TABLE, PAGE = "area.json", "area.html"
NO_CODE = 255
LARGEST_SIDE = 1000  # pixels of a picture on the page
_MOUNT_KEYS = (
    "dish_height_agl_m", "above_roof_m", "highest_agl_m", "highest_above_roof_m", "aerial_height_agl_m", "mobile_height_agl_m",
)  # fmt: skip
_KEYS = ("unknown", "blocked", "partly", "clear")
# service -> (file of names, file of strengths, codes of the three bands in words.area, unit of the strength)
RADIO_FILES = {
    "terrestrial": ("area-transmitter.tif", "area-tv-field.tif", ("band_transmitter", "band_field", "band_tv_margin"), "dBuV/m"),
    "mobile": ("area-sector.tif", "area-rsrp.tif", ("band_sector", "band_rsrp", "band_rsrp_margin"), "dBm"),
}
SEEN, MOUNTS = "area-satellites.tif", "area-mount-height.tif"
DISHES, MARGINS = "area-dish.tif", "area-satellite-margin.tif"
ARC = "area-arc.tif"
PIECES = 3  # what the pieces of a job hold: one more where that changes


@dataclass(frozen=True, eq=False)
class Product:
    """One raster of an area: its bands, the value of unknown cells, and tags."""

    bands: tuple[Band, ...]
    nodata: float
    tags: Mapping[str, str]


def products_of(coverage: Coverage, plan: Plan, *, date: str, version: str) -> dict[str, Product]:
    """Return the rasters of a judged area by file name."""
    common = {"SITEPLAN_VERSION": version, "PLAN": plan.name or plan.file.name, "DATE": date}
    out: dict[str, Product] = {}
    satellites = coverage.senders.satellites
    if satellites:
        counts, states = _seen(coverage)
        codes = [Band(counts, band_text("band_count", count=len(satellites)))]
        codes += [Band(state, band_text("band_state", satellite=one.name)) for one, state in zip(satellites, states, strict=True)]
        out[SEEN] = Product(tuple(codes), NO_CODE, {**common, "CLASSES": json.dumps(dict(enumerate(CLASS_WORDS)))})
        everyone = np.where(np.isnan(coverage.mount_m).any(axis=0), np.nan, coverage.mount_m.max(axis=0)).astype(np.float32)
        heights = [Band(everyone, band_text("band_mount_all"), "m")] if len(satellites) > 1 else []
        heights += [
            Band(mount, band_text("band_mount", satellite=one.name), "m") for one, mount in zip(satellites, coverage.mount_m, strict=True)
        ]
        out[MOUNTS] = Product(tuple(heights), float("nan"), {**common, "STEP_M": "0.1"})
        out |= _link_products(coverage, plan, common)
        if coverage.arc_deg:
            looked = {**common, "ORBITS_DEG": json.dumps(coverage.arc_deg)}
            out[ARC] = Product((Band(coverage.arc_pct, band_text("band_arc", count=len(coverage.arc_deg)), "%"),), float("nan"), looked)
    for service, radio in coverage.radio.items():
        names_file, strength_file, words, unit = RADIO_FILES[service]
        how = {**common, "METHOD": method_words(service, radio), "WORKED_EVERY_CELLS": str(radio.step)}
        names = {**how, "NAMES": json.dumps(_names(coverage, service), ensure_ascii=True)}
        wholes = (Band(radio.best, band_text(words[0])), *(Band(cells, band_text(f"band_{name}")) for name, cells in radio.more.items()))
        out[names_file] = Product(wholes, NO_NAME, names)
        strengths = Band(radio.strength, band_text(words[1]), unit), Band(radio.margin_db, band_text(words[2]), "dB")
        out[strength_file] = Product(strengths, float("nan"), how)
    return out


def _link_products(coverage: Coverage, plan: Plan, common: Mapping[str, str]) -> dict[str, Product]:
    """Return the rasters of dishes and margins; of all satellites together where there are several: the largest dish, the least margin."""
    satellites, tags = coverage.senders.satellites, {**common, "WANTED_PCT": f"{plan.limits.availability_pct:g}"}
    dishes = [Band(one, band_text("band_dish", satellite=sat.name), "m") for sat, one in zip(satellites, coverage.dish_m, strict=True)]
    margins = [
        Band(one, band_text("band_margin", satellite=sat.name, wanted_pct=plan.limits.availability_pct), "dB")
        for sat, one in zip(satellites, coverage.weather_margin_db, strict=True)
    ]
    if len(satellites) > 1:
        largest = coverage.dish_m.max(axis=0)  # NaN where any is
        dishes.insert(0, Band(largest, band_text("band_dish_all"), "m"))
    sizes = {"DISHES_M": json.dumps(sorted(plan.kit.dishes_m))}
    return {DISHES: Product(tuple(dishes), float("nan"), {**tags, **sizes}), MARGINS: Product(tuple(margins), float("nan"), tags)}


def _seen(coverage: Coverage) -> tuple[np.ndarray, np.ndarray]:
    """Return (count of clear satellites, state per satellite) as codes; the count is unknown where nothing is known of any satellite."""
    state = np.where(coverage.known, coverage.state, NO_CODE).astype(np.uint8)
    count = (state == _KEYS.index("clear")).sum(axis=0).astype(np.uint8)
    nobody_knows = ((state == _KEYS.index("unknown")) | (state == NO_CODE)).all(axis=0)
    return np.where(nobody_knows, NO_CODE, count).astype(np.uint8), state


def _names(coverage: Coverage, service: str) -> list[str]:
    if service == "terrestrial":
        return [sender.name for sender in coverage.senders.transmitters]
    return [f"{sender.operator}, {sender.site}, {sender.name}" for sender in coverage.senders.sectors]


def method_words(service: str, radio: Radio) -> str:
    """Return how a radio service was worked, with how far what was shared out lies from the full working."""
    what = area_text(f"what_{service}")
    if radio.step == 1:
        return area_text("says_full", what=what)
    if not radio.checks:
        return area_text("says_shared_unchecked", what=what, step=radio.step)
    return area_text("says_shared", what=what, step=radio.step, **radio.checks)


def table_of(coverage: Coverage, products: Mapping[str, Product], plan: Plan, *, date: str, key: str) -> dict[str, object]:
    """Return the table that stands beside the rasters: names by number, bands, how each was worked, shares. Plain values only."""
    grid, senders = coverage.grid, coverage.senders
    west, south, east, north = (round(value, 7) for value in grid.bounds())
    _, states = _seen(coverage) if senders.satellites else (None, ())
    known = max(1, int(coverage.known.sum()))
    return {
        "made_by": "siteplan area",
        "plan": plan.name or plan.file.name,
        "date": date,
        "key": key,
        "grid": {
            "crs": projection.crs_name(grid.crs), "cell_m": grid.cell_m, "rows": grid.rows, "cols": grid.cols,
            "transform": list(grid.transform), "bounds_deg": {"west": west, "south": south, "east": east, "north": north},
        },  # fmt: skip
        "mount": {name: getattr(plan.mount, name) for name in _MOUNT_KEYS},
        "satellites": [
            {
                "number": number, "name": one.name, "orbit_deg": one.orbit_deg,
                "shares": {key: round(int((states[number] == code).sum()) / known, 4) for code, key in enumerate(_KEYS)},
                "dishes": _dish_shares(coverage.dish_m[number], np.isfinite(coverage.mount_m[number]), plan),
            }
            for number, one in enumerate(senders.satellites)
        ],
        "transmitters": [{"number": number, "name": one.name} for number, one in enumerate(senders.transmitters)],
        "sectors": [
            {"number": number, "operator": one.operator, "site": one.site, "name": one.name, "band": one.band}
            for number, one in enumerate(senders.sectors)
        ],
        "radio": {
            service: {"worked_every_cells": radio.step, "differences": dict(radio.checks), "words": method_words(service, radio)}
            for service, radio in coverage.radio.items()
        },
        "flown": sorted({table.flown_on.year for table in plan.terrain if table.flown_on is not None}),
        "arc_step_deg": plan.area.arc_step_deg,
        "wanted_rsrp_dbm": plan.limits.rsrp_dbm,
        "wanted_availability_pct": plan.limits.availability_pct,
        "rasters": [
            {"file": name, "bands": [{"number": k, "holds": band.description, "unit": band.unit} for k, band in enumerate(one.bands, 1)]}
            for name, one in products.items()
        ],
    }  # fmt: skip


def _dish_shares(dish_m: np.ndarray, seen: np.ndarray, plan: Plan) -> dict[str, float]:
    """Return for each dish of the kit at which share of the places that can see the satellite it is the smallest that will do."""
    count = max(1, int(seen.sum()))
    return {f"{size:g}": round(int(np.isclose(dish_m, size).sum()) / count, 4) for size in sorted(plan.kit.dishes_m)}


def contents_of(products: Mapping[str, Product], grid: AreaGrid, table: Mapping[str, object]) -> dict[str, object]:
    """Return name -> what writes that file, for files.folder.publish."""

    def writer(product: Product) -> object:
        return lambda path: rasters.write_cog(
            path, product.bands, transform=grid.transform, crs=grid.crs, nodata=product.nodata, tags=product.tags
        )

    out: dict[str, object] = {name: writer(product) for name, product in products.items()}
    out[TABLE] = json.dumps(table, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    return out


def area_key(plan: Plan, date: str, grid: Mapping[str, object]) -> str:
    """Return a hash of all that area maps hang on: the bytes of every input, the settings, the date, the grid, versions."""
    chosen = {name: value for name, value in settings(plan).items() if name not in ("outputs", "map")}
    named = {name: value for name, value in versions().items() if name in ("siteplan", "numpy", "numba", "pyproj", "rasterio")}
    inputs = [(line["file"], line.get("sha256") or line.get("content_sha256")) for line in hashes_of(plan)]
    text = json.dumps([chosen, named, inputs, date, grid, PIECES], sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()


def key_for(plan: Plan, date: str) -> Callable[[Mapping[str, object]], str]:
    """Return the function that gives the key of a table's grid with today's plan and data."""
    return lambda grid: area_key(plan, date, {name: grid[name] for name in ("cell_m", "rows", "cols", "transform")})


# ---- for the map page --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Found:
    """Area maps that lie in a folder: the questions they answer, and name -> what writes each file again, unchanged.

    old  there are some, but of other data or settings: neither shown nor kept
    """

    overlays: tuple[Overlay, ...] = ()
    files: Mapping[str, object] = field(default_factory=dict)
    old: bool = False


def maps_in(folder: Path, key_of: Callable[[Mapping[str, object]], str]) -> Found:
    """Return the area maps of a folder. key_of gives, for a table's grid, the key that maps made now would have."""
    if not (folder / TABLE).is_file():
        return Found()
    try:
        table = json.loads((folder / TABLE).read_bytes())
        names = [str(one["file"]) for one in table["rasters"]]
        allowed = {SEEN, MOUNTS, DISHES, MARGINS, ARC, *(name for files in RADIO_FILES.values() for name in files[:2])}
        if table["made_by"] != "siteplan area" or not set(names) <= allowed:
            return Found()
        if table["key"] != key_of(table["grid"]):
            return Found(old=True)
        read = {name: rasters.read_bands(folder / name) for name in names}
        bands = {name: found[0] for name, found in read.items()}
        (first, *_), transform, crs = read[names[0]] if names else ((), (), "")
        rows, cols = first.cells.shape
        overlays = overlays_of(bands, AreaGrid(crs, transform, rows, cols, float(table["grid"]["cell_m"])), table)
    except (OSError, ValueError, KeyError, TypeError, RasterError):
        return Found(old=True)  # half of it is gone, or somebody wrote into it
    kept = [name for name in (*names, TABLE, PAGE) if (folder / name).is_file()]
    return Found(overlays, {name: _copier(folder / name) for name in kept})


def _copier(source: Path) -> object:
    return lambda path: shutil.copyfile(source, path)


def overlays_of(bands: Mapping[str, Sequence[Band]], grid: AreaGrid, table: Mapping[str, object]) -> tuple[Overlay, ...]:
    """Return the questions of the map page, drawn from rasters and their table."""
    picture = _Picture(grid)
    flown = f"{table['flown'][-1]}" if table["flown"] else ""  # type: ignore[index]
    words = {"flown": area_text("flown", year=flown) if flown else "", **table["mount"]}  # type: ignore[dict-item]
    out: list[Overlay] = []
    satellites = [str(one["name"]) for one in table["satellites"]]  # type: ignore[index,union-attr]
    if SEEN in bands:
        for name, band in zip(satellites, bands[SEEN][1:], strict=True):
            codes = tuple((code, key, area_text(f"class_{code}")) for code, key in enumerate(_KEYS))
            question = area_text("q_sees", satellite=name)
            out.append(picture.of(f"sees-{len(out) + 1}", question, band.cells, classes=codes, legend=area_text("l_sees", **words)))
        if len(satellites) > 1:
            codes = tuple((count, "", f"{count}") for count in range(len(satellites) + 1))
            question, legend = area_text("q_count"), area_text("l_count", **words)
            out.append(picture.of("sees-how-many", question, bands[SEEN][0].cells, classes=codes, legend=legend))
    if MOUNTS in bands:
        question = area_text("q_mount") if len(satellites) > 1 else area_text("q_mount_one", satellite=satellites[0])
        out.append(picture.of("mount-height", question, bands[MOUNTS][0].cells, unit="m", legend=area_text("l_mount", **words)))
    if ARC in bands:
        question, legend = area_text("q_arc"), area_text("l_arc", step_deg=float(table["arc_step_deg"]), **words)  # type: ignore[arg-type]
        out.append(picture.of("arc", question, bands[ARC][0].cells, unit="%", legend=legend))
    out += _link_overlays(bands, picture, satellites, {**words, "wanted_pct": table["wanted_availability_pct"]})
    for service in ("terrestrial", "mobile"):
        if RADIO_FILES[service][0] in bands:
            out += _radio_overlays(service, bands, picture, table)
    return tuple(out)


def _link_overlays(
    bands: Mapping[str, Sequence[Band]], picture: _Picture, satellites: Sequence[str], words: Mapping[str, object]
) -> list[Overlay]:
    """Return which dish each satellite needs, and what rain leaves of it."""
    out = []
    if DISHES in bands:
        names = [*([area_text("q_dish_all")] if len(satellites) > 1 else []), *(area_text("q_dish", satellite=one) for one in satellites)]
        for number, (question, band) in enumerate(zip(names, bands[DISHES], strict=True), 1):
            out.append(picture.of(f"dish-{number}", question, band.cells, unit="m", legend=area_text("l_dish", **words)))
    for number, (name, band) in enumerate(zip(satellites, bands.get(MARGINS, ()), strict=False), 1):
        question, more = area_text("q_margin", satellite=name), {"threshold": 0.0, "threshold_words": area_text("t_margin")}
        out.append(picture.of(f"rain-{number}", question, band.cells, unit="dB", legend=area_text("l_margin", **words), **more))
    return out


def _radio_overlays(service: str, bands: Mapping[str, Sequence[Band]], picture: _Picture, table: Mapping[str, object]) -> list[Overlay]:
    names_file, strength_file, _, _ = RADIO_FILES[service]
    how = table["radio"][service]  # type: ignore[index]
    shared = ""
    if how["differences"]:
        shared = area_text("shared", step=how["worked_every_cells"], **how["differences"])
    best = bands[names_file][0].cells
    if service == "terrestrial":
        labels = [str(one["name"]) for one in table["transmitters"]]  # type: ignore[index,union-attr]
        out = _named("best-terrestrial", "transmitter", best, labels, picture)
    else:
        sites = [f"{one['operator']}, {one['site']}" for one in table["sectors"]]  # type: ignore[index,union-attr]
        carriers = [f"{one['operator']}, {one['band']}" for one in table["sectors"]]  # type: ignore[index,union-attr]
        out = _named("best-mobile", "sector", best, sites, picture) + _named("best-mobile-band", "band", best, carriers, picture)
    if service == "terrestrial":
        margin = bands[strength_file][1]
        more = {"threshold": 0.0, "threshold_words": area_text("t_field"), "legend": area_text("l_field", shared=shared)}
        out.append(picture.of("tv-margin", area_text("q_field"), margin.cells, unit=margin.unit, **more))
        out += _aims(bands[names_file], picture)
    else:
        wanted, level = float(table["wanted_rsrp_dbm"]), bands[strength_file][0]  # type: ignore[arg-type]
        more = {"threshold": wanted, "threshold_words": area_text("t_rsrp", wanted=wanted)}
        legend = area_text("l_rsrp", wanted=wanted, shared=shared)
        out.append(picture.of("mobile-strength", area_text("q_rsrp"), level.cells, unit=level.unit, legend=legend, **more))
    return out


def _named(name: str, what: str, best: np.ndarray, labels: Sequence[str], picture: _Picture) -> list[Overlay]:
    """Return the question of who is best in each cell, one tone a label (senders of one label share it); none where they are too many."""
    order = list(dict.fromkeys(labels))
    if len(order) >= NO_CODE:
        return []
    code_of = np.array([*(order.index(label) for label in labels), NO_CODE], dtype=np.uint8)
    codes = code_of[np.where(best == NO_NAME, len(labels), np.minimum(best, len(labels)))]
    there = tuple((code, "", order[code]) for code in np.unique(codes).tolist() if code != NO_CODE)
    legend = area_text("l_best", what=area_text(f"what_{what}"))
    return [picture.of(name, area_text(f"q_{what}"), codes, classes=there, legend=legend)]


def _aims(bands: Sequence[Band], picture: _Picture) -> list[Overlay]:
    """Return how many programmes can be promised, and where two aims can't be told apart; nothing of maps made before these were."""
    if len(bands) < 3:
        return []
    counts, stays = (np.where(band.cells < NO_CODE, band.cells, NO_CODE).astype(np.uint8) for band in bands[1:3])
    there = tuple((code, "", f"{code}") for code in np.unique(counts).tolist() if code != NO_CODE)
    told = tuple((code, "", area_text(f"open_{code}")) for code in (0, 1))
    return [
        picture.of("tv-programmes", area_text("q_programmes"), counts, classes=there, legend=area_text("l_programmes")),
        picture.of("tv-open", area_text("q_open"), stays, classes=told, legend=area_text("l_open")),
    ]


class _Picture:
    """The pixels of one grid on a Web Mercator page: which cell each shows."""

    def __init__(self, grid: AreaGrid) -> None:
        self.west, self.south, self.east, self.north = grid.bounds()
        x0, y0 = mercator(lat_deg=self.south, lon_deg=self.west)
        x1, y1 = mercator(lat_deg=self.north, lon_deg=self.east)
        wide, high = float(x1 - x0), float(y1 - y0)
        pixel = max(grid.cell_m / np.cos(np.radians((self.south + self.north) / 2.0)), wide / LARGEST_SIDE, high / LARGEST_SIDE)
        cols, rows = max(2, round(wide / pixel)), max(2, round(high / pixel))
        x = x0 + (np.arange(cols) + 0.5) * (wide / cols)
        y = y1 - (np.arange(rows) + 0.5) * (high / rows)
        lat, lon = from_mercator(x[None, :], y[:, None])
        col, row = cells.invert(grid.transform, *projection.from_wgs84(*np.broadcast_arrays(lon, lat), grid.crs))
        self.col, self.row = np.floor(col).astype(np.int64), np.floor(row).astype(np.int64)
        self.inside = (self.col >= 0) & (self.col < grid.cols) & (self.row >= 0) & (self.row < grid.rows)
        self.col, self.row = np.clip(self.col, 0, grid.cols - 1), np.clip(self.row, 0, grid.rows - 1)

    def of(self, name: str, question: str, values: np.ndarray, **more: object) -> Overlay:
        """Return one question: each pixel shows the cell its middle lies in."""
        outside = NO_CODE if values.dtype == np.uint8 else np.nan
        drawn = np.where(self.inside, values[self.row, self.col], outside).astype(values.dtype)
        return Overlay(name, question, drawn, self.west, self.south, self.east, self.north, **more)  # type: ignore[arg-type]


