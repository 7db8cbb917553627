"""Open crowd-sourced cell lists: cells grouped by site, what nobody states assumed and said, bad rows told."""

import pytest
from table_makers import plan_with

from siteplan.files.cell_list import is_cell_list, site_number
from siteplan.files.sectors import read_sectors

pytestmark = pytest.mark.quick
HEAD = "radio,mcc,net,area,cell,unit,lon,lat,range,samples,changeable,created,updated,averageSignal\n"


@pytest.fixture
def read(tmp_path):
    def reader(rows, **keys):
        (tmp_path / "cells.csv").write_text(HEAD + rows, encoding="utf-8")
        return read_sectors(plan_with(tmp_path, mobile={"file": tmp_path / "cells.csv", **keys}))

    return reader


def row(cell, lon="11.40", lat="47.50", radio="LTE", mcc="901", net="7", area="12", reach="2000", samples="30"):
    return f"{radio},{mcc},{net},{area},{cell},1,{lon},{lat},{reach},{samples},1,1700000000,1700000000,0\n"


def test_cells_of_one_enodeb_are_one_site_at_their_mean(read):
    """25600 to 25602 are cells of eNodeB 100 (25600 / 256); 25856 is of eNodeB 101."""
    sites, rejects = read(row(25600, lon="11.40") + row(25601, lon="11.42") + row(25602, lon="11.41", lat="47.53") + row(25856))
    assert rejects == () and [site.site for site in sites] == ["LTE 100", "LTE 101"]
    first = sites[0]
    assert (first.lat_deg, first.lon_deg, first.samples) == (47.51, 11.41, 90)
    assert first.origin == "cell list" and first.operator == "901-07" and first.assumed == ("power", "frequency", "height", "direction")
    assert first.site_error_m > 500.0 and first.azimuth_deg != first.azimuth_deg
    assert sites[1].site_error_m == 1000.0  # one cell alone: half its range


@pytest.mark.parametrize(
    ("technology", "cell", "site"), [("LTE", 25602, 100), ("NR", 4096 * 9 + 5, 9), ("GSM", 41233, 4123), ("UMTS", 3 * 65536 + 41232, 34123)]
)
def test_site_numbers(technology, cell, site):
    assert site_number(technology, cell) == site


def test_operators_are_named_by_the_plan(read):
    sites, _ = read(row(25600) + row(25600, net="8"), operator_names={"901-07": "Corvid"})
    assert [site.operator for site in sites] == ["Corvid", "901-08"]


@pytest.mark.parametrize(
    ("bad", "field", "says"),
    [
        (row(25600, lat="", lon=""), "lat", "is empty"),
        (row(25600, lat="95"), "lat", "-90 to 90 is allowed"),
        (row(25600, lat="0", lon="0"), "lat", "unknown position"),
        (row(25600, radio="CDMA"), "radio", "GSM, UMTS, LTE and NR are allowed"),
        (row("x"), "cell", "is not a number"),
        (row(25600, mcc="0"), "mcc", "whole number from 1 to 999"),
        (row(25600, reach="-5"), "range", "0 to 1e+06 is allowed"),
    ],
)
def test_bad_rows_are_told_and_the_rest_goes_on(read, bad, field, says):
    sites, (reject,) = read(row(25856) + bad + row(26112))
    assert len(sites) == 2 and (reject.row, reject.field) == (3, field) and says in reject.reason


def test_only_their_columns_make_a_cell_list(tmp_path):
    (tmp_path / "a.csv").write_text(HEAD.replace("net", "mnc"), encoding="utf-8")
    assert not is_cell_list(tmp_path / "a.csv") and not is_cell_list(tmp_path / "none.csv")
    (tmp_path / "b.csv").write_text("\ufeff" + HEAD.replace(",", ";").upper(), encoding="utf-8")
    assert is_cell_list(tmp_path / "b.csv")
