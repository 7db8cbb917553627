"""One multiplex at one house: its median field held against the minimum median field, disturbances counted."""

from __future__ import annotations

import math
from statistics import NormalDist

from siteplan.radio.terrestrial_link import Amplifier, TerrestrialNeed, terrestrial_need
from siteplan.records.emitters import Multiplex
from siteplan.records.findings import MultiplexLine
from siteplan.records.plan import Plan
from siteplan.records.tv import Disturbance
from siteplan.services.shared.chance import normal_cdf
from siteplan.services.shared.paths import error_of_method
from siteplan.services.shared.site import Site
from siteplan.services.terrestrial import limits
from siteplan.services.terrestrial.disturb import Aerial, House, away_db, disturbances
from siteplan.services.terrestrial.ways import Way
from siteplan.units import dbd_to_dbi, field_strength_to_terminal_dbuv

LOCATION_PCT = 95.0


def need_of(multiplex: Multiplex, plan: Plan, amplifier: Amplifier | None = None) -> TerrestrialNeed:
    """Return what a multiplex needs with the plan's aerial, cable and amplifier, or with another amplifier."""
    kit = plan.kit
    return terrestrial_need(
        multiplex.mode,
        frequency_mhz=multiplex.frequency_mhz,
        bandwidth_mhz=multiplex.bandwidth_mhz,
        gain_dbd_at_500=kit.aerial_gain_dbd,
        feeder_loss_db_at_500=kit.aerial_feeder_loss_db,
        location_pct=LOCATION_PCT,
        reception=plan.transmitters.reception,
        amplifier=amplifier or Amplifier(kit.amplifier_gain_db, kit.amplifier_noise_figure_db),
    )


def clutter_sigma_db(site: Site) -> float:
    """Return the error added where trees and buildings at the house are unknown, 0 where they are known."""
    layer = site.layer
    knows = layer is not None and layer.surface is not None and layer.knows_buildings and layer.knows_trees
    return 0.0 if knows else limits.CLUTTER_UNKNOWN_SIGMA_DB


def usable_field(need: TerrestrialNeed, found: tuple[Disturbance, ...]) -> tuple[float, tuple[float, ...]]:
    """Return (field that one place needs, dBuV/m; share of it that each disturbance makes up): power sum of the minimum field and of all.

    Source: Rec. ITU-R BT.1368 / GE06 Agreement, power sum method (memory).
    """
    powers = [10.0 ** (need.minimum_field_dbuv_per_m / 10.0), *(10.0 ** (one.nuisance_dbuv_per_m / 10.0) for one in found)]
    whole = math.fsum(powers)
    return 10.0 * math.log10(whole), tuple(power / whole for power in powers[1:])


def line_of(way: Way, number: int, ways: list[Way], aerial: Aerial, site: Site, house: House) -> MultiplexLine:
    """Return one multiplex of one way as an aerial aimed at its transmitter takes it.

    Both sides of the margin are medians: median field and minimum median field, which is the usable field and 1.645 sigma of locations.
    The probability holds the median field against the usable field itself: never crosswise. Where a disturbance makes up a share w of the
    usable field, w times its own spread over locations and error of method counts too (power sum, taken straight about its medians).
    """
    multiplex, plan = way.transmitter.multiplexes[number], house.plan
    need, loss = need_of(multiplex, plan), way.losses[number]
    found, total = disturbances(way, number, ways, aerial, need, house)
    usable, shares = usable_field(need, found)
    spread = math.sqrt(math.fsum(share**2 for share in shares))
    location = math.hypot(need.sigma_db, spread * loss.sigma_db)
    needed_median = usable + NormalDist().inv_cdf(LOCATION_PCT / 100.0) * location
    sigma = math.hypot(location, error_of_method(loss, plan)[0], spread * plan.limits.method_sigma_db, clutter_sigma_db(site))
    field = loss.field_strength_dbuv_per_m - way.patterns_db[number]
    plane = away_db(house, aerial, bearing_deg=way.bearing_deg, multiplex=multiplex)
    level = float(field_strength_to_terminal_dbuv(total, multiplex.frequency_mhz, gain_dbi=dbd_to_dbi(need.gain_dbd)))
    return MultiplexLine(
        multiplex=multiplex,
        loss_db=loss.loss_db,
        field_strength_dbuv_per_m=field,
        minimum_median_dbuv_per_m=need.minimum_median_dbuv_per_m,
        level_dbuv=level,
        margin_db=total - needed_median,
        sigma_db=sigma,
        probability=float(normal_cdf((total - usable) / sigma)),
        usable_dbuv_per_m=usable,
        needed_median_dbuv_per_m=needed_median,
        cn_db=total - need.noise_field_dbuv_per_m,
        needed_cn_db=need.cn_db,
        receiver_dbuv=level - _feeder_db(need, multiplex, plan),
        erp_towards_dbw=way.power_dbw(number),
        pattern_db=way.patterns_db[number],
        plane_db=plane,
        network_db=total - (field - plane),
        disturbances=found,
    )


def _feeder_db(need: TerrestrialNeed, multiplex: Multiplex, plan: Plan) -> float:
    """Return what the planned feeder takes off (an amplifier, where the plan has one, gives its gain)."""
    gain = plan.kit.amplifier_gain_db
    if gain <= 0.0 or plan.transmitters.reception != "fixed":
        return need.feeder_loss_db
    return need_of(multiplex, plan, Amplifier()).feeder_loss_db - gain
