"""The arc over a place, and the stretches of it that are seen."""

import numpy as np
import pytest

from siteplan.errors import InputError
from siteplan.sky.arc import arc_points, visible_stretches
from siteplan.sky.look_angles import look_angles

pytestmark = pytest.mark.quick


def test_ends_lie_on_the_horizon_and_steps_on_whole_degrees():
    arc = arc_points(lat_deg=50.0, lon_deg=10.3, step_deg=1.0)
    assert arc.elevation_deg[[0, -1]] == pytest.approx([0.0, 0.0], abs=1e-9)
    assert (arc.elevation_deg[1:-1] > 0).all() and (arc.orbit_deg[1:-1] % 1.0 == 0.0).all()
    assert (np.diff(arc.orbit_deg) > 0).all()
    assert arc.azimuth_deg[0] > 255 and arc.azimuth_deg[-1] < 105  # west end, east end
    # symmetric about the place's own meridian
    assert arc.orbit_deg[0] + arc.orbit_deg[-1] == pytest.approx(2 * 10.3, abs=1e-6)
    at = int(np.flatnonzero(arc.orbit_deg == 19.0)[0])
    assert arc.azimuth_deg[at] == look_angles(lat_deg=50.0, lon_deg=10.3, height_ell_m=0.0, orbit_deg=19.0).azimuth_deg


def test_half_an_arc_is_81_degrees_on_the_equator():
    """cos(half) = 6378.137 / 42164, at height 0."""
    arc = arc_points(lat_deg=0.0, lon_deg=0.0)
    assert arc.orbit_deg[-1] == pytest.approx(np.degrees(np.arccos(6378.137 / 42164.0)), abs=1e-6)


def test_near_a_pole_there_is_none():
    assert [len(arc_points(lat_deg=lat, lon_deg=0.0).orbit_deg) for lat in (81.5, 90.0, -85.0)] == [0, 0, 0]
    assert len(arc_points(lat_deg=81.2, lon_deg=0.0).orbit_deg) > 2


def test_across_the_date_line():
    arc = arc_points(lat_deg=-17.0, lon_deg=179.0, step_deg=5.0)
    assert ((arc.orbit_deg > -180) & (arc.orbit_deg <= 180)).all()
    assert (np.diff(np.unwrap(arc.orbit_deg, period=360)) > 0).all() and (np.diff(arc.orbit_deg) < 0).sum() == 1


def test_lowest_elevation():
    arc = arc_points(lat_deg=45.0, lon_deg=0.0, lowest_deg=10.0)
    assert arc.elevation_deg.min() == pytest.approx(10.0, abs=1e-9)


@pytest.mark.parametrize(
    "wrong", [{"lat_deg": 91.0}, {"step_deg": 0.0}, {"step_deg": -1.0}, {"lowest_deg": -20.0}, {"lon_deg": float("nan")}]
)
def test_what_is_refused(wrong):
    with pytest.raises(InputError, match="Allowed"):
        arc_points(**{"lat_deg": 45.0, "lon_deg": 0.0, "step_deg": 1.0, **wrong})


def stretches(orbits, seen):
    return visible_stretches(np.array(orbits, dtype=float), np.array(seen, dtype=bool))


def test_stretches():
    assert stretches([], []) == []
    assert stretches([1, 2, 3], [0, 0, 0]) == []
    assert stretches([1, 2, 3], [1, 1, 1]) == [(1.0, 3.0)]
    assert stretches([1, 2, 3, 4, 5], [1, 0, 1, 1, 0]) == [(1.0, 1.0), (3.0, 4.0)]
    assert stretches([7], [1]) == [(7.0, 7.0)]


def test_a_stretch_across_the_date_line_stays_one():
    orbits = [160, 165, 170, 175, 180, -175, -170, -165]
    assert stretches(orbits, [0, 1, 1, 1, 1, 1, 1, 0]) == [(165.0, -170.0)]
    assert stretches([-180 if orbit == 180 else orbit for orbit in orbits], [0, 0, 0, 0, 1, 1, 0, 0]) == [(180.0, -175.0)]
    assert stretches([185.0, 190.0, 195.0], [1, 1, 0]) == [(-175.0, -170.0)]
    # the order of the points does not matter
    assert stretches(orbits[::-1], [0, 1, 1, 1, 1, 1, 1, 0]) == [(165.0, -170.0)]


def test_points_that_were_not_looked_at_do_not_join():
    assert stretches([1, 2, 3, 30, 31, 32], [1] * 6) in ([(1.0, 3.0), (30.0, 32.0)], [(30.0, 32.0), (1.0, 3.0)])


def test_the_whole_circle():
    assert stretches(range(-179, 181), [1] * 360) == [(-179.0, 180.0)]
    # all round, with ten degrees hidden: one stretch, not cut at the date line
    assert stretches(range(-179, 181), [not 5 <= orbit < 15 for orbit in range(-179, 181)]) == [(15.0, 4.0)]


def test_arc_and_stretches_together():
    arc = arc_points(lat_deg=50.0, lon_deg=175.0, step_deg=1.0)
    (stretch,) = visible_stretches(arc.orbit_deg, arc.elevation_deg > 20.0)
    assert stretch == (133.0, -143.0)  # symmetric about 175 E, across the date line
    ends = visible_stretches(arc.orbit_deg, np.ones(arc.orbit_deg.shape, dtype=bool))
    assert ends == [(arc.orbit_deg[0], arc.orbit_deg[-1])]


def test_one_answer_for_each():
    with pytest.raises(InputError, match="one answer for each"):
        stretches([1, 2], [1])
