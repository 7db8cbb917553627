"""Mobile reference power per resource element (3GPP TS 36.214, 38.215), against independently computed rows."""

import pytest
from authorities.authority_rows import number, rows_of

from siteplan.errors import InputError
from siteplan.radio.link_budget import re_eirp_dbm, resource_blocks, rsrp_dbm

pytestmark = pytest.mark.quick


@pytest.mark.parametrize("row", rows_of("rsrp_examples.csv"), ids=str)
def test_rsrp(row):
    technology, _, spacing = row["system"].partition(" scs")
    blocks = resource_blocks(technology=technology, bandwidth_mhz=number(row["bandwidth_mhz"]), subcarrier_khz=float(spacing or 15))
    assert blocks == number(row["n_rb"])
    power = number(row["tx_power_dbm"])
    assert re_eirp_dbm(total_power_dbm=power, resource_blocks=blocks) == pytest.approx(number(row["epre_dbm"]), abs=1e-4)
    eirp = re_eirp_dbm(
        total_power_dbm=power,
        resource_blocks=blocks,
        antenna_gain_dbi=number(row["antenna_gain_dbi"]),
        feeder_loss_db=number(row["feeder_loss_db"]),
    )
    found = rsrp_dbm(re_eirp_dbm=eirp, pattern_db=0.0, loss_db=number(row["path_loss_db"]), gain_dbi=0.0, feeder_loss_db=0.0)
    assert found == pytest.approx(number(row["rsrp_dbm"]), abs=1e-4)
    assert rsrp_dbm(
        re_eirp_dbm=eirp, pattern_db=-3.0, loss_db=number(row["path_loss_db"]), gain_dbi=9.0, feeder_loss_db=2.0
    ) == pytest.approx(found + 4.0)


def test_unknown_carriers():
    with pytest.raises(InputError, match="LTE or NR"):
        resource_blocks(technology="GSM", bandwidth_mhz=0.2)
    with pytest.raises(InputError, match="20 MHz at 15 kHz"):
        resource_blocks(technology="LTE", bandwidth_mhz=12.0)
    with pytest.raises(InputError, match="1 or more"):
        re_eirp_dbm(total_power_dbm=46.0, resource_blocks=0)
