"""Stored readings change what a run says, so the run's record names them by what they say; and nothing else hangs on an earlier run."""

import json
import shutil

import small_job

from siteplan.files.expected import read_expected

HEAD = "id,outlet,source,carrier,level_dbuv,cn_db,taken_at,installer\n"


def line_of(job):
    inputs = json.loads((job.out / "run.json").read_text(encoding="utf-8"))["made_with"]["inputs"]
    return next((line for line in inputs if line["file"] == "readings.gpkg"), None)


def sheets(job):
    return {path.name: path.read_bytes() for path in sorted((job.out / "sheets").glob("*.html"))}


def take(job, *rows):
    for number, row in enumerate(rows):
        job.write(f"read{number}.csv", HEAD + row)
        assert job.call("readings", job.folder / "plan.toml", job.folder / f"read{number}.csv").code == 0


def test_readings_stand_in_the_record_by_what_they_say(job):
    for name, text in (("satellites", small_job.SATELLITES), ("transmitters", small_job.TRANSMITTERS), ("sectors", small_job.SECTORS)):
        job.write(f"{name}.csv", text)
    job.plan(small_job.TABLES)
    assert job.run("--quiet").code == 0
    assert line_of(job) is None
    plain, (one, *_) = sheets(job), read_expected(job.out / "expected.csv")
    where = f"{one.id},{one.outlet},{one.source},{one.carrier}"
    rows = [f"{where},{one.level_dbuv - n:.0f},{one.cn_db:.1f},2026-06-1{n} 10:00,Ada\n" for n in (2, 3)]

    take(job, *rows)
    assert job.run("--quiet").code == 0
    read, taught = line_of(job), sheets(job)
    assert read["readings"] == 2 and len(read["content_sha256"]) == 64 and "sha256" not in read
    assert taught != plain and any(b"too few to correct anything" in page for page in taught.values())

    assert job.run("--quiet").code == 0
    assert (line_of(job), sheets(job)) == (read, taught)
    shutil.rmtree(job.out)  # what is said hangs on the readings alone, not on what an earlier run wrote down
    assert job.run("--quiet").code == 0
    assert (line_of(job), sheets(job)) == (read, taught)

    take(job, rows[0].replace("10:00", "11:00"))  # one more: the record and the pages say so
    assert job.run("--quiet").code == 0
    assert line_of(job)["readings"] == 3 and line_of(job)["content_sha256"] != read["content_sha256"]


def test_the_hash_is_of_the_content_and_not_of_the_file(tmp_path):
    from siteplan.records.readings import Reading
    from siteplan.store.readings_store import open_store

    readings = [Reading("f.csv", n, "A", "Oriel", f"O{n}", "outlet 1", level_dbuv=60.0 + n, taken_at=f"2026-06-0{n}") for n in (1, 2, 3)]
    place = {"id": "A", "name": "A", "row": 2, "lat_deg": 47.5, "lon_deg": -9.5}
    found = []
    for name, order in (("one", (0, 1, 2)), ("two", (2, 0, 1)), ("moved", (0, 1, 2)), ("less", (0, 1))):
        with open_store(tmp_path / f"{name}.gpkg") as store:
            for number in order:
                store.add(**{**place, "lat_deg": 47.6 if name == "moved" else 47.5}, readings=[readings[number]])
            if name == "two":
                store.sign("A", "2026-06-09")
            found.append(store.content())
    assert found[0] == found[1] and found[0][0] == 3
    assert found[2][1] != found[0][1] and found[3] != found[0]
    assert (tmp_path / "one.gpkg").read_bytes() != (tmp_path / "two.gpkg").read_bytes()
