"""Is this file a grid of heights, and in which unit? Every complaint about a raster names the file, what is wrong and what to do."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from siteplan.errors import InputError, RasterError, told
from siteplan.geodesy import projection

HIGHEST_M = 9_000.0  # nothing on Earth is higher (Everest 8,849 m)
LOWEST_M = -11_500.0  # nor deeper (Challenger Deep about -10,935 m)
LOWEST_LAND_M = -450.0  # shore of the Dead Sea about -430 m
VOID_MARKS = (-9999.0, 32767.0, -32767.0, -32768.0, -99999.0, 9999.0, 99999.0, 65535.0)
US_SURVEY_FOOT_M = 1200.0 / 3937.0
UNITS_TO_M = {"m": 1.0, "ft": 0.3048, "us-ft": US_SURVEY_FOOT_M, "cm": 0.01, "dm": 0.1, "mm": 0.001}
_UNIT_WORDS = (
    ("us-ft", r"(us[ _-]?(survey[ _-]?)?(ft|foot|feet)|(ft|foot|feet)[ _-]?us|(foot|feet)[ _-]?us[ _-]?survey|us survey.*|ftus)"),
    ("ft", r"(international[ _-]?)?(ft|foot|feet)\b.*"),
    ("cm", r"(cm|centi-?met(re|er)s?)\b.*"),
    ("dm", r"(dm|deci-?met(re|er)s?)\b.*"),
    ("mm", r"(mm|milli-?met(re|er)s?)\b.*"),
    ("m", r"(m|met(re|er)s?|meters?)\b.*"),
)


def local_file(path: Path) -> None:
    """Raise RasterError unless the path is a plain local file with something in it."""
    text = str(path)
    if re.match(r"^[\\/]+vsi", text, re.IGNORECASE) or re.match(r"^[a-z][a-z0-9+.-]+:/", text, re.IGNORECASE):
        raise RasterError(told("{text}: siteplan reads local files only; download it and name the file", text=text))
    if not path.exists():
        raise RasterError(told("{path}: no such file; check the name in the plan (paths are relative to the plan file)", path=path))
    if path.is_dir():
        if path.suffix.lower() == ".gdb" or not any(path.glob("*.adf")):
            raise RasterError(told("{path}: this is a folder; name the raster file in it", path=path))
        return
    try:
        with path.open("rb") as stream:
            first = stream.read(1)
    except OSError as error:
        raise RasterError(told("{path}: can't be opened ({strerror}); check who may read it", path=path, strerror=error.strerror)) from None
    if not first:
        raise RasterError(told("{name}: the file is empty (0 bytes); fetch it again", name=path.name))


def cannot_open(path: Path, error: Exception) -> RasterError:
    """Return the complaint for a file that no driver takes; the library's own words are kept out unless they say 'truncated'."""
    try:
        head = path.read_bytes()[:4096] if path.is_file() else b""
    except OSError:
        head = b""
    if head[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"):
        return RasterError(
            told(
                "{name}: this GeoTIFF is damaged or cut short ({st_size:,} bytes); fetch it again",
                name=path.name,
                st_size=path.stat().st_size,
            )
        )
    if head.lstrip()[:1] == b"<":
        return RasterError(
            told("{name}: this is a web page or XML text, not a raster; the download probably failed, fetch it again", name=path.name)
        )
    if head and all(byte >= 32 or byte in (9, 10, 13) for byte in head[:512]):
        return RasterError(
            told("{name}: this is a text file, not a raster of heights; name a GeoTIFF or an ESRI ASCII grid", name=path.name)
        )
    return RasterError(
        told(
            "{name}: not a raster that siteplan reads (GeoTIFF, ESRI grid, ERDAS Imagine, HGT, DTED and others); save it as GeoTIFF",
            name=path.name,
        )
    )


def cannot_read(path: Path, error: Exception) -> RasterError:
    """Return the complaint for a file whose cells can't be read to the end."""
    return RasterError(
        told(
            "{name}: its cells can't be read to the end: the file is damaged or cut short ({st_size:,} bytes); fetch it again",
            name=path.name,
            st_size=path.stat().st_size,
        )
    )


def bands(name: str, count: int, meanings: Sequence[str], dtype: str, palette: bool) -> None:
    """Raise RasterError for pictures and stacks: one band of heights is wanted (a second one may be a mask)."""
    if count == 1 and not palette and not dtype.startswith("complex"):
        return
    if count == 2 and "alpha" in meanings[1:]:
        return
    if palette or (count in (3, 4) and dtype in ("uint8", "uint16")):
        raise RasterError(told("{name}: this is a picture, not heights; name the file with the elevations", name=name))
    if dtype.startswith("complex"):
        raise RasterError(told("{name}: holds complex numbers, not heights; name the file with the elevations", name=name))
    raise RasterError(
        told(
            "{name}: has {count} bands where one band of heights is wanted; save the band with the heights as a file of its own",
            name=name,
            count=count,
        )
    )


def shape(name: str, rows: int, cols: int) -> None:
    """Raise RasterError where there are not at least two rows and two columns to look between."""
    if rows < 2 or cols < 2:
        raise RasterError(
            told("{name}: only {rows} × {cols} cells; at least two rows and two columns are needed", name=name, rows=rows, cols=cols)
        )


def choose_crs(name: str, own: str, stated: str, transform: Sequence[float], size: tuple[int, int]) -> str:
    """Return the CRS to use: the file's own, or the plan's where it has none; RasterError where there is none or they disagree."""
    if tuple(transform) == (1.0, 0.0, 0.0, 0.0, 1.0, 0.0):
        raise RasterError(
            told("{name}: the file does not say where it lies (no georeference); export it again with its position, as GeoTIFF", name=name)
        )
    a, b, _, d, e, _ = transform
    if a * e - b * d == 0.0:
        raise RasterError(told("{name}: its cells have no size; export it again with its position, as GeoTIFF", name=name))
    stated_wkt = ""
    if stated:
        try:
            stated_wkt = projection.parse_crs(stated)
        except InputError as error:
            raise RasterError(
                told(
                    '{name}: the plan\'s `crs` is {stated!r}, which is no CRS ({error}); write for example crs = "EPSG:25833"',
                    name=name,
                    stated=stated,
                    error=error,
                )
            ) from None
    if not own and not stated_wkt:
        raise RasterError(
            told(
                '{name}: the file names no coordinate system (CRS); ask its supplier and write it in the plan: crs = "EPSG:25833"',
                name=name,
            )
        )
    if not own:
        return stated_wkt
    try:
        own_wkt = projection.parse_crs(own)
    except InputError:
        if stated_wkt:
            return stated_wkt
        raise RasterError(
            told('{name}: its coordinate system can\'t be understood; write it in the plan, for example crs = "EPSG:25833"', name=name)
        ) from None
    if stated_wkt:
        _same_place(name, own_wkt, stated_wkt, transform, size)
    return own_wkt


def _same_place(name: str, own: str, stated: str, transform: Sequence[float], size: tuple[int, int]) -> None:
    a, b, c, d, e, f = transform
    row, col = size[0] / 2, size[1] / 2
    x, y = np.array([a * col + b * row + c]), np.array([d * col + e * row + f])
    lon1, lat1 = projection.to_wgs84(x, y, own)
    lon2, lat2 = projection.to_wgs84(x, y, stated)
    apart = np.inf
    if all(np.isfinite(v).all() for v in (lon1, lat1, lon2, lat2)):
        apart = float(projection.geod_inverse(lat1_deg=lat1, lon1_deg=lon1, lat2_deg=lat2, lon2_deg=lon2)[2][0])
    if not apart <= 5.0:
        where = f"{apart:,.0f} m apart" if np.isfinite(apart) else told("in another place altogether")
        raise RasterError(
            told(
                "{name}: the file's own CRS and the plan's `crs` put it {where}; remove `crs` from the plan, or give the file its own"
                " table",
                name=name,
                where=where,
            )
        )


def unit_word(text: str) -> str:
    """Return "m", "ft", "us-ft", "cm", "dm" or "mm" for a unit as files write it, "" where it says nothing, "?" where unknown."""
    word = text.strip().lower().strip("[]()")
    if word in ("", "unknown", "none", "not stated", "unspecified", "1"):
        return ""
    return next((code for code, pattern in _UNIT_WORDS if re.fullmatch(pattern, word)), "?")


def unit(name: str, *, stated: str, band: str, tags: Mapping[str, str], crs: str) -> tuple[str, float, str]:
    """Return the unit of heights, metres in it, and how it is known: "plan", "band unit", "tag", "vertical CRS" or "not stated".

    Raises RasterError: a unit nobody knows; nothing stated where the CRS counts in feet (metres or feet? asked for).
    """
    if stated:
        return stated, UNITS_TO_M[stated], "plan"
    tag = next((value for key, value in tags.items() if key.upper() in ("VERTICAL_UNITS", "VERTICAL_UNIT", "UNITTYPE", "UNITS")), "")
    for text, source in ((band, "band unit"), (tag, "tag")):
        word = unit_word(text)
        if word == "?":
            raise RasterError(told(
                '{name}: its {source} says heights are in {text!r}, which siteplan does not know; write vertical_unit = "m", "ft", '
                '"us-ft" or "cm" in the plan',
                name=name, source=source, text=text[:40]
            ))  # fmt: skip
        if word:
            return word, UNITS_TO_M[word], source
    up = projection.vertical_unit_to_metre(crs)
    if np.isfinite(up):
        code = next((code for code, size in UNITS_TO_M.items() if abs(size / up - 1.0) < 1e-7), f"{up:g} m")
        return code, up, "vertical CRS"
    if not projection.is_geographic(crs) and abs(projection.unit_to_metre(crs) - 0.3048) < 0.001:
        raise RasterError(told(
            '{name}: its positions count in feet and nothing says whether its heights are feet or metres; write vertical_unit = "ft" '
            '(or "us-ft", or "m") in the plan',
            name=name
        ))  # fmt: skip
    return "m", 1.0, "not stated"


def holds(values: np.ndarray, mark: float) -> np.ndarray:
    """Return where raw cells hold a value, compared in their own type; nowhere for one their type can't hold."""
    if values.dtype.kind != "f":
        limits = np.iinfo(values.dtype)
        if mark != round(mark) or not limits.min <= mark <= limits.max:
            return np.zeros(values.shape, dtype=bool)
        return values == int(mark)
    with np.errstate(over="ignore"):
        return values == values.dtype.type(mark)


def not_too_steep(name: str, z_m: np.ndarray, cell_m: float) -> None:
    """Raise RasterError where whole numbers of no stated unit rise steeper than 45 degrees in half of all steps: centimetres, probably."""
    part = z_m[: max(2, 1_000_000 // z_m.shape[1])]
    step = np.abs(np.diff(part, axis=1))
    step = step[np.isfinite(step)]
    if step.size >= 100 and float(np.median(step)) > cell_m:
        raise RasterError(
            told(
                "{name}: half of its cells differ by over {median:.0f} from the neighbour {cell_m:.1f} m away, and nothing says the "
                'unit; they are probably centimetres: write vertical_unit = "cm" in the plan (or "m" if that is how steep it is)',
                name=name,
                median=np.median(step),
                cell_m=cell_m,
            )
        )


class Tally:
    """Looks over cells as they are read, strip by strip, and complains at the end."""

    def __init__(self, name: str, *, unit: str, unit_to_m: float, unit_source: str, scale: float = 1.0, offset: float = 0.0) -> None:
        self.name, self.unit, self.unit_to_m, self.unit_source = name, unit, unit_to_m, unit_source
        # In a file of centimetres 32767 is a height like any other; a mark counts where it could be none, or is the usual -9999.
        self.suspect = [
            mark
            for mark in VOID_MARKS
            if not LOWEST_LAND_M <= (mark * scale + offset) * unit_to_m <= HIGHEST_M or (mark < 0 and scale == 1.0 and offset == 0.0)
        ]
        self.cells = self.known = self.infinite = self.high = self.deep = 0
        self.marks: dict[float, int] = {}
        self.highest, self.lowest = -np.inf, np.inf

    def look(self, values: np.ndarray, void: np.ndarray, z: np.ndarray) -> None:
        """Count infinities and void marks among raw values that the file does not tag as void. z: the same, NaN where void."""
        self.cells += values.size
        self.known += int(values.size - np.count_nonzero(void))
        low, high = float(np.fmin.reduce(z, axis=None)), float(np.fmax.reduce(z, axis=None))
        if np.isinf(low) or np.isinf(high):
            self.infinite += int(np.count_nonzero(np.isinf(values if values.dtype.kind == "f" else z) & ~void))
        for mark in self.suspect:
            if low <= mark <= high:
                count = int(np.count_nonzero(holds(values, mark) & ~void))
                if count:
                    self.marks[mark] = self.marks.get(mark, 0) + count

    def look_metres(self, z_m: np.ndarray) -> None:
        """Count heights that no place on Earth has."""
        low, high = float(np.fmin.reduce(z_m, axis=None)), float(np.fmax.reduce(z_m, axis=None))
        if high > HIGHEST_M or low < LOWEST_M:
            self.high += int(np.count_nonzero(np.isfinite(z_m) & (z_m > HIGHEST_M)))
            self.deep += int(np.count_nonzero(np.isfinite(z_m) & (z_m < LOWEST_M)))
        if np.isfinite(high) and np.isfinite(low):
            self.highest, self.lowest = max(self.highest, high), min(self.lowest, low)

    def finish(self, *, whole: bool) -> None:
        """Raise RasterError for what look() found; nothing but voids is an error only where the whole file was read."""
        tag = told("tag that value as nodata in the file, or write it as `nodata` in the plan's [[terrain]] table")
        if self.infinite:
            raise RasterError(
                told(
                    "{name}: {infinite:,} of {cells:,} cells hold infinity; export it again",
                    name=self.name,
                    infinite=self.infinite,
                    cells=self.cells,
                )
            )
        if self.marks:
            mark, count = max(self.marks.items(), key=lambda item: item[1])
            raise RasterError(
                told(
                    "{name}: {count:,} of {cells:,} cells hold {mark:g}, an untagged void, it seems; {tag}",
                    name=self.name,
                    count=count,
                    cells=self.cells,
                    mark=mark,
                    tag=tag,
                )
            )
        if self.high and self.high > 0.01 * self.known and self.unit_source == "not stated" and self.highest < HIGHEST_M * 100:
            raise RasterError(
                told(
                    "{name}: heights up to {highest:,.0f} and nothing says their unit; no land is above 9,000 m, so they are probably"
                    ' centimetres or feet: write vertical_unit = "cm", "ft" or "us-ft" in the plan',
                    name=self.name,
                    highest=self.highest,
                )
            )
        if self.high:
            raise RasterError(
                told(
                    "{name}: {high:,} of {cells:,} cells are above 9,000 m (up to {highest:,.6g} {unit}): an untagged void, it seems;"
                    " {tag}",
                    name=self.name,
                    high=self.high,
                    cells=self.cells,
                    highest=self.highest / self.unit_to_m,
                    unit=self.unit,
                    tag=tag,
                )
            )
        if self.deep:
            raise RasterError(
                told(
                    "{name}: {deep:,} of {cells:,} cells are below -11,500 m (down to {lowest:,.6g} {unit}): an untagged void, it "
                    "seems; {tag}",
                    name=self.name,
                    deep=self.deep,
                    cells=self.cells,
                    lowest=self.lowest / self.unit_to_m,
                    unit=self.unit,
                    tag=tag,
                )
            )
        if whole and not self.known:
            raise RasterError(
                told(
                    "{name}: all {cells:,} cells are void (nodata): there are no heights in it; name another file",
                    name=self.name,
                    cells=self.cells,
                )
            )
