"""The parts list: good rows stay, each bad row says what is wrong with it."""

import pytest

from siteplan.errors import TableError
from siteplan.files.equipment import builtin_parts, read_parts

pytestmark = pytest.mark.quick
HEAD = "part,kind,gain_points,loop_ohm_per_100m,user_bands_mhz,standard,passes_dc,low_mhz,high_mhz\n"


def read(tmp_path, *rows):
    file = tmp_path / "parts.csv"
    file.write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    return read_parts(file)


def test_a_good_row_beside_bad_ones(tmp_path):
    parts, rejects = read(
        tmp_path,
        "Cable X,cable,860:18;2150:30,1.8,,,yes,5,2400",
        "Cable Y,cable,,,,,,5,2400",
        "Thing,gizmo,,,,,,,",
        "Cable X,cable,860:18,,,,,,",
        "Cable Z,cable,860:-18,,,,,,",
        "Splitter,splitter,860;-4,,,,,,",
        "Splitter,splitter,2150:-4;860:-3,,,,,,",
        "Unit,single_cable,,,1210;1420,,,,",
        "Unit,single_cable,,,1;2,EN 50494,,,",
        "Unit,single_cable,,,1210;1211;1212;1213;1214;1215;1216;1217;1218,EN 50494,,,",
        "Switch,switch,,,,,perhaps,,",
        "Filter,filter,,,,,,900,800",
        ",cable,860:18,,,,,,",
    )
    assert list(parts) == ["Cable X"]
    assert parts["Cable X"].gain_points == ((860.0, 18.0), (2150.0, 30.0))
    said = [(one.row, one.field, one.reason) for one in rejects]
    assert [row for row, _, _ in said] == list(range(3, 15))
    for (_, field, reason), (wanted, words) in zip(
        said,
        [
            ("gain_points", "a cable needs its attenuation"),
            ("kind", "write one of"),
            ("part", "already in an earlier row"),
            ("gain_points", "a loss, written above 0"),
            ("gain_points", "is not a point"),
            ("gain_points", "must rise"),
            ("standard", "must be one of"),
            ("user_bands_mhz", "between 250 and 2400"),
            ("user_bands_mhz", "1 to 8 user bands; 9 are given"),
            ("passes_dc", "neither yes nor no"),
            ("high_mhz", "must lie above low_mhz"),
            ("part", "is empty"),
        ],
        strict=True,
    ):
        assert field == wanted
        assert words in reason


def test_a_table_that_is_no_parts_list(tmp_path):
    (tmp_path / "p.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    with pytest.raises(TableError, match="part"):
        read_parts(tmp_path / "p.csv")


def test_the_shipped_list_names_no_make():
    text = builtin_parts().read_text(encoding="utf-8")
    assert "©" not in text and "®" not in text
    assert read_parts()[1] == ()
