"""ITU-R P.841-4: from the average year to its worst month and back.

The recommendation prints, for global planning, p = 0.30 pw^1.15 within 1.9e-4 < pw < 7.8 per cent (rounded coefficients).
"""

import pytest

from siteplan.errors import InputError
from siteplan.radio.availability import annual_pct, worst_month_pct

pytestmark = pytest.mark.quick


@pytest.mark.parametrize("month", [2e-4, 1e-3, 0.01, 0.1, 1.0, 5.0, 7.0])
def test_the_printed_short_form(month):
    """4 %: 0.30 and 1.15 stand for 2.85^(-1/0.87) = 0.3001 and 1/0.87 = 1.1494, which over four decades makes up to 1 %."""
    assert annual_pct(month) == pytest.approx(0.30 * month**1.15, rel=0.01)


def test_the_bends():
    """Q = 12 below (2.85/12)^(1/0.13) %; 2.85 p^-0.13 to 3 %; constant to 30 %; one at 100 %: each worked by hand."""
    assert worst_month_pct(1e-5) == pytest.approx(12e-5, rel=1e-12)
    assert worst_month_pct(0.01) == pytest.approx(0.0518615, rel=1e-5)  # 2.85 x 10^-1.74 = 2.85 x 0.0181970
    assert worst_month_pct(1.0) == pytest.approx(2.85)
    assert worst_month_pct(3.0) == pytest.approx(7.4122, abs=2e-3)
    assert worst_month_pct(10.0) == pytest.approx(24.707, abs=5e-3)
    assert worst_month_pct(100.0) == pytest.approx(100.0, abs=0.5)
    assert worst_month_pct(0.0) == 0.0


def test_there_and_back():
    pcts = [1e-6, 1e-4, 0.003, 0.2, 2.0, 4.0, 20.0]
    for pct in pcts:
        assert annual_pct(worst_month_pct(pct)) == pytest.approx(pct, rel=1e-9)
    months = [worst_month_pct(pct) for pct in pcts]
    assert months == sorted(months)
    assert all(month >= pct for month, pct in zip(months, pcts, strict=True))


@pytest.mark.parametrize("wrong", [-0.1, 100.1, float("nan")])
def test_what_is_no_percentage(wrong):
    for ask in (worst_month_pct, annual_pct):
        with pytest.raises(InputError, match="0 to 100"):
            ask(wrong)
