"""Gain of one part at one frequency: points of a data sheet joined as the physics of the part allows."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Mapping
from difflib import get_close_matches
from functools import lru_cache

import numpy as np

from siteplan.errors import MethodRangeError, told
from siteplan.records.parts import Item, Part


def lacking(name: str, parts: Mapping[str, Part]) -> str:
    """Return what to say of a part that the list does not have: the names nearest to it, or how to see them all."""
    near = get_close_matches(name, parts, n=3, cutoff=0.4)
    return told(
        "the parts list has no {name!r}; it has {parts} parts{near}",
        name=name,
        parts=len(parts),
        near=", such as " + ", ".join(near) if near else "",
    )


@lru_cache(maxsize=256)
def cable_terms(points: tuple[tuple[float, float], ...]) -> tuple[float, float]:
    """Return (k1, k2) of attenuation = k1 sqrt(f) + k2 f, dB per 100 m with f in MHz, fitted to a data sheet's points.

    Conductor loss grows with the root of frequency (skin effect), dielectric loss with frequency itself: textbook theory of transmission
    lines (Pozar, Microwave Engineering, 4th ed., section 2.7; memory). Least squares on relative errors, neither term below 0.
    Raises MethodRangeError where there is no point.
    """
    if not points:
        raise MethodRangeError(told("a cable without data: its attenuation is needed at one frequency at least"))
    f = np.array([point[0] for point in points], dtype=float)
    a = np.array([point[1] for point in points], dtype=float)
    columns = np.stack([np.sqrt(f) / a, f / a], axis=1)
    if len(points) > 1:
        k1, k2 = np.linalg.lstsq(columns, np.ones(len(points)), rcond=None)[0]
        if k1 > 0 and k2 >= 0:
            return float(k1), float(k2)
        if k1 <= 0:
            return 0.0, float((columns[:, 1]).sum() / (columns[:, 1] ** 2).sum())
    return float((columns[:, 0]).sum() / (columns[:, 0] ** 2).sum()), 0.0


def cable_loss_db(part: Part, length_m: float, frequency_mhz: float) -> float:
    """Return what a cable of some length takes. Raises MethodRangeError outside its data."""
    _in_range(part, frequency_mhz)
    k1, k2 = cable_terms(part.gain_points)
    return (k1 * math.sqrt(frequency_mhz) + k2 * frequency_mhz) * length_m / 100.0


def gain_db(item: Item, frequency_mhz: float, *, tap: bool = False) -> float:
    """Return the gain of an item, negative where it loses; tap: to a subscriber's port instead of straight through.

    Points of a data sheet are joined by straight lines in dB over frequency, and held beyond the last one within the part's range.
    Raises MethodRangeError outside the part's range.
    """
    part = item.part
    if part.kind == "cable":
        return -cable_loss_db(part, item.length_m, frequency_mhz)
    _in_range(part, frequency_mhz)
    points = part.tap_points if tap and part.tap_points else part.gain_points
    if not points:
        return 0.0
    return _between(points, frequency_mhz)


def _between(points: tuple[tuple[float, float], ...], frequency_mhz: float) -> float:
    """Return the value on straight lines between points that rise in frequency, held beyond both ends; as numpy.interp, for one value."""
    place = bisect_right(points, (frequency_mhz, math.inf))
    if place == 0 or place == len(points):
        return points[min(place, len(points) - 1)][1]
    (left, low), (right, high) = points[place - 1], points[place]
    return (high - low) / (right - left) * (frequency_mhz - left) + low


def _in_range(part: Part, frequency_mhz: float) -> None:
    if not part.low_mhz <= frequency_mhz <= part.high_mhz:
        raise MethodRangeError(
            told(
                "{name} has no data at {frequency_mhz:.0f} MHz; its data hold from {low_mhz:.0f} to {high_mhz:.0f} MHz",
                name=part.name,
                frequency_mhz=frequency_mhz,
                low_mhz=part.low_mhz,
                high_mhz=part.high_mhz,
            )
        )
