"""Tables out: as many lines as rows, the user's columns first, nothing that a spreadsheet would run, the same bytes each time."""

import csv
import io
import time
import zipfile
from dataclasses import replace

import openpyxl
import pytest
from files.hand_rows import COLUMNS, NAMES, findings, placed

from siteplan.files.verdict_columns import columns_of, orbit_key, rounded, slug
from siteplan.files.write_tables import defused, rejects_csv, verdicts_csv, verdicts_xlsx
from siteplan.records.places import AddressList, Reject
from siteplan.records.verdict import SERVICES, State
from siteplan.words.columns import COLUMNS as WORDS

pytestmark = pytest.mark.quick


def read(data: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(data.decode("utf-8"), newline="")))


def sheet(data: bytes, name: str):
    return openpyxl.load_workbook(io.BytesIO(data))[name]


def test_one_line_for_each_row_in_the_inputs_order() -> None:
    rows = read(verdicts_csv(findings()))
    assert [row["row"] for row in rows] == ["2", "3", "4", "5", "6", "7"]
    assert [row["job_verdict"] for row in rows] == ["book", "survey first", "not feasible", "book", "not judged", "not judged"]
    for service in SERVICES:
        assert [row[f"{service}_verdict"] for row in rows] == [row["job_verdict"] for row in rows]
        assert all(row[f"{service}_reasons"] for row in rows)
    assert rows[0]["satellite_how_sure"] == "fair, because trees are unknown"
    assert rows[5]["satellite_reasons"] == "This row could not be placed: latitude is empty"


def test_the_users_columns_come_first_and_give_way_where_names_collide() -> None:
    header = verdicts_csv(findings()).decode().split("\n")[0].split(",")
    assert header[:4] == ["id", "name", "row_given", "Notes"]
    assert len({name.casefold() for name in header}) == len(header)
    assert [row["row_given"] for row in read(verdicts_csv(findings()))][:2] == ["their own", "their own"]


def test_colliding_names_of_any_case_and_empty_ones_stay_apart() -> None:
    run = findings()
    names = ("ROW", "row_given", "geom", "", "Job_Verdict")
    run = replace(run, addresses=AddressList("x.csv", names, run.addresses.rows))
    keys = [column.key for column in columns_of(run)]
    assert keys[:5] == ["ROW_given", "row_given", "geom", "column_4", "Job_Verdict_given"]
    assert len(set(keys)) == len(keys)


def test_figures_have_units_in_their_names_and_the_digits_they_deserve() -> None:
    row = read(verdicts_csv(findings()))[0]
    expected = {
        "satellite_25e_azimuth_deg": "148.6", "satellite_25e_magnetic_azimuth_deg": "151.1", "satellite_25e_elevation_deg": "22.4",
        "satellite_25e_skew_deg": "-17.3", "satellite_25e_mount_height_agl_m": "5.1", "satellite_25e_dish_m": "0.80",
        "satellite_25e_link_margin_db": "6.1", "satellite_25e_obstacle": "growth", "satellite_25e_obstacle_distance_m": "34",
        "satellite_25e_obstacle_height_agl_m": "9.1", "satellite_30w_view": "clear", "declination_deg": "-2.51",
        "terrestrial_transmitter": "Hallow Hill", "terrestrial_bearing_deg": "0.0", "terrestrial_distance_km": "11.1",
        "terrestrial_polarisation": "horizontal", "terrestrial_multiplex": "Mux B", "terrestrial_level_dbuv": "53.0",
        "terrestrial_margin_db": "-5.0", "terrestrial_blocked_at_m": "4100", "terrestrial_other_aims": "Cairn Tor +14 dB",
        "mobile_operator": "Corvid", "mobile_site": "Mill Lane", "mobile_band": "800", "mobile_bearing_deg": "35.0",
        "mobile_rsrp_dbm": "-88.8", "mobile_corvid_rsrp_dbm": "-88.8", "placed_lat_deg": "47.5020000", "visible_arc": "40W to 12.5E",
    }  # fmt: skip
    assert {key: row[key] for key in expected} == expected


def test_unknown_is_empty_and_where_no_dish_works_the_largest_tried_gives_the_reserve() -> None:
    rows = read(verdicts_csv(findings()))
    assert rows[1]["satellite_25e_dish_m"] == "" and rows[1]["satellite_25e_link_margin_db"] == "6.1"
    assert rows[4]["satellite_25e_azimuth_deg"] == rows[5]["placed_lat_deg"] == rows[5]["ground_amsl_m"] == ""


@pytest.mark.parametrize("text", ["=1+1", "+1 call", "-5 kW", "@home", "\tx", "\rx", "\n=x", "\uff1d1", "--1", "-1e", "+"])
def test_what_a_spreadsheet_would_run_gets_an_apostrophe(text: str) -> None:
    assert defused(text) == "'" + text


@pytest.mark.parametrize("text", ["-3.5", "+44", "-3,5", "-.5", "-1e-3", "-9.5", "", "plain", "a=b", "5-6"])
def test_plain_numbers_and_words_stay_as_they_are(text: str) -> None:
    assert defused(text) == text


def test_names_from_the_list_are_defused_in_csv_and_plain_in_the_workbook() -> None:
    rows = read(verdicts_csv(findings()))
    assert rows[0]["Notes"] == "-3.5" and rows[1]["Notes"] == "'+1 call" and rows[1]["name"] == '\'=HYPERLINK("x")'
    table = sheet(verdicts_xlsx(findings()), "Verdicts")
    cells = [cell for row in table.iter_rows() for cell in row]
    assert {cell.data_type for cell in cells} <= {"s", "n"}
    assert table["B3"].value == '=HYPERLINK("x")' and table["B3"].data_type == "s"


def test_line_breaks_commas_and_quotes_in_cells_come_back() -> None:
    run = findings()
    odd = 'first\nsecond, "third"'
    first = run.rows[0]
    changed = replace(first, row=replace(first.row, cells={**first.row.cells, "name": odd}))
    rows = read(verdicts_csv(replace(run, rows=(changed, *run.rows[1:]))))
    assert len(rows) == 6 and rows[0]["name"] == odd


def test_broken_characters_never_stop_a_run() -> None:
    run = findings()
    first = run.rows[0]
    changed = replace(first, row=replace(first.row, cells={**first.row.cells, "name": "a\x00b\x0bc\udc80", "Notes": "x" * 40_000}))
    run = replace(run, rows=(changed, *run.rows[1:]))
    assert b"a\x00b" in verdicts_csv(run)
    table = sheet(verdicts_xlsx(run), "Verdicts")
    assert table["B2"].value == "a\ufffdb\ufffdc?" and len(table["D2"].value) == 32_000


def test_rejects_name_file_row_field_value_and_reason() -> None:
    rows = read(rejects_csv(findings()))
    assert rows[0] == {"file": "list.csv", "row": "7", "field": "lat_deg", "value": "", "reason": "latitude is empty"}
    assert rows[1]["value"] == "'-5 kW" and rows[1]["reason"].startswith("'=")
    assert rejects_csv(replace(findings(), rejects=())) == b"file,row,field,value,reason\n"


def test_workbook_for_people() -> None:
    data = verdicts_xlsx(findings())
    book = openpyxl.load_workbook(io.BytesIO(data))
    assert book.sheetnames == ["Verdicts", "What the columns mean", "Not judged"]
    table = book["Verdicts"]
    assert table.max_row == 7 and table.freeze_panes == "B2" and table.auto_filter.ref.startswith("A1:")
    heads = [cell.value for cell in table[1]]
    assert heads[:4] == ["id", "name", "row_given", "Notes"] and "Verdict for the job" in heads and "Oriel 25E: true bearing, °" in heads
    job = heads.index("Verdict for the job")
    fills = [row[job].fill.fgColor.rgb for row in table.iter_rows(min_row=2)]
    assert len(set(fills[:3])) == 3 and fills[0] == fills[3] and fills[4] == fills[5]
    assert [row[job].value for row in table.iter_rows(min_row=2)][:3] == ["book", "survey first", "not feasible"]
    why = heads.index("Satellite: why")
    assert table.cell(2, why + 1).alignment.wrap_text
    left = [[cell.value for cell in row] for row in book["Not judged"].iter_rows(min_row=2)]
    assert [line[1] for line in left] == [6, 7, 4] and left[0][3] == "satellite, terrestrial TV, mobile internet"
    assert left[2][0] == "transmitters.csv" and left[2][4] == "=a power can't be negative"
    meanings = {row[1].value: row[2].value for row in book["What the columns mean"].iter_rows(min_row=2)}
    assert set(meanings) == {column.key for column in columns_of(findings())} and all(meanings.values())


def test_same_bytes_whenever_they_are_written() -> None:
    first = verdicts_xlsx(findings())
    time.sleep(2.1)  # a zip counts time in steps of two seconds
    assert verdicts_xlsx(findings()) == first
    with zipfile.ZipFile(io.BytesIO(first)) as packed:
        assert {entry.date_time for entry in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert packed.read("docProps/core.xml").count(b"2026-06-11T00:00:00Z") == 2
    assert verdicts_csv(findings()) == verdicts_csv(findings())


def test_two_satellites_at_one_place_and_two_operators_of_one_slug_stay_apart() -> None:
    run = findings()
    twin = replace(run.satellites[0], name="Oriel Two")
    sectors = (run.sectors[0], replace(run.sectors[0], operator="CORVID!"))
    keys = [column.key for column in columns_of(replace(run, satellites=(*run.satellites, twin), sectors=sectors))]
    assert "satellite_25e_oriel_two_azimuth_deg" in keys and "mobile_corvid_other_band" in keys and len(set(keys)) == len(keys)


def test_a_run_without_senders_or_rows_still_has_its_columns() -> None:
    run = replace(findings(), rows=(), satellites=(), sectors=(), transmitters=(), rejects=())
    assert verdicts_csv(run).decode().startswith("id,name,row_given,Notes,row,job_verdict,satellite_verdict,")
    assert sheet(verdicts_xlsx(run), "Verdicts").max_row == 1


@pytest.mark.parametrize(
    ("text", "expected"),
    [("Orchard Steep 14", "orchard-steep-14"), ("Ölgasse 7/2", "oelgasse-7-2"), ("O\u0308lgasse", "oelgasse"), ("Straße", "strasse"),
     ("Ærø Łódź", "aero-lodz"), ("<script>", "script"), ("../../etc/passwd", "etc-passwd"), ("東京", ""), ("x" * 99, "x" * 60)],
)  # fmt: skip
def test_slugs_are_plain_ascii(text: str, expected: str) -> None:
    assert slug(text) == expected


@pytest.mark.parametrize(("orbit_deg", "expected"), [(19.2, "19_2e"), (-30.0, "30w"), (0.0, "0"), (-0.8, "0_8w"), (28.25, "28_25e")])
def test_orbits_as_names(orbit_deg: float, expected: str) -> None:
    assert orbit_key(orbit_deg) == expected


def test_rounding_keeps_unknown_unknown_and_never_says_minus_nothing() -> None:
    assert rounded(float("nan"), 1) is None and rounded(None, 0) is None and rounded(float("inf"), 1) is None
    assert str(rounded(-0.04, 1)) == "0.0" and rounded(2.5001, 0) == 3 and rounded(3.14159, 2) == 3.14


def test_every_column_of_ours_has_words() -> None:
    assert all(title and meaning for title, meaning in WORDS.values())
    assert set(COLUMNS) & {column.title for column in columns_of(findings())} == {"id", "name", "Notes"}
    assert len(NAMES) == 6 and placed(2, State.BOOK).job is State.BOOK
    assert isinstance(findings().rejects[0], Reject)
