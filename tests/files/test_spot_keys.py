"""The plan keys of spots and the sun: what is refused, and what says so."""

import pytest

from siteplan.errors import PlanError
from siteplan.files.plan_file import read_plan

pytestmark = pytest.mark.quick


def plan_of(tmp_path, text):
    file = tmp_path / "plan.toml"
    file.write_text(text, encoding="utf-8")
    return read_plan(file)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('timezone = "Europe/Atlantis"', "no timezone"),
        ('[mount]\nsearch = "sometimes"', "'auto' or 'never'"),
        ("[mount]\nsearch_radius_m = 500", "mount.search_radius_m"),
        ("[mount]\nentry_deg = 400", "mount.entry_deg"),
        ("[kit]\ndish_focal_ratio = 9", "kit.dish_focal_ratio"),
    ],
)
def test_refuses_and_names_the_key(tmp_path, text, words):
    with pytest.raises(PlanError, match=words):
        plan_of(tmp_path, text)


def test_takes_a_timezone_and_none(tmp_path):
    assert plan_of(tmp_path, 'timezone = "Europe/Lisbon"').timezone == "Europe/Lisbon"
    assert plan_of(tmp_path, "").timezone == ""
