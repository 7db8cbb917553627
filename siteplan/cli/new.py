"""`siteplan new FOLDER`: a commented plan from what lies at hand."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer


def new(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where the plan goes; made where it is not there.", show_default=False)],
    addresses: Annotated[
        Path | None, typer.Option("--addresses", metavar="FILE", help="The address list; else the one found in FOLDER.", show_default=False)
    ] = None,
    terrain: Annotated[
        Path | None, typer.Option("--terrain", metavar="PLACE", help="Folder of rasters; else FOLDER itself.", show_default=False)
    ] = None,
) -> int:
    """Write a commented plan from what lies at hand.

    Says which raster it took as ground or surface and why (by comparing their heights), what it could not place, and what to do next.
    A plan that is there already is never overwritten.
    """
    from siteplan.studies.new_plan import new_plan

    for line in new_plan(folder, addresses=addresses, terrain=terrain, on_date=date.today()).lines:
        typer.echo(line)
    return 0
