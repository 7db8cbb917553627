"""`siteplan fade`: what the weather takes from a satellite's signal at one place."""

from __future__ import annotations

from typing import Annotated

import typer


def _option(flag: str, text: str) -> object:
    return typer.Option(flag, help=text, show_default=False)


def fade(
    lat_deg: Annotated[float, _option("--lat-deg", "Latitude, degrees, south negative.")],
    lon_deg: Annotated[float, _option("--lon-deg", "Longitude, degrees east, west negative.")],
    frequency_mhz: Annotated[float, _option("--frequency-mhz", "Downlink frequency, 1000 to 55000 MHz.")],
    elevation_deg: Annotated[float, _option("--elevation-deg", "Elevation of the satellite, 1 to 90; under 5 is stretched, and said.")],
    time_pct: Annotated[float, _option("--time-pct", "Exceeded for this much of the average year, 0.001 to 5 per cent.")],
    height_amsl_m: Annotated[
        float | None, _option("--height-amsl-m", "Height above sea level, metres; from a world map where absent.")
    ] = None,
    dish_m: Annotated[float, typer.Option("--dish-m", help="Diameter of the dish, metres: a larger one scintillates less.")] = 0.8,
    dish_efficiency: Annotated[float, typer.Option("--dish-efficiency", help="Aperture efficiency of the dish.")] = 0.65,
    tilt_deg: Annotated[
        float, typer.Option("--tilt-deg", help="Polarisation against the horizontal: 0 horizontal, 90 vertical, 45 circular or unknown.")
    ] = 45.0,
    rain_001_mm_per_h: Annotated[
        float | None, _option("--rain-001-mm-per-h", "Rain rate exceeded for 0.01 % of the year; from a world map where absent.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object in place of the table.")] = False,
) -> int:
    """What the weather takes from a satellite's signal: rain, gases, clouds, scintillation (ITU-R P.618-13).

    Attenuation only: what the receiver loses to the warmer sky is said apart. The total is not the sum of the parts.
    """
    from siteplan.studies.calc_fade import fade_for_one, fade_lines

    found = fade_for_one(
        lat_deg=lat_deg,
        lon_deg=lon_deg,
        frequency_mhz=frequency_mhz,
        elevation_deg=elevation_deg,
        time_pct=time_pct,
        height_amsl_m=height_amsl_m,
        dish_m=dish_m,
        dish_efficiency=dish_efficiency,
        tilt_deg=tilt_deg,
        rain_001_mm_per_h=rain_001_mm_per_h,
    )
    if as_json:
        import json

        typer.echo(json.dumps(found, ensure_ascii=False, allow_nan=False, indent=2))
    else:
        for line in fade_lines(found):
            typer.echo(line)
    return 0
