"""Measurements: the figures that the methods page prints are those that our methods give; nothing is fitted to any of them."""

import measured_links
import pytest
from authorities.authority_rows import number, rows_of
from measured_links import bias_sigma_rmse, tv_field_dbuv_per_m
from shared_data import need_shared

from siteplan.errors import MethodRangeError
from siteplan.words.methods import MEASURED, METHODS, NEAR

ROWS = rows_of("measured_dtt_kand.csv")
KINDS = ("land", "coastal land", "mixed", "sea")


def figures(found):
    return (found.count, found.bias_db, found.sigma_db, found.rmse_db)


def chosen(rows, what):
    """The rows that a line of the methods page speaks of: by time, band or kind of path."""
    if what.endswith("% of time"):
        return [row for row in rows if row.time_pct == float(what.split(" ")[0])]
    if what.endswith("MHz"):
        low, high = float(what.split(" ")[0]), float(what.split(" ")[2])
        return [row for row in rows if low <= row.frequency_mhz < high]
    return [row for row in rows if row.kind == what] if what in KINDS else rows


def test_long_links_by_time_band_and_kind():
    rows = measured_links.rows(need_shared("standards/measured_paths"))
    trusted, doubtful = [row for row in rows if row.trusted], [row for row in rows if not row.trusted]
    assert len(MEASURED) == 2 + 5 + 4 + 4
    for line in MEASURED:
        part = doubtful if "doubtful" in line.what else chosen(trusted, line.what)
        found = bias_sigma_rmse([row.ours_db - row.measured_db for row in part])
        assert found == pytest.approx(figures(line), abs=0.051), line.what


PAGES = [("p1812", "p1812"), ("hata_open", "hata_open"), ("hata_suburban", "hata_open"), ("tr38901_rma", "tr38901_rma")]


@pytest.mark.parametrize(("method", "page"), PAGES)
def test_fields_round_one_mast(method, page):
    """The spread about the mean is what means something. Places beyond a method's range are refused and left out."""
    errors = []
    for row in ROWS:
        try:
            errors.append(tv_field_dbuv_per_m(row, method) - number(row["field_strength_dbuvm"]))
        except MethodRangeError:
            assert method == "tr38901_rma" and number(row["distance_m"]) > 5000.0
    wanted = next(line for line in METHODS[page].measured if line.what in (NEAR, f"{NEAR}, {method}"))
    assert bias_sigma_rmse(errors) == pytest.approx(figures(wanted), abs=0.051)
