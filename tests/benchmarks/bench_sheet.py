"""How long a sheet takes, beside its figures drawn by a plotting library: python tests/benchmarks/bench_sheet.py [rounds].

Both draw the same row of the hand-made run, figures with the same lines: the skyline and each path. The library draws nothing else,
the sheet is whole. Prints ms and bytes of one.
"""

from __future__ import annotations

import io
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import ready_findings as ready

from siteplan.report import sheet_page


def of_ours(run, row) -> int:
    return len(sheet_page.page(run, row).encode())


def of_the_library(row) -> int:
    import matplotlib

    matplotlib.use("svg")
    from matplotlib import pyplot

    size, sky = 0, row.satellite.skyline
    profiles = [way.profile for way in (*row.terrestrial.aims[:2], *row.mobile.lines[:1]) if way.profile is not None]
    for draw in (lambda axes: axes.plot(sky.azimuth_deg, sky.elevation_deg), *(
        lambda axes, one=one: axes.fill_between(one.distance_m, one.ground_amsl_m) for one in profiles
    )):  # fmt: skip
        figure, axes = pyplot.subplots(figsize=(7, 3))
        draw(axes)
        axes.set_xlabel("x")
        kept = io.BytesIO()
        figure.savefig(kept, format="svg")
        pyplot.close(figure)
        size += len(kept.getvalue())
    return size


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    run = ready.findings()
    row = run.rows[0]
    for name, draw in (("sheet, whole", lambda: of_ours(run, row)), ("its figures, plotting library", lambda: of_the_library(row))):
        draw()
        start = time.perf_counter()
        for _ in range(rounds):
            size = draw()
        print(f"{name}: {(time.perf_counter() - start) / rounds * 1e3:.1f} ms, {size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
