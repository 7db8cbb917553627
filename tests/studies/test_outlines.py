"""Outlines for the map: rings where the footprints lie, simplified, within bounds, no more than a page should hold."""

import numpy as np
import pytest
import shapely

from siteplan.records.ground import Footprints, Surface
from siteplan.studies import outlines
from siteplan.studies.outlines import outlines_of

pytestmark = pytest.mark.quick
BOUNDS = (10.0, 50.0, 10.01, 50.01)


def surface(*polygons):
    return Surface(layers=(), footprints=Footprints(tuple(polygons), np.full(len(polygons), np.nan)))


def test_rings_lie_where_the_buildings_stand_and_needless_corners_go():
    house = shapely.Polygon([(10.001, 50.001), (10.0012, 50.0010001), (10.0014, 50.001), (10.0014, 50.0012), (10.001, 50.0012)])
    far = shapely.box(11.0, 50.0, 11.1, 50.1)
    (ring,) = outlines_of(surface(house, far), BOUNDS)
    assert len(ring) == 4 and set(ring) == {(10.001, 50.001), (10.0014, 50.001), (10.0014, 50.0012), (10.001, 50.0012)}


def test_many_parts_and_none():
    two = shapely.MultiPolygon([shapely.box(10.001, 50.001, 10.002, 50.002), shapely.box(10.003, 50.001, 10.004, 50.002)])
    assert len(outlines_of(surface(two), BOUNDS)) == 2
    assert outlines_of(surface(), BOUNDS) == () == outlines_of(Surface(layers=()), BOUNDS)


def test_of_too_many_the_largest_stay_in_their_own_order(monkeypatch):
    monkeypatch.setattr(outlines, "MOST", 2)
    boxes = [shapely.box(10.0, 50.0, 10.0 + side, 50.0 + side) for side in (2e-4, 1e-4, 3e-4)]
    rings = outlines_of(surface(*boxes), BOUNDS)
    assert [max(lon for lon, _ in ring) for ring in rings] == pytest.approx([10.0002, 10.0003])
