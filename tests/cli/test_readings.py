"""Readings in, proof and review out: on a small job with its own expectation, through the studies that the commands call."""

import csv
import json

import PIL.Image
import pytest
import small_job
from three_homes import NOW, good, put, write_plan

from siteplan.errors import InputError
from siteplan.files.expected import read_expected
from siteplan.files.plan_file import read_plan
from siteplan.records.readings import PORT
from siteplan.report import review_page
from siteplan.studies.proof_job import make_review, review_of
from siteplan.studies.readings_job import take_readings, taken_json, taken_lines
from siteplan.words import sentence
from siteplan.words.formats import number


@pytest.fixture
def plan(tmp_path):
    return write_plan(tmp_path)


def test_expected_csv_comes_back(plan):
    back = read_expected(plan.parent / "out" / "expected.csv")
    assert len(back) == 9 and back[0].carrier == "O1" and back[0].job == "book" and back[0].threshold_db == 9.0


def test_a_file_is_matched_by_id_by_name_or_by_place(plan):
    put(plan, "one.csv", good("A-1"))
    put(plan, "a-2.csv", "carrier,level_dbuv,cn_db\nO1,65,16\n")
    put(plan, "near.csv", "lat_deg,lon_deg,frequency_mhz,level_dbuv,cn_db\n47.60010,-9.5,12604,65,16\n")
    put(plan, "far.csv", "lat_deg,lon_deg,frequency_mhz,level_dbuv,cn_db\n47.6022,-9.5,12604,65,16\n")
    put(plan, "lost.csv", "carrier,level_dbuv,cn_db\nO1,65,16\n")
    put(plan, "strange.csv", "id,carrier,level_dbuv,cn_db\nZ-9,O1,65,16\n")
    said = "\n".join(taken_lines(take_readings(plan, plan.parent / "in", now=NOW)))
    assert "one.csv: matched to row 2 by id" in said
    assert "a-2.csv: matched to row 3 by the name of the file" in said
    assert "near.csv: matched to row 4 by its place, 11 m away" in said
    assert "far.csv: not matched: nearest job 240 m away, not taken" in said
    assert "lost.csv: not matched: it names no job and no place" in said
    assert "strange.csv: not matched: no job is called Z-9" in said
    assert "5 readings stored" in said


def test_units_future_times_repeats_and_unknown_carriers(plan):
    put(
        plan, "one.csv",
        "id,carrier,frequency (GHz),level_dbuv,C/N,taken_at\n"
        "A-1,O1,,-44,16,2026-06-12 10:00\n"  # fits only as dBm
        "A-1,,11.223,65,16,2026-06-12 10:01\n"
        "A-1,O3,,65,16,2027-06-12 10:00\n"  # the future
        "A-1,O9,,65,16,2026-06-12 10:00\n"
        "A-1,O1,,66,16,2026-06-12 11:00\n"
        "A-1,O1,,12,16,2026-06-12 11:00\n"  # dBmV or dBm: not clear
        "A-1,O1,,abc,16,2026-06-12 11:00\n",
    )  # fmt: skip
    taken = take_readings(plan, plan.parent / "in" / "one.csv", now=NOW)
    said = "\n".join(taken_lines(taken))
    notes = [sentence(note) for one in taken.files[0].compared for note in one.reading.notes]
    assert notes == ["-44 was given as dBµV; it fits only as dBm, so it was taken as that"]
    assert "O1 was read 2 times (2026-06-12 10:00 and 2026-06-12 11:00); the latest counts, all are kept" in said
    assert "O9 of ? is not among what was expected here" in said
    assert [(bad.row, bad.field) for bad in taken.rejects] == [(4, "taken_at"), (7, "level_dbuv"), (8, "level_dbuv")]
    assert "lies in the future" in said and "not clear which unit" in said
    first = taken.files[0].compared[0]
    assert first.reading.level_dbuv == pytest.approx(-44 + 108.75, abs=0.01)
    assert taken.stored == 4


def test_json_in_and_out(plan):
    put(
        plan,
        "one.json",
        json.dumps({"id": "A-1", "readings": [{"carrier": "O1", "level_dbmv": 5, "mer": 15}, {"carrier": "O2", "locked": "no"}]}),
    )
    made = json.loads(taken_json(take_readings(plan, plan.parent / "in", now=NOW)))
    one = made["files"][0]
    assert one["row"] == 2 and [reading["pass"] for reading in one["readings"]] == [True, False]
    assert one["readings"][0]["level_dbuv"] == 65.0
    assert made["stored"] == 2


def test_a_folder_without_readings_and_a_plan_without_a_run(plan, tmp_path):
    (tmp_path / "empty").mkdir()
    with pytest.raises(InputError, match="holds no file of readings"):
        take_readings(plan, tmp_path / "empty", now=NOW)
    (plan.parent / "out" / "expected.csv").unlink()
    with pytest.raises(InputError, match="run the plan first"):
        take_readings(plan, tmp_path / "empty", now=NOW)


def test_a_file_that_is_none_is_told_and_the_rest_goes_on(plan):
    put(plan, "a.csv", "hello\nworld\n")
    put(plan, "b.csv", good("A-1"))
    taken = take_readings(plan, plan.parent / "in", now=NOW)
    assert "no column says which carrier" in taken.rejects[0].reason and taken.stored == 3


def test_review_starts_with_what_is_missing_and_hides_names(plan):
    put(plan, "bad.csv", good("A-1", noise=8.0, who="Ada <b>Fenn</b>"))
    take_readings(plan, plan.parent / "in", now=NOW)
    review = review_of(read_plan(plan), names=False)
    assert [one.id for one in review.missing] == ["A-2", "A-3"] and [one.booked for one in review.missing] == [True, False]
    text = review_page.page(review, read_plan(plan))
    assert "1 booked job has no report" in text and "Mill Row 5" in text
    assert "Fenn" not in text and "installer 1" in text
    assert "0 of 3" in text
    named = review_page.page(review_of(read_plan(plan), names=True), read_plan(plan))
    assert "Ada &lt;b&gt;Fenn" in named and "<b>Fenn" not in named


def test_review_is_written_beside_the_run(plan):
    put(plan, "good.csv", good("A-1", noise=9.4))
    take_readings(plan, plan.parent / "in", now=NOW)
    other = plan.parent / "results"
    page, review = make_review(plan, names=False, out=other, clock=lambda: NOW)
    text = page.read_text(encoding="utf-8")
    assert "1 passes weakly" in text and (other / "review.csv").exists()
    rows = list(csv.DictReader((other / "review.csv").open(encoding="utf-8")))
    assert [row["id"] for row in rows] == ["A-2", "A-3", "A-1"] and rows[2]["weakest_margin_db"] == "0.4" and rows[2]["area"] == "North"


def test_from_run_to_signed_report(job):
    """Run, read, sign, change: the report passes, then says in words that it was changed after signing."""
    job.write("satellites.csv", small_job.SATELLITES)
    job.write("transmitters.csv", small_job.TRANSMITTERS)
    x, y = small_job.at(560.0, 300.0)
    job.write("sectors.csv", small_job.SECTORS + f"Corvid,Tower,1,{x},{y},40,LTE,800,796,20,\n")
    job.plan(small_job.TABLES)
    assert job.run("--quiet").code == 0
    expected = read_expected(job.out / "expected.csv")
    assert expected and {"kit.csv", "expected.csv"} <= {file.name for file in job.out.iterdir()}
    one = expected[0]
    head = "id,outlet,source,carrier,level_dbuv,cn_db,taken_at,installer\n"
    row = f"{one.id},{one.outlet},{one.source},{one.carrier},{one.level_dbuv:.0f},{one.cn_db:.1f},2026-06-12 10:00,Ada\n"
    job.write("read.csv", head + row)
    said = job.call("readings", job.folder / "plan.toml", job.folder / "read.csv")
    assert said.code == 0 and "pass" in said.out and "1 readings stored in readings.gpkg" in said.out
    (job.folder / "pictures").mkdir()
    PIL.Image.new("RGB", (40, 30), "blue").save(job.folder / "pictures" / "dish.png")
    made = job.call("proof", job.folder / "plan.toml", one.id, "--sign", "--pictures", job.folder / "pictures")
    assert made.code == 0
    page = next((job.out / "proof").glob("*.html"))
    text = page.read_text(encoding="utf-8")
    assert "Signed on" in text and "data:image/jpeg;base64," in text and "Skyline from the spot" in text
    wanted = [line for line in expected if line.id == one.id and line.outlet != PORT and line.service != "mobile"]
    cell = next(line for line in expected if line.id == one.id and line.service == "mobile")
    assert next((job.out / "proof").glob("*.csv")).read_text(encoding="utf-8").count("\n") == 2 + len(wanted)  # heading, one cell
    values = f"{cell.id},{cell.outlet},{cell.source},{cell.rf_mhz},{cell.rsrp_dbm - 1:.0f},{cell.cn_db:.1f}"
    job.write("cells.csv", f"id,outlet,operator,frequency_mhz,rsrp_dbm,sinr_db\n{values}\n")
    said = job.call("readings", job.folder / "plan.toml", job.folder / "cells.csv")
    assert said.code == 0 and f"strength {number(cell.rsrp_dbm - 1, 0)} dBm (expected {number(cell.rsrp_dbm, 0)})" in said.out
    job.write("read.csv", head + row.replace("10:00", "12:00"))
    assert job.call("readings", job.folder / "plan.toml", job.folder / "read.csv").code == 0
    again = job.call("proof", job.folder / "plan.toml", one.id)
    assert "Changed after signing" in again.out and "Changed after signing" in page.read_text(encoding="utf-8")
    assert job.call("review", job.folder / "plan.toml").code == 0
    assert "proof/" in (job.out / "review.html").read_text(encoding="utf-8")
    (job.folder / "pictures" / "bad.jpg").write_text("no picture")
    refused = job.call("proof", job.folder / "plan.toml", one.id, "--pictures", job.folder / "pictures")
    assert refused.code == 0 and "bad.jpg is no PNG or JPEG picture" in refused.out  # the good ones go on
    refused = job.call("proof", job.folder / "plan.toml", one.id, "--pictures", job.folder / "pictures" / "bad.jpg")
    assert refused.code == 3 and "bad.jpg is no PNG or JPEG picture" in refused.err
    assert job.call("proof", job.folder / "plan.toml", "nobody").code == 3


def test_a_reading_of_a_carrier_nobody_states_makes_it_bookable(job):
    """Without an EIRP nothing is booked; once a neighbour's finished dish is read, its EIRP counts as measured."""
    job.write("satellites.csv", small_job.SATELLITES.replace(",51,stated", ",,"))
    job.write("transmitters.csv", small_job.TRANSMITTERS)
    job.write("sectors.csv", small_job.SECTORS)
    job.plan(small_job.TABLES)
    assert job.run("--quiet").code == 0
    lines = read_expected(job.out / "expected.csv")
    assert lines and all(line.level_dbuv != line.level_dbuv and line.threshold_db > 0 for line in lines)
    before = [row["satellite_verdict"] for row in job.verdicts()]
    assert "book" not in before
    job.write("read.csv", f"id,source,carrier,cn_db,kit,taken_at\n{lines[0].id},Heron,1,15.5,dish 0.8 m,2026-06-12 10:00\n")
    said = job.call("readings", job.folder / "plan.toml", job.folder / "read.csv")
    assert said.code == 0 and "(expected unknown)" in said.out and "pass" in said.out and "nan" not in said.out
    assert job.run("--quiet").code == 0
    assert "book" in [row["satellite_verdict"] for row in job.verdicts()]
    told = job.call("explain", job.folder / "plan.toml", lines[0].id)
    assert "readings of 1 installations within 50 km" in told.out
