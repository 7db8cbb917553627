"""Drawings: things lie where their numbers say, labels keep apart, nothing unknown turns into a number."""

import math
import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest
import ready_findings as ready

from siteplan.records.plan import LimitsTable
from siteplan.records.verdict import State
from siteplan.report import above_plot, drawing, plots

pytestmark = pytest.mark.quick
LIMITS = LimitsTable()


def tree(made):
    """Parse a drawing as XML, so that a broken one fails."""
    return ElementTree.fromstring(made)


def of_class(root, name):
    return [node for node in root.iter() if name in (node.get("class") or "").split()]


def words(root):
    return ["".join(node.itertext()) for node in root.iter("text")]


def finding(state=State.SURVEY_FIRST):
    return ready.rows()[0].satellite if state is State.SURVEY_FIRST else ready.rows()[1].satellite


def test_skyline_puts_satellites_at_bearing_and_elevation():
    found = finding()
    root = tree(plots.skyline(found, LIMITS, key="k", title="t"))
    discs = of_class(root, "disc")
    assert len(discs) == 2
    ticks = {"".join(n.itertext()): (float(n.get("x")), float(n.get("y"))) for n in root.iter("text") if "tick-word" in n.get("class")}
    per_degree = (ticks["180°"][0] - ticks["140°"][0]) / 40.0
    up = (ticks["0°"][1] - ticks["30°"][1]) / 30.0
    looks = sorted((view.look for view in found.views), key=lambda look: look.azimuth_deg)
    for disc, look in zip(sorted(discs, key=lambda d: float(d.get("cx"))), looks, strict=True):
        assert float(disc.get("cx")) == pytest.approx(ticks["180°"][0] + (look.azimuth_deg - 180.0) * per_degree, abs=0.2)
        assert float(disc.get("cy")) == pytest.approx(ticks["0°"][1] - 4.0 - look.elevation_deg * up, abs=0.3)
    # one scale for both ways
    assert per_degree == pytest.approx(up, rel=0.02)


def test_skyline_names_what_blocks_and_only_that():
    assert any("growth 9.1 m high, 34 m away" in w for w in words(tree(plots.skyline(finding(), LIMITS, key="k", title="t"))))
    clear = tree(plots.skyline(finding(State.BOOK), LIMITS, key="k", title="t"))
    assert not of_class(clear, "blocks") and not any("away" in w for w in words(clear))


def test_skyline_draws_growth_only_where_it_grows():
    assert "growth" in plots.skyline(finding(), LIMITS, key="k", title="t")
    still = LIMITS.model_copy(update={"growth_m_per_year": 0.0})
    assert not of_class(tree(plots.skyline(finding(), still, key="k", title="t")), "growth")


def test_unknown_sky_is_hatched_and_never_a_number():
    sky = ready.skyline()
    gone = (sky.azimuth_deg > 150) & (sky.azimuth_deg < 165)
    holed = replace(
        sky, elevation_deg=np.where(gone, np.nan, sky.elevation_deg), ground_elevation_deg=np.where(gone, np.nan, sky.ground_elevation_deg)
    )
    made = plots.skyline(replace(finding(), skyline=holed), LIMITS, key="k", title="t")
    assert "nan" not in made.lower() and "inf" not in made.lower()
    assert "url(#k-h)" in made and 'id="k-h"' in made
    nothing = replace(sky, elevation_deg=np.full(720, np.nan), ground_elevation_deg=np.full(720, np.nan))
    assert "nan" not in plots.skyline(replace(finding(), skyline=nothing), LIMITS, key="k", title="t").lower()


def test_skyline_crosses_north_without_a_seam():
    found = finding()
    turned = tuple(replace(view, look=replace(view.look, azimuth_deg=(view.look.azimuth_deg + 190.0) % 360.0)) for view in found.views)
    root = tree(plots.skyline(replace(found, views=turned, arc=()), LIMITS, key="k", title="t"))
    xs = sorted(float(d.get("cx")) for d in of_class(root, "disc"))
    plain = sorted(float(d.get("cx")) for d in of_class(tree(plots.skyline(replace(found, arc=()), LIMITS, key="k", title="t")), "disc"))
    assert xs[1] - xs[0] == pytest.approx(plain[1] - plain[0], abs=0.2)
    assert "0°" in words(root) and "350°" in words(root)


def test_labels_never_lie_on_each_other():
    frame = drawing.Frame(0, 0, 300, 200, 0, 1, 0, 1)
    labels = drawing.Labels(frame)
    for _ in range(6):
        labels.put(150, 100, "the same words")
    boxes = labels.taken
    for i, a in enumerate(boxes):
        assert a[0] >= 0 and a[2] <= 300
        for b in boxes[i + 1 :]:
            assert not (a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3])


def path(**changes):
    line = ready.aims("x")[0]
    how = {
        "sender": "Hallow Hill", "tx_height_agl_m": 150.0, "rx_height_agl_m": 10.0, "frequency_mhz": 666.0, "blocked_m": line.ray_blocked_m,
        "diffraction_db": 9.4, "key": "k", "title": "t", **changes,
    }  # fmt: skip
    return tree(plots.path(how.pop("profile", line.profile), LIMITS, **how))


def numbers(node):
    return [float(x) for x in re.findall(r"-?\d+\.?\d*", node.get("d"))]


def test_path_starts_at_the_house_and_ends_at_the_sender():
    root = path()
    (ray,) = of_class(root, "ray")
    x0, y0, x1, y1 = numbers(ray)
    house, sender = of_class(root, "pole")
    assert numbers(house)[0] == x0 < x1 == numbers(sender)[0]
    assert numbers(house)[2] == pytest.approx(y0, abs=0.1) and numbers(sender)[2] == pytest.approx(y1, abs=0.1)
    # the sender stands on the hill, so the right end is higher: smaller y
    assert y1 < y0
    assert any(w.startswith("house") for w in words(root)) and any(w.startswith("Hallow Hill, 150 m") for w in words(root))


def test_path_marks_the_edge_that_governs_where_it_stands():
    root = path()
    (edge,) = of_class(root, "blocks")
    x0, _, x1, _ = numbers(of_class(root, "ray")[0])
    assert (numbers(edge)[0] - x0) / (x1 - x0) == pytest.approx(3900.0 / 22800.0, abs=0.002)
    assert any("3.9 km away, costs 9 dB" in w for w in words(root))
    assert not of_class(path(blocked_m=math.nan), "blocks")


def test_room_for_the_signal_is_widest_in_the_middle_and_follows_frequency():
    def widest(root):
        corners = [tuple(map(float, p.split(","))) for p in of_class(root, "room")[0].get("points").split()]
        half = len(corners) // 2
        upper, lower = corners[:half], corners[half:][::-1]
        gaps = [b[1] - a[1] for a, b in zip(upper, lower, strict=True)]
        return max(gaps), gaps.index(max(gaps)) / len(gaps), upper[0], lower[0]

    low, place, first, last = widest(path(frequency_mhz=200.0))
    high = widest(path(frequency_mhz=800.0))[0]
    assert first[1] == pytest.approx(last[1], abs=0.2)
    assert low / high == pytest.approx(2.0, rel=0.15)  # the radius goes with the root of the wavelength; scales differ a little
    assert 0.1 < place < 0.9


def test_a_long_profile_is_thinned_but_keeps_its_peaks():
    profile = ready.path_profile(20_000.0, 90.0)
    distance = np.linspace(0, 20_000, 40_000)
    ground = np.interp(distance, profile.distance_m, profile.ground_amsl_m)
    clutter = np.zeros(40_000)
    clutter[12_345] = 300.0
    tall = replace(profile, distance_m=distance, ground_amsl_m=ground, clutter_m=clutter, zone=np.full(40_000, 4, np.uint8))
    root = path(profile=tall)
    corners = of_class(root, "surface")[0].get("points").split()
    assert len(corners) < 2000
    plain = of_class(path(profile=replace(tall, clutter_m=np.zeros(40_000))), "surface")[0].get("points").split()
    highest, without = (min(float(p.split(",")[1]) for p in some) for some in (corners, plain))
    assert highest < without - 5  # the one tall thing is still there


def test_from_above_points_where_bearings_say():
    ways = [above_plot.Direction("East Hill", 90.0), above_plot.Direction("South 0", 180.0, dish=True)]
    root = tree(above_plot.from_above(ways, (), facade_deg=math.nan, key="k", title="t"))
    (east,), (south,) = of_class(root, "aim"), of_class(root, "aim-dish")
    x0, y0, x1, y1 = numbers(east)
    assert y1 == pytest.approx(y0) and x1 > x0
    x0, y0, x1, y1 = numbers(south)
    assert x1 == pytest.approx(x0) and y1 > y0


def test_from_above_draws_the_wedge_to_scale():
    views = ready.rows()[0].satellite.views
    root = tree(above_plot.from_above([above_plot.Direction("x", 10.0)], views, facade_deg=150.0, key="k", title="t"))
    (wedge,) = of_class(root, "wedge")
    rings = sorted(float(r.get("r")) for r in of_class(root, "ring"))
    parts = numbers(wedge)
    reach = math.hypot(parts[2] - parts[0], parts[3] - parts[1])
    assert reach / rings[0] == pytest.approx(34.0 / 20.0, abs=0.02)
    assert of_class(root, "wall")


@pytest.mark.parametrize(("span", "most", "step"), [(100, 4, 50), (22.8, 7, 5), (0.9, 3, 0.5), (1000, 5, 200)])
def test_steps_are_round(span, most, step):
    assert drawing.nice_step(span, most) == pytest.approx(step)
