"""An orbit file through the command line: wrong sets are named, the rest goes on, and a satellite that leaves the beam is not booked."""

from dataclasses import replace
from datetime import datetime

from orbit_makers import tle
from small_job import SATELLITES, TABLES, Job, write_land

from siteplan.records.orbit import MeanElements

# 10 E at 0 h UTC of 11 June 2026: node + perigee + anomaly less sidereal time (259.35 degrees then), the epoch's own turn counted
HERON = MeanElements("HERON", 99007, datetime(2026, 6, 11), 0.05, 90.0, 0.0001, 0.0, 179.35, 1.00273791)


def job(tmp_path, capsys, monkeypatch, orbits, table=SATELLITES):
    (tmp_path / "land").mkdir()
    made = Job(tmp_path, write_land(tmp_path / "land"), capsys, monkeypatch)
    made.write("satellites.csv", table)
    made.write("orbits.tle", orbits)
    made.plan(TABLES.split("[transmitters]")[0].rstrip() + "\norbits = 'orbits.tle'\n")
    return made


def test_a_good_orbit_is_used_and_a_bad_checksum_is_named(tmp_path, capsys, monkeypatch):
    bad = tle(replace(HERON, name="Tern")).replace("26001A", "26002A")
    made = job(tmp_path, capsys, monkeypatch, bad + tle(HERON))
    ended = made.check()
    assert ended.code == 0 and "Satellites: 1 (Heron)" in ended.out
    assert "orbits.tle" in ended.out and "wrong checksum" in ended.out
    assert made.tables().code == 0
    assert [row["field"] for row in made.rejects()] == ["line 1"]
    assert 0.05 < float(made.verdicts()[0]["satellite_10e_box_deg"]) < 0.2


def test_by_catalogue_number(tmp_path, capsys, monkeypatch):
    table = SATELLITES.replace("eirp_source\n", "eirp_source,catalogue_number\n").replace("stated\n", "stated,99007\n")
    made = job(tmp_path, capsys, monkeypatch, tle(replace(HERON, name="Another Name")), table)
    assert made.tables().code == 0 and made.verdicts()[0]["satellite_10e_box_deg"]


def test_an_old_orbit_is_not_used_and_said(tmp_path, capsys, monkeypatch):
    made = job(tmp_path, capsys, monkeypatch, tle(replace(HERON, epoch=datetime(2026, 4, 1))))
    assert "lies 71 days from the date, more than 30" in made.check().out
    assert made.tables().code == 0 and made.verdicts()[0]["satellite_10e_box_deg"] == ""


def test_one_that_leaves_the_beam_is_not_booked(tmp_path, capsys, monkeypatch):
    made = job(tmp_path, capsys, monkeypatch, tle(replace(HERON, inclination_deg=2.5)))
    assert made.tables().code == 0
    first = made.verdicts()[0]
    assert first["satellite_verdict"] == "survey first" and "Heron wanders" in first["satellite_reasons"]


def test_not_a_file_of_orbits(tmp_path, capsys, monkeypatch):
    made = job(tmp_path, capsys, monkeypatch, "name,place\nHeron,10E\n")
    ended = made.tables()
    assert ended.code == 3 and "orbits.tle: no orbit is found in this file" in ended.err
