"""Sector patterns by hand, and the planning aerial."""

import numpy as np
import pytest

from siteplan.errors import MethodRangeError
from siteplan.radio.antenna import reference_aerial, scaled_aerial, sector_pattern_db

pytestmark = pytest.mark.quick


def test_sector_pattern_by_hand():
    """-3 dB at half the beamwidth, 12 (40/65)^2 = 4.54 dB at 40 degrees, 25 dB behind, tilt counted downwards."""
    def asked(turn, down, tilt=0.0):
        bearing = np.asarray(turn, dtype=float) + 350.0
        return sector_pattern_db(bearing_deg=bearing, elevation_deg=-np.asarray(down), azimuth_deg=350.0, downtilt_deg=tilt)

    assert asked(0.0, 0.0) == 0.0
    assert asked(32.5, 0.0) == pytest.approx(-3.0)
    assert asked(-40.0, 0.0) == pytest.approx(-4.544, abs=0.001)
    assert asked(320.0, 0.0) == asked(-40.0, 0.0)
    assert asked(180.0, 0.0) == -25.0
    assert asked(0.0, 6.0, tilt=6.0) == 0.0
    assert asked(0.0, 1.0, tilt=6.0) == pytest.approx(-3.0)
    assert asked(0.0, 60.0) == -20.0  # the side lobe
    assert asked(120.0, 60.0) == -25.0  # no deeper than the back
    assert np.isnan(asked(np.nan, 0.0))
    assert asked([0.0, 32.5], [0.0, 0.0]) == pytest.approx([0.0, -3.0])
    around = sector_pattern_db(bearing_deg=[0.0, 77.0, np.nan], elevation_deg=-5.0, azimuth_deg=np.nan)
    assert around[:2] == pytest.approx([-3.0, -3.0])
    assert np.isnan(around[2])
    with pytest.raises(MethodRangeError, match="beamwidths"):
        sector_pattern_db(bearing_deg=0.0, elevation_deg=0.0, azimuth_deg=0.0, beamwidth_deg=0.0)


def test_planning_aerial():
    """GE06 annex 2: 7 dBd and 2 dB at 200 MHz, 10 and 3 at 500, 12 and 5 at 800; straight in log frequency between."""
    assert [reference_aerial(mhz) for mhz in (100.0, 200.0, 500.0, 800.0, 900.0)] == [(7, 2), (7, 2), (10, 3), (12, 5), (12, 5)]
    gain, feeder = reference_aerial(650.0)
    assert (gain, feeder) == pytest.approx((11.116, 4.116), abs=0.001)
    assert scaled_aerial(frequency_mhz=650.0, gain_dbd_at_500=12.0, feeder_loss_db_at_500=1.0) == pytest.approx((13.116, 2.116), abs=0.001)
    assert scaled_aerial(frequency_mhz=200.0, gain_dbd_at_500=10.0, feeder_loss_db_at_500=0.5)[1] == 0.0
    with pytest.raises(MethodRangeError):
        reference_aerial(0.0)
