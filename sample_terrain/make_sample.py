"""Make the sample: an invented stretch of coast with a small town, its addresses, satellites, transmitters and mobile sites.

Nothing here exists. The place is laid over the open sea (UTM zone 29 north, over 300 km off any shore) so that no real
village is meant by it. Run it from anywhere: `python sample_terrain/make_sample.py`; it writes beside itself (or into the
folder it is given), and always the same.
"""

from __future__ import annotations

import sys
from pathlib import Path

from sample_land import (
    HAMLET_CELL_M,
    HAMLET_COLS,
    HAMLET_ROWS,
    HAMLET_X,
    HAMLET_Y,
    QUANTUM_M,
    TOWN_COLS,
    TOWN_ROWS,
    TOWN_X,
    TOWN_Y,
    WIDE_CELL_M,
    WIDE_CELLS,
    WIDE_X,
    WIDE_Y,
    grid,
    ground_m,
    lay_out_hamlet,
    lay_out_town,
    rounded,
    stand_up,
    write_buildings,
    write_raster,
)
from sample_tables import write_tables

HERE = Path(__file__).resolve().parent


def main(folder: Path = HERE) -> None:
    """Write every file of the sample into a folder."""
    x, y = grid(WIDE_X, WIDE_Y, cols=WIDE_CELLS, rows=WIDE_CELLS, cell_m=WIDE_CELL_M)
    wide = rounded(ground_m(x, y), 0.25)
    write_raster(folder / "wide_ground_40m.tif", wide, west=WIDE_X, north=WIDE_Y, cell_m=WIDE_CELL_M, what="ground")
    houses, trees = lay_out_town()
    x, y = grid(TOWN_X, TOWN_Y, cols=TOWN_COLS, rows=TOWN_ROWS, cell_m=1.0)
    ground = ground_m(x, y)
    surface = rounded(stand_up(ground, houses, trees), QUANTUM_M)
    write_raster(folder / "town_ground_1m.tif", rounded(ground, QUANTUM_M), west=TOWN_X, north=TOWN_Y, cell_m=1.0, what="ground")
    write_raster(folder / "town_surface_1m.tif", surface, west=TOWN_X, north=TOWN_Y, cell_m=1.0, what="ground, houses, trees")
    write_buildings(folder / "buildings.geojson", houses)
    x, y = grid(HAMLET_X, HAMLET_Y, cols=HAMLET_COLS, rows=HAMLET_ROWS, cell_m=HAMLET_CELL_M)
    hamlet = lay_out_hamlet()
    ground = rounded(ground_m(x, y), QUANTUM_M)
    write_raster(folder / "hamlet_ground_2m.tif", ground, west=HAMLET_X, north=HAMLET_Y, cell_m=HAMLET_CELL_M, what="ground")
    write_buildings(folder / "hamlet_buildings.geojson", hamlet)
    write_tables(folder, [*houses, *hamlet])
    print(f"{len(houses) + len(hamlet)} buildings, {len(trees)} trees")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
