"""The plot of an address as SVG, true to scale and north up: buildings, what places see, dish, plan B, aims, what stands in the way."""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.records.findings import SatelliteView
from siteplan.records.spots import SpotPlan
from siteplan.report.drawing import Frame, Labels, svg
from siteplan.words import distance
from siteplan.words.pages import height_unit_m, text
from siteplan.words.spots import said

SIDE_MM = 90.0  # side of the plot on paper
SCALES = (500, 1000)
_PX = 400.0


def scale_of(plan: SpotPlan, views: Sequence[SatelliteView]) -> int:
    """Return 500 where the spots and what stands in the way near by fit on the plot at 1:500, else 1000."""
    reach = 0.5 * SIDE_MM / 1000.0 * SCALES[0] - 2.0
    spots = [plan.best, *([plan.plan_b] if plan.plan_b else [])]
    far = max([math.hypot(spot.east_m - plan.best.east_m, spot.north_m - plan.best.north_m) for spot in spots])
    near = [v.clearance.distance_m for v in _blocked(views) if v.clearance.distance_m <= 2.0 * reach]  # type: ignore[union-attr]
    return SCALES[0] if max([far, *near]) <= reach else SCALES[1]


def _blocked(views: Sequence[SatelliteView]) -> list[SatelliteView]:
    return [
        view for view in views
        if view.clearance is not None and view.clearance.state in ("partly", "blocked") and math.isfinite(view.clearance.bearing_deg)
        and math.isfinite(view.clearance.distance_m)
    ]  # fmt: skip


def plot(plan: SpotPlan, views: Sequence[SatelliteView], *, key: str, title: str) -> str:
    """Return the plot round the best spot as one drawing, SIDE_MM wide on paper at scale_of()."""
    metres = SIDE_MM / 1000.0 * scale_of(plan, views)
    middle_e, middle_n = plan.best.east_m, plan.best.north_m
    half, edge = metres / 2.0, 1.0
    frame = Frame(edge, edge, _PX - edge, _PX - edge, middle_e - half, middle_e + half, middle_n - half, middle_n + half)
    labels = Labels(frame)
    labels.taken += [(0.0, _PX - 36.0, 130.0, _PX), (_PX - 40.0, 0.0, _PX, 46.0)]  # scale bar and north arrow
    px = (_PX - 2 * edge) / metres

    def at(east: float, north: float) -> str:
        return f"{frame.x(east):.1f} {frame.y(north):.1f}"

    dots = "".join(
        f'<pattern id="{key}-{name}" width="{step}" height="{step}" patternUnits="userSpaceOnUse">'
        f'<circle cx="{step / 2:g}" cy="{step / 2:g}" r="1.15" class="tick"/></pattern>'
        for name, step in (("some", 11), ("none", 5))
    )
    clip = f'<clipPath id="{key}-c"><rect width="{_PX:g}" height="{_PX:g}"/></clipPath>'
    parts = [f'<defs>{dots}{clip}</defs><g clip-path="url(#{key}-c)">']
    for outline in plan.outlines:
        ring = "L".join(at(e, n) for e, n in outline.corners)
        css = {"own": "house", "other": "house other", "plot": "plot-line"}[outline.what]
        parts.append(f'<path class="{css}" d="M{ring}Z"/>')
    for run in plan.runs:
        x0, x1 = frame.x(run.from_east_m), frame.x(run.to_east_m)
        high = plan.step_m * px
        place = f'x="{x0:.1f}" y="{frame.y(run.north_m) - high / 2:.1f}" width="{x1 - x0:.1f}" height="{high:.1f}"'
        parts.append(f'<rect {place} class="looked"/>')
        if run.sees in ("some", "none"):
            parts.append(f'<rect {place} fill="url(#{key}-{run.sees})"/>')
    parts += [_wedge(frame, plan, view) for view in _blocked(views)]
    words: list[tuple[float, float, str]] = []
    for view in views:
        if view.look.elevation_deg <= 0.0:
            continue
        turn = math.radians(view.look.azimuth_deg)
        dx, dy = math.sin(turn), math.cos(turn)
        far = half * 0.80 / max(abs(dx), abs(dy))
        parts.append(f'<path class="aim-dish" d="M{at(middle_e, middle_n)}L{at(middle_e + far * dx, middle_n + far * dy)}"/>')
        words.append((middle_e + far * dx, middle_n + far * dy, said("plot_aim", name=view.satellite.name, bearing=view.look.azimuth_deg)))
    parts.append("</g>")
    x, y = frame.x(0.0), frame.y(0.0)
    parts.append(f'<path class="axis" d="M{x - 4:.1f} {y - 4:.1f}l8 8m0 -8l-8 8"/>')
    if plan.entry_m is not None:
        x, y = frame.x(plan.entry_m[0]), frame.y(plan.entry_m[1])
        parts.append(f'<rect x="{x - 4:.1f}" y="{y - 4:.1f}" width="8" height="8" class="entry"/>')
    parts += _marks(frame, plan, labels)
    for east, north, what in words:
        up = frame.y(north) + (12 if north < middle_n else -5)
        parts.append(labels.put(frame.x(east), up, what, css="strong halo", step=-13 if north < middle_n else 13))
    parts += _bar(frame, metres)
    return svg(_PX, _PX, parts, title=title, key=key, slim=None).replace('class="plot any"', 'class="plot any true"', 1)


def _wedge(frame: Frame, plan: SpotPlan, view: SatelliteView) -> str:
    seen, corners = view.clearance, []
    assert seen is not None
    for turn in (-4.0, 4.0):
        a = math.radians(seen.bearing_deg + turn)
        east, north = plan.best.east_m + seen.distance_m * math.sin(a), plan.best.north_m + seen.distance_m * math.cos(a)
        corners.append(f"{frame.x(east):.1f} {frame.y(north):.1f}")
    start = f"{frame.x(plan.best.east_m):.1f} {frame.y(plan.best.north_m):.1f}"
    return f'<path class="wedge" d="M{start}L{corners[0]}L{corners[1]}Z"/><path class="blocks" d="M{corners[0]}L{corners[1]}"/>'


def _marks(frame: Frame, plan: SpotPlan, labels: Labels) -> list[str]:
    x, y = frame.x(plan.best.east_m), frame.y(plan.best.north_m)
    parts = [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" class="spot"/>', labels.put(x, y - 9, said("spot_letter"), css="strong halo")]
    if plan.plan_b is not None:
        x, y = frame.x(plan.plan_b.east_m), frame.y(plan.plan_b.north_m)
        if frame.left < x < frame.right and frame.top < y < frame.bottom:
            name = labels.put(x, y - 9, said("plan_b_letter"), css="strong halo")
            parts += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" class="spot-b"/>', name]
    if plan.entry_m is not None:
        parts.append(labels.put(frame.x(plan.entry_m[0]), frame.y(plan.entry_m[1]) + 16, said("entry_letter"), css="soft halo", step=13))
    return parts


def _bar(frame: Frame, metres: float) -> list[str]:
    """The scale bar and the north arrow, in the corners."""
    unit = height_unit_m()
    long_m = (10.0 if metres < 60.0 else 20.0) if unit == 1.0 else (30.0 if metres < 60.0 else 60.0) * unit
    wide = long_m * (frame.right - frame.left) / metres
    x, y = frame.left + 12, frame.bottom - 12
    arrow = frame.right - 18
    return [
        f'<rect x="{frame.left}" y="{frame.top}" width="{frame.right - frame.left}" height="{frame.bottom - frame.top}" class="axis"/>',
        f'<rect x="{x - 5:.1f}" y="{y - 20:.1f}" width="{wide + 10:.1f}" height="27" class="paper"/>',
        f'<path class="pole" d="M{x:.1f} {y - 4:.1f}v4h{wide:.1f}v-4"/>',
        f'<text x="{x + wide / 2:.1f}" y="{y - 7:.1f}" class="label middle">{distance(long_m)}</text>',
        f'<path class="north" d="M{arrow:.1f} {frame.top + 8:.1f}l-6 16 6 -4 6 4z"/>',
        f'<text x="{arrow:.1f}" y="{frame.top + 38:.1f}" class="label strong middle">{text("north_letter")}</text>',
    ]
