"""3GPP TR 38.901: loss in and out of sight, and the odds of sight."""

import math

import numpy as np
import pytest
from authorities.authority_rows import number, rows_of
from radio.radio_paths import profile

from siteplan.errors import MethodRangeError
from siteplan.radio.methods import tr38901
from siteplan.radio.methods.table import METHODS
from siteplan.radio.path_geometry import prepare

pytestmark = pytest.mark.quick
NAMES = {"UMa": "tr38901_uma", "UMi": "tr38901_umi", "UMi_street_canyon": "tr38901_umi", "RMa": "tr38901_rma"}


@pytest.mark.parametrize("row", rows_of("tr38901_pathloss.csv"), ids=lambda row: "-".join(list(row.values())[:5]))
def test_loss(row):
    in_sight, _, hidden, _ = tr38901.loss_in_and_out_of_sight_db(
        NAMES[row["scenario"]],
        frequency_mhz=1000.0 * number(row["f_ghz"]),
        distance_m=number(row["d2d_m"]),
        tx_height_agl_m=number(row["h_bs_m"]),
        rx_height_agl_m=number(row["h_ut_m"]),
    )
    assert in_sight == pytest.approx(number(row["pl_los_db"]), abs=1e-4)  # asked for: 0.01 dB
    if row["pl_nlos_db"]:
        assert hidden == pytest.approx(number(row["pl_nlos_db"]), abs=1e-4)


@pytest.mark.parametrize("row", rows_of("tr38901_plos.csv"), ids=lambda row: "-".join(list(row.values())[:3]))
def test_odds_of_sight(row):
    found = tr38901.sight_probability(NAMES[row["scenario"]], distance_m=number(row["d2d_m"]), rx_height_agl_m=number(row["h_ut_m"]))
    assert found == pytest.approx(number(row["p_los"]), abs=1e-6)  # asked for: 1e-4


def test_mixture_by_hand():
    """All in sight: mean and mean + 1 sigma. Half and half of 100 and 130 dB at 4 dB each: the median lies half way, 115 dB."""
    assert tr38901.mixed_db(0.5, 1.0, (100.0, 4.0), (130.0, 6.0)) == pytest.approx(100.0, abs=1e-5)
    assert tr38901.mixed_db(0.841345, 0.0, (100.0, 4.0), (130.0, 6.0)) == pytest.approx(136.0, abs=1e-3)
    assert tr38901.mixed_db(0.5, 0.5, (100.0, 4.0), (130.0, 4.0)) == pytest.approx(115.0, abs=1e-5)


def ground(length_m=1000.0, tx_m=25.0, rx_m=6.0, hill_m=0.0):
    heights = np.full(101, 40.0)
    heights[50] += hill_m
    return prepare(profile(np.linspace(0.0, length_m, 101), heights), tx_height_agl_m=tx_m, rx_height_agl_m=rx_m)


def test_ground_that_blocks_leaves_no_sight():
    free, blocked = (METHODS["tr38901_uma"].loss_db(ground(hill_m=rise), frequency_mhz=1800.0) for rise in (0.0, 60.0))
    assert free.intermediates["sight_probability"] > 0.0
    assert blocked.intermediates["sight_probability"] == 0.0
    assert blocked.loss_db == pytest.approx(blocked.intermediates["out_of_sight_db"], abs=1e-5)
    assert blocked.sigma_db == pytest.approx(6.0, abs=1e-4)
    assert free.loss_db < blocked.loss_db
    near = METHODS["tr38901_umi"].loss_db(ground(15.0, tx_m=10.0), frequency_mhz=1800.0)
    assert near.loss_db == pytest.approx(near.intermediates["in_sight_db"], abs=1e-5)
    assert near.sigma_db == pytest.approx(4.0, abs=1e-4)
    most = METHODS["tr38901_uma"].loss_db(ground(), frequency_mhz=1800.0, location_pct=95.0)
    assert most.loss_db - most.intermediates["statistical_median_db"] == pytest.approx(most.intermediates["location_db"])
    assert most.loss_db > free.loss_db + 5.0


@pytest.mark.parametrize(
    ("name", "path", "asked", "says"),
    [
        ("tr38901_uma", ground(9.0), {}, "path length is 0.009 km.*0.01 to 5 km"),
        ("tr38901_uma", ground(5001.0), {}, "path length"),
        ("tr38901_uma", ground(tx_m=30.0), {}, "sender's antenna height is 30 m.*at 25 m above ground alone"),
        ("tr38901_umi", ground(tx_m=25.0), {}, "at 10 m above ground alone"),
        ("tr38901_uma", ground(rx_m=1.0), {}, "receiver's antenna height.*1.5 to 22.5"),
        ("tr38901_rma", ground(tx_m=9.0), {}, "10 to 150"),
        ("tr38901_rma", ground(rx_m=11.0), {}, "1 to 10"),
        ("tr38901_rma", ground(), {"frequency_mhz": 499.0}, "500 to 30000"),
        ("tr38901_rma", ground(), {"frequency_mhz": math.nan}, "frequency"),
        ("tr38901_rma", ground(), {"time_pct": 1.0}, "at 50 % alone"),
    ],
)
def test_out_of_range_is_said(name, path, asked, says):
    with pytest.raises(MethodRangeError, match=says):
        METHODS[name].loss_db(path, **({"frequency_mhz": 1800.0} | asked))
    with pytest.raises(MethodRangeError, match="23 m"):
        tr38901.sight_probability("tr38901_uma", distance_m=100.0, rx_height_agl_m=24.0)
