"""`siteplan aim`: where a dish at one place points for one satellite."""

from __future__ import annotations

import math
from datetime import date, datetime
from typing import Annotated

import typer


def _finite(value: float) -> float:
    if not math.isfinite(value):
        raise typer.BadParameter("is not a number of degrees or metres")
    return value


LatOption = Annotated[
    float, typer.Option("--lat-deg", min=-90, max=90, callback=_finite, help="Latitude, degrees, south negative.", show_default=False)
]
LonOption = Annotated[
    float,
    typer.Option("--lon-deg", min=-180, max=360, callback=_finite, help="Longitude, degrees east, west negative.", show_default=False),
]
OrbitOption = Annotated[
    float,
    typer.Option(
        "--orbit-deg",
        min=-180,
        max=360,
        callback=_finite,
        help="Orbital longitude, degrees east, west negative. One below the horizon gets its angles too, and exit code 0.",
        show_default=False,
    ),
]
HeightOption = Annotated[
    float, typer.Option("--height-amsl-m", min=-1000, max=100_000, callback=_finite, help="Height above sea level, metres.")
]
DateOption = Annotated[
    datetime | None,
    typer.Option(
        "--date",
        formats=["%Y-%m-%d"],
        metavar="YYYY-MM-DD",
        help="Day of the compass bearing, 2025 to 2029; today where absent, printed.",
        show_default=False,
    ),
]


def aim(
    lat_deg: LatOption,
    lon_deg: LonOption,
    orbit_deg: OrbitOption,
    height_amsl_m: HeightOption = 0.0,
    on_date: DateOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object in place of the table.")] = False,
) -> int:
    """Where a dish at one place points for one satellite.

    Azimuth is from true north, elevation geometric (what the air adds is apart), skew clockwise positive for someone who stands
    behind the dish and faces the satellite. A satellite below the horizon is an answer too: exit code 0.
    """
    from siteplan.studies.calc_aim import aim_for_one, aim_lines

    found = aim_for_one(
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        orbit_deg=orbit_deg,
        height_amsl_m=height_amsl_m,
        on_date=on_date.date() if on_date else date.today(),
        date_given=on_date is not None,
    )
    if as_json:
        import json

        typer.echo(json.dumps(found, ensure_ascii=False, allow_nan=False, indent=2))
    else:
        for line in aim_lines(found):
            typer.echo(line)
    return 0
