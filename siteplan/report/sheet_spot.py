"""The spot on a sheet: the plot to scale, what may stand in the way, what moving the dish does, plan B, the cable."""

from __future__ import annotations

import math

from siteplan.records.findings import AddressFinding, Findings
from siteplan.records.spots import SpotMove, SpotOption, SpotPlan
from siteplan.report import plot_plan
from siteplan.report.html import esc, own
from siteplan.words.spots import said


def figure(findings: Findings, row: AddressFinding, name: str) -> str:
    """Return the plot with its caption, "" where no search was made."""
    found = row.satellite
    if found is None or found.spots is None:
        return ""
    plan = found.spots
    scale = plot_plan.scale_of(plan, found.views)
    aims = ", ".join(said("plot_aim", name=v.satellite.name, bearing=v.look.azimuth_deg) for v in found.views if v.look.elevation_deg > 0)
    title = said("plot_title", name=name, spot=_where(plan.best, f"spot_{plan.best.kind}"), aims=aims + ".")
    drawing = plot_plan.plot(plan, found.views, key="plot", title=title)
    mount = findings.plan.mount
    words = [said("plot_places", ground=mount.highest_agl_m, roof=mount.highest_above_roof_m)]
    if 'class="wedge"' in drawing:
        words.append(said("plot_wedge"))
    words += [said("plot_entry") if plan.entry_m is not None else "", said("plot_point"), said("plot_scale", scale=scale)]
    caption = " ".join(word for word in words if word)
    return f'<figure class="plan"><h2>{esc(said("plot", scale=scale))}</h2>{drawing}<figcaption>{esc(caption)}</figcaption></figure>'


def block(findings: Findings, row: AddressFinding, name: str) -> str:
    """Return the plot and what belongs to it, "" where no search was made."""
    found = row.satellite
    if found is None or found.spots is None:
        return ""
    plan, parts = found.spots, []
    lines = [words for one in plan.limits if (words := _heights(one.satellite, one.bearing_deg, one.steps))]
    if lines:
        items = "".join(f"<li>{own(line)}</li>" for line in lines)
        parts.append(f"<h3>{esc(said('heights'))}</h3><p>{esc(said('heights_lead'))}</p><ul>{items}</ul>")
    parts.append(f"<h3>{esc(said('moves'))}</h3><p>{esc(_moves(plan))} {esc(_lowest(plan.best))}</p>")
    parts.append(f"<h3>{esc(said('plan_b'))}</h3><p>{own(_plan_b(plan))}</p>")
    cable = said("cable_line_spare", cable=plan.best.cable_m, spare=findings.plan.mount.cable_spare_m)
    looked = said(f"looked_{plan.looked_in}", tried=plan.tried, share=plan.all_clear_share, radius=plan.radius_m)
    parts.append(f"<h3>{esc(said('cable'))}</h3><p>{esc(cable)}</p>" f'<p class="small soft">{esc(looked)}</p>')
    return f'<section class="spot-plot">{figure(findings, row, name)}<div class="spot-lines">{"".join(parts)}</div></section>'


def _heights(satellite: str, bearing_deg: float, steps: tuple[tuple[float, float], ...]) -> str:
    words = [said("heights_step", height=high, distance_m=away) for away, high in steps if high > 0.0]
    return said("heights_line", satellite=satellite, bearing=bearing_deg, steps=", ".join(words)) if words else ""


def _moves(plan: SpotPlan) -> str:
    return said("moves_line", here=_spare(plan.best.spare_deg), **{move.way: _spare(move.spare_deg) for move in _all(plan)})


def _all(plan: SpotPlan) -> tuple[SpotMove, ...]:
    return plan.moves


def _spare(spare_deg: float) -> str:
    name = "move_unknown" if not math.isfinite(spare_deg) else "move_clear" if spare_deg >= 0.0 else "move_blocked"
    return said(name, spare=spare_deg)


def _lowest(best: SpotOption) -> str:
    known = math.isfinite(best.lowest_agl_m)
    return said("lowest", height=best.lowest_agl_m) if known and best.lowest_agl_m <= best.height_agl_m + 0.05 else said("lowest_none")


def _plan_b(plan: SpotPlan) -> str:
    other = plan.plan_b
    if other is None:
        return said("plan_b_none")
    east, north = other.east_m - plan.best.east_m, other.north_m - plan.best.north_m
    values = {"distance_m": math.hypot(east, north), "bearing": math.degrees(math.atan2(east, north)) % 360.0, "facade": other.facade_deg}
    where = said(f"where_{other.kind}", **values)
    return said("plan_b_line", where=where, height=other.height_agl_m, sees=_sees(other), cable=other.cable_m)


def _sees(option: SpotOption) -> str:
    if option.wanted == 1 or len(option.sees) == 1:
        return said("sees_one", names=option.sees)
    if len(option.sees) == option.wanted:
        return said("sees_all", wanted=option.wanted)
    return said("sees_some", count=len(option.sees), wanted=option.wanted, names=option.sees)


def _where(option: SpotOption, name: str) -> str:
    return said(name, facade=option.facade_deg)
