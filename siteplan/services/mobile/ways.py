"""Four ways of getting a signal to a device: indoors anywhere, by the best window, an outdoor unit, a roof antenna with its cables."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from siteplan.radio.building_entry import building_entry_loss_db, building_entry_sigma_db
from siteplan.radio.mobile_cable import cable_loss_db
from siteplan.radio.mobile_signal import Ratio, into_reference_db, ratio, receiving_pattern_db
from siteplan.radio.mobile_uplink import uplink_margin_db
from siteplan.records.emitters import Sector
from siteplan.records.findings import WayLine
from siteplan.records.plan import KitTable, Plan
from siteplan.records.verdict import Reason
from siteplan.services.mobile import limits
from siteplan.services.mobile.reach import Heard
from siteplan.services.shared.chance import normal_cdf
from siteplan.services.shared.paths import error_of_method

# the least work first
WAYS = ("indoors", "window", "outdoor unit", "roof antenna")
OUTDOORS = ("outdoor unit", "roof antenna")


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What one address knows of everything on the air; clutter_sigma_db is 0 where trees and buildings at the house are known."""

    heard: Sequence[Heard]
    clutter_sigma_db: float
    plan: Plan


def load_of(sector: Sector, plan: Plan) -> float:
    """Return the share of its power a sector sends on average: its own, else the plan's."""
    return sector.load if math.isfinite(sector.load) else plan.mobile.load


def kit_of(way: str, kit: KitTable, frequency_mhz: float) -> tuple[float, float]:
    """Return (antenna gain dBi, cable loss dB) of a way at a frequency."""
    if way == "roof antenna":
        if kit.mobile_feeder_loss_db is not None:
            return kit.mobile_gain_dbi, kit.mobile_feeder_loss_db
        loss = cable_loss_db(kit.mobile_cable, length_m=kit.mobile_cable_m, frequency_mhz=frequency_mhz)
        return kit.mobile_gain_dbi, loss + kit.mobile_connectors_db
    return (kit.outdoor_unit_gain_dbi if way == "outdoor unit" else kit.device_gain_dbi), 0.0


def entry_of(way: str, one: Heard, plan: Plan) -> tuple[float, float]:
    """Return (loss, its spread) of the way into the house, dB: 0 outdoors, else ITU-R P.2109."""
    if way in OUTDOORS:
        return 0.0, 0.0
    where = {"building": plan.mobile.building, "elevation_deg": min(90.0, abs(one.wall_elevation_deg))}
    share = limits.WINDOW_PCT if way == "window" else limits.INDOORS_PCT
    loss = building_entry_loss_db(one.sector.frequency_mhz, probability_pct=share, **where)
    sigma = building_entry_sigma_db(one.sector.frequency_mhz, **where)
    return loss, sigma * (limits.WINDOW_SIGMA_SHARE if way == "window" else 1.0)


def fits(sector: Sector, kit: KitTable) -> bool:
    """Return whether the roof antenna covers a carrier, downlink and uplink."""
    wanted = [sector.frequency_mhz] + ([sector.uplink_mhz] if math.isfinite(sector.uplink_mhz) else [])
    spans = [tuple(float(edge) for edge in span.split("-")) for span in kit.mobile_bands_mhz]
    return all(any(low <= frequency <= high for low, high in spans) for frequency in wanted)


def disturbing(way: str, one: Heard, around: Surroundings, gain_dbi: float, taken_db: float) -> list[tuple[Heard, float]]:
    """Return every other sector that overlaps, with its mean power (dBm) in the wanted reference at the device's input."""
    plan, found = around.plan, []
    for other in around.heard:
        if other is one or other.sector.origin == "cell list" or abs(other.sector.frequency_mhz - one.sector.frequency_mhz) > 200.0:
            continue
        more = into_reference_db(one.sector, other.sector, load_of(other.sector, plan))
        if more == -math.inf:
            continue
        turned = 0.0
        level = other.outdoors_dbm
        if way in OUTDOORS:
            turned = receiving_pattern_db(
                other.bearing_deg - one.bearing_deg, beamwidth_deg=plan.kit.mobile_beamwidth_deg,
                front_to_back_db=plan.kit.mobile_front_to_back_db,
            )  # fmt: skip
        else:
            level = other.indoors_dbm
        if math.isfinite(level):
            found.append((other, level + more + turned + gain_dbi - taken_db))
    return found


def way_line(way: str, group: Sequence[Heard], around: Surroundings) -> tuple[WayLine, list[tuple[Heard, float]]] | None:
    """Return one way by the strongest sector of a group (one operator, one band), and what disturbs it; None where no method answers."""
    plan = around.plan
    out = way in OUTDOORS
    able = [one for one in group if out or one.indoors is not None]
    if not able:
        return None
    one = max(able, key=lambda heard: heard.outdoors_dbm if out else heard.indoors_dbm)
    sector = one.sector
    gain, cable = kit_of(way, plan.kit, sector.frequency_mhz)
    entry, entry_sigma = entry_of(way, one, plan)
    level = (one.outdoors_dbm if out else one.indoors_dbm) + gain - cable - entry
    others = disturbing(way, one, around, gain, cable + entry)
    path = one.outdoors if out or one.indoors is None else one.indoors
    assumed = limits.ASSUMED_POWER_SIGMA_DB if sector.origin == "cell list" else 0.0
    outside = math.hypot(path.sigma_db, error_of_method(path, plan)[0], around.clutter_sigma_db, assumed)
    sigma = math.hypot(outside, entry_sigma)
    own_site = [power for other, power in others if _one_site(other.sector, sector)]
    far = [power for other, power in others if not _one_site(other.sector, sector)]
    found = ratio(
        sector, level_dbm=level, load=load_of(sector, plan), same_site_dbm=own_site, others_dbm=far,
        noise_figure_db=plan.kit.device_noise_figure_db, sigma_db=outside, shared_sigma_db=entry_sigma,
    )  # fmt: skip
    pattern = one.pattern_db if out else one.pattern_indoors_db
    uplink = uplink_margin_db(sector, loss_db=path.loss_db + entry, pattern_db=pattern, gain_dbi=gain, cable_loss_db=cable)
    if sector.origin == "cell list":  # its frequency is assumed: nobody knows what else is on the air there
        found = Ratio(math.nan, math.nan, math.nan, found.noise_dbm, math.nan)
    works, possible, weakest = _chances(sector, level, sigma, found, uplink, plan)
    return WayLine(
        way=way, sold=way in plan.mobile.ways, fits=way != "roof antenna" or fits(sector, plan.kit), site=sector.site,
        bearing_deg=one.bearing_deg, loss_db=path.loss_db, entry_loss_db=entry, gain_dbi=gain, cable_loss_db=cable, rsrp_dbm=level,
        rsrq_db=found.rsrq_db, sinr_db=found.sinr_db, interference_dbm=found.interference_dbm, noise_dbm=found.noise_dbm, sigma_db=sigma,
        sinr_sigma_db=found.sigma_db, uplink_margin_db=uplink, probability=works, possible=possible,
        weakest=weakest, port_rsrp_dbm=level + cable, port_sinr_db=found.sinr_db + _cable_costs_db(found, cable),
    ), others  # fmt: skip


def _cable_costs_db(found: Ratio, cable_db: float) -> float:
    """Return what the ratio loses on the cable: signal and interference are weaker behind it, the device's noise is not."""
    if not math.isfinite(found.interference_dbm):
        return cable_db if math.isfinite(found.noise_dbm) else math.nan
    others, noise = 10.0 ** (0.1 * found.interference_dbm), 10.0 ** (0.1 * found.noise_dbm)
    return cable_db - 10.0 * math.log10((others * 10.0 ** (0.1 * cable_db) + noise) / (others + noise))


def _one_site(one: Sector, other: Sector) -> bool:
    return (one.lat_deg, one.lon_deg) == (other.lat_deg, other.lon_deg)


def _chances(sector: Sector, level: float, sigma: float, found: Ratio, uplink: float, plan: Plan) -> tuple[float, float, str]:
    """Return (chance that strength, ratio and uplink are good, chance that they are not hopeless, which of them is weakest).

    Strength and uplink hang on one path: the lesser counts. Strength and ratio go together in part: their product is the least that both
    hold (for what goes together rightly), the lesser of them the most that both could.
    """
    good_dbm, poor_dbm, good_db, poor_db = limits.wanted(sector, plan.limits)
    strong, alive = _phi(level - good_dbm, sigma), _phi(level - poor_dbm, sigma)
    back = _phi(uplink, sigma) if math.isfinite(uplink) else 1.0
    if not math.isfinite(found.sinr_db):
        return min(strong, back), alive, "strength" if strong <= back else "way back"
    clean, audible = _phi(found.sinr_db - good_db, found.sigma_db), _phi(found.sinr_db - poor_db, found.sigma_db)
    parts = {"strength": strong, "ratio": clean, "way back": back}
    return min(strong, back) * clean, min(alive, audible), min(parts, key=lambda name: parts[name])


def _phi(margin: float, sigma: float) -> float:
    return float(normal_cdf(margin / sigma)) if sigma > 0.0 else float(margin >= 0.0)


def kit_list(way: str, kit: KitTable) -> tuple[Reason, ...]:
    """Return what to bring for a way: of a roof antenna two of everything, for its two planes of +45 and -45 degrees."""
    if way == "roof antenna":
        length = {"count": 2, "cable": kit.mobile_cable, "length_m": kit.mobile_cable_m}
        return (
            Reason("kit_antenna_ports", {"count": 2, "gain_dbi": kit.mobile_gain_dbi}), Reason("kit_coax", length),
            Reason("kit_connectors", {"count": 4}), Reason("kit_arresters", {"count": 2}), Reason("kit_router_sockets", {"count": 2}),
        )  # fmt: skip
    if way == "outdoor unit":
        return (
            Reason("kit_outdoor_unit", {"count": 1}), Reason("kit_ethernet", {"count": 1}), Reason("kit_injector", {"count": 1}),
            Reason("kit_data_arresters", {"count": 2}),
        )  # fmt: skip
    return (Reason("kit_device", {"count": 1}),)
