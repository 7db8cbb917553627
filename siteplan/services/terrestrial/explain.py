"""The terrestrial TV verdict step by step, from the aim that the judge chose: the same calls, every intermediate kept."""

from __future__ import annotations

import math

from siteplan.radio.terrestrial_link import terrestrial_need
from siteplan.records.explained import Section, Step
from siteplan.records.findings import Aim, MultiplexLine, TerrestrialFinding
from siteplan.records.plan import Plan
from siteplan.records.results import PathLoss
from siteplan.services.shared.explain import of_plan, spot_steps
from siteplan.services.shared.explain_path import geometry_steps, loss_steps, sigma_steps
from siteplan.services.shared.paths import work_path
from siteplan.services.shared.site import Site
from siteplan.services.terrestrial import limits

SERVICE = "terrestrial"
HEIGHT = "mount.aerial_height_agl_m"
NEED = "GE06 Agreement, annex 2; ITU-R BT.1368"


def explain(site: Site, finding: TerrestrialFinding, plan: Plan) -> tuple[Section, ...]:
    """Return every number of the TV verdict: the spot, then each aim whose profile was kept, multiplex by multiplex, then the others."""
    if finding.spot is None:
        return ()
    sections = [Section("spot_aerial", spot_steps(finding.spot, plan, HEIGHT), service=SERVICE)]
    for aim in finding.aims:
        if aim.profile is None:
            sections.append(_in_short(aim))
            continue
        name = aim.transmitter.name
        steps = geometry_steps(
            aim.profile, plan, distance_m=aim.distance_m, bearing_deg=aim.bearing_deg, tx_m=aim.tx_height_agl_m, rx_m=aim.rx_height_agl_m,
            height_keys=(HEIGHT, "mount.above_roof_m"),
        )  # fmt: skip
        sections.append(Section("path", steps, name, SERVICE))
        for line, loss in zip(aim.lines, losses_of(aim, plan), strict=True):
            sections.append(Section("multiplex", _multiplex_steps(line, loss, site, plan), f"{name}, {line.multiplex.name}", SERVICE))
    return tuple(sections)


def losses_of(aim: Aim, plan: Plan) -> tuple[PathLoss, ...]:
    """Return the losses of an aim's multiplexes, as the judge worked them."""
    multiplexes = [line.multiplex for line in aim.lines]
    return work_path(
        aim.profile,  # type: ignore[arg-type]
        tx_height_agl_m=aim.tx_height_agl_m,
        rx_height_agl_m=aim.rx_height_agl_m,
        frequencies_mhz=[m.frequency_mhz for m in multiplexes],
        polarisations=["v" if m.polarisation == "v" else "h" for m in multiplexes],
        erps_kw=[10.0 ** (m.erp_dbw / 10.0 - 3.0) for m in multiplexes],
        time_pct=limits.TIME_PCT,
        location_pct=limits.LOCATION_PCT,
        delta_n=plan.limits.delta_n,
        n0=plan.limits.n0,
        method=plan.propagation.method_tv,
        unknown_clutter=plan.propagation.unknown_clutter,
    )


def _multiplex_steps(line: MultiplexLine, loss: PathLoss, site: Site, plan: Plan) -> tuple[Step, ...]:
    multiplex, kit = line.multiplex, plan.kit
    need = terrestrial_need(
        multiplex.mode, frequency_mhz=multiplex.frequency_mhz, bandwidth_mhz=multiplex.bandwidth_mhz, gain_dbd_at_500=kit.aerial_gain_dbd,
        feeder_loss_db_at_500=kit.aerial_feeder_loss_db,
    )  # fmt: skip
    knows = site.layer is not None and site.layer.surface is not None and site.layer.knows_buildings and site.layer.knows_trees
    return (
        *loss_steps(
            loss, frequency_mhz=multiplex.frequency_mhz, polarisation=multiplex.polarisation, time_pct=limits.TIME_PCT,
            location_pct=limits.LOCATION_PCT,
        ),
        Step("erp", multiplex.erp_dbw, "dBW over a half-wave dipole", "table of transmitters"),
        Step("field", line.field_strength_dbuv_per_m, "dBuV/m", "199.36 + 20 log f(GHz) - loss + 10 log kW: ITU-R P.1812-8, eq. (70)"),
        Step("mode", multiplex.mode, "", "table of transmitters"),
        Step("needed_cn", need.cn_db, "dB", "Ricean C/N of the mode (EN 300 744, TS 102 831) with implementation loss"),
        Step("noise", need.noise_dbw, "dBW", f"F + 10 log(k T0 B): {NEED}"),
        Step("minimum_power", need.minimum_power_dbw, "dBW", f"C/N + noise: {NEED}"),
        Step("aerial_gain", need.gain_dbd, "dBd", f"{of_plan(plan, 'kit.aerial_gain_dbd')}, at this frequency"),
        Step("feeder_loss", need.feeder_loss_db, "dB", f"{of_plan(plan, 'kit.aerial_feeder_loss_db')}, at this frequency"),
        Step("minimum_field", need.minimum_field_dbuv_per_m, "dBuV/m", f"power - effective area + feeder + 145.8: {NEED}"),
        Step("location_allowance", need.location_db, "dB", f"1.645 x 5.5 dB for 95 % of locations: {NEED}"),
        Step("minimum_median", need.minimum_median_dbuv_per_m, "dBuV/m", f"minimum field + allowance: {NEED}"),
        Step("margin", line.margin_db, "dB", "field less minimum median field"),
        Step("level", line.level_dbuv, "dBuV at the aerial's terminals, 75 ohm", "field strength to terminal voltage, units.py"),
        *sigma_steps(loss, plan, sigma_db=line.sigma_db, clutter_sigma_db=0.0 if knows else limits.CLUTTER_UNKNOWN_SIGMA_DB),
        Step("served_probability", line.probability, "", "Phi((field - minimum field) / sigma)"),
    )  # fmt: skip


def _in_short(aim: Aim) -> Section:
    weakest = min(aim.lines, key=lambda line: line.margin_db, default=None)
    steps = (
        Step("path_km", aim.distance_m / 1000.0, "km", "WGS84 geodesic"),
        Step("bearing", aim.bearing_deg, "deg true", "WGS84 geodesic"),
        Step("diffraction_50_db", aim.diffraction_db, "dB", "ITU-R P.1812-8, 4.3.4"),
        Step("field", weakest.field_strength_dbuv_per_m if weakest else math.nan, "dBuV/m", "weakest multiplex"),
        Step("margin", weakest.margin_db if weakest else math.nan, "dB", "weakest multiplex"),
    )
    return Section("other_aim", steps, aim.transmitter.name, SERVICE)
