"""Plans as people write them: what is read, and the line, key and advice of every complaint."""

from datetime import date
from pathlib import Path

import pytest

from siteplan.errors import PlanError
from siteplan.files.plan_file import defaults_table, parse_orbit, read_plan
from siteplan.files.toml_lines import key_lines

pytestmark = pytest.mark.quick
GROUND = '[[terrain]]\nground = "g.tif"\n'


@pytest.fixture
def plan(tmp_path):
    """Write a plan beside a ground raster and a list (contents don't matter here), and read it."""
    for name in ("g.tif", "s.tif", "a.csv"):
        (tmp_path / name).write_text("x")

    def read(text: str | bytes):
        file = tmp_path / "plan.toml"
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_plan(file)

    return read


def test_terrain_and_addresses_are_enough(plan, tmp_path):
    found = plan(GROUND + '[addresses]\nfile = "a.csv"\n')
    assert found.terrain[0].ground == tmp_path / "g.tif" and found.addresses.file == tmp_path / "a.csv"
    assert found.file == tmp_path / "plan.toml" and found.date is None and found.satellites.wanted == ()


def test_the_directivity_of_an_aerial_is_a_list_of_pairs(plan):
    assert plan("[kit]\naerial_directivity = [[0, 0], [30, 3.5], [180, 20]]\n").kit.aerial_directivity == ((0, 0), (30, 3.5), (180, 20))


def test_an_empty_plan_is_valid(plan):
    assert plan("").terrain == ()


def test_every_key_with_its_own_type(plan, tmp_path):
    found = plan(
        'name = "Harbour"\ndate = 2026-06-11\n[[terrain]]\nground = "g.tif"\nsurface = "s.tif"\nheight_above_ground = "s.tif"\n'
        'flown_on = "2024-03-01"\nvertical_unit = "us-ft"\nnodata = nan\n'
        '[[terrain]]\nground = "g.tif"\nbuilding_height = ["s.tif", "g.tif"]\n'
        '[addresses]\nfile = "a.csv"\ncolumns = { lat_deg = "Breite" }\n'
        '[satellites]\nwanted = ["19.2E", "30W", "4.8° E", 13, -5.0, "19.2 E"]\n'
        "[mount]\ndish_height_agl_m = 4\n[kit]\ndishes_m = [0.8, 1]\n[outputs]\nfolder = 'out'\n"
    )
    assert found.date == date(2026, 6, 11) and found.terrain[0].flown_on == date(2024, 3, 1)
    assert found.terrain[0].height_above_ground == (tmp_path / "s.tif",)
    assert found.terrain[1].building_height == (tmp_path / "s.tif", tmp_path / "g.tif")
    assert found.satellites.wanted == (19.2, -30.0, 4.8, 13.0, -5.0)
    assert found.mount.dish_height_agl_m == 4.0 and found.kit.dishes_m == (0.8, 1.0)
    assert found.outputs.folder == tmp_path / "out" and found.addresses.columns == {"lat_deg": "Breite"}


@pytest.mark.parametrize(
    ("text", "line", "key", "says"),
    [
        ('[[terrain]]\nground = "g.tif"\nsurfaec = "s.tif"\n', 3, "terrain[1].surfaec", "did you mean surface?"),
        ("[limits]\n\n# a comment\ndish_height_agl_m = 3\n", 4, "limits.dish_height_agl_m", r"belongs in \[mount\]"),
        ("adresses = 1\n", 1, "adresses", "did you mean addresses?"),
        ("[mount]\ndish_height_agl_m = '3'\n", 2, "mount.dish_height_agl_m", "a number is wanted"),
        ("[mount]\ndish_height_agl_m = true\n", 2, "mount.dish_height_agl_m", "a number is wanted"),
        ("[mount]\ndish_height_agl_m = nan\n", 2, "mount.dish_height_agl_m", "a number is wanted"),
        ("[mount]\ndish_height_agl_m = 0.1\n", 2, "mount.dish_height_agl_m", "Allowed: from 0.2 to 300"),
        ("[limits]\nbook_probability = 0.5\n", 2, "limits.book_probability", "Allowed: above 0.5 below 1"),
        ("[mount]\nkind = 'pole'\n", 2, "mount.kind", "'chimney'"),
        ("[[terrain]]\nground = 'g.tif'\nvertical_unit = 'feet'\n", 3, "terrain[1].vertical_unit", "us-ft"),
        ("[[terrain]]\nsurface = 's.tif'\n", 1, "terrain[1].ground", "missing"),
        ("[terrain]\nground = 'g.tif'\n", 1, "terrain", r"write \[\[terrain\]\]"),
        ("[[addresses]]\nfile = 'a.csv'\n", 1, "addresses", r"write \[addresses\]"),
        ("addresses = 'a.csv'\n", 1, "addresses", "a table is wanted"),
        ("[addresses]\nfile = ['a.csv']\n", 2, "addresses.file", "not a list"),
        ("[addresses]\nfile = 3\n", 2, "addresses.file", "a file name in quotes"),
        ("[addresses]\nfile = ''\n", 2, "addresses.file", "empty"),
        ("[addresses]\nfile = '.'\n", 2, "addresses.file", "folder"),
        ("[addresses]\nfile = 'https://example.org/a.csv'\n", 2, "addresses.file", "offline"),
        ("[addresses]\nfile = '/vsicurl/a.csv'\n", 2, "addresses.file", "offline"),
        ("[satellites]\nwanted = [\n  '19.2E',\n  '200E',\n]\n", 2, "satellites.wanted", "19.2E"),
        ("[satellites]\nwanted = true\n", 2, "satellites.wanted", "orbital position"),
        ("[kit]\ndishes_m = []\n", 2, "kit.dishes_m", "0.2 to 20"),
        ("[kit]\naerial_directivity = [[0, 0], [200, 20]]\n", 2, "kit.aerial_directivity", "0 to 180 degrees"),
        ("[kit]\naerial_directivity = [[10, 0], [90, 20]]\n", 2, "kit.aerial_directivity", "one of them at 0 degrees"),
        ("[kit]\naerial_directivity = [[0, 0], [90, 'x']]\n", 2, "kit.aerial_directivity[2][2]", "a number"),
        ("[kit]\naerial_directivity = [1, 2]\n", 2, "kit.aerial_directivity[1]", "list"),
        ("[transmitters]\nreception = 'car'\n", 2, "transmitters.reception", "portable indoor"),
        ("[transmitters]\nraster = '9 MHz'\n", 2, "transmitters.raster", "8 MHz"),
        ("[transmitters]\nscan_tables = ['none.conf']\n", 2, "transmitters.scan_tables", "no such file"),
        ("[kit]\ndishes_m = [0.6, '0.8']\n", 2, "kit.dishes_m[2]", "a number"),
        ("date = 2026-06-11T10:00:00\n", 1, "date", "year-month-day"),
        ("date = '11.06.2026'\n", 1, "date", "year-month-day"),
        ("file = 'x'\n", 1, "file", "unknown key"),
    ],
)
def test_complaints_name_line_and_key(plan, text, line, key, says):
    with pytest.raises(PlanError, match=says) as caught:
        plan(text)
    assert (caught.value.line, caught.value.key, caught.value.file) == (line, key, "plan.toml")


def test_missing_files_are_told_at_reading(plan):
    with pytest.raises(PlanError, match=r"no such file: .*gg.tif; did you mean g.tif\?; also missing: q.csv") as caught:
        plan('[[terrain]]\nground = "g.tif"\n\n[[terrain]]\nground = "gg.tif"\n[addresses]\nfile = "q.csv"\n')
    assert caught.value.line == 5 and caught.value.key == "terrain[2].ground"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('\n[[terrain]]\nground = "C:\\Users\\ann\\g.tif"\n', 3),
        ('[[terrain]]\nground = "C:\\data\\g.tif"\n', 2),
        ('[[terrain]]\nground = "C:\\temp\\new.tif"\n', 2),  # \t and \n are codes that TOML knows
    ],
)
def test_windows_paths_in_double_quotes(plan, text, line):
    with pytest.raises(PlanError, match="write C:/Users/.* or use single quotes") as caught:
        plan(text)
    assert caught.value.line == line


@pytest.mark.parametrize(("text", "line"), [("a = \n", 1), ("[mount]\nx 3\n", 2), ("[kit\n", 1), ("[kit]\n[kit]\n", 2), ("x = [1,\n2", 2)])
def test_broken_toml_has_a_line(plan, text, line):
    with pytest.raises(PlanError, match="not valid TOML") as caught:
        plan(text)
    assert caught.value.line == line


def test_what_is_no_plan(plan, tmp_path):
    with pytest.raises(PlanError, match="UTF-8") as caught:
        plan("[mount]\nkind = 'gr\xfcn'\n".encode("cp1252"))
    assert caught.value.line == 2
    with pytest.raises(PlanError, match="folder; name the plan in it: plan.toml"):
        read_plan(tmp_path)
    with pytest.raises(PlanError, match="no such plan file"):
        read_plan(tmp_path / "none.toml")
    with pytest.raises(PlanError, match="nested too deep|not valid TOML"):
        plan("x = " + "[" * 5000)


def test_a_byte_order_mark_is_no_harm(plan):
    assert plan(b"\xef\xbb\xbfname = 'x'\r\n[mount]\r\nkind = 'roof'\r\n").mount.kind == "roof"


@pytest.mark.parametrize(
    ("text", "orbit"), [("19.2E", 19.2), ("30 w", -30.0), ("4,8° East", 4.8), (0, 0.0), ("0", 0.0), (-180, -180.0), ("13 ost", 13.0)]
)
def test_orbits(text, orbit):
    assert parse_orbit(text) == orbit


@pytest.mark.parametrize("text", ["", "E", "-5W", "181", "19.2X", True, None, "nan", [1]])
def test_no_orbits(text):
    assert parse_orbit(text) != parse_orbit(text)


def test_defaults_each_say_where_they_come_from():
    rows = defaults_table()
    assert ("mount.dish_height_agl_m", 3.0) in [row[:2] for row in rows] and len(rows) > 25
    assert all(source.startswith("standard") or source == "common practice, no source" for _, _, _, source in rows)
    assert all(what for _, _, what, _ in rows)


def test_lines_of_keys_skip_strings_and_lists():
    text = 'a = """\n[kit]\nb = 1\n"""\n# c = 1\n[x."y z"]\nd.e = [\n  "]", # ]\n  2,\n]\nf = \'[\'\n'
    text += "[[t]]\ng = {h = 1}\n[[t]]\ng = 2\n[t.u]\nv = 1\n"
    lines = key_lines(text)
    assert lines[("a",)] == 1 and ("b",) not in lines and ("kit",) not in lines
    assert lines[("x", "y z")] == 6 and lines[("x", "y z", "d", "e")] == 7 and lines[("x", "y z", "f")] == 11
    assert lines[("t", 0, "g")] == 13 and lines[("t", 1, "g")] == 15 and lines[("t", 1, "u", "v")] == 17


def test_the_plan_is_never_changed(tmp_path):
    file = tmp_path / "plan.toml"
    file.write_text("name = 'x'\n")
    before = file.read_bytes()
    read_plan(Path(file))
    assert file.read_bytes() == before


def test_a_server_of_map_pictures_is_https_with_its_owner_named(tmp_path):
    (tmp_path / "ground.tif").write_bytes(b"")
    plan = tmp_path / "plan.toml"
    head = '[[terrain]]\nground = "ground.tif"\n[map]\n'
    good = "https://streets.invalid/grey/{z}/{x}/{y}.png"
    plan.write_text(head + f'tile_url = "{good}"\ntile_attribution = "Tess Streets"\n')
    assert read_plan(plan).map.tile_url == good
    wrong = (
        "http://a.invalid/{z}/{x}/{y}", "https://a.invalid/{z}/{x}", "https://{s}.a.invalid/{z}/{x}/{y}", "https://a'; *.b/{z}/{x}/{y}",
    )  # fmt: skip
    for bad in wrong:
        plan.write_text(head + f'tile_url = "{bad}"\ntile_attribution = "x"\n')
        with pytest.raises(PlanError, match="no address of map pictures"):
            read_plan(plan)
    plan.write_text(head + f'tile_url = "{good}"\n')
    with pytest.raises(PlanError, match="whom the map pictures come from"):
        read_plan(plan)
