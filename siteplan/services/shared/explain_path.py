"""One path over the ground step by step: geometry, every loss of the method, the sum."""

from __future__ import annotations

import math

from siteplan.errors import told, wording
from siteplan.radio.methods import free_space, p1812
from siteplan.records.explained import Step
from siteplan.records.plan import Plan
from siteplan.records.results import PathLoss, Profile
from siteplan.services.shared.explain import GEODESIC, of_plan
from siteplan.services.shared.paths import error_of_method

_P1812 = "ITU-R P.1812-8"
# intermediate -> (unit, where its equation stands)
TERMS: dict[str, tuple[str, str]] = {
    "direct_ray_at_tx_mrad": ("mrad", f"{_P1812}, attachment 1"),
    "theta_t_mrad": ("mrad", f"{_P1812}, attachment 1"),
    "theta_r_mrad": ("mrad", f"{_P1812}, attachment 1"),
    "theta_mrad": ("mrad", f"{_P1812}, attachment 1"),
    "tx_horizon_km": ("km", f"{_P1812}, attachment 1"),
    "rx_horizon_km": ("km", f"{_P1812}, attachment 1"),
    "effective_radius_km": ("km", f"{_P1812}, 3.5"),
    "effective_height_tx_m": ("m", f"{_P1812}, attachment 1"),
    "effective_height_rx_m": ("m", f"{_P1812}, attachment 1"),
    "roughness_m": ("m", f"{_P1812}, attachment 1"),
    "sea_fraction": ("", f"{_P1812}, 3.6"),
    "beta0_pct": ("% of time", f"{_P1812}, 3.6, eqs (2) to (5)"),
    "edge_nu": ("", f"{_P1812}, 4.3.1"),
    "free_space_db": ("dB", f"{_P1812}, 4.2 (ITU-R P.525)"),
    "line_of_sight_p_db": ("dB", f"{_P1812}, 4.2"),
    "bullington_actual_50_db": ("dB", f"{_P1812}, 4.3.1 (ITU-R P.526-16, 4.5.1)"),
    "bullington_smooth_50_db": ("dB", f"{_P1812}, 4.3.1"),
    "spherical_earth_50_db": ("dB", f"{_P1812}, 4.3.2 (ITU-R P.526-16, 3.2)"),
    "diffraction_50_db": ("dB", f"{_P1812}, 4.3.4 (delta-Bullington)"),
    "diffraction_p_db": ("dB", f"{_P1812}, 4.3.5"),
    "basic_diffraction_p_db": ("dB", f"{_P1812}, 4.3.5"),
    "troposcatter_db": ("dB", f"{_P1812}, 4.4"),
    "ducting_db": ("dB", f"{_P1812}, 4.5"),
    "diffraction_or_ducting_db": ("dB", f"{_P1812}, 4.6"),
    "modified_diffraction_db": ("dB", f"{_P1812}, 4.6"),
    "combined_db": ("dB", f"{_P1812}, 4.6"),
    "over_mean_ground_m": ("m", "ITU-R P.1546-6, annex 5, 3.2"),
    "in_sight_db": ("dB", "3GPP TR 38.901, table 7.4.1-1"),
    "out_of_sight_db": ("dB", "3GPP TR 38.901, table 7.4.1-1"),
    "sight_probability": ("", wording("3GPP TR 38.901, table 7.4.2-1; 0 where the ground blocks")),
    "statistical_median_db": ("dB", wording("the named method's own formula; see siteplan methods")),
    "location_db": ("dB", f"{_P1812}, 4.7"),
    "unknown_clutter_db": ("dB", wording("ITU-R P.2108-1, 3.1: the plan's propagation.unknown_clutter")),
}


_LOSS_SOURCES = {p1812.LABEL: f"{_P1812}, 4.6 and 4.7", free_space.LABEL: f"{_P1812}, 4.2, 4.3 and 4.7"}


def geometry_steps(
    profile: Profile, plan: Plan, *, distance_m: float, bearing_deg: float, tx_m: float, rx_m: float, height_keys: tuple[str, ...]
) -> tuple[Step, ...]:
    """Return what the path is before a frequency is named. tx_m, rx_m: antennas above its first and last ground."""
    return (
        Step("path_km", distance_m / 1000.0, "km", GEODESIC),
        Step("bearing", bearing_deg, "deg true", GEODESIC),
        Step("tx_ground", float(profile.ground_amsl_m[0]), "m amsl", "terrain"),
        Step("tx_height", tx_m, "m above ground", told("table of senders")),
        Step("rx_ground", float(profile.ground_amsl_m[-1]), "m amsl", "terrain"),
        Step("rx_height", rx_m, "m above ground", of_plan(plan, *height_keys)),
        Step(
            "profile_points",
            float(profile.distance_m.size),
            "points",
            told("every cell near both ends, the highest of each stretch between"),
        ),
        Step("surface_known", profile.surface_known, told("share of the path"), "terrain"),
        Step("lat_mid", profile.lat_mid_deg, "deg", GEODESIC),
        Step("delta_n", plan.limits.delta_n, "N-units/km", of_plan(plan, "limits.delta_n")),
        Step("n0", plan.limits.n0, "N-units", of_plan(plan, "limits.n0")),
    )


def loss_steps(loss: PathLoss, *, frequency_mhz: float, polarisation: str, time_pct: float, location_pct: float) -> tuple[Step, ...]:
    """Return the losses of one frequency over one path, in the order of the method."""
    steps = [
        Step("path_frequency", frequency_mhz, "MHz", told("table of senders")),
        Step("path_polarisation", polarisation, "", told("table of senders")),
        Step("time_pct", time_pct, "% of time", told("both sides are medians (ITU-R BT.1368)")),
        Step("location_pct", location_pct, "% of locations", told("both sides are medians (ITU-R BT.1368)")),
        Step("method", loss.method, "", told("the plan's method; p1812 is free space and diffraction (P.525, P.526) under 250 m")),
    ]
    for name, (unit, source) in TERMS.items():
        if name in loss.intermediates:
            steps.append(Step(name, float(loss.intermediates[name]), unit, source))
    if math.isfinite(loss.what_blocks_m):
        steps.append(
            Step(
                "edge_km",
                loss.what_blocks_m / 1000.0,
                told("km from the sender"),
                told("{p1812}, 4.3.1: the edge with the greatest nu", p1812=_P1812),
            )
        )
    steps.append(Step("loss", loss.loss_db, "dB", _LOSS_SOURCES.get(loss.method, loss.method)))
    return tuple(steps)


def sigma_steps(loss: PathLoss, plan: Plan, *, sigma_db: float, clutter_sigma_db: float) -> tuple[Step, ...]:
    """Return the parts of the error of a predicted strength. clutter_sigma_db is 0 where trees and buildings at the house are known."""
    error_db, key = error_of_method(loss, plan)
    return (
        Step("sigma_location", loss.sigma_db, "dB", told("GE06 Agreement, annex 2; ITU-R P.1546-6, annex 5")),
        Step("sigma_method", error_db, "dB", of_plan(plan, key)),
        Step(
            "sigma_clutter", clutter_sigma_db, "dB", told("where trees and buildings at the house are unknown: common practice, no source")
        ),
        Step("sigma", sigma_db, "dB", told("root of the sum of squares")),
    )
