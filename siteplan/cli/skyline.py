"""`siteplan skyline PLAN`: what stands against the sky from one point of a plan's terrain."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def _numbers(text: str, what: str) -> list[float]:
    try:
        return [float(part) for part in text.replace(";", ",").split(",")]
    except ValueError:
        raise typer.BadParameter(f"{text!r} is not {what}") from None


def _two(text: str) -> str:
    if len(_numbers(text, "two numbers with a comma between")) != 2:
        raise typer.BadParameter(f"{text!r} is not two numbers with a comma between, as 6.456,45.123")
    return text


def _some(text: str | None) -> str | None:
    if text is not None:
        _numbers(text, "a list of degrees, as 120,150")
    return text


def skyline(
    plan: Annotated[Path, typer.Argument(metavar="PLAN", help="A plan; one that holds only [[terrain]] will do.", show_default=False)],
    at: Annotated[
        str, typer.Option("--at", metavar="X,Y", callback=_two, help="Where: longitude,latitude, or x,y in --crs.", show_default=False)
    ],
    height_agl_m: Annotated[float, typer.Option("--height-agl-m", help="Antenna above the ground, 0 to 1000 m.", show_default=False)],
    crs: Annotated[
        str, typer.Option("--crs", metavar="EPSG:...", help="System of --at; longitude,latitude where absent.", show_default=False)
    ] = "",
    azimuth_deg: Annotated[
        str | None,
        typer.Option(
            "--azimuth-deg", metavar="A,B,...", callback=_some, help="Exact single rays at these true bearings.", show_default=False
        ),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object in place of the table.")] = False,
) -> int:
    """What stands against the sky from one point of a plan's terrain.

    Elevations are geometric. Without --azimuth-deg: the highest thing in each half-degree sector; nothing falls between rays.
    """
    from siteplan.studies.calc_skyline import skyline_for_one, skyline_lines

    x, y = _numbers(at, "")
    found = skyline_for_one(
        plan,
        at=(x, y),
        crs=crs,
        height_agl_m=height_agl_m,
        azimuth_deg=None if azimuth_deg is None else _numbers(azimuth_deg, ""),
    )
    if as_json:
        import json

        typer.echo(json.dumps(found, ensure_ascii=False, allow_nan=False, indent=2))
    else:
        for line in skyline_lines(found):
            typer.echo(line)
    return 0
