"""Rec. ITU-R BT.419-3: what a TV aerial turns away."""

import numpy as np
import pytest
from authorities.authority_rows import number, rows_of

from siteplan.errors import MethodRangeError
from siteplan.radio.antenna import bt419_discrimination_db

pytestmark = pytest.mark.quick


@pytest.mark.parametrize("row", rows_of("bt419.csv"), ids=lambda row: f"{row['band']}-{row['off_axis_deg']}")
def test_discrimination(row):
    mhz = 200.0 if row["band"] == "III" else 600.0
    for turn in (1.0, -1.0):
        assert bt419_discrimination_db(turn * number(row["off_axis_deg"]), mhz) == pytest.approx(number(row["value"]), abs=6e-4)


def test_turns_and_cross_polar():
    assert bt419_discrimination_db([350.0, 20.0, 300.0], 600.0) == pytest.approx([0.0, 0.0, -16.0])
    assert bt419_discrimination_db([0.0, 90.0], 600.0, cross_polar=True) == pytest.approx([-16.0, -16.0])
    assert np.isnan(bt419_discrimination_db(np.nan, 600.0))
    with pytest.raises(MethodRangeError, match="95"):
        bt419_discrimination_db(30.0, 95.0)
