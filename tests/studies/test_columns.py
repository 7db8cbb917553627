"""`siteplan columns`: every column that a reader looks for is explained, and nothing else is."""

from __future__ import annotations

import csv

import pytest
from hand_ground import plan

from siteplan.errors import InputError
from siteplan.studies.columns import READ, WRITTEN, columns_lines, columns_values, empty_table
from siteplan.words import input_tables as words
from siteplan.words.language import speak

TABLES = (*READ, *WRITTEN)
pytestmark = pytest.mark.quick


@pytest.mark.parametrize("table", TABLES)
def test_every_column_has_a_meaning(table):
    columns = {**READ, **WRITTEN}[table]
    assert [column for column in columns if not words.meaning(table, column).strip()] == []
    assert len(set(columns)) == len(columns)


def test_no_text_is_left_over():
    said = {key for key in words.TEXTS if "." in key and not key.startswith("*.")}
    known = {f"{table}.{column}" for table, columns in {**READ, **WRITTEN}.items() for column in columns}
    assert said - known == set()
    everywhere = {column for columns in {**READ, **WRITTEN}.values() for column in columns}
    assert {key[2:] for key in words.TEXTS if key.startswith("*.")} - everywhere == set()
    for table, groups in words.NEEDED.items():
        assert {column for group in groups for column in group} - set(READ[table]) == set(), table


@pytest.mark.parametrize("language", ["de", "fr"])
def test_other_languages_are_whole(language):
    try:
        english = {(table, column): words.meaning(table, column) for table in TABLES for column in {**READ, **WRITTEN}[table]}
        speak(language)
        same = [key for key, text in english.items() if words.meaning(*key) == text and len(text.split()) > 4]
        assert same == []
    finally:
        speak()


def test_lines_name_what_is_needed():
    lines = "\n".join(columns_lines("satellites"))
    assert "orbit_deg" in lines and "(needed) Orbital position" in lines
    assert "(one of these)" in "\n".join(columns_lines("transmitters"))
    assert all(len(line) <= 120 for table in TABLES for line in columns_lines(table))


def test_values_hold_every_table():
    found = columns_values()
    assert tuple(found) == TABLES
    needed = {one["column"] for one in found["sectors"]["columns"] if one["needed"] == "yes"}
    assert needed == {"operator", "lat_deg", "lon_deg", "antenna_height_agl_m", "technology"}


def test_another_table_is_told():
    with pytest.raises(InputError, match="no table 'trees'.*satellites"):
        columns_lines("trees")
    with pytest.raises(InputError, match="does not read a table 'kit'"):
        empty_table("kit")


@pytest.mark.parametrize("table, row, read", [
    ("satellites", {"orbit_deg": "25", "frequency_mhz": "11000", "polarisation": "H", "symbol_rate_kbaud": "27500", "code_rate": "3/4"}, 1),
    ("transmitters", {"transmitter": "A", "lat_deg": "47", "lon_deg": "9", "antenna_height_agl_m": "90", "channel": "22", "erp_kw": "1",
                      "polarisation": "h", "mode": "DVB-T2 256QAM 2/3"}, 1),
    ("sectors", {"operator": "A", "lat_deg": "47", "lon_deg": "9", "antenna_height_agl_m": "30", "technology": "LTE",
                 "frequency_mhz": "806", "re_eirp_dbm": "20"}, 1),
])  # fmt: skip
def test_an_empty_table_with_the_needed_cells_filled_is_read(table, row, read, tmp_path):
    """The rows that NEEDED calls enough are enough for the reader; without any one group, it refuses."""
    from siteplan.files.emitters import read_satellites, read_sectors, read_transmitters

    readers = {"satellites": read_satellites, "transmitters": read_transmitters, "sectors": read_sectors}
    columns = empty_table(table).split(",")
    file = tmp_path / "table.csv"

    def count(cells):
        with file.open("w", newline="") as out:
            writer = csv.DictWriter(out, columns)
            writer.writeheader()
            writer.writerow(cells)
        got, rejects = readers[table](_plan(table, file))
        return len(got), len(rejects)

    assert count(row) == (read, 0)
    for group in words.NEEDED[table]:
        left = {key: value for key, value in row.items() if key not in group}
        assert count(left) == (0, 1), group


def _plan(table, file):
    made = plan()
    key = {"sectors": "mobile"}.get(table, table)
    return made.model_copy(update={key: getattr(made, key).model_copy(update={"file": file})})
