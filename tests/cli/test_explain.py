"""`siteplan explain`: text, JSON and exit codes of a fresh process; the printed command runs as it stands."""

import json
import shlex
import subprocess
import sys

import pytest
from area_makers import village


def run(*args, cwd=None):
    return subprocess.run([sys.executable, "-m", "siteplan", *args], capture_output=True, text=True, cwd=cwd, check=False)


def test_json_and_the_command_it_prints(tmp_path):
    village(tmp_path / "a plan")
    done = run("explain", "a plan/plan.toml", "garden", "--json", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["id"] == "garden" and {"verdicts", "sections", "path_commands"} <= set(found)
    one = found["path_commands"][0]
    again = run(*shlex.split(one["command"])[1:], "--json", cwd=tmp_path)  # the folder's name has a blank in it
    assert again.returncode == 0, again.stderr
    assert json.loads(again.stdout)["loss_db"] == pytest.approx(one["loss_db"], abs=1e-4)


def test_text_and_another_folder(tmp_path):
    plan = village(tmp_path)
    done = run("explain", str(plan), "roof", "--out", str(tmp_path / "there"))
    assert done.returncode == 0, done.stderr
    assert "Link budget: Southbird, T1" in done.stdout and "siteplan path" in done.stdout
    assert list((tmp_path / "there" / "profiles").glob("*.csv")) and not (tmp_path / "outputs").exists()


@pytest.mark.parametrize(("who", "says"), [("nobody", "no address with id or row"), ("lost", "was not placed")])
def test_somebody_who_is_not_there(tmp_path, who, says):
    done = run("explain", str(village(tmp_path)), who)
    assert done.returncode == 3 and says in done.stderr and "Traceback" not in done.stderr
