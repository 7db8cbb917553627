"""Path profiles as CSV: what is read, what comes back, and each complaint."""

import numpy as np
import pytest

from siteplan.errors import InputError, OutputError, TableError
from siteplan.files.profile_file import profile_text, read_profile, write_profile
from siteplan.records.results import Profile

pytestmark = pytest.mark.quick
GOOD = "distance_km,height_amsl_m,clutter_m,zone\n0,612.5,9,inland\n0.2,640,12.5,Coastal\n\n0.45,2,0,sea\n1.05795,3,4,coastal\n"


def read(tmp_path, text, encoding="utf-8"):
    path = tmp_path / "profile.csv"
    path.write_bytes(text.encode(encoding))
    return read_profile(path, lat_mid_deg=53.2)


def test_all_columns(tmp_path):
    found = read(tmp_path, GOOD)
    assert found.distance_m == pytest.approx([0.0, 200.0, 450.0, 1057.95])
    assert found.ground_amsl_m.tolist() == [612.5, 640.0, 2.0, 3.0]
    assert found.clutter_m.tolist() == [0.0, 12.5, 0.0, 0.0]  # the ends are not counted
    assert found.zone.tolist() == [4, 3, 1, 3]
    assert found.lat_mid_deg == 53.2
    assert found.surface_known == 1.0


def test_two_columns_are_enough(tmp_path):
    found = read(tmp_path, "height_amsl_m,remark,distance_km\n1,a,0\n2,b,1\n3,c,2\n")
    assert found.ground_amsl_m.tolist() == [1.0, 2.0, 3.0]
    assert found.clutter_m.tolist() == [0.0, 0.0, 0.0]
    assert found.zone.tolist() == [4, 4, 4]
    assert found.surface_known == 0.0


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
@pytest.mark.parametrize(
    "text",
    [
        "distance_km;height_amsl_m;Höhe\n0;612,5;x\n0,2;640;x\n0,45;2;x\n",
        "distance_km\theight_amsl_m\tHöhe\n0\t612,5\tx\n0,2\t640\tx\n0,45\t2\tx\n",
        'distance_km,height_amsl_m,Höhe\n0,"612,5",x\n"0,2",640,x\n"0,45",2,x\n',
        "Distance_KM , HEIGHT_amsl_m,Höhe\r\n 0, 612.5,x\r\n0.2,640,x\r\n0.45,2,x\r\n",
    ],
    ids=["semicolons", "tabs", "quoted", "spaces"],
)
def test_spreadsheet_ways_to_save(tmp_path, text, encoding):
    found = read(tmp_path, text, encoding)
    assert found.distance_m == pytest.approx([0.0, 200.0, 450.0])
    assert found.ground_amsl_m.tolist() == [612.5, 640.0, 2.0]


def rows(*changed):
    lines = ["distance_km,height_amsl_m,clutter_m,zone", "0,10,0,inland", "1,10,0,inland", "2,10,0,inland"]
    for place, text in changed:
        lines[place] = text
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize(
    ("text", "row", "field", "says"),
    [
        (rows((0, "distance_km,height,clutter_m,zone")), 1, "height_amsl_m", "missing; the heading has distance_km, height, clu"),
        (rows((0, "distance_km,height_amsl_m,distance_km,zone")), 1, "distance_km", "twice"),
        (rows((2, "1,ten,0,inland")), 3, "height_amsl_m", "not a number.*'ten'.*Allowed"),
        (rows((2, "1,,0,inland")), 3, "height_amsl_m", "empty"),
        (rows((2, "1")), 3, "height_amsl_m", "empty"),
        (rows((2, "1,nan,0,inland")), 3, "height_amsl_m", "not a number"),
        (rows((2, "1,inf,0,inland")), 3, "height_amsl_m", "not a number"),
        (rows((2, "1_0,10,0,inland")), 3, "distance_km", "not a number"),
        (rows((2, "1,99999,0,inland")), 3, "height_amsl_m", "out of range.*-500 to 9000"),
        (rows((2, "1,10,-3,inland")), 3, "clutter_m", "out of range"),
        (rows((2, "-1,10,0,inland")), 3, "distance_km", "out of range"),
        (rows((3, "1,10,0,inland")), 4, "distance_km", "rise.*more than 1"),
        (rows((3, "0.5,10,0,inland")), 4, "distance_km", "rise"),
        (rows((1, "0.1,10,0,inland")), 2, "distance_km", "sender.*Allowed: 0"),
        (rows((2, "1,10,0,desert")), 3, "zone", "unknown zone.*'desert'.*sea, coastal, inland"),
        (rows((2, "1,10,0,")), 3, "zone", "unknown zone.*Allowed"),
        ("distance_km,height_amsl_m\n0,1\n1,2\n", None, "", "at least 3 points, this one has 2"),
        ("", None, "", "empty"),
        ("\n\n", None, "", "empty"),
        ("P\x00K\x03", None, "", "not a text table"),
    ],
)
def test_complaints(tmp_path, text, row, field, says):
    with pytest.raises(TableError, match=says) as caught:
        read(tmp_path, text)
    assert caught.value.file == "profile.csv"
    assert (caught.value.row, caught.value.field) == (row, field)


def test_rows_are_counted_as_a_spreadsheet_does(tmp_path):
    with pytest.raises(TableError) as caught:
        read(tmp_path, "distance_km,height_amsl_m\n0,1\n\n\n1,x\n2,3\n")
    assert caught.value.row == 5


def test_no_such_file(tmp_path):
    with pytest.raises(InputError, match="can't read the path profile"):
        read_profile(tmp_path / "none.csv")


def test_written_and_read_again(tmp_path):
    rng = np.random.default_rng(20263)
    count = 400
    made = Profile(
        np.concatenate(([0.0], np.cumsum(rng.uniform(0.01, 90.0, count - 1)))),
        rng.normal(300.0, 200.0, count).astype(np.float32),
        np.concatenate(([0.0], rng.uniform(0.0, 30.0, count - 2), [0.0])),
        rng.choice([1, 3, 4], count).astype(np.uint8),
        12.0,
        53.2,
    )
    path = tmp_path / "out.csv"
    write_profile(path, made)
    again, rounded = read_profile(path, lat_mid_deg=53.2).rounded(), made.rounded()
    for name in ("distance_m", "ground_amsl_m", "clutter_m", "zone"):
        assert np.array_equal(getattr(again, name), np.asarray(getattr(rounded, name), dtype=getattr(again, name).dtype)), name
    assert path.read_bytes() == profile_text(rounded).encode()
    assert b"\r" not in path.read_bytes()
    assert "-0" not in profile_text(Profile(np.array([0.0, 1.0, 2.0]), np.full(3, -1e-7), np.zeros(3), np.full(3, 4, np.uint8), 0.0, 0.0))


def test_cannot_write(tmp_path):
    made = read(tmp_path, GOOD)
    with pytest.raises(OutputError, match="can't write the path profile"):
        write_profile(tmp_path / "no folder" / "out.csv", made)
