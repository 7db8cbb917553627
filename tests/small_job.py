"""A small whole job for tests that go through the command line: one kilometre of invented land, a few addresses, a few senders."""

from __future__ import annotations

import csv
import sys
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from terrain_makers import ORIGIN, write_tif

from siteplan.geodesy.projection import to_wgs84

CELL, SIDE = 2.0, 500
SATELLITES = (
    "satellite,orbit_deg,transponder,frequency_mhz,polarisation,symbol_rate_kbaud,system,modulation,code_rate,eirp_dbw,eirp_source\n"
    "Heron,10E,1,11258,H,27500,DVB-S2,8PSK,3/4,51,stated\n"
)
TRANSMITTERS = "transmitter,x,y,ground_amsl_m,antenna_height_agl_m,multiplex,channel,erp_kw,polarisation,mode\n"
SECTORS = "operator,site,sector,x,y,antenna_height_agl_m,technology,band,frequency_mhz,re_eirp_dbm,azimuth_deg\n"
TABLES = """
[satellites]
wanted = ["10E"]
file = "satellites.csv"
[transmitters]
file = "transmitters.csv"
[mobile]
file = "sectors.csv"
"""


def at(east: float, south: float) -> tuple[float, float]:
    """Return x, y of a place so many metres east and south of the land's north-west corner."""
    return ORIGIN[0] + east, ORIGIN[1] - south


def place(east: float, south: float) -> tuple[float, float]:
    """Return latitude and longitude of the same."""
    lon, lat = to_wgs84(*at(east, south), "EPSG:32633")
    return round(float(lat), 6), round(float(lon), 6)


def heights() -> tuple[np.ndarray, np.ndarray]:
    """Return ground and surface: land that rises gently to the north, three houses, a wood in the west."""
    row, col = np.mgrid[0:SIDE, 0:SIDE].astype(np.float32)
    ground = 300.0 + 0.02 * (SIDE - row) + 0.5 * np.sin(col / 40.0)
    top = ground.copy()
    for r, c in ((250, 250), (250, 280), (300, 250)):
        top[r : r + 6, c : c + 6] += 6.0
    top[100:400, 20:80] += 15.0
    return ground.astype(np.float32), top.astype(np.float32)


def write_land(folder: Path) -> Path:
    """Write ground.tif and surface.tif into a folder."""
    ground, top = heights()
    write_tif(folder / "ground.tif", ground, cell=CELL, nodata=-9999)
    write_tif(folder / "surface.tif", top, cell=CELL, nodata=-9999)
    return folder


ADDRESSES = "id,name,lat_deg,lon_deg\n" + "".join(
    f"{i},Lane {i},{lat},{lon}\n" for i, (lat, lon) in enumerate([place(506, 506), place(566, 506), place(700, 700)], 1)
)


@dataclass
class Ended:
    """How one call of the command line ended."""

    code: int
    out: str
    err: str


@dataclass
class Job:
    """A plan in a folder of its own, over land that many tests share, and ways to run it."""

    folder: Path
    land: Path
    capture: object
    patch: object
    terrain: str = ""
    files: dict[str, str | bytes] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.terrain = f"[[terrain]]\nground = '{self.land / 'ground.tif'}'\nsurface = '{self.land / 'surface.tif'}'\n"
        self.write("addresses.csv", ADDRESSES)

    @property
    def out(self) -> Path:
        """Return the folder of results."""
        return self.folder / "outputs"

    def write(self, name: str, content: str | bytes) -> Path:
        """Write a file beside the plan."""
        path = self.folder / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        return path

    def plan(
        self, more: str = "", *, terrain: str | None = None, addresses: str = "file = 'addresses.csv'", date: str = "2026-06-11"
    ) -> Path:
        """Write plan.toml."""
        head = f"date = {date}\n" if date else ""
        land = self.terrain if terrain is None else terrain
        return self.write("plan.toml", f"{head}{land}[addresses]\n{addresses}\n{more}")

    def call(self, *words: str) -> Ended:
        """Call the command line in this process, as `siteplan WORDS` would; nothing that looks like a traceback may be printed."""
        from siteplan.cli.table import main

        self.patch.setattr(sys, "argv", ["siteplan", *map(str, words)])
        self.capture.readouterr()
        code = 0
        try:
            main()
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 1
        printed = self.capture.readouterr()
        assert "Traceback" not in printed.err + printed.out and 'File "' not in printed.err + printed.out
        assert printed.err.count("siteplan: ") <= 1
        return Ended(code, printed.out, printed.err)

    def run(self, *words: str) -> Ended:
        """Run the plan."""
        return self.call("run", self.folder / "plan.toml", *words)

    def tables(self, *words: str) -> Ended:
        """Run the plan for its tables alone."""
        return self.call("addresses", self.folder / "plan.toml", *words)

    def check(self, *words: str) -> Ended:
        """Check the plan."""
        return self.call("check", self.folder / "plan.toml", *words)

    def verdicts(self) -> list[dict[str, str]]:
        """Return the rows of verdicts.csv."""
        return list(csv.DictReader((self.out / "verdicts.csv").read_text(encoding="utf-8").splitlines(keepends=True)))

    def rejects(self) -> list[dict[str, str]]:
        """Return the rows of rejects.csv."""
        return list(csv.DictReader((self.out / "rejects.csv").read_text(encoding="utf-8").splitlines(keepends=True)))

    def state(self) -> dict[str, bytes]:
        """Return every file of the results, hidden ones too, with its bytes."""
        return {path.relative_to(self.out).as_posix(): path.read_bytes() for path in sorted(self.out.rglob("*")) if path.is_file()}
