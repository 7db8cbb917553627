"""Rec. ITU-R P.2109-2: loss on the way into a building."""

import math

import pytest
from authorities.authority_rows import number, rows_of

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio.building_entry import building_entry_loss_db, building_entry_sigma_db

pytestmark = pytest.mark.quick


@pytest.mark.parametrize("row", rows_of("p2109.csv"), ids=lambda row: "-".join(list(row.values())[:4]))
def test_published_loss(row):
    found = building_entry_loss_db(
        1000.0 * number(row["f_ghz"]),
        building=row["building_type"],
        probability_pct=number(row["p_pct"]),
        elevation_deg=number(row["elevation_deg"]),
    )
    assert found == pytest.approx(number(row["loss_db"]), abs=0.001)  # asked for: 0.01 dB


def test_by_hand():
    assert building_entry_loss_db(28_000.0, building="traditional") == pytest.approx(20.18, abs=0.01)


def test_what_is_refused():
    for bad in ({"building": "stone"}, {"building": ""}):
        with pytest.raises(InputError, match="traditional or thermally_efficient"):
            building_entry_loss_db(800.0, **bad)
    for asked, says in (
        ({"frequency_mhz": 79.0}, "frequency is 79 MHz.*80 to 100000"),
        ({"frequency_mhz": math.nan}, "frequency"),
        ({"frequency_mhz": 800.0, "probability_pct": 0.0}, "probability"),
        ({"frequency_mhz": 800.0, "probability_pct": 100.0}, "probability"),
        ({"frequency_mhz": 800.0, "elevation_deg": 91.0}, "elevation"),
    ):
        with pytest.raises(MethodRangeError, match=says):
            building_entry_loss_db(**asked, building="traditional")
    assert math.isnan(building_entry_loss_db(800.0, building="traditional", elevation_deg=math.nan))


def test_order():
    """More certainty, a steeper path and metallised glass never lose less; above and below the horizontal are alike."""
    for building in ("traditional", "thermally_efficient"):
        for mhz in (80.0, 700.0, 3500.0, 100_000.0):
            by_share = [building_entry_loss_db(mhz, building=building, probability_pct=share) for share in (0.1, 10, 50, 90, 99.9)]
            assert by_share == sorted(by_share)
            up, down = (building_entry_loss_db(mhz, building=building, elevation_deg=turn) for turn in (20.0, -20.0))
            assert up == down > by_share[2]
            assert 5.0 < building_entry_sigma_db(mhz, building=building) < 25.0
    old, new = (building_entry_loss_db(800.0, building=building) for building in ("traditional", "thermally_efficient"))
    assert new > old + 10.0
