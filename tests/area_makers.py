"""A village worked by hand for the tests of areas and explanations: 320 m of fine surface in 12 km of bare ground, UTM 33N at 47.85 N.

A house (8 m), a block of flats (24 m) and a wood (15 m) stand on flat ground at 100 m; the fine surface knows all of it. A satellite due
south stands at 35 degrees. One TV transmitter 5 km north, another 4 km east behind a ridge; two mobile sites.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
from terrain_makers import ORIGIN, UTM, write_tif

from siteplan.geodesy.projection import to_wgs84

SIDE, CELL, GROUND_M = 160, 2.0, 100.0
BOXES = {"house": ((70, 76), (40, 46), 8.0), "flats": ((60, 66), (90, 110), 24.0)}  # (rows, cols, height)
WOOD = (slice(100, 120), slice(20, 60), 15.0)


def lon_lat(east_m: float, south_m: float) -> tuple[float, float]:
    """Return longitude and latitude of a place counted from the fine raster's north-west corner."""
    lon, lat = to_wgs84(ORIGIN[0] + east_m, ORIGIN[1] - south_m, UTM)
    return float(lon), float(lat)


def village(folder: Path, *, addresses: str | None = None, more: str = "", date: str = "2026-06-11") -> Path:
    """Write the village into a folder and return its plan."""
    folder.mkdir(parents=True, exist_ok=True)
    ground = np.full((SIDE, SIDE), GROUND_M, dtype=np.float32)
    top, outlines = ground.copy(), []
    for rows, cols, height in BOXES.values():
        top[slice(*rows), slice(*cols)] += height
        corners = [(cols[0], rows[0]), (cols[1], rows[0]), (cols[1], rows[1]), (cols[0], rows[1]), (cols[0], rows[0])]
        ring = [list(lon_lat(col * CELL, row * CELL)) for col, row in corners]
        outlines.append({"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates": [ring]}})
    top[WOOD[0], WOOD[1]] += WOOD[2]
    write_tif(folder / "ground.tif", ground, cell=CELL)
    write_tif(folder / "surface.tif", top, cell=CELL)
    (folder / "houses.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": outlines}), encoding="utf-8")
    wide = np.full((240, 240), GROUND_M, dtype=np.float32)
    wide[:, 150:153] += 150.0  # a ridge 2 km to the east
    write_tif(folder / "wide.tif", wide, cell=50.0, origin=(ORIGIN[0] - 6_000.0, ORIGIN[1] + 6_000.0))
    north, east, near = lon_lat(160.0, -5_000.0), lon_lat(4_160.0, 160.0), lon_lat(900.0, 400.0)
    (folder / "satellites.csv").write_text(
        "satellite,orbit_deg,transponder,frequency_mhz,polarisation,symbol_rate_kbaud,system,modulation,code_rate,eirp_dbw,eirp_source\n"
        "Southbird,15,T1,11000,H,27500,DVB-S2,8PSK,3/4,52,stated\n"
        "Eastbird,50,T1,11000,V,27500,DVB-S2,8PSK,3/4,52,stated\n",
        encoding="utf-8",
    )
    (folder / "transmitters.csv").write_text(
        "transmitter,lat_deg,lon_deg,antenna_height_agl_m,multiplex,frequency_mhz,bandwidth_mhz,erp_kw,polarisation,mode\n"
        f"North Mast,{north[1]:.6f},{north[0]:.6f},60,A,500,8,1,h,DVB-T2 256QAM 2/3\n"
        f"North Mast,{north[1]:.6f},{north[0]:.6f},60,B,600,8,1,h,DVB-T2 256QAM 2/3\n"
        f"East Mast,{east[1]:.6f},{east[0]:.6f},60,A,550,8,1,v,DVB-T2 64QAM 2/3\n",
        encoding="utf-8",
    )
    (folder / "sectors.csv").write_text(
        "operator,site,sector,lat_deg,lon_deg,antenna_height_agl_m,technology,band,frequency_mhz,re_eirp_dbm,azimuth_deg,downtilt_deg\n"
        f"Corvid,Barn,Barn 1,{near[1]:.6f},{near[0]:.6f},25,LTE,800,806,20,300,4\n"
        f"Plover,North Mast,North 1,{north[1]:.6f},{north[0]:.6f},40,LTE,1800,1842.5,25,180,2\n",
        encoding="utf-8",
    )
    if addresses is None:
        spots = {"roof": (86.0, 146.0, "roof"), "garden": (60.0, 60.0, "ground"), "behind": (200.0, 112.0, "ground")}
        lines = [f"{name},{lon_lat(e, s)[1]:.7f},{lon_lat(e, s)[0]:.7f},1,{mount}" for name, (e, s, mount) in spots.items()]
        addresses = "id,lat_deg,lon_deg,position_error_m,mount\n" + "\n".join([*lines, "lost,,,1,"]) + "\n"
    (folder / "addresses.csv").write_text(addresses, encoding="utf-8")
    plan = folder / "plan.toml"
    plan.write_text(
        'name = "Village (invented)"\n' + (f"date = {date}\n" if date else "") + '[[terrain]]\nground = "ground.tif"\n'
        'surface = "surface.tif"\nbuildings = "houses.geojson"\nflown_on = 2026-03-01\nheight_error_m = 0.2\n'
        '[[terrain]]\nground = "wide.tif"\n'
        '[addresses]\nfile = "addresses.csv"\n[satellites]\nwanted = ["15E", "50E"]\nfile = "satellites.csv"\n'
        '[transmitters]\nfile = "transmitters.csv"\n[mobile]\nfile = "sectors.csv"\n' + more,
        encoding="utf-8",
    )
    return plan
