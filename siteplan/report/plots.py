"""Pictures as SVG by our own templates: the skyline, and a path from the house outwards.

A template takes a millisecond or two and a few kilobytes a picture; a plotting library takes fifty times both. Numbers come from
the findings; what is worked out here is only where a line is drawn.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from siteplan.constants import EARTH_RADIUS_M
from siteplan.records.findings import SatelliteFinding, SatelliteView
from siteplan.records.ground import KIND_GROUND, KIND_GROWTH, KIND_OBJECT
from siteplan.records.plan import LimitsTable
from siteplan.records.results import Profile, Skyline
from siteplan.report.drawing import LETTER, NARROW, SKY, SLIM, WIDE, Frame, Labels, area, finite, nice_step, svg, what_blocks
from siteplan.report.html import esc
from siteplan.units import wavelength_m
from siteplan.words import compass_short, distance, height, orbit
from siteplan.words.language import figures
from siteplan.words.pages import axis_units, height_unit_m, text
from siteplan.words.sun import said as sun_said

FAR_M = 1000.0  # ground beyond this is drawn as far ground
_BEAM_DEG = 70.0  # half-power beam of a dish is about 70 wavelengths over diameters degrees (common practice, no source)
_DISC_MHZ, _DISC_DISH_M = 11_700.0, 0.8


# ---- the skyline ---------------------------------------------------------------------------------------------------------


def skyline(finding: SatelliteFinding, limits: LimitsTable, *, key: str, title: str, slim: bool = False) -> str:
    """Return the skyline from the spot: bearing along, elevation up, the arc, each satellite as a disc, what blocks named."""
    sky = finding.skyline
    views = [view for view in finding.views if view.look.elevation_deg > 0]
    if sky is None or len(sky.azimuth_deg) == 0:
        return ""
    low, high = _window(views, finding.arc, slim)
    along, places = _unwrapped(sky.azimuth_deg, low, high)
    elevation, ground = sky.elevation_deg[places], sky.ground_elevation_deg[places]
    top = max(
        [25.0, float(np.nanmax(elevation, initial=0.0)) + 5.0, *(view.look.elevation_deg + 9.0 for view in views)]
        + ([max((e for _, a, e in finding.arc), default=0.0) + 4.0] if not views else [])
    )
    top, bottom = min(top, 90.0), min(0.0, max(-6.0, math.floor(float(np.nanmin(elevation, initial=0.0)))))
    width, left, foot = (SLIM, 30, 44) if slim else (SKY, 34, 46)
    per_degree = (width - left - 8) / (high - low)
    tall = min(max((top - bottom) * per_degree, 150.0), 330.0)
    frame = Frame(left, 8, width - 8, 8 + tall, low, high, bottom, top)
    labels = Labels(frame)
    parts = [*_sky_grid(frame), *_unknown(frame, along, elevation, key), *_land(frame, along, elevation, ground, sky, places)]
    parts.append(_growth(frame, along, elevation, sky, places, limits.growth_m_per_year * limits.growth_years))
    parts += _arc(frame, finding, labels, slim)
    discs = _discs(frame, views, labels)  # their names come first where room is short
    parts += _sun(frame, finding, labels)
    parts += _blockers(frame, along, elevation, views, labels) + discs
    parts += _sky_axes(frame, slim)
    return svg(width, 8 + tall + foot, parts, title=title, key=key, slim=slim)


def _window(views: Sequence[SatelliteView], arc: Sequence[tuple[float, float, float]], slim: bool) -> tuple[float, float]:
    """Return the bearings to draw: all wanted satellites with room to either side; without satellites the arc."""
    bearings = [view.look.azimuth_deg for view in views] or [a for _, a, e in arc if e > 3.0] or [180.0]
    middle = math.degrees(math.atan2(sum(math.sin(math.radians(b)) for b in bearings), sum(math.cos(math.radians(b)) for b in bearings)))
    off = [(b - middle + 180.0) % 360.0 - 180.0 for b in bearings]
    room, least = (14.0, 70.0) if slim else (22.0, 110.0)
    low, high = min(off) - room, max(off) + room
    spare = max(0.0, least - (high - low)) / 2
    low, high = max(low - spare, -150.0), min(high + spare, 150.0)
    start = (middle + low) % 360.0
    return start, start + high - low


def _unwrapped(azimuth_deg: np.ndarray, low: float, high: float) -> tuple[np.ndarray, np.ndarray]:
    """Return bearings inside the window as rising numbers, and where they stand in the skyline."""
    along = (azimuth_deg - low) % 360.0
    places = np.flatnonzero(along <= high - low)
    places = places[np.argsort(along[places], kind="stable")]
    return low + along[places], places


def _runs(known: np.ndarray) -> list[tuple[int, int]]:
    """Return [start, end) of each stretch of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], known.astype(np.int8), [0]])))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _hatch(key: str) -> str:
    return (
        f'<defs><pattern id="{key}-h" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<path d="M0 0V7" class="hatch"/></pattern></defs>'
    )


def _unknown(frame: Frame, along: np.ndarray, elevation: np.ndarray, key: str) -> list[str]:
    gaps = [(a, b) for a, b in _runs(np.isnan(elevation))]
    if not gaps:
        return []
    parts = [_hatch(key)]
    for start, end in gaps:
        x0, x1 = frame.x(along[start]), frame.x(along[end - 1])
        size = f'width="{max(2.0, x1 - x0):.1f}" height="{frame.bottom - frame.top:.1f}"'
        parts.append(f'<rect x="{x0:.1f}" y="{frame.top}" {size} fill="url(#{key}-h)"/>')
    return parts


def _land(frame: Frame, along: np.ndarray, elevation: np.ndarray, ground: np.ndarray, sky: Skyline, places: np.ndarray) -> list[str]:
    """Three greys: what stands on the ground, near ground, far ground."""
    parts = []
    far = (sky.kind[places] == KIND_GROUND) & (sky.distance_m[places] >= FAR_M)
    for start, end in _runs(np.isfinite(elevation)):
        if end - start < 2:
            continue
        cut = slice(start, end)
        parts.append(area(frame, along[cut], elevation[cut], "surface"))
        parts.append(area(frame, along[cut], np.nan_to_num(ground[cut], nan=frame.y0), "near"))
        for first, last in _runs(far[cut]):
            reach = slice(start + first, min(end, start + last + 1))
            if reach.stop - reach.start >= 2:
                parts.append(area(frame, along[reach], np.where(np.isnan(ground[reach]), elevation[reach], ground[reach]), "far"))
        parts.append(f'<polyline class="edge" points="{frame.points(along[cut], np.clip(elevation[cut], frame.y0, frame.y1))}"/>')
    return parts


def _growth(frame: Frame, along: np.ndarray, elevation: np.ndarray, sky: Skyline, places: np.ndarray, growth_m: float) -> str:
    """The skyline after the growth that is counted with, dotted, where growth makes the skyline."""
    grows = np.isin(sky.kind[places], (KIND_GROWTH, KIND_OBJECT)) & np.isfinite(elevation) & (sky.distance_m[places] > 1.0)
    if growth_m <= 0 or not grows.any():
        return ""
    later = np.degrees(np.arctan(np.tan(np.radians(elevation)) + growth_m / np.maximum(sky.distance_m[places], 1.0)))
    lines = [frame.points(along[a:b], np.minimum(later[a:b], frame.y1)) for a, b in _runs(grows) if b - a > 1]
    return "".join(f'<polyline class="growth" points="{line}"/>' for line in lines)


def _arc(frame: Frame, finding: SatelliteFinding, labels: Labels, slim: bool) -> list[str]:
    points = [(o, (a - frame.x0) % 360.0 + frame.x0, e) for o, a, e in finding.arc]
    inside = [p for p in points if frame.x0 <= p[1] <= frame.x1 and frame.y0 <= p[2] <= frame.y1]
    if len(inside) < 2:
        return []
    inside.sort(key=lambda p: p[1])

    def line(css: str, some: Sequence[tuple[float, float, float]]) -> str:
        return f'<polyline class="{css}" points="' + " ".join(f"{frame.x(a):.1f},{frame.y(e):.1f}" for _, a, e in some) + '"/>'

    parts, stretch = [line("arc", inside)], []
    for point in (*inside, None):
        seen = point is not None and any((point[0] - a) % 360.0 <= (b - a) % 360.0 for a, b in finding.visible_arc)
        if seen:
            stretch.append(point)
            continue
        if len(stretch) > 1:
            parts.append(line("arc-open", stretch))
        stretch = []
    every = 20 if slim else 10
    wanted = [view.satellite.orbit_deg for view in finding.views]
    for o, a, e in inside:
        if o % every == 0:
            x, y = frame.x(a), frame.y(e)
            parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="1.8" class="tick"/>')
            if all(abs((o - w + 180.0) % 360.0 - 180.0) > every * 0.6 for w in wanted):
                parts.append(labels.put(x, y + 16, orbit(o), css="soft halo", step=13))
    return parts


def _sun(frame: Frame, finding: SatelliteFinding, labels: Labels) -> list[str]:
    """The sun's path of the plan's date, its hours named, where it passes through the drawing."""
    if finding.sun is None:
        return []
    points = [((a - frame.x0) % 360.0 + frame.x0, e, hour) for a, e, hour in finding.sun.path]
    inside = [(a, e, hour) for a, e, hour in points if frame.x0 <= a <= frame.x1 and frame.y0 <= e <= frame.y1]
    parts, run = [], []
    for point in (*inside, None):
        if run and (point is None or point[2] - run[-1][2] > 0.3):
            if len(run) > 1:
                line = " ".join(f"{frame.x(a):.1f},{frame.y(e):.1f}" for a, e, _ in run)
                parts.append(f'<polyline class="sun" points="{line}"/>')
            run = []
        if point is not None:
            run.append(point)
    for a, e, hour in inside:
        if abs(hour - round(hour)) < 1e-6 and frame.y(e) > frame.top + 14:
            parts.append(f'<circle cx="{frame.x(a):.1f}" cy="{frame.y(e):.1f}" r="2.4" class="sun-hour"/>')
            parts.append(labels.put(frame.x(a) + 5, frame.y(e) - 4, sun_said("hour", hour=hour), css="soft halo", anchor="start"))
    return parts


def _discs(frame: Frame, views: Sequence[SatelliteView], labels: Labels) -> list[str]:
    """Each satellite as a disc as wide as the dish's beam, its name above."""
    parts = []
    for view in sorted(views, key=lambda v: v.look.azimuth_deg):
        x = frame.x((view.look.azimuth_deg - frame.x0) % 360.0 + frame.x0)
        y = frame.y(view.look.elevation_deg)
        dish_m = view.dish_m if math.isfinite(view.dish_m) else _DISC_DISH_M
        beam = _BEAM_DEG * wavelength_m(_DISC_MHZ) / dish_m
        r = max(4.0, 0.5 * beam * (frame.right - frame.left) / (frame.x1 - frame.x0))
        parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}" class="disc"/><circle cx="{x:.1f}" cy="{y:.1f}" r="1.6" class="dot"/>')
        parts.append(labels.put(x, y - r - 5, view.satellite.name, css="strong halo"))
    return parts


def _blockers(frame: Frame, along: np.ndarray, elevation: np.ndarray, views: Sequence[SatelliteView], labels: Labels) -> list[str]:
    """Outline and name what stands in the way, once for each place."""
    parts: list[str] = []
    named: set[tuple[str, int]] = set()
    for view in views:
        seen = view.clearance
        if seen is None or seen.state not in ("partly", "blocked") or not math.isfinite(seen.bearing_deg):
            continue
        at = (seen.bearing_deg - frame.x0) % 360.0 + frame.x0
        near = (np.abs(along - at) <= 3.0) & np.isfinite(elevation)
        place = (seen.kind, round(at / 4.0))
        if near.sum() < 2 or place in named:
            continue
        named.add(place)
        tops = np.clip(elevation[near], frame.y0, frame.y1)
        parts.append(f'<polyline class="blocks" points="{frame.points(along[near], tops)}"/>')
        words = what_blocks(seen.kind, seen.distance_m, seen.obstacle_agl_m)
        parts.append(labels.put(frame.x(at), min(frame.y(float(tops.max())) + 22, frame.bottom - 6), words, css="on-land strong", step=14))
    return parts


def _sky_grid(frame: Frame) -> list[str]:
    parts = []
    every = 10 if frame.y1 - frame.y0 <= 60 else 20
    for value in range(0, int(frame.y1) + 1, every):
        parts.append(f'<text x="{frame.left - 5}" y="{frame.y(value) + 4:.1f}" class="tick-word end">{value}°</text>')
        if value:
            parts.append(f'<path class="grid" d="M{frame.left} {frame.y(value):.1f}H{frame.right}"/>')
    return parts


def _sky_axes(frame: Frame, slim: bool) -> list[str]:
    parts = [f'<path class="axis" d="M{frame.left} {frame.y(0.0):.1f}H{frame.right}"/>']
    every = 20 if slim or frame.x1 - frame.x0 > 150 else 10
    for value in range(math.ceil(frame.x0 / every) * every, int(frame.x1) + 1, every):
        x = frame.x(value)
        parts.append(f'<path class="axis" d="M{x:.1f} {frame.bottom}v4"/>')
        if frame.left + 12 < x < frame.right - 10:
            parts.append(f'<text x="{x:.1f}" y="{frame.bottom + 16:.1f}" class="tick-word middle">{value % 360}°</text>')
    step = 45.0 if slim and frame.x1 - frame.x0 > 100 else 22.5
    for place in range(math.ceil(frame.x0 / step), int(frame.x1 / step) + 1):
        x = frame.x(place * step)
        if frame.left + 12 < x < frame.right - 12:
            parts.append(f'<text x="{x:.1f}" y="{frame.bottom + 31:.1f}" class="label strong middle">{compass_short(place * step)}</text>')
    return parts


# ---- a path, drawn from the house outwards ----------------------------------------------------------------------------------


def path(
    profile: Profile,
    limits: LimitsTable,
    *,
    sender: str,
    tx_height_agl_m: float,
    rx_height_agl_m: float,
    frequency_mhz: float,
    blocked_m: float,
    diffraction_db: float,
    key: str,
    title: str,
    slim: bool | None = None,
) -> str:
    """Return a path with the house at the left: Earth bulge, ground, what stands on it, the ray, the room the signal needs."""
    length = float(profile.distance_m[-1])
    away = length - profile.distance_m[::-1]
    ground, clutter = profile.ground_amsl_m[::-1], profile.clutter_m[::-1]
    # Earth bulge over an Earth that is larger by k = 157 / (157 - dN): Rec. ITU-R P.1812-8, 4.3.2, eq. (7)
    effective_m = EARTH_RADIUS_M * 157.0 / (157.0 - limits.delta_n)
    bulge = away * (length - away) / (2.0 * effective_m)
    house = float(ground[0]) + finite(rx_height_agl_m)
    far_end = float(ground[-1]) + finite(tx_height_agl_m)
    ray = house + (far_end - house) * away / length
    room = 0.6 * np.sqrt(wavelength_m(frequency_mhz) * away * (length - away) / length)
    lifted = ground + bulge
    lowest, highest = float(np.nanmin(lifted)), float(np.nanmax(np.maximum(lifted + clutter, ray + room)))
    spread = max(highest - lowest, 20.0)
    width, left, tall = (WIDE, 44, 220.0) if slim is False else (NARROW, 36, 140.0)  # one drawing for all widths where slim is None
    frame = Frame(left, 10, width - 10, 10 + tall, 0.0, length, lowest - 0.12 * spread, highest + 0.2 * spread)
    keep = _thinned(away, lifted + clutter, frame)
    x = away[keep]
    labels = Labels(frame)
    parts = [
        *_path_grid(frame),
        area(frame, x, (lifted + clutter)[keep], "surface"),
        area(frame, x, lifted[keep], "near"),
        _bulge(frame, length, effective_m),
        f'<polygon class="room" points="{frame.points(x, (ray + room)[keep])} {frame.points(x[::-1], (ray - room)[keep][::-1])}"/>',
        f'<path class="ray" d="M{frame.x(0):.1f} {frame.y(house):.1f}L{frame.x(length):.1f} {frame.y(far_end):.1f}"/>',
        f'<path class="pole" d="M{frame.x(0):.1f} {frame.y(float(ground[0])):.1f}V{frame.y(house):.1f}"/>',
        f'<path class="pole" d="M{frame.x(length):.1f} {frame.y(float(ground[-1])):.1f}V{frame.y(far_end):.1f}"/>',
    ]
    for words, anchor in (
        (text("plot_house", height=height(rx_height_agl_m)), "start"),
        (text("plot_sender", name=sender, height=height(tx_height_agl_m)), "end"),
    ):
        parts.append(_end_label(frame, labels, words, anchor, away, ray + room))
    if math.isfinite(blocked_m) and 0.0 < blocked_m < length:
        level = float(np.interp(blocked_m, away, lifted + clutter))
        px, py = frame.x(blocked_m), frame.y(level)
        cost = text("plot_costs", loss=f"{diffraction_db:.0f}") if math.isfinite(diffraction_db) else ""
        parts.append(f'<path class="blocks" d="M{px:.1f} {py - 9:.1f}v18"/>')
        words = text("plot_blocks", distance=distance(blocked_m)) + cost
        parts.append(labels.put(px, max(24.0, min(py + 24, frame.bottom - 6)), words, css="on-land strong", step=14))
    return svg(width, 10 + tall + 40, [*parts, *_path_axes(frame, length, slim is not False)], title=title, key=key, slim=slim)


def _end_label(frame: Frame, labels: Labels, words: str, anchor: str, away: np.ndarray, above: np.ndarray) -> str:
    """Name one end of a path, over the room the signal needs along the whole width of the words."""
    wide = LETTER * 1.06 * len(words) / (frame.right - frame.left) * (frame.x1 - frame.x0)
    under = away <= wide if anchor == "start" else away >= frame.x1 - wide
    y = max(frame.top + 10.0, frame.y(float(np.nanmax(above[under]))) - 8.0)
    x = frame.left + 6 if anchor == "start" else frame.right
    return labels.put(x, y, words, css="strong halo", anchor=anchor, step=14.0)


def _thinned(away: np.ndarray, tops: np.ndarray, frame: Frame) -> np.ndarray:
    """Return which steps to draw: in each px column the first and the highest, and both ends."""
    column = ((away - frame.x0) / (frame.x1 - frame.x0) * (frame.right - frame.left)).astype(np.int64)
    first = np.flatnonzero(np.diff(column, prepend=-1))
    order = np.lexsort((-tops, column))
    highest = order[np.flatnonzero(np.diff(column[order], prepend=-1))]
    return np.unique(np.concatenate([[0], first, highest, [len(away) - 1]]))


def _bulge(frame: Frame, length: float, effective_m: float) -> str:
    """Draw sea level as it bends, where that is inside the picture and high enough to be seen."""
    along = np.linspace(0.0, length, 40)
    sea = along * (length - along) / (2.0 * effective_m)
    if frame.y(0.0) - frame.y(float(sea.max())) < 3.0 or float(sea.max()) < frame.y0:
        return ""
    return f'<polyline class="sea" points="{frame.points(along, np.maximum(sea, frame.y0))}"/>'


def _path_grid(frame: Frame) -> list[str]:
    parts = []
    unit = height_unit_m()
    step = nice_step((frame.y1 - frame.y0) / unit, 4) * unit
    value = math.ceil(frame.y0 / step) * step
    while value < frame.y1:
        if frame.y(value) > frame.top + 6:
            parts.append(f'<path class="grid" d="M{frame.left} {frame.y(value):.1f}H{frame.right}"/>')
            parts.append(f'<text x="{frame.left - 5}" y="{frame.y(value) + 4:.1f}" class="tick-word end">{value / unit:.0f}</text>')
        value += step
    return parts


def _path_axes(frame: Frame, length: float, slim: bool) -> list[str]:
    parts = [f'<path class="axis" d="M{frame.left} {frame.bottom}H{frame.right}"/>']
    unit, away, heights = axis_units(length)
    step = nice_step(length / unit, 4 if slim else 7) * unit
    for place in range(int(length / step) + 1):
        at = place * step
        words = figures(f"{at / unit:g}")
        parts.append(f'<path class="axis" d="M{frame.x(at):.1f} {frame.bottom}v4"/>')
        if frame.x(at) < frame.right - 40 or slim:
            parts.append(f'<text x="{frame.x(at):.1f}" y="{frame.bottom + 17:.1f}" class="tick-word middle">{words}</text>')
    parts.append(f'<text x="{frame.right}" y="{frame.bottom + 33:.1f}" class="tick-word end">{esc(away)}</text>')
    parts.append(f'<text x="{frame.left}" y="{frame.bottom + 33:.1f}" class="tick-word">{esc(heights)}</text>')
    return parts
