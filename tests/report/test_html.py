"""Nothing that a file says can become markup, script or style."""

import re

import pytest
import ready_findings as ready

from siteplan.records.verdict import State
from siteplan.report import html

pytestmark = pytest.mark.quick


def test_text_is_escaped_between_tags_and_in_attributes():
    assert html.esc("<a href='x' b=\"y\">&") == "&lt;a href=&#x27;x&#x27; b=&quot;y&quot;&gt;&amp;"


def test_control_and_direction_characters_are_dropped():
    assert html.esc("a\x00b\u202ec\u2066d\x1b") == "abcd"
    assert html.esc("tab\tand\nline") == "tab\tand\nline"


def test_json_can_not_end_its_script_element():
    dumped = html.script_json({"name": "</script><!-- \u2028 &"})
    assert not re.search(r"[<>&\u2028]", dumped)
    import json

    assert json.loads(dumped) == {"name": "</script><!-- \u2028 &"}


def test_a_css_string_can_not_end_early():
    made = html.css_string('a"; } body { x: url(http://x) \\ </style> \n ')
    assert made[0] == made[-1] == '"'
    inside = made[1:-1]
    assert '"' not in inside and "<" not in inside and "\n" not in inside
    # every backslash that is left starts an escape of ours
    assert re.fullmatch(r"(?:[^\\]|\\[0-9a-f]+ )*", inside)


def test_a_page_lets_only_its_own_scripts_run():
    made = html.page("t", "<p>b</p>", styles=("p{}",), scripts=("let a = 1;",))
    import base64
    import hashlib

    digest = base64.b64encode(hashlib.sha256(b"let a = 1;").digest()).decode()
    assert f"script-src 'sha256-{digest}'" in made and "default-src 'none'" in made
    assert "script-src 'none'" in html.page("t", "", styles=())


def test_numbers_carry_units_and_unknown_is_said():
    assert html.number(-3.26, 1, "dB") == "\u22123.3\u00a0dB"
    assert html.number(float("nan"), 1, "dB") == "unknown"


@pytest.mark.parametrize(("iso", "words"), [("2026-06-11", "11 June 2026"), ("", ""), ("soon", "soon"), ("2026-13-01", "2026-13-01")])
def test_dates_are_spoken(iso, words):
    assert html.spoken_date(iso) == words


def test_a_place_is_named_by_name_id_or_row():
    rows = ready.rows()
    assert html.place_name(rows[0]) == "Ada Quill"
    assert html.place_name(ready.rejected(8, "empty")) == "No Place"


def test_each_state_has_its_own_mark():
    assert len({html.mark(state) for state in State}) == 4
    made = html.page("t", "", styles=())
    for state in State:
        assert f'id="mark-{html.state_key(state)}"' in made
