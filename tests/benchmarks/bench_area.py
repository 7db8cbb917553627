"""Maps of one square kilometre at 2 m for three satellites, and the radio bands beside: seconds and megabytes. Run by hand.

    python tests/benchmarks/bench_area.py [cell_m]

Last recorded (2 cores, other work beside): satellites 6.3 s, 25 us a cell, 407 MB; TV and mobile 49.8 s (10,000 paths each), differences
of cells between nodes: TV 0.0 dB median, 2.1 dB nine of ten; mobile 0.5 dB median, 6.6 dB nine of ten.
"""

import resource
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

from siteplan.files.plan_file import read_plan
from siteplan.geodesy.projection import to_wgs84
from siteplan.studies.area_grid import area_grid
from siteplan.studies.coverage import Senders, judge_area
from siteplan.studies.inputs import ground_frames, read_inputs

SAMPLE = Path(__file__).resolve().parents[2] / "sample_terrain" / "plan.toml"


def main(cell_m: float = 2.0) -> None:
    plan = read_plan(SAMPLE)
    inputs = read_inputs(plan)
    frames = ground_frames(plan)
    info = frames.infos[0]
    middle = (info.west_deg + info.east_deg) / 2, (info.south_deg + info.north_deg) / 2
    from siteplan.geodesy.projection import from_wgs84

    x, y = from_wgs84(*middle, info.crs)
    lon, lat = to_wgs84(np.array([x - 500.0, x + 500.0]), np.array([y - 500.0, y + 500.0]), info.crs)
    bounds = float(lon[0]), float(lat[0]), float(lon[1]), float(lat[1])
    grid = area_grid(bounds, frames.infos, plan.area, cell_m)
    print(f"{grid.rows} x {grid.cols} cells of {grid.cell_m:g} m = {grid.cells:,}; {len(inputs.satellites)} satellites")
    senders = Senders(inputs.satellites, inputs.transmitters, inputs.sectors)
    warm = replace(grid, rows=64, cols=64)
    with tempfile.TemporaryDirectory() as work:
        judge_area(plan, warm, Senders(inputs.satellites), on_date=plan.date, work=Path(work))  # compiles
    for what, ask in (("satellites", Senders(inputs.satellites)), ("TV and mobile", replace(senders, satellites=()))):
        with tempfile.TemporaryDirectory() as work:
            started = time.perf_counter()
            found = judge_area(plan, grid, ask, on_date=plan.date, work=Path(work))
            took = time.perf_counter() - started
        megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"{what:14} {took:6.1f} s  {1e6 * took / grid.cells:6.1f} us a cell  {megabytes:6.0f} MB at most")
        if found.state.size:
            print("   clear", *(f"{np.mean(state == 3):.1%}" for state in found.state))
        for service, radio in found.radio.items():
            print(f"   {service}: every {radio.step} cells; differences {dict(radio.checks)}")


if __name__ == "__main__":
    main(*(float(text) for text in sys.argv[1:2]))
