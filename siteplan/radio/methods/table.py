"""The propagation methods, all with one call shape: prepare a path once, then ask for a loss as often as wanted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from siteplan.errors import MethodRangeError
from siteplan.radio.methods import free_space, p1812
from siteplan.radio.methods.shape import Range
from siteplan.records.results import PathLoss


@dataclass(frozen=True, slots=True)
class Method:
    """One propagation method: what it is called in the output, the paths it is taken for, and its call."""

    label: str
    from_m: float
    below_m: float
    range: Range
    loss_db: Callable[..., PathLoss]


METHODS = {
    "free_space": Method(free_space.LABEL, 1.0, 250.0, free_space.RANGE, free_space.loss_db),
    "p1812": Method(p1812.LABEL, 250.0, 3_000_000.1, p1812.RANGE, p1812.loss_db),
}


def method_for(path_m: float) -> Method:
    """Return the method for a path length in metres; raise MethodRangeError where none holds (under 1 m, over 3000 km)."""
    for method in METHODS.values():
        if method.from_m <= path_m < method.below_m:
            return method
    raise MethodRangeError(f"the path is {path_m:g} m long; losses are worked out for paths from 1 m to 3000 km")
