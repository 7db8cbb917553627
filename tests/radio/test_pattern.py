"""Patterns of TV transmitters by hand: standard shapes, tables, tilt."""

import pytest

from siteplan.errors import MethodRangeError
from siteplan.radio.pattern import pattern_loss_db
from siteplan.records.emitters import Pattern

pytestmark = pytest.mark.quick


@pytest.mark.parametrize(
    ("pattern", "bearing", "down", "loss"),
    [
        (Pattern(), 77.0, 3.0, 0.0),
        (Pattern("cardioid", 90.0), 90.0, 0.0, 0.0),
        (Pattern("cardioid", 90.0), 180.0, 0.0, 6.0206),  # half the voltage at right angles
        (Pattern("cardioid", 90.0), 270.0, 0.0, 20.0),
        (Pattern("directional", 350.0, 60.0), 20.0, 0.0, 3.0),  # half the width away: 12 (1/2)^2
        (Pattern("directional", 350.0, 60.0), 170.0, 0.0, 25.0),
        (Pattern(tilt_deg=0.5, vertical_beamwidth_deg=2.0), 0.0, 1.5, 3.0),
        (Pattern(tilt_deg=0.5, vertical_beamwidth_deg=2.0), 0.0, 0.5, 0.0),
        (Pattern("table", losses=((0.0, 0.0), (30.0, 3.0), (330.0, 6.0))), 15.0, 0.0, 1.5),
        (Pattern("table", losses=((0.0, 0.0), (30.0, 3.0), (330.0, 6.0))), 345.0, 0.0, 3.0),  # across north
        (Pattern(vertical_losses=((-5.0, 10.0), (1.0, 0.0), (5.0, 8.0))), 0.0, 3.0, 4.0),
        (Pattern(vertical_losses=((-5.0, 10.0), (1.0, 0.0), (5.0, 8.0))), 0.0, 30.0, 8.0),
    ],
)
def test_losses_by_hand(pattern, bearing, down, loss):
    assert pattern_loss_db(pattern, bearing_deg=bearing, depression_deg=down) == pytest.approx(loss, abs=1e-3)


def test_an_unknown_shape_is_refused():
    with pytest.raises(MethodRangeError):
        pattern_loss_db(Pattern("star"), bearing_deg=0.0, depression_deg=0.0)
