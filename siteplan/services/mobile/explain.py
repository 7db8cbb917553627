"""The mobile verdict step by step, from the sectors that the judge kept: the same calls, every intermediate kept."""

from __future__ import annotations

import math

from siteplan.radio.antenna import sector_pattern_db
from siteplan.records.explained import Section, Step
from siteplan.records.findings import MobileFinding, SectorLine
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.records.results import PathLoss
from siteplan.services.mobile import limits
from siteplan.services.shared.explain import of_plan, spot_steps
from siteplan.services.shared.explain_path import geometry_steps, loss_steps, sigma_steps
from siteplan.services.shared.paths import work_path
from siteplan.services.shared.site import Site

SERVICE = "mobile"
HEIGHT = "mount.mobile_height_agl_m"


def explain(site: Site, finding: MobileFinding, plan: Plan) -> tuple[Section, ...]:
    """Return every number of the mobile verdict: the spot, the best sector in full, the best of other operators and bands in short."""
    if finding.spot is None:
        return ()
    sections = [Section("spot_mobile", spot_steps(finding.spot, plan, HEIGHT), service=SERVICE)]
    for line in finding.lines:
        name = f"{line.sector.operator}, {line.sector.site}, {line.sector.name}"
        if line.profile is None:
            steps = (
                Step("path_km", line.distance_m / 1000.0, "km", "WGS84 geodesic"),
                Step("bearing", line.bearing_deg, "deg true", "WGS84 geodesic"),
                Step("loss", line.loss_db, "dB", of_plan(plan, "propagation.method_mobile")),
                Step("rsrp", line.rsrp_dbm, "dBm", "see the best sector"),
            )
            sections.append(Section("other_sector", steps, name, SERVICE))
            continue
        geometry = geometry_steps(
            line.profile, plan, distance_m=line.distance_m, bearing_deg=line.bearing_deg, tx_m=line.tx_height_agl_m,
            rx_m=line.rx_height_agl_m, height_keys=(HEIGHT, "mount.above_roof_m"),
        )  # fmt: skip
        sections.append(Section("path", geometry, name, SERVICE))
        sections.append(Section("sector", _sector_steps(line, loss_of(line, plan), finding.spot, site, plan), name, SERVICE))
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


def _sector_steps(line: SectorLine, loss: PathLoss, spot: Spot, site: Site, plan: Plan) -> tuple[Step, ...]:
    sector, kit, profile = line.sector, plan.kit, line.profile
    sender_amsl_m = float(profile.ground_amsl_m[0]) + line.tx_height_agl_m  # type: ignore[union-attr]
    up = math.degrees(math.atan2(spot.centre_amsl_m - sender_amsl_m, line.distance_m))
    pattern = float(
        sector_pattern_db(
            bearing_deg=line.bearing_deg + 180.0, elevation_deg=up, azimuth_deg=sector.azimuth_deg, downtilt_deg=sector.downtilt_deg,
            beamwidth_deg=sector.beamwidth_deg, vertical_beamwidth_deg=sector.vertical_beamwidth_deg,
        )
    )  # fmt: skip
    knows = site.layer is not None and site.layer.surface is not None and site.layer.knows_buildings and site.layer.knows_trees
    return (
        *loss_steps(loss, frequency_mhz=sector.frequency_mhz, polarisation="v", time_pct=limits.TIME_PCT, location_pct=limits.LOCATION_PCT),
        Step("re_eirp", sector.re_eirp_dbm, "dBm", "table of sectors: EIRP of one resource element"),
        Step("sector_azimuth", sector.azimuth_deg, "deg true", "table of sectors"),
        Step("off_axis_up", up, "deg", "elevation of the house from the sender"),
        Step("pattern", pattern, "dB", "sector pattern, radio/antenna.py (3GPP TR 36.814, table A.2.1.1-2)"),
        Step("mobile_gain", kit.mobile_gain_dbi, "dBi", of_plan(plan, "kit.mobile_gain_dbi")),
        Step("mobile_feeder", kit.mobile_feeder_loss_db, "dB", of_plan(plan, "kit.mobile_feeder_loss_db")),
        Step("rsrp", line.rsrp_dbm, "dBm", "EIRP + pattern - loss + gain - cable"),
        Step("wanted_rsrp", plan.limits.rsrp_dbm, "dBm", of_plan(plan, "limits.rsrp_dbm")),
        Step("margin", line.margin_db, "dB", "RSRP less what is wanted"),
        Step("floor_rsrp", plan.limits.rsrp_floor_dbm, "dBm", of_plan(plan, "limits.rsrp_floor_dbm")),
        *sigma_steps(loss, plan, sigma_db=line.sigma_db, clutter_sigma_db=0.0 if knows else limits.CLUTTER_UNKNOWN_SIGMA_DB),
        Step("served_probability", line.probability, "", "Phi(margin / sigma)"),
    )
