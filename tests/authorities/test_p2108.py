"""Rec. ITU-R P.2108-1: the three clutter losses."""

import math

import pytest
from authorities.authority_rows import number, rows_of

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio import clutter_loss as p2108

pytestmark = pytest.mark.quick
TOLERANCE = 0.051  # the values are printed to 0.1 dB (slant: 0.01); asked for: 0.1 dB


@pytest.mark.parametrize("row", rows_of("p2108_height_gain.csv"), ids=lambda row: "-".join(list(row.values())[:5]))
def test_height_gain(row):
    found = p2108.height_gain_loss_db(
        1000.0 * number(row["f_ghz"]),
        number(row["h_m"]),
        clutter=row["clutter_type"],
        clutter_height_m=number(row["R_clutter_m"]),
        street_width_m=number(row["street_width_m"]),
    )
    assert found == pytest.approx(number(row["loss_db"]), abs=TOLERANCE)


@pytest.mark.parametrize("row", rows_of("p2108_terrestrial_clutter.csv"), ids=lambda row: "-".join(list(row.values())[:3]))
def test_terrestrial(row):
    mhz, metres = 1000.0 * number(row["f_ghz"]), 1000.0 * number(row["d_km"])
    found = p2108.terrestrial_clutter_loss_db(mhz, metres, location_pct=number(row["p_pct"]))
    assert found == pytest.approx(number(row["loss_db"]), abs=TOLERANCE)


@pytest.mark.parametrize("row", rows_of("p2108_slant_clutter.csv"), ids=lambda row: "-".join(list(row.values())[:3]))
def test_slant(row):
    found = p2108.slant_clutter_loss_db(1000.0 * number(row["f_ghz"]), number(row["elevation_deg"]), location_pct=number(row["p_pct"]))
    assert found == pytest.approx(number(row["loss_db"]), abs=TOLERANCE)


def test_height_gain_by_hand_and_default_heights():
    assert p2108.height_gain_loss_db(1500.0, 2.0, clutter="suburban") == pytest.approx(20.45, abs=0.01)
    assert p2108.height_gain_loss_db(600.0, 10.0, clutter="suburban") == 0.0
    assert p2108.height_gain_loss_db(600.0, 10.0, clutter="urban") > 5.0


def test_what_is_refused():
    for asked, says in (
        (lambda: p2108.height_gain_loss_db(3001.0, 2.0, clutter="urban"), "frequency is 3001 MHz.*30 to 3000"),
        (lambda: p2108.height_gain_loss_db(600.0, 0.0, clutter="urban"), "antenna height"),
        (lambda: p2108.height_gain_loss_db(600.0, math.nan, clutter="urban"), "antenna height"),
        (lambda: p2108.height_gain_loss_db(600.0, 2.0, clutter="urban", clutter_height_m=-1.0), "clutter height"),
        (lambda: p2108.height_gain_loss_db(600.0, 2.0, clutter="urban", street_width_m=0.0), "street width"),
        (lambda: p2108.terrestrial_clutter_loss_db(499.0, 1000.0), "500 to 67000"),
        (lambda: p2108.terrestrial_clutter_loss_db(800.0, 249.0), "path length is 249 m"),
        (lambda: p2108.terrestrial_clutter_loss_db(800.0, 1000.0, location_pct=100.0), "location percentage"),
        (lambda: p2108.slant_clutter_loss_db(9_999.0, 30.0), "10000 to 100000"),
        (lambda: p2108.slant_clutter_loss_db(12_000.0, -1.0), "elevation"),
        (lambda: p2108.slant_clutter_loss_db(12_000.0, 30.0, location_pct=0.0), "location percentage"),
    ):
        with pytest.raises(MethodRangeError, match=says):
            asked()
    with pytest.raises(InputError, match="open_rural"):
        p2108.height_gain_loss_db(600.0, 2.0, clutter="jungle")


def test_order():
    """Lower antennas, nearer the ground, never lose less; more locations never less; a higher satellite never more."""
    for kind in p2108.CLUTTER:
        losses = [p2108.height_gain_loss_db(800.0, height, clutter=kind) for height in (1.5, 3.0, 6.0, 9.9, 20.0)]
        assert losses == sorted(losses, reverse=True)
        assert losses[-1] == 0.0
    by_place = [p2108.terrestrial_clutter_loss_db(800.0, 1000.0, location_pct=share) for share in (1, 20, 50, 80, 99)]
    assert by_place == sorted(by_place)
    by_height = [p2108.slant_clutter_loss_db(12_000.0, turn, location_pct=50.0) for turn in (0.0, 10.0, 30.0, 60.0, 90.0)]
    assert by_height == sorted(by_height, reverse=True)
    two, far = (p2108.terrestrial_clutter_loss_db(800.0, metres) for metres in (2000.0, 50_000.0))
    assert two == far


def test_the_top_of_the_clutter_is_a_small_step():
    """At the clutter's top the bending formula gives J(0) - 6.03 = 0.0 dB within 0.01: no jump where the antenna comes out."""
    for kind, (top, _) in p2108.CLUTTER.items():
        assert p2108.height_gain_loss_db(600.0, top - 1e-9, clutter=kind) == pytest.approx(0.0, abs=0.01)
