"""The skyline looked at from below: straight up in the middle, level at the rim, north at the top. For whoever stands on the roof."""

from __future__ import annotations

import math

import numpy as np

from siteplan.records.findings import SatelliteFinding
from siteplan.report.drawing import Frame, Labels, svg
from siteplan.words import compass_short
from siteplan.words.pages import text

_WIDTH, _RADIUS = 340.0, 138.0
_MIDDLE = _WIDTH / 2


def _at(azimuth_deg: float, elevation_deg: float) -> tuple[float, float]:
    # elevations below level lie on the rim
    px, turn = _RADIUS * (90.0 - max(0.0, elevation_deg)) / 90.0, math.radians(azimuth_deg)
    return _MIDDLE + px * math.sin(turn), _MIDDLE - px * math.cos(turn)


def round_skyline(finding: SatelliteFinding, *, key: str, title: str) -> str:
    """Return the skyline around the spot: land, the arc, each satellite, unknown bearings hatched; "" without one."""
    sky = finding.skyline
    if sky is None or len(sky.azimuth_deg) < 3:
        return ""
    order = np.argsort(sky.azimuth_deg, kind="stable")[:: max(1, len(sky.azimuth_deg) // 360)]
    azimuth, elevation = sky.azimuth_deg[order], sky.elevation_deg[order]
    parts = [
        f'<defs><pattern id="{key}-h" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<path d="M0 0V7" class="hatch"/></pattern></defs>',
        f'<circle cx="{_MIDDLE:g}" cy="{_MIDDLE:g}" r="{_RADIUS:g}" class="dome"/>',
        f'<path class="surface" fill-rule="evenodd" d="{_land(azimuth, elevation)}"/>',
    ]
    step = 360.0 / len(azimuth)
    unknown = "".join(_slice(float(a), 12.0, step) for a in azimuth[np.isnan(elevation)])
    parts.append(f'<path d="{unknown}" fill="url(#{key}-h)"/>' if unknown else "")
    for ring in (30.0, 60.0):
        parts.append(f'<circle cx="{_MIDDLE:g}" cy="{_MIDDLE:g}" r="{_RADIUS * (90.0 - ring) / 90.0:.1f}" class="ring"/>')
    parts.append(f'<circle cx="{_MIDDLE:g}" cy="{_MIDDLE:g}" r="{_RADIUS:g}" class="axis"/>')
    return svg(_WIDTH, _WIDTH, [*parts, *_sky(finding)], title=title, key=key, slim=None)


def _land(azimuth_deg: np.ndarray, elevation_deg: np.ndarray) -> str:
    """Return all between the skyline and the rim: the rim as a circle, and the skyline as the hole in it."""
    px = _RADIUS * (90.0 - np.clip(np.nan_to_num(elevation_deg), 0.0, 90.0)) / 90.0
    turn = np.radians(azimuth_deg)
    x, y = _MIDDLE + px * np.sin(turn), _MIDDLE - px * np.cos(turn)
    hole = " ".join(f"{a:.1f} {b:.1f}" for a, b in zip(x.tolist(), y.tolist(), strict=True))
    left, wide = _MIDDLE - _RADIUS, 2 * _RADIUS
    rim = f"M{left:g} {_MIDDLE:g}a{_RADIUS:g} {_RADIUS:g} 0 1 0 {wide:g} 0a{_RADIUS:g} {_RADIUS:g} 0 1 0 -{wide:g} 0Z"
    return f"{rim}M{hole}Z"


def _slice(azimuth_deg: float, elevation_deg: float, step_deg: float) -> str:
    """Return a piece of land from the rim up to an elevation, as wide as one step of bearings."""
    low, high = azimuth_deg - step_deg / 2, azimuth_deg + step_deg / 2 + 0.05
    corners = (_at(low, 0.0), _at(low, elevation_deg), _at(high, elevation_deg), _at(high, 0.0))
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in corners) + "Z"


def _sky(finding: SatelliteFinding) -> list[str]:
    arc = _in_turn([(a, e) for _, a, e in finding.arc if e > 0.0])
    stretches = [(o, a, e) for o, a, e in finding.arc if e > 0.0]
    parts = []
    for orbits in (None, *finding.visible_arc):
        points = arc if orbits is None else _within(stretches, orbits)
        if len(points) > 1:
            line = " ".join(f"{x:.1f},{y:.1f}" for x, y in (_at(*point) for point in points))
            parts.append(f'<polyline class="{"arc" if orbits is None else "arc-open"}" points="{line}"/>')
    labels = Labels(Frame(2, 2, _WIDTH - 2, _WIDTH - 2, 0, 1, 0, 1))
    for bearing in range(0, 360, 45):
        x, y = _at(bearing, -1.0)
        dx, dy = (x - _MIDDLE) * 0.115, (y - _MIDDLE) * 0.115
        css = "strong" if bearing % 90 == 0 else "soft"
        parts.append(labels.put(x + dx, y + dy + 4.0, compass_short(float(bearing)), css=css, step=0.0))
    for view in finding.views:
        if view.look.elevation_deg > 0.0:
            x, y = _at(view.look.azimuth_deg, view.look.elevation_deg)
            parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" class="disc"/><circle cx="{x:.1f}" cy="{y:.1f}" r="1.6" class="dot"/>')
            parts.append(labels.put(x, y - 10.0, view.satellite.name, css="strong halo"))
    for ring in (30, 60):
        x, y = _at(0.0, ring)
        parts.append(labels.put(x, y + 4.0, f"{ring}°", css="soft halo", step=14.0))
    parts.append(labels.put(_MIDDLE, _MIDDLE + 4.0, text("straight_up"), css="soft halo", step=14.0))
    return parts


def _within(points: list[tuple[float, float, float]], orbits: tuple[float, float]) -> list[tuple[float, float]]:
    west, east = orbits
    inside = [(a, e) for o, a, e in points if (o - west) % 360.0 <= (east - west) % 360.0]
    return _in_turn(inside)


def _in_turn(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return points in the order of their bearings, begun after the widest gap between them."""
    points = sorted(points)
    if len(points) < 2:
        return points
    gaps = [(points[k][0] - points[k - 1][0]) % 360.0 for k in range(len(points))]
    start = gaps.index(max(gaps))
    return points[start:] + points[:start]
