"""Outlines of buildings for the map: the survey's own footprints, no finer than a map shows them and no more than a page should hold."""

from __future__ import annotations

import numpy as np

from siteplan.records.ground import Surface

MOST = 20_000  # a page stays light; of more the largest are kept
AS_FINE_AS_DEG = 3e-6  # a third of a metre: corners nearer to a straight line are left out


def outlines_of(surface: Surface, bounds: tuple[float, float, float, float]) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Return the outer rings (lon_deg, lat_deg) of the footprints that reach into bounds (west, south, east, north), in their own order."""
    if surface.footprints is None or not len(surface.footprints.polygons):
        return ()
    import shapely

    polygons = np.array(surface.footprints.polygons, dtype=object)
    box = shapely.bounds(polygons)
    west, south, east, north = bounds
    here = np.flatnonzero((box[:, 0] <= east) & (box[:, 2] >= west) & (box[:, 1] <= north) & (box[:, 3] >= south))
    if here.size > MOST:
        largest = np.argsort(-shapely.area(polygons[here]), kind="stable")[:MOST]
        here = here[np.sort(largest)]
    rings = []
    for polygon in shapely.simplify(polygons[here], AS_FINE_AS_DEG):
        for part in getattr(polygon, "geoms", (polygon,)):
            if part.geom_type == "Polygon" and not part.is_empty:
                rings.append(tuple((float(lon), float(lat)) for lon, lat in shapely.get_coordinates(part.exterior)[:-1]))
    return tuple(rings)
