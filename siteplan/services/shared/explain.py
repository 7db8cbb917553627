"""The place itself, step by step: where it is, what the land knows there, where each antenna stands."""

from __future__ import annotations

import math

from siteplan.errors import told, wording
from siteplan.records.explained import Section, Step
from siteplan.records.places import Spot
from siteplan.records.plan import Plan
from siteplan.records.verdict import Verdict
from siteplan.services.shared.site import Land, Site, declination_at

PRACTICE = wording("common practice, no source")
GEODESIC = wording("WGS84 geodesic, Karney (2013)")


def of_plan(plan: Plan, *keys: str) -> str:
    """Return the source of a value by its keys ("kit.dishes_m"): that the plan states it, or where its default comes from."""
    return "; ".join(_of_key(plan, key) for key in keys)


def _of_key(plan: Plan, key: str) -> str:
    table, name = key.split(".")
    chosen = getattr(plan, table)
    if name in chosen.model_fields_set:
        return f"plan, {key}"
    extra = type(chosen).model_fields[name].json_schema_extra
    source = extra.get("source", "") if isinstance(extra, dict) else ""
    return told("default of {key}: {source}", key=key, source=source)


def place_section(site: Site, land: Land, addresses_file: str) -> Section:
    """Return where the address is and what the land knows there."""
    address, layer = site.address, site.layer
    known = told("its column") if address.position_error_known else told("the decimals given, at least the plan's limits.position_error_m")
    name = layer.name if layer is not None else ""
    steps = [
        Step("latitude", address.lat_deg, "deg", addresses_file),
        Step("longitude", address.lon_deg, "deg", addresses_file),
        Step("position_error", address.position_error_m, "m", told("1 sigma, from {known}", known=known)),
        Step("ground", site.ground_amsl_m, "m amsl", told("{name}, bilinear between cell centres", name=name)),
        Step("surface", site.surface_amsl_m, "m amsl", told("{name}, bilinear between cell centres", name=name)),
    ]
    if layer is not None:
        cell_m = (layer.surface or layer.ground).cell_m
        steps += [
            Step("layer", name, "", told("finest layer that knows the place")),
            Step("cell", cell_m, "m", name),
            Step("height_error", layer.height_error_m, "m", told("1 sigma, plan or cell size ({practice})", practice=PRACTICE)),
            Step("knows_buildings", layer.surface is not None and layer.knows_buildings, "", told("terrain tables of the plan")),
            Step("knows_trees", layer.surface is not None and layer.knows_trees, "", told("terrain tables of the plan")),
            Step("flown_on", layer.flown_on.isoformat() if layer.flown_on else None, "", told("plan, flown_on")),
        ]
    declination = declination_at(address.lat_deg, address.lon_deg, land.on_date)
    steps.append(
        Step("declination", declination, "deg east", told("World Magnetic Model 2025, {on_date}", on_date=land.on_date.isoformat()))
    )
    return Section("place", tuple(steps))


def spot_steps(spot: Spot, plan: Plan, height_key: str) -> tuple[Step, ...]:
    """Return where an antenna stands. height_key: the plan's key of its height where it stands on the ground."""
    key = "mount.above_roof_m" if spot.kind in ("roof", "chimney") else height_key
    steps = [
        Step("spot_kind", spot.kind, "", told("address's mount, else plan, mount.kind")),
        Step("spot_latitude", spot.lat_deg, "deg", told("rule of services/shared/site.py")),
        Step("spot_longitude", spot.lon_deg, "deg", told("rule of services/shared/site.py")),
        Step("spot_ground", spot.ground_amsl_m, "m amsl", told("terrain")),
        Step("spot_roof", spot.roof_amsl_m, "m amsl", told("terrain, or the outline's stated height")),
        Step("spot_height", spot.height_agl_m, "m above ground", of_plan(plan, key)),
        Step("spot_centre", spot.centre_amsl_m, "m amsl", told("ground plus height")),
        Step("own_support", spot.own_support_m, "m", of_plan(plan, "mount.own_support_m")),
    ]
    if math.isfinite(spot.facade_deg):
        steps.append(Step("facade", spot.facade_deg, "deg", "building outline"))
    if spot.snapped_m:
        steps.append(Step("snapped", spot.snapped_m, "m", of_plan(plan, "mount.snap_m")))
    return tuple(steps)


def verdict_section(service: str, verdict: Verdict, plan: Plan) -> Section:
    """Return what the numbers were held against, and the state that came out."""
    return Section("verdict", (*limit_steps(plan), *_state_steps(verdict)), service=service)


def limit_steps(plan: Plan) -> tuple[Step, ...]:
    """Return the two odds that decide."""
    return (
        Step("book_at", plan.limits.book_probability, "", of_plan(plan, "limits.book_probability")),
        Step("not_feasible_at", plan.limits.not_feasible_probability, "", of_plan(plan, "limits.not_feasible_probability")),
    )


def _state_steps(verdict: Verdict) -> tuple[Step, ...]:
    rule = told("rule of services/{service}/judge.py", service=verdict.service)
    return (
        Step("probability", verdict.probability, "", rule),
        Step("state", str(verdict.state), "", rule),
        Step("deciding_reason", verdict.reasons[0].code, "", rule),
        Step("how_sure", verdict.how_sure.level, "", told("services/shared/trust.py (common practice, no source)")),
    )
