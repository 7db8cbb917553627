"""IF, voltage and tone of common LNBs, against a table computed apart (oscillators of EN 50494)."""

import pytest
from authorities.authority_rows import number, rows_of

from siteplan.files.lnb_key import lnb_of
from siteplan.radio.lnb import at_lnb
from siteplan.records.emitters import Transponder

pytestmark = pytest.mark.quick
OURS = {"universal Ku": "universal single", "BSS circular 12.2-12.7": "12 GHz single", "C band (inverted)": "C band single"}


def test_if_plan():
    rows = rows_of("lnb_if_plan.csv")
    assert len(rows) == 17
    for row in rows:
        carrier = Transponder("t", 1000.0 * number(row["f_ghz"]), row["polarisation"], 27500.0, "DVB-S2", "8PSK", "3/4")
        found = at_lnb(carrier, lnb_of(OURS[row["lnb"]]))
        assert found is not None, row
        assert found.if_mhz == pytest.approx(number(row["if_mhz"]), abs=0.1)
        assert (found.supply_v, found.tone) == (number(row["supply_v"]), row["tone_22khz"] == "1")
        assert found.inverted == row["lnb"].startswith("C band")
