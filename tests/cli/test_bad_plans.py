"""Plans with mistakes, and how the command line ends: exit codes, one message, and results that are never half new."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from small_job import ADDRESSES, SATELLITES

# ---- the plan ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ("[limits]\nclear_sky_marginn_db = 4\n",
         ("line 8, key limits.clear_sky_marginn_db: unknown key", "did you mean clear_sky_margin_db?")),
        ("[limits]\nclear_sky_margin_db = 400\n",
         ("line 8, key limits.clear_sky_margin_db: out of range", "(it says 400)", "Allowed: from 0 to 20")),
        ("[mount]\nkind = 'tree'\n", ("key mount.kind", "tree", "'ground', 'wall', 'roof' or 'chimney'")),
        ("[satellites]\nwanted = ['nineteen']\n", ("key satellites.wanted: this is no orbital position", '"19.2E" and "30W"')),
        ("[satellites]\nfile = 'sattelites.csv'\n", ("key satellites.file: no such file", "did you mean satellites.csv?")),
        ("[satellites]\nfile = \"C:\\Users\\me\\s.csv\"\n", ("line 8: this path can't be read", "C:/Users/", "single quotes")),
        ("[kit]\ndishes_m = 'large'\n", ("key kit.dishes_m",)),
        ("[outputs\n", ("line 7: this is not valid TOML",)),
        ("[extra]\na = 1\n", ("key extra: unknown key", "Allowed: name, date, timezone, terrain, addre")),
    ],
    ids=["typo", "range", "choice", "orbit", "missing file", "backslashes", "type", "not TOML", "unknown table"],
)  # fmt: skip
def test_a_mistake_names_file_line_key_value_and_what_is_allowed(job, more, says):
    job.write("satellites.csv", SATELLITES)
    job.plan(more)
    for command in (job.tables, job.check):
        done = command()
        assert done.code == 3 and done.err.startswith("siteplan: plan.toml, ") and len(done.err.splitlines()) == 1
        for part in says:
            assert part in done.err
    assert not job.out.exists(), "nothing is written for a plan that can't be read"


def test_no_plan_a_folder_and_a_plan_of_bytes(job):
    done = job.call("run", job.folder / "nowhere.toml")
    assert done.code == 3 and "no such plan file" in done.err
    job.plan()
    done = job.call("run", job.folder)
    assert done.code == 3 and "this is a folder; name the plan in it: plan.toml" in done.err
    job.write("plan.toml", b"\xff\xfe\x00")
    done = job.run()
    assert done.code == 3 and "save it as UTF-8" in done.err


def test_a_plan_without_addresses_or_terrain(job):
    job.write("plan.toml", job.terrain)
    assert "this plan names no addresses" in job.run().err
    job.plan(terrain="")
    done = job.run()
    assert done.code == 3 and "no terrain: at least one [[terrain]] table with a ground raster is needed" in done.err


# ---- flags ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "words", [["run"], ["run", "plan.toml", "--speed=9"], ["fly"], ["new"], ["sheet", "plan.toml"], ["run", "--out"]], ids=" ".join
)
def test_a_wrong_flag_is_exit_2(job, words):
    job.plan()
    done = job.call(*words)
    assert done.code == 2 and done.err and not job.out.exists()


# ---- results -------------------------------------------------------------------------------------------------------


@pytest.fixture
def ran(job):
    """A job that has run once, with what it wrote."""
    job.plan()
    assert job.tables().code == 0
    return job, job.state()


def test_a_folder_that_can_not_be_written_is_exit_4_and_found_before_the_work(ran, tmp_path, monkeypatch):
    job, before = ran

    def worked(*_, **__):
        raise AssertionError("the addresses were judged first")

    monkeypatch.setattr("siteplan.studies.job.judge_addresses", worked)
    job.write("file", "mine")
    for place in (job.folder / "file", job.folder / "file" / "below", Path("/proc/siteplan-results")):
        if not Path("/proc").is_dir() and place.parts[1] == "proc":
            continue
        done = job.tables(f"--out={place}")
        assert done.code == 4 and str(place) in done.err and "--out" in done.err
    assert (job.folder / "file").read_text() == "mine" and job.state() == before


def test_a_strangers_file_is_not_overwritten(ran):
    job, _ = ran
    (job.out / "run.json").unlink()
    left = job.state()
    done = job.tables()
    assert done.code == 4 and "was not made by a run of siteplan, so it is not overwritten; nothing was changed" in done.err
    assert job.state() == left


def test_a_workbook_held_open_elsewhere_is_named_and_the_run_is_kept(ran, monkeypatch):
    job, before = ran
    job.write("addresses.csv", ADDRESSES + "9,New Lane,47.8488,15.0070\n")
    move = os.replace

    def held(source, target, **more):
        if str(target).endswith("verdicts.xlsx"):
            raise PermissionError(13, "The process cannot access the file because it is being used by another process")
        return move(source, target, **more)

    monkeypatch.setattr(os, "replace", held)
    done = job.tables()
    assert done.code == 4 and "verdicts.xlsx" in done.err and "close it and run again. All other files there are new." in done.err
    after = job.state()
    assert (
        after["verdicts.xlsx"] == before["verdicts.xlsx"]
        and b"New Lane" in after["verdicts.csv"]
        and b"New Lane" in after["verdicts.geojson"]
    )
    monkeypatch.undo()
    assert job.tables().code == 0 and job.state()["verdicts.xlsx"] != before["verdicts.xlsx"]


@pytest.mark.parametrize("where", ["siteplan.studies.addresses.judge_one", "siteplan.studies.deliver.verdicts_geojson"])
def test_an_interruption_is_exit_130_and_nothing_is_half_written(ran, monkeypatch, where):
    job, before = ran
    job.write("addresses.csv", ADDRESSES.replace("Lane 1", "Alley 1"))

    def stop(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(where, stop)
    done = job.tables()
    assert done.code == 130 and done.err.splitlines()[-1].startswith("siteplan: stopped")
    assert job.state() == before, "each file is of the last run, and no hidden one is left"
    monkeypatch.undo()
    assert job.tables().code == 0 and b"Alley 1" in job.state()["verdicts.csv"]


@pytest.mark.parametrize("where", ["siteplan.studies.addresses.judge_one", "siteplan.studies.deliver.verdicts_csv"])
def test_a_bug_is_exit_1_one_line_and_a_traceback_in_the_log_alone(ran, tmp_path, monkeypatch, where):
    job, before = ran

    def wrong(*_, **__):
        raise ZeroDivisionError("a secret of ours")

    monkeypatch.setattr(where, wrong)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.delenv("LOCALAPPDATA", raising=False)
    done = job.tables()
    log = tmp_path / "state" / "siteplan" / "siteplan.log"
    last = done.err.splitlines()[-1]
    assert done.code == 1 and last == f"siteplan: something went wrong inside siteplan itself (ZeroDivisionError). Details are in {log}"
    assert "a secret of ours" not in done.err + done.out
    text = log.read_text(encoding="utf-8")
    assert "Traceback (most recent call last)" in text and "ZeroDivisionError: a secret of ours" in text and "plan.toml" in text
    assert job.state() == before


def test_good_rows_and_old_results_survive_a_worse_list(ran):
    job, before = ran
    job.write("addresses.csv", "id,lat_deg,lon_deg\n1,,\n")
    assert job.tables().code == 3 and job.state() == before


def test_a_plan_without_a_date_takes_today_and_says_so(job):
    job.plan(date="")
    done = job.tables()
    record = json.loads((job.out / "run.json").read_text(encoding="utf-8"))
    day = record["run"]["started"][:10] if "started" in record["run"] else ""
    assert done.code == 0 and f"The plan names no date: {day or '20'}" in done.err


# ---- a process of its own ------------------------------------------------------------------------------------------


def test_a_process_of_its_own_ends_with_these_codes_too(job):
    """What a script sees: the code of the process, and no traceback on either stream."""
    job.write("satellites.csv", SATELLITES)
    job.plan("[limits]\nnonsense = 1\n")

    def ended(*words):
        done = subprocess.run(
            [sys.executable, "-m", "siteplan", *map(str, words)], capture_output=True, text=True, encoding="utf-8", timeout=120, check=False
        )
        assert "Traceback" not in done.stdout + done.stderr
        return done

    done = ended("run", job.folder / "plan.toml")
    assert done.returncode == 3 and done.stderr.startswith("siteplan: plan.toml, line 8, key limits.nonsense: unknown key")
    assert ended("run", "--nonsense").returncode == 2
    made = ended("new", job.folder / "fresh", "--addresses", job.folder / "addresses.csv", "--terrain", job.land)
    assert made.returncode == 0 and "surface.tif taken as surface" in made.stdout
    again = ended("new", job.folder / "fresh")
    assert again.returncode == 4 and "is there already, so it is not overwritten" in again.stderr
    checked = ended("check", job.folder / "fresh" / "plan.toml")
    assert checked.returncode == 0 and checked.stdout.startswith("addresses.csv: rows read: 3. Placed: 3.")


@pytest.mark.skipif(sys.platform == "win32", reason="signals are sent otherwise there")
def test_an_interruption_from_outside_while_threads_work(ran):
    import signal

    job, before = ran
    job.write("addresses.csv", "id,lat_deg,lon_deg\n" + "".join(f"{i},47.84{i % 90 + 10:02d}{i % 7},15.00{i % 9}1\n" for i in range(4000)))
    words = [sys.executable, "-m", "siteplan", "addresses", str(job.folder / "plan.toml")]
    # a shell's background job starts with the signal ignored, and hands that on: here it must count
    listen = {"preexec_fn": lambda: signal.signal(signal.SIGINT, signal.default_int_handler)} if os.name != "nt" else {}
    with subprocess.Popen(words, stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8", **listen) as process:
        first = process.stderr.readline()
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=60)
    assert first.startswith("judging") and process.returncode == 130 and out == ""
    assert err.splitlines()[-1].startswith("siteplan: stopped; what was written before is complete") and "Traceback" not in err
    assert job.state() == before
