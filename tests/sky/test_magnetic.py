"""Declination: dates, places and heights the magnetic model does not reach, and where a compass fails."""

from datetime import date, datetime

import pytest

from siteplan.errors import InputError, MethodRangeError
from siteplan.sky import magnetic

pytestmark = pytest.mark.quick
HERE = {"lat_deg": 46.0, "lon_deg": 7.0, "height_ell_m": 500.0}


def test_decimal_years():
    assert magnetic.decimal_year(date(2026, 1, 1)) == 2026.0
    assert magnetic.decimal_year(date(2026, 12, 31)) == pytest.approx(2026 + 364 / 365)
    assert magnetic.decimal_year(date(2028, 12, 31)) == pytest.approx(2028 + 365 / 366)
    assert magnetic.decimal_year(datetime(2026, 7, 2, 23, 59)) == magnetic.decimal_year(date(2026, 7, 2)) == pytest.approx(2026 + 182 / 365)


@pytest.mark.parametrize("day", [date(2024, 12, 31), date(2030, 1, 2), date(1999, 5, 5)])
def test_dates_outside(day):
    with pytest.raises(MethodRangeError, match="1 January 2025 to the end of 2029"):
        magnetic.declination_deg(**HERE, on_date=day)


@pytest.mark.parametrize("day", [date(2025, 1, 1), date(2029, 12, 31)])
def test_first_and_last_day(day):
    assert 2.0 < magnetic.declination_deg(**HERE, on_date=day) < 5.0


def test_heights_and_places_outside():
    with pytest.raises(MethodRangeError, match="850 km"):
        magnetic.declination_deg(lat_deg=46.0, lon_deg=7.0, height_ell_m=9e5, on_date=date(2026, 1, 1))
    with pytest.raises(InputError, match="No place on the Earth"):
        magnetic.declination_deg(lat_deg=-90.5, lon_deg=7.0, height_ell_m=0.0, on_date=date(2026, 1, 1))
    with pytest.raises(InputError, match="No place on the Earth"):
        magnetic.declination_deg(lat_deg=float("nan"), lon_deg=7.0, height_ell_m=0.0, on_date=date(2026, 1, 1))


def test_longitudes_a_turn_apart_are_the_same_place():
    day = date(2026, 6, 1)
    east, west = (magnetic.declination_deg(lat_deg=10.0, lon_deg=lon, height_ell_m=0.0, on_date=day) for lon in (190.0, -170.0))
    assert east == west


def test_a_week_moves_it_little_and_three_years_more():
    first, week, years = (magnetic.declination_deg(**HERE, on_date=day) for day in (date(2025, 3, 1), date(2025, 3, 8), date(2028, 3, 1)))
    assert 0 < abs(week - first) < 0.01 < abs(years - first) < 1.0


def test_where_a_compass_fails():
    day = date(2026, 1, 1)
    assert magnetic.compass_trust(**HERE, on_date=day) == "good"
    # the north magnetic pole of 2025 lies near 85.8 N 138 E, the blackout zone around it
    assert magnetic.compass_trust(lat_deg=85.8, lon_deg=138.0, height_ell_m=0.0, on_date=day) == "useless"
    assert magnetic.compass_trust(lat_deg=77.0, lon_deg=-100.0, height_ell_m=0.0, on_date=day) == "caution"
    assert magnetic.declination_error_deg(**HERE, on_date=day) == pytest.approx(0.36, abs=0.03)
    assert magnetic.declination_error_deg(lat_deg=85.8, lon_deg=138.0, height_ell_m=0.0, on_date=day) > 5.0
