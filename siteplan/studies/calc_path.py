"""The path calculator: one profile file, one loss."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

from siteplan.errors import InputError, told
from siteplan.files.profile_file import read_profile
from siteplan.services.shared.paths import work_path


def path_answer(
    file: Path,
    *,
    frequency_mhz: float,
    tx_height_agl_m: float,
    rx_height_agl_m: float,
    lat_deg: float,
    time_pct: float = 50.0,
    location_pct: float = 50.0,
    polarisation: str = "h",
    delta_n: float = 45.0,
    n0: float = 325.0,
    tx_coast_km: float = 500.0,
    rx_coast_km: float = 500.0,
    erp_kw: float = 1.0,
    method: str = "p1812",
    unknown_clutter: str = "",
) -> dict[str, float | str | None]:
    """Return loss, field strength and every intermediate of one path profile file, by name; None where there is no number.

    file      a CSV as files.profile_file reads it
    lat_deg   latitude of the path's middle
    unknown_clutter  a kind of clutter that P.2108 adds at the receiver; only for a profile without heights of what stands on the ground
    the rest  as services.shared.paths.work_path

    Raises TableError and InputError for a bad file, MethodRangeError outside the method's range.
    """
    profile = read_profile(file, lat_mid_deg=lat_deg)
    if unknown_clutter:
        if (profile.clutter_m > 0.0).any():
            raise InputError(
                told("{file}: the profile holds heights of what stands on the ground; P.2108 on top would count them twice", file=file)
            )
        if method != "p1812":
            raise InputError(
                told("the method {method} counts what stands round a house by itself; P.2108 on top would count it twice", method=method)
            )
        profile = replace(profile, surface_known=0.0)
    (loss,) = work_path(
        profile,
        tx_height_agl_m=tx_height_agl_m,
        rx_height_agl_m=rx_height_agl_m,
        frequencies_mhz=[frequency_mhz],
        polarisations=polarisation,
        erps_kw=erp_kw,
        time_pct=time_pct,
        location_pct=location_pct,
        delta_n=delta_n,
        n0=n0,
        tx_coast_m=1000.0 * tx_coast_km,
        rx_coast_m=1000.0 * rx_coast_km,
        method=method,
        unknown_clutter=unknown_clutter,
    )
    found: dict[str, float | str | None] = {
        "method": loss.method,
        "loss_db": loss.loss_db,
        "field_strength_dbuv_per_m": loss.field_strength_dbuv_per_m,
        "path_km": float(profile.distance_m[-1]) / 1000.0,
        "points": len(profile.distance_m),
        "blocking_edge_km": loss.what_blocks_m / 1000.0,
        "location_sigma_db": loss.sigma_db,
        **loss.intermediates,
    }
    return {name: None if isinstance(value, float) and not math.isfinite(value) else value for name, value in found.items()}
