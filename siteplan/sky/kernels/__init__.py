"""Compiled loops that look up: bounds of stretches, the search along a line, whole questions."""

from siteplan.sky.kernels.around import points, rays, sectors, tubes
from siteplan.sky.kernels.search import NEAREST_M

__all__ = ["NEAREST_M", "points", "rays", "sectors", "tubes"]
