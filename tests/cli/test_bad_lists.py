"""Address lists as people have them, through the command line: every row accounted for, good ones judged, bad ones named."""

import csv
import json
import re
from collections import Counter

import openpyxl
import pytest
from small_job import ADDRESSES, place
from table_makers import points_file, write_book

HEAD = "id,name,lat_deg,lon_deg\n"
LAT, LON = place(506, 506)
A, B, C = place(506, 506), place(566, 506), place(700, 700)


def lines(*rows):
    return HEAD + "".join(",".join(map(str, row)) + "\n" for row in rows)


def accounted(job, read):
    """Every row of the list comes back, in order, with a verdict; the state words add up."""
    rows = job.verdicts()
    assert len(rows) == read
    for service in ("satellite", "terrestrial", "mobile"):
        assert sum(Counter(row[f"{service}_verdict"] for row in rows).values()) == read
        assert {row[f"{service}_verdict"] for row in rows} <= {"book", "survey first", "not feasible", "not judged"}
    return rows


# ---- encodings and delimiters --------------------------------------------------------------------------------------


def test_byte_order_mark_semicolons_decimal_commas_and_german_names(job):
    text = "Nummer;Straße;Breite;Länge\r\n" + "".join(
        f"{i};Gäßchen {i};{str(lat).replace('.', ',')};{str(lon).replace('.', ',')}\r\n" for i, (lat, lon) in enumerate((A, B), 1)
    )
    job.plan()
    for encoding in ("utf-8-sig", "utf-16", "cp1252"):
        job.write("addresses.csv", text.encode(encoding))
        done = job.tables()
        assert done.code == 0, done.err
        rows = accounted(job, 2)
        assert [row["Straße"] for row in rows] == ["Gäßchen 1", "Gäßchen 2"] and rows[0]["Breite"] == str(LAT).replace(".", ",")
        assert rows[0]["placed_lat_deg"].startswith(str(LAT)[:8])
    assert "Breite as latitude" in job.check().out


# ---- rows that are wrong -------------------------------------------------------------------------------------------


def test_empty_swapped_outside_and_duplicate_rows_are_named_and_the_good_ones_done(job):
    job.write("addresses.csv", lines(
        ("1", "good", *A), ("1", "same id", *B), ("2", "nowhere", "", ""), ("3", "turned", C[1], C[0]), ("4", "far off", "47.9", "15.9"),
        ("5", "words", "ask", "office"), ("6", "good too", *C), ("7", "sea", "0", "0"), ("8", "half", A[0], ""),
    ))  # fmt: skip
    job.plan()
    done = job.tables()
    assert done.code == 0 and re.search(r"\(6 of 9 addresses rejected: see .*rejects\.csv\)", done.out.splitlines()[-1])
    rows = accounted(job, 9)
    judged = [row["id"] + row["name"] for row in rows if row["satellite_verdict"] != "not judged"]
    # no satellite is named here: nothing is judged but the arc is given
    assert judged == [] and [bool(row["visible_arc"]) for row in rows] == [True, False, False, False, False, False, True, False, False]
    assert "No ground data reach this address." in rows[4]["satellite_reasons"]
    found = {row["row"]: row for row in job.rejects()}
    assert sorted(found) == ["10", "3", "4", "5", "7", "9"]
    assert (found["3"]["field"], found["3"]["value"]) == ("id", "1") and "already taken by row 2" in found["3"]["reason"]
    assert "empty" in found["4"]["reason"] and "swapped: not changed, not judged" in found["5"]["reason"]
    assert (found["7"]["value"], found["7"]["reason"]) == ("ask", "latitude is not a number")
    assert "0, 0 is a place in the sea" in found["9"]["reason"] and found["10"]["field"] == "lon_deg"
    checked = json.loads(job.check("--json").out)["addresses"]
    assert (checked["read"], checked["accepted"], checked["accepted_ids"]) == (9, 2, ["1", "6"])
    assert {reject["row"] for reject in checked["rejects"]} == {3, 4, 5, 6, 7, 9, 10}


def test_strict_makes_rejected_rows_an_exit_code(job):
    job.write("addresses.csv", lines(("1", "good", *A), ("2", "nowhere", "", "")))
    job.plan()
    done = job.tables("--strict")
    assert done.code == 6 and len(job.verdicts()) == 2
    job.write("addresses.csv", lines(("1", "good", *A)))
    assert job.tables("--strict").code == 0


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "addresses.csv: this file is empty (0 bytes)"),
        (b"id,lat_deg,lon_deg\n", "addresses.csv, row 1: there is no row below the heading"),
        (b"name,town\nMia,Sall\n", "no column is recognised as latitude and longitude or x and y (columns: name, town)"),
        (b"id,lat_deg,lon_deg\n1,,\n2,x,\n", "addresses.csv: none of 2 rows can be placed"),
        (b"id,lat_deg,lon_deg\n1,10.5,10.5\n", "none of 1 placed rows lies on the ground of this plan, which covers latitude 47.8"),
        (b"\x00\x01\x02\x03" * 50, "addresses.csv"),
        (b"%PDF-1.7 not a table", "addresses.csv"),
    ],
    ids=["empty", "heading only", "no coordinates", "none placed", "all outside", "binary", "pdf"],
)  # fmt: skip
def test_a_list_that_gives_nothing_is_one_message_and_nothing_written(job, content, says):
    job.plan()
    before = job.write("addresses.csv", ADDRESSES) and job.tables().code, job.state()
    job.write("addresses.csv", content)
    done = job.tables()
    assert before[0] == 0 and done.code == 3 and says in done.err and done.err.startswith("siteplan: ") and len(done.err.splitlines()) == 1
    assert job.state() == before[1], "the results of the last run stay"
    assert job.check().code == 3


# ---- text that would do harm ---------------------------------------------------------------------------------------


EVIL = (
    '<script>alert("x")</script>', '=HYPERLINK("http://x.example","y")', "+1+1", "@SUM(A1)", "-2+3", "\"><img src=x onerror=alert(1)>",
    "</title>", "${7*7} {{7*7}} %s {0}", "a\x1b[2Jb", "\u202etxt.exe", "'; DROP TABLE a; --",
)  # fmt: skip


@pytest.fixture
def evil(job):
    rows = [(f"{text}", text, *place(500 + 4 * i, 500)) for i, text in enumerate(EVIL)]
    import io

    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(["id", "=1+1", "<b>name</b>", "name", "lat_deg", "lon_deg"])
    writer.writerows([(row[0], "x", "y", *row[1:]) for row in rows])
    job.write("addresses.csv", text.getvalue())
    job.plan()
    done = job.run()
    assert done.code == 0, done.err
    return job


def test_names_are_data_in_every_file(evil):
    rows = accounted(evil, len(EVIL))
    for row, text in zip(rows, EVIL, strict=True):
        assert row["name"] == ("'" + text if text[0] in "=+-@" else text)
        for value in (*row.values(), *row):
            assert not value.startswith(("=", "+", "@")), "a spreadsheet would run this"
    book = openpyxl.load_workbook(evil.out / "verdicts.xlsx")
    cells = [cell for sheet in book for line in sheet.iter_rows() for cell in line if cell.value is not None]
    assert all(cell.data_type in "sn" and cell.hyperlink is None for cell in cells)
    shown = {str(cell.value) for cell in cells}
    assert {text for text in EVIL if text.isprintable()} <= shown
    places = json.loads((evil.out / "verdicts.geojson").read_text(encoding="utf-8"))
    assert [feature["properties"]["name"] for feature in places["features"]] == list(EVIL)
    pages = [evil.out / "index.html", evil.out / "map.html", *(evil.out / "sheets").iterdir()]
    assert len(pages) == 2 + len(EVIL)
    for page in pages:
        html = page.read_text(encoding="utf-8")
        for harm in ('<script>alert("x")', "<img src=x", "<b>name</b>", "</title></title>"):
            assert harm not in html, page.name
        assert html.count("</title>") <= 1 + html.count("<svg") * 2


def test_no_page_writes_a_name_into_a_script_unescaped(evil):
    for page in (evil.out / "index.html", evil.out / "map.html"):
        for script in re.findall(r"<script[^>]*>(.*?)</script>", page.read_text(encoding="utf-8"), re.DOTALL):
            assert "<script" not in script and 'alert("x")</' not in script


def test_odd_ids_give_files_that_stay_inside_and_apart(job):
    ids = [
        "007",
        "7",
        "../../etc/passwd",
        "C:\\boot.ini",
        "A1",
        "a1",
        "x" * 300,
        "x" * 299 + "y",
        "con",
        "",
        ".",
        "/",
        "ñandú",
        "line\nbreak",
    ]
    rows = [(f'"{one}"', "" if k % 2 else f'"{one}"', *place(500 + 4 * k, 500)) for k, one in enumerate(ids)]
    job.write("addresses.csv", lines(*rows))
    job.plan()
    done = job.run()
    assert done.code == 0, done.err
    got = accounted(job, len(ids))
    assert [row["id"] for row in got] == ids, "ids come back as they were given"
    sheets = [row["sheet"] for row in got]
    assert len({sheet.lower() for sheet in sheets}) == len(ids) and all(
        re.fullmatch(r"sheets/\d{4}[a-z0-9-]*\.html", one) for one in sheets
    )
    assert {path.name for path in (job.out / "sheets").iterdir()} == {one.removeprefix("sheets/") for one in sheets}
    assert {path.name for path in job.folder.iterdir()} == {"plan.toml", "addresses.csv", "outputs"}
    one = job.call("sheet", job.folder / "plan.toml", "7")
    assert one.code == 0 and sheets[1] in one.out
    assert job.call("sheet", job.folder / "plan.toml", "nobody").code == 3


# ---- formats -------------------------------------------------------------------------------------------------------


def test_a_workbook_with_tabs_titles_hidden_rows_and_a_total(job):
    table = [
        ["Installations, week 24"], [None], ["Nr", "Kunde", "Breite", "Länge"],
        [1, "Ada", *A], [2, "Ben", *B], [3, "Cem", *C], ["Summe", 3, None, None],
    ]  # fmt: skip
    write_book(job.folder / "list.xlsx", {"Adressen": table, "Notizen": [["nothing here"], [1]]}, hidden=(5,))
    job.plan(addresses="file = 'list.xlsx'")
    done = job.tables()
    assert done.code == 0, done.err
    rows = accounted(job, 4)
    assert [row["Kunde"] for row in rows] == ["Ada", "Ben", "Cem", "3"] and [row["row"] for row in rows] == ["4", "5", "6", "7"]
    assert "looks like a total, not an address" in rows[3]["satellite_reasons"]
    said = job.check().out
    for part in (
        "rows read: 4. Placed: 3. Not placed: 1.", "Hidden or filtered rows were read too: row 5.",
        "Title rows above the heading (row 3) skipped: 1", 'Sheet "Adressen" was read; other sheets: Notizen.',
        "The last row (7) looks like a total",
    ):  # fmt: skip
        assert part in said


@pytest.mark.parametrize("suffix", [".gpkg", ".geojson", ".parquet"])
def test_points_of_vector_files(job, suffix):
    places = [(A[1], A[0]), (B[1], B[0]), None]
    name = f"list{suffix}"
    if suffix == ".parquet":
        pytest.importorskip("pyarrow")
        import geopandas
        from shapely.geometry import Point

        shapes = [Point(*one) if one else None for one in places]
        geopandas.GeoDataFrame({"id": ["a", "b", "c"]}, geometry=shapes, crs="EPSG:4326").to_parquet(job.folder / name)
    else:
        points_file(job.folder / name, places, {"id": ["a", "b", "c"]}, crs="EPSG:4326")
    job.plan(addresses=f"file = '{name}'")
    done = job.tables()
    assert done.code == 0, done.err
    rows = accounted(job, 3)
    assert [row["id"] for row in rows] == ["a", "b", "c"] and len(job.rejects()) == 1
    assert rows[0]["placed_lat_deg"].startswith(str(A[0])[:8])


def test_a_format_of_no_use_says_what_to_do(job):
    for name, says in (("list.xls", "save it as .xlsx"), ("list.docx", "copy the table into a spreadsheet")):
        job.write(name, b"x")
        job.plan(addresses=f"file = '{name}'")
        done = job.tables()
        assert done.code == 3 and says in done.err and name in done.err


def test_a_library_that_is_missing_is_named_with_its_extra(job, monkeypatch):
    import sys

    job.write("list.parquet", b"PAR1")
    job.plan(addresses="file = 'list.parquet'")
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    monkeypatch.setitem(sys.modules, "pyarrow.parquet", None)
    done = job.tables()
    assert done.code == 5 and "pyarrow" in done.err and "pip install" in done.err and not (job.out / "verdicts.csv").exists()
