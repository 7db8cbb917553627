"""The mobile verdict step by step, from the sectors that the judge kept: the same calls, every intermediate kept."""

from __future__ import annotations

import math

from siteplan.errors import told, wording
from siteplan.radio import building_entry, mobile_cable, mobile_uplink
from siteplan.radio.mobile_signal import carrier_mhz, pattern_db
from siteplan.records.explained import Section, Step
from siteplan.records.findings import MobileFinding, SectorLine, WayLine
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.records.results import PathLoss
from siteplan.services.mobile import limits
from siteplan.services.mobile.reach import indoor_height_agl_m
from siteplan.services.mobile.ways import OUTDOORS, load_of
from siteplan.services.shared.explain import of_plan, spot_steps
from siteplan.services.shared.explain_path import geometry_steps, loss_steps, sigma_steps
from siteplan.services.shared.paths import error_of_method, work_path
from siteplan.services.shared.site import Site

SERVICE = "mobile"
HEIGHT = "mount.mobile_height_agl_m"
USUAL = wording("usual width (common practice, no source)")
_SINR = wording("S / (I + N), radio/mobile_signal.py: other carriers spread evenly over their band, by load and overlap (common practice)")
_REFERENCE = {
    "LTE": "RSRP: 3GPP TS 36.214, 5.1.1", "NR": "SS-RSRP: 3GPP TS 38.215, 5.1.1", "UMTS": "RSCP: 3GPP TS 25.215, 5.1.1",
    "GSM": "RSSI: 3GPP TS 45.008, 8.1.4",
}  # fmt: skip


def explain(site: Site, finding: MobileFinding, plan: Plan) -> tuple[Section, ...]:
    """Return every number of the mobile verdict: the spot, the best sector in full with four ways, the others in short."""
    if finding.spot is None:
        return ()
    sections = [Section("spot_mobile", spot_steps(finding.spot, plan, HEIGHT), service=SERVICE)]
    for line in (*finding.lines, *finding.unsold):
        name = f"{line.sector.operator}, {line.sector.site}, {line.sector.name}"
        if line.profile is None:
            sections.append(Section("other_sector", _short(line, plan), name, SERVICE))
            continue
        geometry = geometry_steps(
            line.profile, plan, distance_m=line.distance_m, bearing_deg=line.bearing_deg, tx_m=line.tx_height_agl_m,
            rx_m=line.rx_height_agl_m, height_keys=(HEIGHT, "mount.above_roof_m"),
        )  # fmt: skip
        sections.append(Section("path", geometry, name, SERVICE))
        sections.append(Section("sector", _sector_steps(line, loss_of(line, plan), finding.spot, site, plan), name, SERVICE))
        for way in line.ways:
            steps = _way_steps(way, line, finding.spot, plan)
            sections.append(Section(f"way_{way.way.replace(' ', '_')}", steps, name, SERVICE))
    return tuple(sections)


def loss_of(line: SectorLine, plan: Plan) -> PathLoss:
    """Return the loss of a sector's path, as the judge worked it."""
    (loss,) = work_path(
        line.profile,  # type: ignore[arg-type]
        tx_height_agl_m=line.tx_height_agl_m,
        rx_height_agl_m=line.rx_height_agl_m,
        frequencies_mhz=[line.sector.frequency_mhz],
        polarisations="v",
        time_pct=limits.TIME_PCT,
        location_pct=limits.LOCATION_PCT,
        delta_n=plan.limits.delta_n,
        n0=plan.limits.n0,
        method=plan.propagation.method_mobile,
        unknown_clutter=plan.propagation.unknown_clutter,
    )
    return loss


def _short(line: SectorLine, plan: Plan) -> tuple[Step, ...]:
    return (
        Step("path_km", line.distance_m / 1000.0, "km", "WGS84 geodesic"),
        Step("bearing", line.bearing_deg, "deg true", "WGS84 geodesic"),
        Step("loss", line.loss_db, "dB", of_plan(plan, "propagation.method_mobile")),
        Step("rsrp", line.rsrp_dbm, "dBm", _REFERENCE[line.sector.technology]),
        Step("sinr", line.sinr_db, "dB", _SINR),
        Step("best_way", line.way, "", of_plan(plan, "mobile.ways")),
        Step("counts", line.counts, "", told("operator, technology and way are sold: [mobile] operators_sold, technologies, ways")),
        Step("served_probability", line.probability, "", told("as for the best sector")),
    )


def _sector_steps(line: SectorLine, loss: PathLoss, spot: Spot, site: Site, plan: Plan) -> tuple[Step, ...]:
    sector, profile = line.sector, line.profile
    sender_amsl_m = float(profile.ground_amsl_m[0]) + line.tx_height_agl_m  # type: ignore[union-attr]
    up = math.degrees(math.atan2(spot.centre_amsl_m - sender_amsl_m, line.distance_m))
    pattern = pattern_db(sector, bearing_deg=line.bearing_deg + 180.0, elevation_deg=up)
    knows = site.layer is not None and site.layer.surface is not None and site.layer.knows_buildings and site.layer.knows_trees
    clutter = 0.0 if knows else limits.CLUTTER_UNKNOWN_SIGMA_DB
    good_dbm, poor_dbm, good_db, poor_db = limits.wanted(sector, plan.limits)
    newer = sector.technology in ("LTE", "NR")
    limit = told("services/mobile/limits.py: common practice, no source")
    stated_by = (
        told("table of sectors")
        if sector.origin == "table"
        else told("open cell list: nobody states it, assumed (common practice, no source)")
    )
    return (
        *loss_steps(loss, frequency_mhz=sector.frequency_mhz, polarisation="v", time_pct=limits.TIME_PCT, location_pct=limits.LOCATION_PCT),
        Step("technology", f"{sector.technology} {sector.standard_band}".strip(), "", "3GPP TS 36.101, 38.104, 25.101, 45.005"),
        Step("carrier", carrier_mhz(sector), "MHz", stated_by if math.isfinite(sector.bandwidth_mhz) else USUAL),
        Step("load", load_of(sector, plan), "", stated_by if math.isfinite(sector.load) else of_plan(plan, "mobile.load")),
        Step("re_eirp", sector.re_eirp_dbm, "dBm", told("{stated_by}: EIRP of the reference", stated_by=stated_by)),
        Step("sector_azimuth", sector.azimuth_deg, "deg true", stated_by),
        Step("off_axis_up", up, "deg", told("elevation of the house from the sender")),
        Step("pattern", pattern, "dB", told("sector pattern {pattern}, radio/mobile_signal.py", pattern=sector.pattern)),
        Step("wanted_rsrp", good_dbm, "dBm", of_plan(plan, "limits.rsrp_dbm") if newer else limit),
        Step("floor_rsrp", poor_dbm, "dBm", of_plan(plan, "limits.rsrp_floor_dbm") if newer else limit),
        Step("wanted_sinr", good_db, "dB", of_plan(plan, "limits.sinr_db") if newer else limit),
        Step("floor_sinr", poor_db, "dB", of_plan(plan, "limits.sinr_floor_db") if newer else limit),
        Step("gap", line.gap_db, "dB", told("to the next sector of this operator and band")),
        *sigma_steps(loss, plan, sigma_db=math.hypot(loss.sigma_db, error_of_method(loss, plan)[0], clutter), clutter_sigma_db=clutter),
        *(Step("disturber", power, told("dBm in the reference"), f"{who}, {place}, {name}") for who, place, name, power in line.disturbers),
        Step("best_way", line.way, "", told("the likeliest of those sold")),
        Step("rsrp", line.rsrp_dbm, "dBm", _REFERENCE[sector.technology]),
        Step("margin", line.margin_db, "dB", told("less what is wanted")),
        Step("served_probability", line.probability, "", told("by that way, see below")),
    )  # fmt: skip


def _way_steps(way: WayLine, line: SectorLine, spot: Spot, plan: Plan) -> tuple[Step, ...]:
    out = way.way in OUTDOORS
    kit = plan.kit
    gains = {"outdoor unit": "kit.outdoor_unit_gain_dbi", "roof antenna": "kit.mobile_gain_dbi"}
    steps = [
        Step("sold", way.sold, "", of_plan(plan, "mobile.ways")),
        Step("way_site", way.site, "", told("the strongest sector by this way")),
        Step("loss", way.loss_db, "dB", of_plan(plan, "propagation.method_mobile") + ("" if out else told("; to the outside of the wall"))),
    ]
    if not out:
        share = limits.WINDOW_PCT if way.way == "window" else limits.INDOORS_PCT
        source = told(
            "{label}, annex 1: not exceeded at {share:g} % of places, {building} building",
            label=building_entry.LABEL,
            share=share,
            building=plan.mobile.building,
        )
        steps += [
            Step("indoor_height", indoor_height_agl_m(spot, plan), "m above ground", of_plan(plan, "mount.indoor_height_agl_m")),
            Step("entry_loss", way.entry_loss_db, "dB", source),
        ]
    steps.append(Step("mobile_gain", way.gain_dbi, "dBi", of_plan(plan, gains.get(way.way, "kit.device_gain_dbi"))))
    if way.way == "roof antenna":
        stated = kit.mobile_feeder_loss_db is not None
        source = told(
            "{mobile_cable_m:g} m of {mobile_cable}: {source}; and connectors (kit.mobile_connectors_db)",
            mobile_cable_m=kit.mobile_cable_m,
            mobile_cable=kit.mobile_cable,
            source=mobile_cable.SOURCE,
        )
        steps.append(Step("mobile_feeder", way.cable_loss_db, "dB", of_plan(plan, "kit.mobile_feeder_loss_db") if stated else source))
        steps.append(Step("antenna_fits", way.fits, "", of_plan(plan, "kit.mobile_bands_mhz")))
    newer = line.sector.technology in ("LTE", "NR")
    back = told("a device of {device_dbm:g} dBm (power class 3 of 3GPP TS 36.101), ", device_dbm=mobile_uplink.DEVICE_DBM)
    back += told(
        "{needed_dbm:.1f} dBm needed there (common practice, no source): radio/mobile_uplink.py", needed_dbm=mobile_uplink.needed_dbm()
    )
    return (
        *steps,
        Step("rsrp", way.rsrp_dbm, "dBm", told("EIRP + pattern - loss - wall + gain - cable")),
        Step("rsrq", way.rsrq_db, "dB", told(
            "N_RB RSRP / RSSI: 3GPP TS 36.214, 5.1.3; 38.215, 5.1.3"
        ) if newer else told("LTE and NR alone")),
        Step("interference", way.interference_dbm, told("dBm in the reference"), told("sum of all overlapping sectors in range")),
        Step("receiver_noise", way.noise_dbm, told(
            "dBm in the reference"
        ), "-174 + 10 log B + " + of_plan(plan, "kit.device_noise_figure_db")),
        Step("sinr", way.sinr_db, "dB", _SINR),
        Step("sigma", way.sigma_db, "dB", told("root of the sum of squares, the spread of the wall's loss in it")),
        Step("sinr_sigma", way.sinr_sigma_db, "dB", told("first order; two sites' shadowing goes together by 0.5 (3GPP TR 36.814)")),
        Step("uplink_margin", way.uplink_margin_db, "dB", back),
        Step("served_probability", way.probability, "", told("min(Phi(strength), Phi(way back)) x Phi(ratio)")),
        Step("possible", way.possible, "", told("min(Phi(strength over hopeless), Phi(ratio over hopeless))")),
    )  # fmt: skip
