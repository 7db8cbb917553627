"""Readings as meters and people write them: units, commas, dates, cut and doubled files. Nothing is guessed, nothing is lost."""

import json
import os
from datetime import UTC, datetime, timedelta, timezone

import pytest
from three_homes import NOW, good, put, write_plan

from siteplan.errors import InputError
from siteplan.files.reading_columns import column_of, plain_number, split_unit
from siteplan.files.readings import read_readings
from siteplan.studies.readings_job import take_readings, taken_lines


@pytest.fixture
def plan(tmp_path):
    return write_plan(tmp_path)


def said(plan, name="in"):
    return "\n".join(taken_lines(take_readings(plan, plan.parent / name, now=NOW)))


@pytest.mark.quick
@pytest.mark.parametrize(
    ("heading", "ours"),
    [
        ("C/N [dB]", "cn_db"), ("CNR", "cn_db"), ("MER dB", "mer_db"), ("Signal level (dBµV)", "level_dbuv"), ("Pegel dBuV", "level_dbuv"),
        ("Channel power [dBm]", "level_dbm"), ("RF level dBmV", "level_dbmv"), ("Frequenz (GHz)", "frequency_ghz"),
        ("Fréquence [kHz]", "frequency_khz"), ("Level", "level"), ("Field strength (dBµV/m)", ""), ("Level (dBµV/m)", ""),
        ("pre-BER", "pre_ber"), ("Link margin (dB)", "margin_db"), ("Colour", ""),
    ],
)  # fmt: skip
def test_headings_by_standard_terms_and_units(heading, ours):
    assert column_of(heading) == ours


@pytest.mark.quick
def test_numbers_with_units_bounds_and_powers():
    assert split_unit("65,5 dBµV") == ("65,5", "dbuv") and split_unit("16.2") == ("16.2", "")
    assert [plain_number(text) for text in ("<1e-8", "2,3·10^-6", "≤ 4x10-5", "16.2")] == ["1e-8", "2,3e-6", "4e-5", "16.2"]


def test_cells_that_say_their_own_unit_and_a_level_that_says_none(plan):
    put(plan, "a.csv", "id,carrier,Level,C/N [dB],pre-BER\nA-1,O1,5 dBmV,16.2 dB,<1e-8\nA-1,O2,65,16,\nA-1,O3,65 dBµV,16 MHz,\n")
    taken = take_readings(plan, plan.parent / "in", now=NOW)
    first = taken.files[0].compared[0].reading
    assert (first.level_dbuv, first.cn_db, first.pre_ber) == (65.0, 16.2, 1e-8)
    text = "\n".join(taken_lines(taken))
    assert "the level 65 says no unit" in text and "says another unit than its column" in text


def test_a_decimal_comma_in_a_comma_file_is_never_read_as_two_columns(plan):
    put(plan, "a.csv", "id,carrier,level_dbuv,cn_db\nA-1,O1,65,4,16,2\nA-1,O2,65,16\n")
    taken = take_readings(plan, plan.parent / "in", now=NOW)
    assert [one.expected.carrier for one in taken.files[0].compared] == ["O2"] and "has 6 cells" in taken.rejects[0].reason
    put(plan, "a.csv", "id;carrier;level_dbuv;cn_db\nA-1;O1;65,4;16,2\n")
    assert take_readings(plan, plan.parent / "in", now=NOW).files[0].compared[0].reading.cn_db == 16.2


def test_a_file_cut_short_loses_its_last_row_alone(plan):
    put(plan, "a.csv", "id,carrier,level_dbuv,cn_db,taken_at\nA-1,O1,65,16,2026-06-12 10:00\nA-1,O2,65,1")
    taken = take_readings(plan, plan.parent / "in", now=NOW)
    assert [one.expected.carrier for one in taken.files[0].compared] == ["O1"] and "cut short" in taken.rejects[0].reason
    put(plan, "a.csv", "id,carrier,level_dbuv,cn_db\nA-1,O1,65,16\nA-1,O2,65,16")  # whole, its last line is merely not ended
    assert len(take_readings(plan, plan.parent / "in", now=NOW).files[0].compared) == 2


def test_what_fits_several_carriers_is_not_guessed(plan):
    """The same IF in two sub-bands: only with its polarisation, or its frequency in the air, is it one carrier."""
    out = plan.parent / "out" / "expected.csv"
    lines = out.read_text(encoding="utf-8").splitlines()
    twin = lines[1].replace(",O1,VL,10847.0,", ",O4,HH,11697.0,")
    out.write_text("\n".join([*lines, twin]) + "\n", encoding="utf-8")
    put(plan, "a.csv", "id,frequency_mhz,pol,cn_db\nA-1,1097,,16\nA-1,1097,H,15\nA-1,10847,,14\n")
    taken = take_readings(plan, plan.parent / "in", now=NOW)
    assert [(one.expected.carrier, one.reading.cn_db) for one in taken.files[0].compared] == [("O4", 15.0), ("O1", 14.0)]
    assert "1097 MHz may be O1 (Oriel 25E) and O4 (Oriel 25E)" in "\n".join(taken_lines(taken))


def test_a_reading_without_its_outlet_is_not_given_to_the_first(plan):
    out = plan.parent / "out" / "expected.csv"
    lines = out.read_text(encoding="utf-8").splitlines()
    out.write_text("\n".join([*lines, lines[1].replace("outlet 1", "outlet 2")]) + "\n", encoding="utf-8")
    put(plan, "a.csv", "id,carrier,outlet,cn_db\nA-1,O1,,16\nA-1,O1,outlet 2,16\nA-1,O1,kitchen,16\n")
    text = said(plan)
    assert "O1 names no outlet, and it was expected at outlet 1 and outlet 2" in text
    assert "O1 was read at kitchen, which is none of the outlets here" in text and "O1 at outlet 2: C/N 16.0" in text


def test_times_as_people_write_them_and_the_latest_by_time(plan):
    put(
        plan, "a.csv",
        "id,carrier,level_dbuv,cn_db,taken_at\nA-1,O1,60,12,2026-06-12 12:00\nA-1,O1,61,13,2026-06-12T11:00\n"
        "A-1,O1,62,14,12.06.2026 11:30\nA-1,O2,62,14,06/12/2026\n",
    )  # fmt: skip
    taken = take_readings(plan, plan.parent / "in", now=NOW)
    text = "\n".join(taken_lines(taken))
    assert "O1 at outlet 1: level 60" in text and "(2026-06-12 11:00, 2026-06-12 11:30 and 2026-06-12 12:00)" in text
    assert [bad.field for bad in taken.rejects] == ["taken_at"]


def test_the_future_is_judged_in_the_zone_that_is_named(tmp_path):
    """At 12:00 UTC it is 14:00 in central Europe: what was read there at 13:55 is past, with or without its zone."""
    noon = datetime(2026, 7, 1, 12, 0, tzinfo=UTC)
    file = tmp_path / "a.csv"
    head = "carrier,cn_db,taken_at\n"
    file.write_text(head + "A,16,2026-07-01 13:55+02:00\nB,16,2026-07-01 13:55\nC,16,2026-07-01 14:05+02:00\nD,16,2026-07-02 03:00\n")
    readings, rejects = read_readings(file, now=noon)
    assert [one.carrier for one in readings] == ["A", "B"] and [bad.row for bad in rejects] == [4, 5]
    assert readings[0].moment == datetime(2026, 7, 1, 13, 55, tzinfo=timezone(timedelta(hours=2)))


def test_a_copied_file_counts_once(plan):
    put(plan, "a.csv", good("A-1"))
    put(plan, "a (1).csv", good("A-1"))
    taken = take_readings(plan, plan.parent / "in", now=NOW)
    assert (taken.stored, taken.known) == (3, 3)
    assert take_readings(plan, plan.parent / "in" / "a.csv", now=NOW).known == 3


def test_everything_in_a_folder_is_accounted_for(plan):
    put(plan, "a.csv", good("A-1"))
    put(plan, "head.csv", "id,carrier,cn_db\n")
    put(plan, "report.pdf", "x")
    os.symlink("/nowhere", plan.parent / "in" / "gone.csv")
    os.mkfifo(plan.parent / "in" / "pipe.csv")
    put(plan, "mixed.json", json.dumps([{"id": "A-2", "carrier": "O1", "cn_db": 16, "colour": "red"}, 3]))
    text = said(plan)
    assert "left out, it is no file of readings: gone.csv, pipe.csv, report.pdf" in text
    assert "head.csv: there is no reading in it" in text and "columns not used: colour" in text
    assert "mixed.json, row 2: is no reading" in text and "mixed.json: matched to row 3 by id" in text


def test_a_reading_taken_at_another_address_is_told(plan):
    put(plan, "a.csv", "id,carrier,cn_db,lat,lon\nA-1,O1,16,47.6,-9.5\n")
    assert "1 readings say that they were taken 11 km away from this address" in said(plan)


def test_signs_that_steer_a_terminal_are_not_passed_on(plan):
    put(plan, "a.csv", "id,carrier,cn_db,\x1b[31mcol\n\x1b[2JEVIL,O1,16,\nA-1,\x1b]0;x\x07O9,16,\nA-1,O1,\x1b[1mx,\n")
    text = said(plan)
    assert "EVIL" in text and all(sign.isprintable() or sign == "\n" for sign in text)


def test_all_faults_are_told_where_nothing_could_be_used(plan):
    put(plan, "a.csv", "id,carrier,cn_db\nA-1,O1,abc\nA-1,O2,900\n")
    put(plan, "b.csv", "")
    with pytest.raises(InputError, match=r"row 2: cn_db 'abc'.*row 3: cn_db '900'.*b.csv: this file is empty"):
        take_readings(plan, plan.parent / "in", now=NOW)


def test_a_level_that_would_fit_in_another_unit_is_hinted_at(plan):
    put(plan, "a.csv", "id,carrier,level_dbm,cn_db\nA-1,O1,5,16\n")
    assert "would fit if it was read in dBmV and written down as dBm" in said(plan)
