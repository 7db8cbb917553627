"""`siteplan area PLAN`: maps of a whole area."""

from __future__ import annotations

import math
from typing import Annotated

import typer

from siteplan.cli.run import OutOption, PlanArgument, QuietOption
from siteplan.cli.working import Working
from siteplan.errors import told


def _box(text: str | None) -> str | None:
    if text is not None:
        _numbers(text)
    return text


def _numbers(text: str) -> tuple[float, ...]:
    try:
        found = tuple(float(part) for part in text.replace(";", ",").split(","))
    except ValueError:
        found = ()
    if len(found) != 4 or not all(math.isfinite(value) for value in found):
        raise typer.BadParameter(f"{text!r} is not west,south,east,north in degrees, as -9.58,47.49,-9.56,47.51")
    return found


def area(
    plan: PlanArgument,
    out: OutOption = None,
    cell_m: Annotated[
        float | None, typer.Option("--cell-m", min=0.25, max=5000, help="Side of a map cell, metres.", show_default=False)
    ] = None,
    bounds: Annotated[
        str | None,
        typer.Option(
            "--bounds", metavar="W,S,E,N", callback=_box, help="Degrees; the addresses and a margin where absent.", show_default=False
        ),
    ] = None,
    quiet: QuietOption = False,
) -> int:
    """Draw maps of an area: satellites seen, mount height needed, best transmitter and mobile site.

    Writes GeoTIFFs (area-*.tif), their table of names (area.json) and a page (area.html) beside the last run's files, which stay; the
    next run puts the maps on its own map too. An interrupted one goes on where it stopped.
    """
    with Working(quiet) as working:
        from siteplan.studies.area_job import FIRST_RUN_WORDS, do_area
        from siteplan.studies.job import first_run

        if first_run():
            working.say(told(FIRST_RUN_WORDS))
        done = do_area(
            plan, out, cell_m=cell_m, bounds=_numbers(bounds) if bounds else (), progress=working.step, say=working.say, clock=working.now
        )
    for line in done.lines:
        if not quiet:
            typer.echo(line)
    typer.echo(done.last_line)
    return 0
