"""`siteplan path PROFILE.csv`: loss and field strength over one path profile."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def path(
    profile: Annotated[
        Path,
        typer.Argument(metavar="PROFILE.csv", help="Columns distance_km, height_amsl_m, if known clutter_m, zone.", show_default=False),
    ],
    frequency_mhz: Annotated[float, typer.Option("--frequency-mhz", help="30 to 6000.", show_default=False)],
    tx_height_agl_m: Annotated[float, typer.Option("--tx-height-agl-m", help="Sender's antenna above its ground.", show_default=False)],
    rx_height_agl_m: Annotated[float, typer.Option("--rx-height-agl-m", help="Receiver's antenna above its ground.", show_default=False)],
    lat_deg: Annotated[float, typer.Option("--lat-deg", help="Latitude of the path's middle, north positive.", show_default=False)],
    time_pct: Annotated[float, typer.Option("--time-pct", help="Share of time the loss is not exceeded, 1 to 50.")] = 50.0,
    location_pct: Annotated[float, typer.Option("--location-pct", help="Share of locations the loss is not exceeded at, 1 to 99.")] = 50.0,
    polarisation: Annotated[str, typer.Option("--polarisation", help="h (horizontal) or v (vertical).")] = "h",
    delta_n: Annotated[float, typer.Option("--delta-n", help="Lapse of the radio refractive index, N-units/km.")] = 45.0,
    n0: Annotated[float, typer.Option("--n0", help="Sea-level surface refractivity, N-units.")] = 325.0,
    tx_coast_km: Annotated[float, typer.Option("--tx-coast-km", help="Over land from the sender to the sea along the path.")] = 500.0,
    rx_coast_km: Annotated[float, typer.Option("--rx-coast-km", help="The same from the receiver.")] = 500.0,
    erp_kw: Annotated[float, typer.Option("--erp-kw", help="Power over a half-wave dipole, for the field strength.")] = 1.0,
    method: Annotated[str, typer.Option("--method", help="p1812, or one that `siteplan methods` names.")] = "p1812",
    unknown_clutter: Annotated[
        str,
        typer.Option("--unknown-clutter", help="Add ITU-R P.2108 at the receiver: open_rural, suburban, urban, trees_forest, dense_urban."),
    ] = "",
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Loss and field strength over one path profile (ITU-R P.1812-8; free space and diffraction under 250 m)."""
    from siteplan.studies.calc_path import path_answer

    found = path_answer(
        profile,
        frequency_mhz=frequency_mhz,
        tx_height_agl_m=tx_height_agl_m,
        rx_height_agl_m=rx_height_agl_m,
        lat_deg=lat_deg,
        time_pct=time_pct,
        location_pct=location_pct,
        polarisation=polarisation,
        delta_n=delta_n,
        n0=n0,
        tx_coast_km=tx_coast_km,
        rx_coast_km=rx_coast_km,
        erp_kw=erp_kw,
        method=method,
        unknown_clutter=unknown_clutter,
    )
    if as_json:
        import json

        typer.echo(json.dumps(found, indent=2, allow_nan=False))
        return
    width = max(map(len, found))
    for name, value in found.items():
        shown = "none" if value is None else f"{value:.4f}" if isinstance(value, float) else str(value)
        typer.echo(f"{name:<{width}}  {shown}")
