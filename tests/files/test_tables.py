"""Tables in every dress: encodings, delimiters, title rows, hidden rows, sheets, layers; and junk that must end in one sentence."""

import csv
import io

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from table_makers import points_file, write_book

from siteplan.errors import SiteplanError, TableError
from siteplan.files.column_names import is_known
from siteplan.files.spreadsheet import cell_text
from siteplan.files.table import SUFFIXES
from siteplan.files.tables import looks_like_total, read_table, squash

pytestmark = pytest.mark.quick
SEEDED = settings(derandomize=True, deadline=None, max_examples=60)


@pytest.fixture
def table(tmp_path):
    """Write bytes or text under a name and read them as a table."""

    def read(content: str | bytes, name: str = "list.csv", **more):
        (tmp_path / name).write_bytes(content if isinstance(content, bytes) else content.encode())
        return read_table(tmp_path / name, is_known, **more)

    return read


def codes(found):
    return {note.code: dict(note.values) for note in found.notes}


PLAIN = "id;Länge;Breite;name\n007;11,25;47,5;Öl\n8;11,26;47,6;Ÿ\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252", "utf-32"])
def test_encodings(table, encoding):
    found = table(PLAIN.encode(encoding))
    assert found.columns == ("id", "Länge", "Breite", "name")
    assert [row.cells for row in found.rows] == [("007", "11,25", "47,5", "Öl"), ("8", "11,26", "47,6", "Ÿ")]
    assert ("encoding_taken" in codes(found)) == (encoding == "cp1252")


def test_latin_1_and_central_european(table):
    assert table("name,länge\nMüller,1\n".encode("latin-1")).rows[0].cells[0] == "Müller"
    polish = table("szerokość;długość;ulica\n47,5;11,2;Żółta\n".encode("cp1250"))
    assert polish.columns == ("szerokość", "długość", "ulica") and polish.rows[0].cells[2] == "Żółta"
    assert codes(polish)["encoding_taken"]["encoding"] == "Windows-1250"


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_delimiters_and_line_ends(table, delimiter, end):
    found = table(end.join(delimiter.join(row) for row in (["id", "lat", "lon"], ["a", "47.5", "11.2"], ["b", "47.6", "11.3"])))
    assert found.columns == ("id", "lat", "lon") and [row.number for row in found.rows] == [2, 3]


def test_semicolons_win_over_decimal_commas(table):
    assert table("id;lat;lon\n1;47,5;11,2\n2;47,6;11,3\n").rows[1].cells == ("2", "47,6", "11,3")


def test_an_instruction_line_is_no_row(table):
    found = table("sep=;\nid;lat;lon\n1;47,5;11,2\n")
    assert found.heading_row == 1 and found.rows[0].number == 2


def test_titles_are_skipped_and_empty_rows_counted(table):
    found = table("Address list 2026;;\n;;\nid;lat;lon\n\n1;47;11\n;;\n2;47;11\n;;\n")
    assert [row.number for row in found.rows] == [5, 7] and found.heading_row == 3
    assert codes(found) == {"title_rows_skipped": {"count": 1, "heading_row": 3}, "empty_rows_skipped": {"count": 3}}


def test_line_breaks_and_quotes_in_cells(table):
    found = table('id,name,lat,lon\n1,"Mill\nLane ""x"", 3",47,11\n2,b,47,11\n')
    assert found.rows[0].cells[1] == 'Mill\nLane "x", 3' and found.rows[1].number == 3


def test_a_quotation_mark_never_closed_names_its_row(table):
    with pytest.raises(TableError, match="never closed") as caught:
        table('id,lat\n1,47\n2,"47\n' + "3,47\n" * 100)
    assert caught.value.row == 3
    with pytest.raises(TableError, match="never closed"):
        table('id,lat\n1,"' + "x" * 1_100_000)


def test_too_many_cells_are_a_fault_of_the_row_alone(table):
    found = table("id,lat,lon\n1,47,5,11,2\n2,47.5,11.2\n3,47.5,11.2,,\n4\n")
    assert "decimal comma" in found.rows[0].fault and [row.fault for row in found.rows[1:]] == ["", "", ""]
    assert found.rows[3].cells == ("4", "", "")


def test_columns_without_names_or_with_the_same(table):
    found = table("id,lat,lat,,lon\n1,2,3,4,5\n")
    assert found.columns == ("id", "lat", "lat (2)", "column 4", "lon")
    assert codes(found)["columns_renamed"]["names"] == "lat (2), column 4"


def test_dangerous_cells_stay_as_they_are(table):
    text = "id,name,lat,lon\n=1+1,<script>alert(1)</script>,47,11\n../../etc,@x,47,11\n"
    assert [row.cells[:2] for row in table(text).rows] == [("=1+1", "<script>alert(1)</script>"), ("../../etc", "@x")]


def test_workbook_numbers_hidden_rows_and_sheets(tmp_path):
    rows = [
        ["Our list"],
        [],
        ["id", "lat", "lon", None],
        [7, 47.5, 11.0, "remark"],
        ["007", 47, 11.25, None],
        [None],
        [3, True, "#N/A", None],
    ]
    path = write_book(tmp_path / "a.xlsx", {"Notes": [["hello", "you"]], "Jobs": rows, "Old": [["x"]]})
    found = read_table(path, is_known)
    assert found.columns == ("id", "lat", "lon", "column 4")
    assert [row.cells for row in found.rows] == [("7", "47.5", "11", "remark"), ("007", "47", "11.25", ""), ("3", "TRUE", "#N/A", "")]
    assert [row.number for row in found.rows] == [4, 5, 7]
    assert codes(found)["sheet_taken"] == {"sheet": "Jobs", "others": "Notes, Old"}
    assert read_table(path, is_known, sheet="Notes").columns == ("hello", "you")
    assert read_table(path, is_known, sheet=" notes ").columns == ("hello", "you")
    with pytest.raises(TableError, match="no sheet 'Nix'.*Notes, Jobs, Old"):
        read_table(path, is_known, sheet="Nix")


def test_hidden_rows_are_read_and_said(tmp_path):
    path = write_book(tmp_path / "a.xlsx", {"A": [["lat", "lon"], [1, 2], [3, 4], [5, 6], [7, 8]]}, hidden=(3, 4))
    found = read_table(path, is_known)
    assert len(found.rows) == 4 and codes(found)["hidden_rows_read"] == {"count": 2, "rows": "rows 3-4"}


def test_merged_titles_and_padded_numbers(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet["A1"] = "All jobs of the week"
    sheet.merge_cells("A1:C1")
    for place, value in zip(("A2", "B2", "C2", "A3", "B3", "C3"), ("id", "lat", "lon", 7, 47.5, 11.2), strict=True):
        sheet[place] = value
    sheet["A3"].number_format = "000"
    sheet["Z100000"].number_format = "0.00"  # a stray format far below
    book.save(tmp_path / "a.xlsx")
    found = read_table(tmp_path / "a.xlsx", is_known)
    assert found.heading_row == 2 and found.rows[0].cells == ("007", "47.5", "11.2") and len(found.rows) == 1


@pytest.mark.parametrize(
    ("value", "text"), [(7.0, "7"), (1e15, "1000000000000000.0"), (0.1, "0.1"), (True, "TRUE"), (None, ""), ("=1", "=1"), (-3, "-3")]
)
def test_cell_text(value, text):
    assert cell_text(value) == text


@pytest.mark.parametrize("suffix", [".gpkg", ".geojson", ".fgb", ".shp"])
def test_points_of_vector_files(tmp_path, suffix):
    path = points_file(tmp_path / f"a{suffix}", [(11.2, 47.5), (11.3, 47.6)], {"id": [7, 8], "name": ["a", "<b>"]}, crs="EPSG:4326")
    found = read_table(path, is_known)
    assert found.columns == ("id", "name") and found.points and sorted(row.cells for row in found.rows) == [("7", "a"), ("8", "<b>")]
    assert [row.number for row in found.rows] == [2, 3] and {round(row.x, 6) for row in found.rows} == {11.2, 11.3}


def test_layers_and_rows_without_a_point(tmp_path):
    path = points_file(tmp_path / "a.gpkg", [(1.0, 2.0), None], {"id": ["x", "y"]}, crs="EPSG:32632", layer="jobs")
    points_file(path, [(3.0, 4.0)], {"id": ["z"]}, crs="EPSG:4326", layer="more", append=True)
    found = read_table(path, is_known)
    assert codes(found)["layer_taken"] == {"layer": "jobs", "others": "more"} and "32632" in found.crs
    assert [row.point for row in found.rows] == ["", "has no point"]
    assert read_table(path, is_known, layer="more").rows[0].cells == ("z",)
    with pytest.raises(TableError, match="no layer 'nix'.*jobs, more"):
        read_table(path, is_known, layer="nix")


def test_vector_rows_that_are_no_single_point(tmp_path):
    shapes = [
        '{"type":"MultiPoint","coordinates":[[1,2],[3,4]]}', '{"type":"MultiPoint","coordinates":[[1,2]]}',
        '{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}', "null",
    ]  # fmt: skip
    features = ",".join(f'{{"type":"Feature","properties":{{"id":{n}}},"geometry":{shape}}}' for n, shape in enumerate(shapes))
    (tmp_path / "a.geojson").write_text(f'{{"type":"FeatureCollection","features":[{features}]}}')
    found = read_table(tmp_path / "a.geojson", is_known)
    assert [row.point for row in found.rows] == ["has 2 points; one is wanted", "", "is a polygon; a point is wanted", "has no point"]


def test_a_vector_file_is_held_to_its_name(tmp_path):
    trick = '<OGRVRTDataSource><OGRVRTLayer name="x"><SrcDataSource>/vsicurl/http://127.0.0.1/x.geojson</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>'
    for name in ("a.gpkg", "a.geojson", "a.fgb", "a.shp", "a.parquet"):
        (tmp_path / name).write_text(trick)
        with pytest.raises(TableError, match="by its content"):
            read_table(tmp_path / name, is_known)


def test_parquet_points(tmp_path):
    pytest.importorskip("pyarrow", reason="reading Parquet needs pyarrow, which siteplan does not require")
    import geopandas
    import shapely

    frame = geopandas.GeoDataFrame({"id": ["007"], "n": [3.0]}, geometry=[shapely.Point(11.2, 47.5)], crs="EPSG:4326")
    frame.to_parquet(tmp_path / "a.parquet")
    found = read_table(tmp_path / "a.parquet", is_known)
    assert found.rows[0].cells == ("007", "3") and (found.rows[0].x, found.rows[0].y) == (11.2, 47.5)


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("a.csv", b"", "empty"),
        ("a.csv", b"  \n\n", "empty"),
        ("a.csv", b"PK\x03\x04\x00\x00\x00\x00\x01\x02" * 20, "not a text table"),
        ("a.csv", b"\xff\xfea\x00b", "does not go on so"),
        ("a.xlsx", b"hello", "not an .xlsx workbook"),
        ("a.xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"0" * 600, "password"),
        ("a.xls", b"x", "save it as .xlsx"),
        ("a.pdf", b"%PDF", "ask for the table"),
        ("a.gpkg", b"SQLite format 3\x00" + b"x" * 100, "damaged"),
        ("a.geojson", b'{"type":"FeatureCollection","features":[', "damaged"),
        ("a.parquet", b"PAR1xxxxPAR1", "Parquet"),
    ],
)
def test_files_that_are_no_tables(table, name, content, says):
    with pytest.raises(SiteplanError, match=says):
        table(content, name)


def test_a_workbook_cut_short(tmp_path):
    path = write_book(tmp_path / "a.xlsx", {"A": [["lat", "lon"], [1, 2]]})
    whole = path.read_bytes()
    for size in (len(whole) // 2, len(whole) - 30, 40):
        path.write_bytes(whole[:size])
        with pytest.raises(TableError):
            read_table(path, is_known)
    with pytest.raises(TableError, match="no such file"):
        read_table(tmp_path / "none.csv", is_known)


def test_totals_and_names():
    assert all(looks_like_total(row) for row in (["Total", "9"], ["", "Summe:"], ["Gesamtanzahl"], ["suma", ""], ["Σ total"]))
    assert not any(looks_like_total(row) for row in (["Totland Road"], ["7"], ["", ""], ["Somerset 4"], ["Summer Lane"]))
    assert squash("Länge (°)") == "lange" and squash("SZEROKOŚĆ_geo") == "szerokoscgeo" and squash("Straße") == "strasse"


# ---- anything at all ------------------------------------------------------------------------------------------------

TEXTS = st.text(st.characters(blacklist_categories=("Cs", "Cc"), blacklist_characters="\u2028\u2029\x85\ufeff"), max_size=12)


@SEEDED
@given(
    rows=st.lists(st.lists(TEXTS, min_size=3, max_size=3), min_size=1, max_size=6),
    delimiter=st.sampled_from(",;\t"),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
)
def test_what_is_written_is_read(tmp_path_factory, rows, delimiter, encoding):
    rows = [[f"r{number}", *row] for number, row in enumerate(rows)]
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter).writerows([["id", "lat", "lon", "name"], *rows])
    path = tmp_path_factory.mktemp("fuzz") / "a.csv"
    path.write_bytes(out.getvalue().encode(encoding))
    found = read_table(path, is_known)
    assert [list(row.cells) for row in found.rows] == rows and [row.number for row in found.rows] == list(range(2, len(rows) + 2))


@SEEDED
@given(content=st.binary(max_size=300), suffix=st.sampled_from(sorted(SUFFIXES)))
def test_junk_ends_in_one_of_our_errors(tmp_path_factory, content, suffix):
    path = tmp_path_factory.mktemp("fuzz") / f"a{suffix}"
    path.write_bytes(content)
    try:
        found = read_table(path, is_known)
    except SiteplanError as wrong:
        assert path.name in str(wrong)
    else:
        assert len(set(found.columns)) == len(found.columns) and all(len(row.cells) == len(found.columns) for row in found.rows)
