"""One path worked end to end: profile in, loss and field strength out, by the method that the plan names and that holds for its length."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from siteplan.errors import InputError, told
from siteplan.radio.clutter_loss import height_gain_loss_db
from siteplan.radio.methods.shape import DEFAULT_SIGMA_DB
from siteplan.radio.methods.table import BY_LENGTH, DEFAULT, METHODS, method_for
from siteplan.radio.path_geometry import coasts_m, prepare
from siteplan.records.plan import Plan
from siteplan.records.results import PathLoss, Profile
from siteplan.records.verdict import Reason

__all__ = ["adds_unknown_clutter", "coasts_m", "error_of_method", "looks_at_the_ground", "statistical_note", "work_path"]

_OVER_THE_GROUND = frozenset(METHODS[name].label for name in BY_LENGTH)


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
    method: str = DEFAULT,
    unknown_clutter: str = "",
) -> tuple[PathLoss, ...]:
    """Return the loss of every frequency over one path, the profile searched once.

    profile                 sender first; taken with the decimals of its file, so that the file gives the same loss
    frequencies_mhz         (n,); polarisations and erps_kw have n entries too, or one for all
    method                  a name of radio.methods.table.NAMES
    unknown_clutter         a kind of radio.clutter_loss.CLUTTER: what the receiver loses by it is added where adds_unknown_clutter holds
    the rest                as radio.methods.p1812.loss_db and radio.path_geometry.prepare

    Returns (n,): by default ITU-R P.1812-8 from 250 m, free space plus diffraction below; PathLoss.method says which.
    Raises InputError for a profile or name that can't be used, MethodRangeError outside the method's range.
    """
    count = len(frequencies_mhz)
    letters = [polarisations] * count if isinstance(polarisations, str) else list(polarisations)
    powers = [float(erps_kw)] * count if isinstance(erps_kw, int | float) else list(erps_kw)
    if len(letters) != count or len(powers) != count:
        raise InputError(
            told(
                "{count} frequencies, {letters} polarisations and {powers} powers; give as many of each, or one",
                count=count,
                letters=len(letters),
                powers=len(powers),
            )
        )
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
    taken = method_for(geometry.path_m, method)
    losses = tuple(
        taken.loss_db(
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
    if not adds_unknown_clutter(profile, method, unknown_clutter):
        return losses
    return tuple(
        _with_clutter(loss, height_gain_loss_db(frequency, rx_height_agl_m, clutter=unknown_clutter))
        for frequency, loss in zip(frequencies_mhz, losses, strict=True)
    )


def adds_unknown_clutter(profile: Profile, method: str, unknown_clutter: str) -> bool:
    """Return whether P.2108 adds its loss: a kind is named, the method counts no clutter of its own, and the profile knows none at all.

    Where any height of what stands on the way is known, P.1812 has it in the profile, and P.2108 on top would count it twice.
    """
    return bool(unknown_clutter) and method == DEFAULT and profile.surface_known == 0.0 and not (profile.clutter_m > 0.0).any()


def _with_clutter(loss: PathLoss, more_db: float) -> PathLoss:
    return replace(
        loss,
        loss_db=loss.loss_db + more_db,
        field_strength_dbuv_per_m=loss.field_strength_dbuv_per_m - more_db,
        intermediates={**loss.intermediates, "unknown_clutter_db": more_db},
    )


def error_of_method(loss: PathLoss, plan: Plan) -> tuple[float, str]:
    """Return (error of a median beyond location variability, dB, 1 sigma; the key of the plan that says so): more for a statistical one."""
    usual, statistical = plan.limits.method_sigma_db, plan.propagation.statistical_sigma_db
    if loss.method in _OVER_THE_GROUND or usual >= statistical:
        return usual, "limits.method_sigma_db"
    return statistical, "propagation.statistical_sigma_db"


def looks_at_the_ground(method: str) -> bool:
    """Return whether a method of the plan sees what lies on the way; one that does not proves nothing about one house, for or against."""
    return method == DEFAULT


def statistical_note(method: str) -> tuple[Reason, ...]:
    """Return what a verdict must say where a plan names a method that does not look at the ground on the way; nothing for P.1812."""
    return () if method == DEFAULT else (Reason("path_statistical"),)
