"""The propagation methods, all with one call shape: prepare a path once, then ask for a loss as often as wanted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from siteplan.errors import InputError, MethodRangeError, told
from siteplan.radio.methods import free_space, hata, p1812, tr38901
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


DEFAULT = "p1812"
# What a plan may name. p1812 hands paths under 250 m to free_space; every other method holds in its own range alone.
METHODS = {
    "free_space": Method(free_space.LABEL, 1.0, 250.0, free_space.RANGE, free_space.loss_db),
    "p1812": Method(p1812.LABEL, 250.0, 3_000_000.1, p1812.RANGE, p1812.loss_db),
    **{name: Method(bounds.method, *bounds.path_m, bounds, hata.named(name)) for name, bounds in hata.RANGES.items()},
    **{name: Method(bounds.method, *bounds.path_m, bounds, tr38901.named(name)) for name, bounds in tr38901.RANGES.items()},
}
BY_LENGTH = ("free_space", "p1812")
NAMES = tuple(name for name in METHODS if name != "free_space")


def method_for(path_m: float, name: str = DEFAULT) -> Method:
    """Return the method for a path length in metres: p1812, which is free_space under 250 m, or the one that is named.

    Raises MethodRangeError where none holds (under 1 m, over 3000 km), InputError for a name that is none. A named method checks its own
    range when it is asked.
    """
    if name != DEFAULT:
        if name not in NAMES:
            raise InputError(told("there is no propagation method {name!r}; write one of {names}", name=name, names=", ".join(NAMES)))
        return METHODS[name]
    for key in BY_LENGTH:
        method = METHODS[key]
        if method.from_m <= path_m < method.below_m:
            return method
    raise MethodRangeError(told("the path is {path_m:g} m long; losses are worked out for paths from 1 m to 3000 km", path_m=path_m))
