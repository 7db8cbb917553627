"""The place of an address from above, as SVG: which way antennas point, and what stands in the way."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from siteplan.records.findings import SatelliteView
from siteplan.report.drawing import Frame, Labels, finite, nice_step, svg
from siteplan.words import degrees, distance
from siteplan.words.pages import height_unit_m, text


@dataclass(frozen=True, slots=True)
class Direction:
    """One way an antenna points: what at, true bearing, and whether it is a dish's."""

    name: str
    bearing_deg: float
    dish: bool = False


def from_above(directions: Sequence[Direction], views: Sequence[SatelliteView], *, facade_deg: float, key: str, title: str) -> str:
    """Return the place from above, north up: which way antennas point, and a wedge from the spot to what stands in the way."""
    blockers = [v.clearance for v in views if v.clearance is not None and v.clearance.state in ("partly", "blocked")]
    near = [c.distance_m for c in blockers if math.isfinite(c.distance_m) and c.distance_m <= 400.0]
    reach = max([50.0, *(1.35 * d for d in near)])
    ring = nice_step(reach / height_unit_m(), 3) * height_unit_m()
    width = 340.0
    middle, radius = width / 2, width / 2 - 44
    scale = radius / reach

    def at(bearing_deg: float, px: float) -> tuple[float, float]:
        turn = math.radians(bearing_deg)
        return middle + px * math.sin(turn), middle - px * math.cos(turn)

    frame = Frame(2, 2, width - 2, width - 2, 0, 1, 0, 1)
    labels = Labels(frame)
    parts = [f'<circle cx="{middle}" cy="{middle}" r="{radius:.1f}" class="rim"/>']
    count = int(reach / ring)
    for k in range(1, count + 1):
        parts.append(f'<circle cx="{middle}" cy="{middle}" r="{k * ring * scale:.1f}" class="ring"/>')
    named: set[tuple[str, int, int]] = set()
    wedges, words_later = [], []
    for seen in blockers:
        place = (seen.kind, round(seen.bearing_deg / 4) if math.isfinite(seen.bearing_deg) else 0, round(finite(seen.distance_m) / 5))
        if place in named or not math.isfinite(seen.bearing_deg) or not math.isfinite(seen.distance_m):
            continue
        named.add(place)
        px = min(seen.distance_m * scale, radius)
        (x0, y0), (x1, y1) = at(seen.bearing_deg - 4.0, px), at(seen.bearing_deg + 4.0, px)
        wedges.append(f'<path class="wedge" d="M{middle} {middle}L{x0:.1f} {y0:.1f}A{px:.1f} {px:.1f} 0 0 1 {x1:.1f} {y1:.1f}Z"/>')
        if seen.distance_m * scale <= radius:
            wedges.append(f'<path class="blocks" d="M{x0:.1f} {y0:.1f}A{px:.1f} {px:.1f} 0 0 1 {x1:.1f} {y1:.1f}"/>')
        words_later.append((seen.bearing_deg, min(px + 13.0, radius - 14.0), distance(seen.distance_m)))
    parts += wedges
    if math.isfinite(facade_deg):
        (xa, ya), (xb, yb) = at(facade_deg - 90.0, 46), at(facade_deg + 90.0, 46)
        back = at(facade_deg + 180.0, 5)
        dx, dy = back[0] - middle, back[1] - middle
        parts.append(f'<path class="wall" d="M{xa + dx:.1f} {ya + dy:.1f}L{xb + dx:.1f} {yb + dy:.1f}"/>')
    for way in directions:
        x0, y0 = at(way.bearing_deg, 7)
        x1, y1 = at(way.bearing_deg, radius - 1)
        parts.append(f'<path class="{"aim-dish" if way.dish else "aim"}" d="M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}"/>')
        (xa, ya), (xb, yb) = at(way.bearing_deg - 2.2, radius - 8), at(way.bearing_deg + 2.2, radius - 8)
        parts.append(f'<path class="{"head-dish" if way.dish else "head"}" d="M{x1:.1f} {y1:.1f}L{xa:.1f} {ya:.1f}L{xb:.1f} {yb:.1f}Z"/>')
        xl, yl = at(way.bearing_deg, radius + 12)
        side = math.sin(math.radians(way.bearing_deg))
        anchor = "start" if side > 0.35 else "end" if side < -0.35 else "middle"
        step = 13.0 if math.cos(math.radians(way.bearing_deg)) < 0 else -13.0
        parts.append(
            labels.put(xl, yl + 4, f"{way.name} {degrees(way.bearing_deg)}", css="strong" if way.dish else "", anchor=anchor, step=step)
        )
    parts.append(f'<circle cx="{middle}" cy="{middle}" r="4" class="spot"/>')
    parts.append(f'<path class="north" d="M{middle} {middle - radius - 3:.1f}l-5 11 5 -3 5 3z"/>')
    parts.append(labels.put(middle, middle - radius - 8, text("north_letter"), css="strong"))
    for k in range(1, count + 1):
        x, y = at(_empty_bearing([d.bearing_deg for d in directions] + [c.bearing_deg for c in blockers]), k * ring * scale)
        parts.append(labels.put(x, y + 4, distance(k * ring), css="soft halo"))
    parts += [labels.put(*at(bearing, px), words, css="strong halo", step=14) for bearing, px, words in words_later]
    return svg(width, width, parts, title=title, key=key, slim=None)


def _empty_bearing(taken: Sequence[float]) -> float:
    """Return the bearing farthest from all that is drawn, for the words of the rings."""
    taken = [t for t in taken if math.isfinite(t)]
    options = range(15, 360, 15)
    return float(max(options, key=lambda o: min((abs((o - t + 180.0) % 360.0 - 180.0) for t in taken), default=0.0)))
