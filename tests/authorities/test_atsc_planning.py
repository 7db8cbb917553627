"""ATSC 1.0: the field strengths that the planning factors of BPR-10, appendix 8, give."""

import pytest
from authorities.authority_rows import number, rows_of

from siteplan.radio.modes import terrestrial_mode
from siteplan.radio.terrestrial_link import minimum_field, required_cn_db

pytestmark = pytest.mark.quick


@pytest.mark.parametrize("row", rows_of("atsc_planning_factors.csv"), ids=lambda row: row["band"])
def test_minimum_field_of_8vsb(row):
    """0.1 dB: the factors are printed to a tenth."""
    cn = required_cn_db(terrestrial_mode("ATSC 8VSB 2/3"))
    assert cn == number(row["cn_db"])
    found = minimum_field(
        cn_db=cn, noise_bandwidth_mhz=6.0, noise_figure_db=number(row["system_nf_db"]), frequency_mhz=number(row["f_mhz"]),
        gain_dbd=number(row["antenna_gain_dbd"]), feeder_loss_db=number(row["downlead_loss_db"]),
    )  # fmt: skip
    assert found.minimum_field_dbuv_per_m == pytest.approx(number(row["field_dbuv_m_unrounded"]), abs=0.1)
    assert found.noise_dbw + 30.0 - found.noise_figure_db == pytest.approx(number(row["thermal_noise_dbm"]), abs=0.05)
