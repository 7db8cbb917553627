"""One dish for several satellites: LNBs side by side, a motor, and the tilt of an offset dish's face."""

from __future__ import annotations

import math

from siteplan.radio.antenna import off_focus_loss_db
from siteplan.records.dish import DishFinding, Feed, Motor, MotorLine, SharedDish
from siteplan.records.findings import SatelliteView
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.services.satellite import limits
from siteplan.sky.directions import separation_deg
from siteplan.sky.polar_mount import polar_mount


def dish_finding(views: tuple[SatelliteView, ...], spot: Spot, plan: Plan) -> DishFinding | None:
    """Return what one dish can do for the satellites that rise here; None where none does."""
    least = plan.limits.smallest_elevation_deg
    rising = sorted((view for view in views if view.look.elevation_deg >= least), key=lambda view: view.look.azimuth_deg)
    if not rising:
        return None
    offset = plan.kit.dish_offset_deg
    tilts = tuple((view.satellite.name, math.nan if offset is None else view.look.elevation_deg - offset) for view in rising)
    if len(rising) < 2:
        return DishFinding(tilts=tilts)
    shared, alone = _shared(rising, plan)
    mount = polar_mount(
        lat_deg=spot.lat_deg, lon_deg=spot.lon_deg, height_ell_m=spot.centre_amsl_m, orbit_deg=[v.satellite.stands_at_deg for v in rising]
    )
    lines = tuple(
        MotorLine(view.satellite.name, float(turn), float(miss), view.clearance.state if view.clearance is not None else "unknown")
        for view, turn, miss in zip(rising, mount.motor_deg, mount.miss_deg, strict=True)
    )
    return DishFinding(shared, alone, Motor(mount.axis_elevation_deg, mount.declination_deg, lines), tilts)


def _shared(rising: list[SatelliteView], plan: Plan) -> tuple[tuple[SharedDish, ...], tuple[str, ...]]:
    """Return groups of neighbours that fit on one dish, largest first from one end of the arc, and the satellites left alone."""
    groups: list[SharedDish] = []
    alone: list[str] = []
    at = 0
    while at < len(rising):
        for count in range(min(plan.kit.dish_feeds, len(rising) - at), 0, -1):
            some = rising[at : at + count]
            aim = min(some, key=lambda view: max(_apart(view, other) for other in some))
            if count > 1 and max(_apart(aim, other) for other in some) <= plan.kit.feed_spread_deg:
                groups.append(_group(aim, some, plan))
                at += count
                break
        else:
            alone.append(rising[at].satellite.name)
            at += 1
    return tuple(groups), tuple(alone)


def _apart(one: SatelliteView, other: SatelliteView) -> float:
    """Return the angle between two satellites as seen from here: larger than their distance along the orbit."""
    a, b = one.look, other.look
    return float(separation_deg(a.azimuth_deg, a.elevation_deg, b.azimuth_deg, b.elevation_deg))


def _group(aim: SatelliteView, some: list[SatelliteView], plan: Plan) -> SharedDish:
    sizes = [view.dish_m if math.isfinite(view.dish_m) else min(plan.kit.dishes_m) for view in some]
    dish_m = max(sizes)
    feeds = []
    for view in sorted(some, key=lambda view: (view is not aim, view.look.azimuth_deg)):
        apart = _apart(aim, view)
        turn = (view.look.azimuth_deg - aim.look.azimuth_deg + 180.0) % 360.0 - 180.0
        frequency = max((t.frequency_mhz for t in view.satellite.transponders), default=limits.DEFAULT_FREQUENCY_MHZ)
        loss = float(off_focus_loss_db(apart, dish_m=dish_m, frequency_mhz=frequency, focal_ratio=plan.kit.dish_focal_ratio))
        higher = view.look.elevation_deg - aim.look.elevation_deg
        feeds.append(Feed(view.satellite.name, turn * math.cos(math.radians(aim.look.elevation_deg)), higher, apart, loss))
    return SharedDish(dish_m, tuple(feeds))
