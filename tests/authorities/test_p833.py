"""Rec. ITU-R P.833: loss in a wood, and the figure for a ray through leaves."""

import math

import pytest
from authorities.authority_rows import number, rows_of

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio import vegetation as p833

pytestmark = pytest.mark.quick
WOODS = {"rio_tropical_15m": "tropical", "mulhouse_deciduous_15m": "deciduous", "st_petersburg_mixed_16m": "mixed"}


@pytest.mark.parametrize("row", rows_of("p833_9_woodland_measured.csv"), ids=lambda row: f"{row['f_mhz']}-{row['depth_m']}")
def test_measured_forest(row):
    specific, greatest = p833.mixed_forest(number(row["f_mhz"]))
    assert (specific, greatest) == pytest.approx((number(row["gamma_db_per_m"]), number(row["a_m_db"])), abs=1e-9)
    found = p833.woodland_loss_db(number(row["depth_m"]), specific_db_per_m=specific, greatest_db=greatest)
    assert found == pytest.approx(number(row["excess_loss_db"]), abs=1e-4)  # asked for: 0.01 dB


@pytest.mark.parametrize("row", rows_of("p833_woodland.csv"), ids=lambda row: "-".join(list(row.values())[:5]))
def test_woods_by_their_greatest_loss(row):
    greatest = p833.greatest_loss_db(number(row["f_mhz"]), wood=WOODS[row["site"]])
    assert greatest == pytest.approx(number(row["a_m_db"]), abs=1e-3)
    found = p833.woodland_loss_db(number(row["depth_m"]), specific_db_per_m=number(row["gamma_db_per_m"]), greatest_db=greatest)
    assert found == pytest.approx(number(row["excess_loss_db"]), abs=1e-3)


def test_ends_of_the_wood_formula():
    """No wood, no loss; a short way loses what the specific attenuation says; a deep wood approaches the greatest loss."""
    assert p833.woodland_loss_db(0.0, specific_db_per_m=0.2, greatest_db=20.0) == 0.0
    assert p833.woodland_loss_db(0.1, specific_db_per_m=0.2, greatest_db=20.0) == pytest.approx(0.02, rel=1e-3)
    assert p833.woodland_loss_db(5000.0, specific_db_per_m=0.2, greatest_db=20.0) == pytest.approx(20.0)
    between = p833.mixed_forest(600.0)
    assert 0.12 < between[0] < 0.17
    assert 18.0 < between[1] < 26.5


def test_figure_by_hand():
    assert p833.foliage_figure_db(12_000.0, 5.0, 30.0) == pytest.approx(17.3, abs=0.05)
    assert p833.foliage_figure_db(12_000.0, 0.0, 30.0) == 0.0


def test_what_is_refused():
    for asked in (
        lambda: p833.mixed_forest(100.0),
        lambda: p833.mixed_forest(2200.0),
        lambda: p833.greatest_loss_db(600.0, wood="mixed"),
        lambda: p833.greatest_loss_db(2000.0, wood="tropical"),
        lambda: p833.woodland_loss_db(-1.0, specific_db_per_m=0.2, greatest_db=20.0),
        lambda: p833.woodland_loss_db(1.0, specific_db_per_m=0.2, greatest_db=0.0),
        lambda: p833.foliage_figure_db(900.0, 5.0, 30.0),
        lambda: p833.foliage_figure_db(12_000.0, -5.0, 30.0),
        lambda: p833.foliage_figure_db(12_000.0, 5.0, 0.0),
    ):
        with pytest.raises(MethodRangeError):
            asked()
    with pytest.raises(InputError, match="tropical"):
        p833.greatest_loss_db(1000.0, wood="palms")
    assert math.isnan(p833.woodland_loss_db(math.nan, specific_db_per_m=0.2, greatest_db=20.0))
