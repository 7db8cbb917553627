"""The rasterio door: local raster files in, grids of metres out. The only module that imports rasterio.

GDAL opens a file with the drivers of DRIVERS alone, and network file systems are off. A virtual raster (.vrt) is read where all of its
sources are plain files in its own folder or below, each of which opens with those drivers; others are refused.
"""

from __future__ import annotations

import math
import re
import warnings
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from siteplan.errors import OutputError, RasterError, told
from siteplan.files import raster_checks as checks
from siteplan.files.raster_blocks import copy_to_read, highest
from siteplan.files.raster_info import Band, RasterInfo, Window
from siteplan.geodesy import cells, projection
from siteplan.records.ground import Grid

DRIVERS = (
    "GTiff", "AAIGrid", "AIG", "HFA", "EHdr", "ENVI", "SRTMHGT", "DTED", "USGSDEM", "GRASSASCIIGrid", "GSAG", "GSBG", "GS7BG",
    "ERS", "RST", "SAGA", "PCRaster", "ILWIS", "XYZ", "BT", "HF2", "JP2OpenJPEG", "GPKG", "netCDF",
)  # fmt: skip
_OFFLINE: dict[str, Any] = {
    "CPL_VSIL_CURL_ALLOWED_EXTENSIONS": "{none}",
    "GDAL_HTTP_MAX_RETRY": "0",
    "PROJ_NETWORK": "OFF",
    "GDAL_PAM_ENABLED": "YES",
    "GDAL_NUM_THREADS": "2",
    "GDAL_CACHEMAX": 128_000_000,
}
_STRIP_CELLS = 8_000_000


@contextmanager
def _opened(path: Path) -> Iterator[Any]:
    """Open a raster with the wanted drivers; each error of the library becomes a RasterError that names the file."""
    import rasterio
    from rasterio.errors import NotGeoreferencedWarning
    from rasterio.io import DatasetReader

    checks.local_file(path)
    warnings.simplefilter("ignore", NotGeoreferencedWarning)  # said by choose_crs in our own words
    with rasterio.Env(**_OFFLINE):
        available = rasterio.env.local._env.drivers()
        drivers = [name for name in DRIVERS if name in available]
        if path.suffix.lower() == ".vrt":
            _check_vrt(path, drivers)
            drivers = ["VRT"]
        try:
            dataset = DatasetReader(str(path), driver=drivers)
        except (*_library_errors(), ValueError) as error:
            raise checks.cannot_open(path, error) from None
        try:
            with dataset:
                yield dataset
        except (*_library_errors(), MemoryError) as error:
            if isinstance(error, MemoryError):
                raise RasterError(told("{name}: not enough memory to read it; cut the area out of it first", name=path.name)) from None
            raise checks.cannot_read(path, error) from None


def _library_errors() -> tuple[type[Exception], ...]:
    """Return what the library raises; the base of GDAL's own errors is private to it and not one of RasterioError."""
    import rasterio._err
    from rasterio.errors import RasterioError

    return RasterioError, OSError, getattr(rasterio._err, "CPLE_BaseError", RasterioError)


def _check_vrt(path: Path, drivers: list[str]) -> None:
    """Refuse a virtual raster that points anywhere but to plain files beside or below it."""
    from rasterio.io import DatasetReader

    text = path.read_text(encoding="utf-8", errors="replace")
    if re.search(r"<!ENTITY|<PixelFunction|subClass=\"VRT(Derived|Raw|Warped|Pansharpened|Processed)", text, re.IGNORECASE):
        raise RasterError(
            told("{name}: this virtual raster does more than join files; save it as one GeoTIFF and name that in the plan", name=path.name)
        )
    names = re.findall(r"<SourceFilename([^>]*)>([^<]*)</SourceFilename>", text)
    if not names:
        raise RasterError(told("{name}: a virtual raster without sources; name the GeoTIFFs it stands for in the plan", name=path.name))
    folder = path.resolve().parent
    for attributes, name in names:
        source = Path(name) if not re.search(r'relativeToVRT="1"', attributes) else folder / name
        if re.match(r"^(/vsi|[a-z][a-z0-9+.-]+:)", name, re.IGNORECASE) or folder not in source.resolve().parents:
            raise RasterError(
                told(
                    "{name}: this virtual raster points outside its own folder ({name_2!r}); copy its files beside it, or save it as "
                    "one GeoTIFF and name that in the plan",
                    name=path.name,
                    name_2=name[:120],
                )
            )
        checks.local_file(source)
        try:
            DatasetReader(str(source), driver=drivers).close()
        except (*_library_errors(), ValueError) as error:
            raise RasterError(
                told("{name}: one of its files can't be used: {cannot_open}", name=path.name, cannot_open=checks.cannot_open(source, error))
            ) from None


def describe(path: Path, *, crs: str = "", vertical_unit: str = "", nodata: float | None = None, vertical_datum: str = "") -> RasterInfo:
    """Return what a raster file is, without reading its cells.

    path           a local file
    crs            of the plan, for a file that has none; it must agree with the file's own where both are there
    vertical_unit  of the plan ("m", "ft", "us-ft", "cm"); "": as the band's unit, tag VERTICAL_UNITS or vertical CRS says, else metres
    nodata         of the plan: one more value that marks voids

    Raises RasterError: not there, not a raster, a picture, one row, no or unusable CRS, no place, unknown unit.
    """
    path = Path(path)
    with _opened(path) as dataset:
        checks.bands(path.name, dataset.count, [item.name for item in dataset.colorinterp], dataset.dtypes[0], _has_palette(dataset))
        checks.shape(path.name, dataset.height, dataset.width)
        transform = tuple(dataset.transform)[:6]
        own = dataset.crs.to_wkt() if dataset.crs is not None else ""
        wkt = checks.choose_crs(path.name, own, crs, transform, (dataset.height, dataset.width))
        tags = {**dataset.tags(), **dataset.tags(1)}
        unit, factor, source = checks.unit(path.name, stated=vertical_unit, band=dataset.units[0] or "", tags=tags, crs=wkt)
        datum = vertical_datum or projection.vertical_name(wkt) or tags.get("VERTICAL_DATUM", "")
        west, south, east, north = _extent(transform, dataset.height, dataset.width, wkt, path.name)
        return RasterInfo(
            path=path, name=path.name, driver=dataset.driver, rows=dataset.height, cols=dataset.width, dtype=dataset.dtypes[0],
            transform=transform, crs=wkt, crs_name=projection.crs_name(wkt), cell_m=_cell_m(transform, dataset.height, dataset.width, wkt),
            unit=unit, unit_to_m=factor, unit_source=source, vertical_datum=datum, nodata=dataset.nodata, plan_nodata=nodata,
            scale=float(dataset.scales[0]), offset=float(dataset.offsets[0]), overviews=tuple(dataset.overviews(1)),
            west_deg=west, south_deg=south, east_deg=east, north_deg=north,
        )  # fmt: skip


def _has_palette(dataset: Any) -> bool:
    try:
        return bool(dataset.colormap(1))
    except ValueError:
        return False


def _cell_m(transform: Sequence[float], rows: int, cols: int, crs: str) -> float:
    col, row = np.array([0.5, 0.0, 1.0, 0.5, 0.5]), np.array([0.5, 0.5, 0.5, 0.0, 1.0])
    lon, lat = projection.to_wgs84(*cells.apply(transform, col - 0.5 + cols / 2, row - 0.5 + rows / 2), crs)
    _, _, size = projection.geod_inverse(lat1_deg=lat[[1, 3]], lon1_deg=lon[[1, 3]], lat2_deg=lat[[2, 4]], lon2_deg=lon[[2, 4]])
    return float(np.mean(size))


def _extent(transform: Sequence[float], rows: int, cols: int, crs: str, name: str) -> tuple[float, float, float, float]:
    along = np.linspace(0.0, 1.0, 21)
    edge = np.concatenate([np.zeros(21), np.ones(21), along, along]), np.concatenate([along, along, np.zeros(21), np.ones(21)])
    lon, lat = projection.to_wgs84(*cells.apply(transform, edge[0] * cols, edge[1] * rows), crs)
    lon, lat = np.asarray(lon, dtype=float), np.asarray(lat, dtype=float)
    if not (np.isfinite(lon).all() and np.isfinite(lat).all()) or np.abs(lat).max() > 90.0:
        raise RasterError(told("{name}: its corners lie nowhere on Earth in its CRS; check the CRS (plan key `crs`)", name=name))
    return float(lon.min()), float(lat.min()), float(lon.max()), float(lat.max())


def window_around(info: RasterInfo, *, lat_deg: float, lon_deg: float, radius_m: float) -> Window | None:
    """Return the window (row0, row1, col0, col1) of a file that holds a circle, two cells to spare; None where they don't meet."""
    azimuth = np.arange(0.0, 360.0, 15.0)
    lat, lon = projection.geod_forward(
        lat_deg=np.full(24, lat_deg), lon_deg=np.full(24, lon_deg), azimuth_deg=azimuth, distance_m=np.full(24, radius_m * 1.02)
    )
    x, y = projection.from_wgs84(np.append(lon, lon_deg), np.append(lat, lat_deg), info.crs)
    col, row = cells.invert(info.transform, x, y)
    if projection.is_geographic(info.crs):
        col = cells.wrapped(col, info.transform, info.cols)
    known = np.isfinite(col) & np.isfinite(row)
    if not known.any():
        return None
    row0, row1 = int(np.floor(row[known].min())) - 2, int(np.ceil(row[known].max())) + 2
    col0, col1 = int(np.floor(col[known].min())) - 2, int(np.ceil(col[known].max())) + 2
    row0, row1, col0, col1 = max(row0, 0), min(row1, info.rows), max(col0, 0), min(col1, info.cols)
    return (row0, row1, col0, col1) if row1 - row0 >= 2 and col1 - col0 >= 2 else None


def read(info: RasterInfo, *, window: Window | None = None, factor: int = 1) -> Grid:
    """Return the cells of a file, or of a window of it, in metres, NaN where void: read_several() of one."""
    return read_several(info, ((window, factor),))[0]


def read_several(info: RasterInfo, wanted: Sequence[tuple[Window | None, int]]) -> tuple[Grid, ...]:
    """Return several windows of a file at once, each in metres, NaN where void; what they share is read once.

    wanted  (window, factor): window (row0, row1, col0, col1), end left out, None: all of it. Of a factor > 1 each cell of the result is
            the highest of factor x factor cells, and the window starts at a multiple of it. Where the file holds coarser copies of
            itself and a window has over 400 million cells, a copy is read (one with at least 4 x 4 cells to each of ours).

    Raises RasterError: truncated, infinities, values that look like untagged voids, nothing but voids (whole file only).
    """
    targets = [_Target.of(info, window, factor) for window, factor in wanted]
    tally = _tally(info)
    with _opened(info.path) as dataset:
        for thin in sorted({target.thin for target in targets}):
            _sweep(dataset, info, [target for target in targets if target.thin == thin], tally)
    tally.finish(whole=any(target.whole for target in targets))
    if info.unit_source == "not stated" and not info.dtype.startswith("float"):
        for target in targets:
            if target.factor == 1:
                checks.not_too_steep(info.name, target.z_m, info.cell_m)
    return tuple(target.grid(info) for target in targets)


def _tally(info: RasterInfo) -> checks.Tally:
    return checks.Tally(
        info.name, unit=info.unit, unit_to_m=info.unit_to_m, unit_source=info.unit_source, scale=info.scale, offset=info.offset
    )


@dataclass
class _Target:
    """One window on its way to a grid; rows and columns of the file, at multiples of its factor."""

    row0: int
    row1: int
    col0: int
    col1: int
    factor: int
    thin: int
    whole: bool
    z_m: np.ndarray

    @classmethod
    def of(cls, info: RasterInfo, window: Window | None, factor: int) -> _Target:
        row0, row1, col0, col1 = window or (0, info.rows, 0, info.cols)
        row0, col0 = row0 // factor * factor, col0 // factor * factor
        row1, col1 = min(info.rows, -(-row1 // factor) * factor), min(info.cols, -(-col1 // factor) * factor)
        shape = -(-(row1 - row0) // factor), -(-(col1 - col0) // factor)
        thin = copy_to_read(info.overviews, (row1 - row0) * (col1 - col0), factor)
        return cls(row0, row1, col0, col1, factor, thin, window is None, np.empty(shape, dtype=np.float32))

    def take(self, z: np.ndarray, top: int, left: int) -> None:
        """Take this target's part of a strip that starts at row `top`, column `left` of the file (strips end at multiples of factor)."""
        first, last = max(self.row0, top), min(self.row1, top + z.shape[0] * self.thin)
        if first >= last:
            return
        rows = slice((first - top) // self.thin, -(-(last - top) // self.thin))
        part = z[rows, (self.col0 - left) // self.thin : -(-(self.col1 - left) // self.thin)]
        at = (first - self.row0) // self.factor
        done = highest(part, self.factor // self.thin)
        self.z_m[at : at + done.shape[0]] = done

    def grid(self, info: RasterInfo) -> Grid:
        """Return the finished grid."""
        a, b, _, d, e, _ = info.transform
        x, y = cells.apply(info.transform, self.col0, self.row0)
        f = self.factor
        transform = (a * f, b * f, float(x), d * f, e * f, float(y))
        return Grid(z_m=self.z_m, transform=transform, crs=info.crs, cell_m=info.cell_m * f, name=info.name)


def _sweep(dataset: Any, info: RasterInfo, targets: list[_Target], tally: checks.Tally) -> None:
    """Read the rows that any target needs, strip by strip, and hand each its part."""
    largest, thin = math.lcm(*(target.factor for target in targets)), targets[0].thin
    left, right = min(target.col0 for target in targets), max(target.col1 for target in targets)
    top = min(target.row0 for target in targets) // largest * largest
    end = max(target.row1 for target in targets)
    step = max(1, _STRIP_CELLS // max(1, (right - left) * largest)) * largest
    for first in range(top, end, step):
        last = min(first + step, end)
        if any(target.row0 < last and target.row1 > first for target in targets):
            z = _strip(dataset, info, (first, last, left, right), thin, tally)
            for target in targets:
                target.take(z, first, left)


def void_share(info: RasterInfo) -> float:
    """Return the share of cells that are void, 0..1, from an even sample of up to 4 million cells; RasterError as read_several()."""
    thin = int(np.ceil(np.sqrt(max(1.0, info.cells / 4_000_000))))
    tally = _tally(info)
    with _opened(info.path) as dataset:
        z = _strip(dataset, info, (0, info.rows, 0, info.cols), thin, tally)
    tally.finish(whole=True)
    return float(np.mean(np.isnan(z)))


def _strip(dataset: Any, info: RasterInfo, window: Window, thin: int, tally: checks.Tally) -> np.ndarray:
    from rasterio.windows import Window as Part

    top, bottom, left, right = window
    shape = (-(-(bottom - top) // thin), -(-(right - left) // thin))
    raw = dataset.read(1, window=Part(left, top, right - left, bottom - top), out_shape=shape, masked=True)
    void = np.ma.getmaskarray(raw).copy()
    values = np.ma.getdata(raw)
    if info.plan_nodata is not None:
        void |= checks.holds(values, info.plan_nodata)
    z = values.astype(np.float32)
    if values.dtype.kind == "f":
        void |= np.isnan(z)
    z[void] = np.nan
    tally.look(values, void, z)
    if info.scale != 1.0 or info.offset != 0.0:
        z = (values.astype(np.float64) * info.scale + info.offset).astype(np.float32)
    if info.unit_to_m != 1.0:
        z = (z.astype(np.float64) * info.unit_to_m).astype(np.float32)
    if z is not values:
        z[void] = np.nan
    tally.look_metres(z)
    return z


def burn(polygons: Sequence[Any], values: Sequence[float], *, shape: tuple[int, int], transform: Sequence[float]) -> np.ndarray:
    """Return (rows, cols) float32: the highest value of the polygons whose outline holds the cell's centre, NaN outside all.

    polygons  shapely polygons in the grid's own x, y
    """
    import rasterio
    from rasterio.features import rasterize
    from rasterio.transform import Affine

    out = np.full(shape, np.nan, dtype=np.float32)
    order = sorted((float(value), index) for index, value in enumerate(values) if not polygons[index].is_empty)
    if not order:
        return out
    with rasterio.Env(**_OFFLINE):
        rasterize(((polygons[index], value) for value, index in order), out=out, transform=Affine(*transform), default_value=1.0)
    return out


def write_cog(path: Path, bands: Sequence[Band], *, transform: Sequence[float], crs: str, nodata: float, tags: Mapping[str, str]) -> None:
    """Write bands of one type as a cloud-optimised GeoTIFF: tiled, compressed, with coarser copies inside.

    bands      all uint8, uint16 or float32 and of one shape; codes get coarser copies by nearest cell, float32 by the mean
    transform  as Grid.transform; nodata: the value, or NaN, of unknown cells
    tags       text by name, for the file as a whole

    The same cells give the same bytes. Raises OutputError where the file can't be written.
    Source: OGC 21-026 (Cloud Optimized GeoTIFF), by GDAL's COG driver.
    """
    import rasterio
    from rasterio.transform import Affine

    first = bands[0].cells
    profile = {
        "driver": "COG", "height": first.shape[0], "width": first.shape[1], "count": len(bands), "dtype": first.dtype.name, "crs": crs,
        "transform": Affine(*transform), "nodata": nodata, "COMPRESS": "DEFLATE", "LEVEL": "6", "PREDICTOR": "YES", "BLOCKSIZE": "256",
        "OVERVIEW_RESAMPLING": "AVERAGE" if first.dtype.kind == "f" else "NEAREST", "NUM_THREADS": "1", "BIGTIFF": "IF_SAFER",
    }  # fmt: skip
    try:
        with rasterio.Env(**{**_OFFLINE, "GDAL_PAM_ENABLED": "NO", "GDAL_NUM_THREADS": "1"}), rasterio.open(path, "w", **profile) as out:
            for number, band in enumerate(bands, start=1):
                out.write(band.cells, number)
                out.set_band_description(number, band.description)
                if band.unit:
                    out.set_band_unit(number, band.unit)
            out.update_tags(**tags)
    except _library_errors() as error:
        raise OutputError(
            told("{path}: can't write the raster ({error}). Free some room or choose another folder with --out.", path=path, error=error)
        ) from error


def read_bands(path: Path) -> tuple[tuple[Band, ...], tuple[float, float, float, float, float, float], str]:
    """Return (bands, transform, CRS as WKT) of a raster that write_cog() wrote, its cells as they are. Raises RasterError."""
    with _opened(path) as dataset:
        words = zip(dataset.descriptions, dataset.units, strict=True)
        bands = tuple(Band(dataset.read(number), what or "", unit or "") for number, (what, unit) in enumerate(words, start=1))
        return bands, tuple(dataset.transform)[:6], dataset.crs.to_wkt()
