"""One path worked end to end: profile in, loss and field strength out, by the method that holds for its length."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.errors import InputError
from siteplan.radio.methods.shape import DEFAULT_SIGMA_DB
from siteplan.radio.methods.table import method_for
from siteplan.radio.path_geometry import coasts_m, prepare
from siteplan.records.results import PathLoss, Profile

__all__ = ["coasts_m", "work_path"]


def work_path(
    profile: Profile,
    *,
    tx_height_agl_m: float,
    rx_height_agl_m: float,
    frequencies_mhz: Sequence[float],
    polarisations: Sequence[str] | str = "h",
    erps_kw: Sequence[float] | float = 1.0,
    time_pct: float = 50.0,
    location_pct: float = 50.0,
    delta_n: float = 45.0,
    n0: float = 325.0,
    lat_mid_deg: float | None = None,
    tx_coast_m: float | None = None,
    rx_coast_m: float | None = None,
    sigma_db: float = DEFAULT_SIGMA_DB,
) -> tuple[PathLoss, ...]:
    """Return the loss of every frequency over one path, the profile searched once.

    profile                 sender first; taken with the decimals of its file, so that the file gives the same loss
    frequencies_mhz         (n,); polarisations and erps_kw have n entries too, or one for all
    the rest                as radio.methods.p1812.loss_db and radio.path_geometry.prepare

    Returns (n,): ITU-R P.1812-8 from 250 m, free space plus diffraction below; PathLoss.method says which.
    Raises InputError for a profile that can't be used, MethodRangeError outside the method's range.
    """
    count = len(frequencies_mhz)
    letters = [polarisations] * count if isinstance(polarisations, str) else list(polarisations)
    powers = [float(erps_kw)] * count if isinstance(erps_kw, int | float) else list(erps_kw)
    if len(letters) != count or len(powers) != count:
        raise InputError(f"{count} frequencies, {len(letters)} polarisations and {len(powers)} powers; give as many of each, or one")
    geometry = prepare(
        profile.rounded(),
        tx_height_agl_m=tx_height_agl_m,
        rx_height_agl_m=rx_height_agl_m,
        delta_n=delta_n,
        n0=n0,
        lat_mid_deg=lat_mid_deg,
        tx_coast_m=tx_coast_m,
        rx_coast_m=rx_coast_m,
    )
    method = method_for(geometry.path_m)
    return tuple(
        method.loss_db(
            geometry,
            frequency_mhz=frequency,
            time_pct=time_pct,
            location_pct=location_pct,
            polarisation=letter,
            erp_kw=power,
            sigma_db=sigma_db,
        )
        for frequency, letter, power in zip(frequencies_mhz, letters, powers, strict=True)
    )
