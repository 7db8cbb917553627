"""Limits of mobile cells by name: common practice from the plan's own keys, a company's own, and a name that is none."""

from pathlib import Path

import pytest

from siteplan.errors import InputError
from siteplan.records.plan import Plan
from siteplan.services.outlets.cell_limits import cell_limits

pytestmark = pytest.mark.quick
OWN = {"name": "Ours", "rsrp_dbm": -95.0, "sinr_db": 8.0}


def plan(**more):
    return Plan(file=Path("plan.toml"), **more)


def test_common_practice_is_what_the_verdict_uses():
    found = cell_limits(plan(limits={"rsrp_dbm": -98.0, "sinr_db": 6.0}))
    assert (found.name, found.rsrp_dbm, found.sinr_db, found.rsrq_db, found.own) == ("mobile, common practice", -98.0, 6.0, -15.0, False)


def test_a_company_names_its_own():
    found = cell_limits(plan(mobile_profiles=[OWN], installation={"mobile_profile": "Ours"}))
    assert (found.rsrp_dbm, found.sinr_db, found.own) == (-95.0, 8.0, True)


def test_a_name_that_is_none_says_which_there_are():
    with pytest.raises(InputError, match="'Theirs'; there are: 'mobile, common practice', 'Ours'"):
        cell_limits(plan(mobile_profiles=[OWN], installation={"mobile_profile": "Theirs"}))
