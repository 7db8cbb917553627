"""The terrestrial TV verdict step by step, from the aim that the judge chose: the same calls, every intermediate kept."""

from __future__ import annotations

import math

from siteplan.errors import told, wording
from siteplan.radio.modes import terrestrial_mode
from siteplan.radio.protection import SOURCE as PROTECTION
from siteplan.radio.single_frequency import WEIGHTING
from siteplan.radio.terrestrial_link import RECEIVER_TERMS
from siteplan.records.explained import Section, Step
from siteplan.records.findings import Aim, MultiplexLine, TerrestrialFinding
from siteplan.records.plan import Plan
from siteplan.records.results import PathLoss
from siteplan.records.tv import AerialChoice, Disturbance
from siteplan.services.shared.explain import of_plan, spot_steps
from siteplan.services.shared.explain_path import geometry_steps, loss_steps, sigma_steps
from siteplan.services.shared.mobile_levels import FAR_RATIO_DB, NEAR_RATIO_DB
from siteplan.services.shared.site import Site
from siteplan.services.terrestrial import limits
from siteplan.services.terrestrial.lines import clutter_sigma_db, need_of
from siteplan.services.terrestrial.ways import losses_over

SERVICE = "terrestrial"
HEIGHT = "mount.aerial_height_agl_m"
NEED = wording("GE06 Agreement, annex 2; ITU-R BT.1368")


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
            aim.profile,
            plan,
            distance_m=aim.distance_m,
            bearing_deg=aim.bearing_deg,
            tx_m=aim.tx_height_agl_m,
            rx_m=aim.rx_height_agl_m,
            height_keys=(HEIGHT, "mount.above_roof_m"),
        )
        sections.append(Section("path", steps, name, SERVICE))
        for line, loss in zip(aim.lines, losses_of(aim, plan), strict=True):
            sections.append(Section("multiplex", _multiplex_steps(line, loss, site, plan), f"{name}, {line.multiplex.name}", SERVICE))
    if finding.choice is not None:
        sections.insert(1, _choice_section(finding.choice, plan))
    return tuple(sections)


def losses_of(aim: Aim, plan: Plan) -> tuple[PathLoss, ...]:
    """Return the losses of an aim's multiplexes, as the judge worked them."""
    multiplexes = tuple(line.multiplex for line in aim.lines)
    heights = {"tx_height_agl_m": aim.tx_height_agl_m, "rx_height_agl_m": aim.rx_height_agl_m}
    return losses_over(aim.profile, multiplexes, plan, **heights)  # type: ignore[arg-type]


def _multiplex_steps(line: MultiplexLine, loss: PathLoss, site: Site, plan: Plan) -> tuple[Step, ...]:
    multiplex, need = line.multiplex, need_of(line.multiplex, plan)
    channel = "Rayleigh" if need.indoor_db else "Ricean"
    mode = terrestrial_mode(multiplex.mode, plan.transmitters.reception)
    terms = RECEIVER_TERMS[multiplex.mode.split(" ")[0]]
    return (
        *loss_steps(
            loss,
            frequency_mhz=multiplex.frequency_mhz,
            polarisation=multiplex.polarisation,
            time_pct=limits.TIME_PCT,
            location_pct=limits.LOCATION_PCT,
        ),
        Step("erp", multiplex.erp_dbw, told("dBW over a half-wave dipole"), told("table of transmitters, in its greatest direction")),
        Step(
            "tx_pattern",
            line.pattern_db,
            "dB",
            told("pattern {name}, radio/pattern.py", name=multiplex.pattern.name or multiplex.pattern.shape),
        ),
        Step(
            "field", line.field_strength_dbuv_per_m, "dBuV/m", told("199.36 + 20 log f(GHz) - loss + 10 log kW: ITU-R P.1812-8, eq. (70)")
        ),
        *_network_steps(line),
        Step(
            "plane_loss",
            line.plane_db,
            "dB",
            told(
                "wave {polarisation} at the aerial's plane: ITU-R BT.419-3 (memory), radio/tv_aerial.py",
                polarisation=multiplex.polarisation,
            ),
        ),
        Step("mode", multiplex.mode, "", told("table of transmitters")),
        Step("raw_cn", need.raw_cn_db, "dB", f"{channel} channel: {mode.source}; {mode.status}"),
        Step("implementation", need.implementation_db, "dB", terms.source),
        Step("pilots", need.pilot_db, "dB", terms.source),
        Step(
            "backstop",
            need.backstop_db,
            "dB",
            told("noise that follows the signal, {backstop_dbc:g} dBc: {source}", backstop_dbc=terms.backstop_dbc, source=terms.source),
        ),
        Step("needed_cn", need.cn_db, "dB", told("raw {channel} C/N, implementation, pilots and back-stop noise", channel=channel)),
        Step(
            "noise_figure",
            need.noise_figure_db,
            "dB",
            told("{need}; with an amplifier Friis (1944), {of_plan}", need=NEED, of_plan=of_plan(plan, "kit.amplifier_gain_db")),
        ),
        Step("noise", need.noise_dbw, "dBW", f"F + 10 log(k T0 B): {NEED}"),
        Step("minimum_power", need.minimum_power_dbw, "dBW", f"C/N + noise: {NEED}"),
        Step("aerial_gain", need.gain_dbd, "dBd", told("{of_plan}, at this frequency", of_plan=of_plan(plan, "kit.aerial_gain_dbd"))),
        Step(
            "feeder_loss",
            need.feeder_loss_db,
            "dB",
            told("{of_plan}, at this frequency", of_plan=of_plan(plan, "kit.aerial_feeder_loss_db")),
        ),
        Step(
            "indoor_loss",
            need.indoor_db,
            "dB",
            told("{of_plan}; GE06 Agreement, annex 2 (memory)", of_plan=of_plan(plan, "transmitters.reception")),
        ),
        Step("minimum_field", need.minimum_field_dbuv_per_m, "dBuV/m", told("power - effective area + feeder + 145.8: {need}", need=NEED)),
        Step(
            "location_allowance",
            need.location_db,
            "dB",
            told("1.645 x {sigma_db:.1f} dB for 95 % of locations: {need}", sigma_db=need.sigma_db, need=NEED),
        ),
        Step("minimum_median", need.minimum_median_dbuv_per_m, "dBuV/m", told("minimum field + allowance: {need}", need=NEED)),
        *(step for number, one in enumerate(line.disturbances[:4], 1) for step in _disturbance_steps(one, number, plan)),
        Step("disturbances", float(len(line.disturbances)), told("unwanted senders that count"), "services/terrestrial/disturb.py"),
        Step(
            "usable_field",
            line.usable_dbuv_per_m,
            "dBuV/m",
            told("power sum of the minimum field and what each asks for: GE06 Agreement (memory)"),
        ),
        Step(
            "needed_median",
            line.needed_median_dbuv_per_m,
            "dBuV/m",
            told("usable field + 1.645 sigma over locations, the unwanted's by its share"),
        ),
        Step("cn", line.cn_db, "dB", told("field over the field that is as strong as the noise")),
        Step("margin", line.margin_db, "dB", told("median field less the median field that is needed")),
        Step(
            "level",
            line.level_dbuv,
            told("dBuV at the aerial's terminals, 75 ohm"),
            told("E - 20 log f(MHz) + 31.5 + G(dBi): field to terminal voltage, units.py"),
        ),
        Step("receiver_level", line.receiver_dbuv, "dBuV", told("after the planned feeder, and amplifier if there is one")),
        *sigma_steps(loss, plan, sigma_db=line.sigma_db, clutter_sigma_db=clutter_sigma_db(site)),
        Step("served_probability", line.probability, "", told("Phi((median field - usable field) / sigma)")),
        Step("time_fade", line.fade_db, "dB", told("P.1812-8: rise from 50 % to 1 % of time, taken as the fall to 99 % (common practice)")),
        Step(
            "served_99",
            line.probability_99,
            "",
            told("Phi((median field - fall - usable field) / sigma): locations served for 99 % of time"),
        ),
    )


def _network_steps(line: MultiplexLine) -> tuple[Step, ...]:
    if not line.multiplex.network:
        return ()
    return (
        Step("network", line.multiplex.network, "", told("table of transmitters")),
        Step("guard", line.multiplex.guard_us, "us", told("FFT size and share, table of transmitters")),
        Step("network_gain", line.network_db, "dB", told("useful signals of the network power-summed: {weighting}", weighting=WEIGHTING)),
    )


def _disturbance_steps(one: Disturbance, number: int, plan: Plan) -> tuple[Step, ...]:
    how = told("bounded by free space: the ground between is not known") if one.free_space else told("ITU-R P.1812-8 at 1 % of time")
    turned = (
        told("ITU-R BT.419-3 (plane: memory), not summed with the pattern")
        if not plan.kit.aerial_directivity
        else told("plan, kit.aerial_directivity")
    )
    share = f"; {WEIGHTING}" if one.weight_db else ""
    return (
        Step(f"unwanted_{number}", f"{one.transmitter}, {one.multiplex} ({one.relation})", "", told("table of transmitters")),
        Step("unwanted_bearing", one.bearing_deg, "deg true", "WGS84 geodesic"),
        Step("unwanted_field", one.field_dbuv_per_m, "dBuV/m", how),
        Step("unwanted_turned", one.discrimination_db, "dB", turned),
        Step("unwanted_ratio", one.protection_db, "dB", PROTECTION),
        Step("unwanted_asks", one.nuisance_dbuv_per_m, "dBuV/m", told("field - turned away + ratio{share}", share=share)),
    )


def _choice_section(choice: AerialChoice, plan: Plan) -> Section:
    level = told(
        "raw C/N + {outlet_over_cn_db} dB at least (EN 60728-1, dvbt2_outlet_levels), {outlet_most_dbuv:g} dBuV at most",
        outlet_over_cn_db=limits.OUTLET_OVER_CN_DB,
        outlet_most_dbuv=limits.OUTLET_MOST_DBUV,
    )
    steps = [
        Step("aerial_group", choice.group or None, "", told("narrowest group of radio/tv_aerial.py that takes the channels aimed at")),
        Step("aerial_from", choice.from_mhz, "MHz", told("lowest edge of the channels aimed at")),
        Step("aerial_to", choice.to_mhz, "MHz", "highest edge"),
        Step("aerial_plane", choice.plane, "", told("most of its multiplexes")),
        Step("weakest_level", choice.weakest_dbuv, "dBuV", level),
        Step("strongest_level", choice.strongest_dbuv, "dBuV", level),
        Step("amplifier", choice.amplifier, "", told("services/terrestrial/choice.py (common practice)")),
        Step(
            "amplifier_helps",
            choice.helps_db,
            "dB",
            told(
                "{advised_gain_db:g} dB gain, {advised_figure_db:g} dB noise: Friis (1944)",
                advised_gain_db=limits.ADVISED_GAIN_DB,
                advised_figure_db=limits.ADVISED_FIGURE_DB,
            ),
        ),
        Step("open_difference", choice.difference_db, "dB", told("first less second aim, weakest margin over the programmes both carry")),
        Step("open_sigma", choice.difference_sigma_db, "dB", told("root of the sum of squares of both sigmas")),
        Step("open_with", choice.open_with or None, "", told("open where the difference is under its sigma")),
        Step("second_aerial", choice.second or None, "", told("adds most programmes that can be promised")),
        Step("second_adds", "; ".join(choice.adds) or None, "", told("table of transmitters")),
    ]
    if choice.mobile is not None:
        mobile = choice.mobile
        steps += [
            Step("mobile_strongest", f"{mobile.operator}, {mobile.site}, {mobile.frequency_mhz:g} MHz", "", told("table of sectors")),
            Step(
                "mobile_level",
                mobile.level_dbuv,
                "dBuV",
                told("EIRP at full load + pattern - ITU-R P.1812-8 loss + aerial gain - BT.419-3, both planes"),
            ),
            Step("mobile_total", mobile.total_dbuv, "dBuV", told("power sum of all that matter")),
            Step(
                "mobile_amplified", mobile.after_amplifier_dbuv, "dBuV", of_plan(plan, "kit.amplifier_gain_db", "kit.amplifier_most_dbuv")
            ),
            Step("mobile_overload", limits.OVERLOAD_DBUV, "dBuV", told("Report ITU-R BT.2215 (memory)")),
            Step(
                "mobile_ratio",
                FAR_RATIO_DB,
                "dB",
                told("over the weakest channel; {near_ratio_db:g} dB near it: BT.2215, BT.2033 (memory)", near_ratio_db=NEAR_RATIO_DB),
            ),
            Step(
                "mobile_advice", mobile.advice, "", told("because of {why}", why=mobile.why) if mobile.why else told("nothing is exceeded")
            ),
            Step(
                "uplink_level",
                mobile.uplink_dbuv,
                "dBuV",
                told("a 23 dBm phone 10 m away at 703 MHz: 3GPP TS 36.101; distance common practice"),
            ),
        ]
    return Section("aerial_choice", tuple(steps), "", SERVICE)


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
