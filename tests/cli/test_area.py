"""`siteplan area`: flags, what it says, exit codes of a fresh process; an interrupted one goes on."""

import os
import signal
import subprocess
import sys
import time

import pytest
from area_makers import village

MORE = "[area]\ncell_m = 10\nradio_paths = 100\nmargin_m = 40\n"


def siteplan(*args, cwd=None):
    return subprocess.run([sys.executable, "-m", "siteplan", "area", *args], capture_output=True, text=True, cwd=cwd, check=False)


def test_makes_maps_and_names_the_page(tmp_path):
    plan = village(tmp_path, more=MORE)
    done = siteplan(str(plan), "--out", str(tmp_path / "maps"), "--cell-m=20")
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[-1] == f"Open {tmp_path / 'maps' / 'area.html'}"
    assert "Southbird: " in done.stdout and "cells of 20 m" in done.stderr
    quiet = siteplan(str(plan), "--out", str(tmp_path / "maps"), "--cell-m=20", "--quiet")
    assert quiet.returncode == 0 and len(quiet.stdout.splitlines()) == 1 and not quiet.stderr


@pytest.mark.parametrize(
    ("flags", "code", "says"),
    [
        (["--bounds=1,2,3"], 2, "west,south,east,north"),
        (["--bounds=-1.5,x,3,4"], 2, "west,south,east,north"),
        (["--cell-m=0"], 2, "cell-m"),
        (["--bounds=16,48,15,49"], 3, "enclose no area"),
        (["--bounds=-1.5,48,15,49", "--cell-m=0.5"], 3, "larger cells"),
    ],
)
def test_refusals(tmp_path, flags, code, says):
    done = siteplan(str(village(tmp_path)), *flags)
    assert done.returncode == code and says in done.stderr and "Traceback" not in done.stderr
    assert not (tmp_path / "outputs").exists()


@pytest.mark.skipif(os.name == "nt", reason="signals as on POSIX")
def test_stopped_by_hand_it_leaves_nothing_half_done_and_goes_on(tmp_path):
    plan = village(tmp_path, more="[area]\ncell_m = 2\nradio_paths = 4000\nmargin_m = 40\n")
    command = [sys.executable, "-m", "siteplan", "area", str(plan)]
    # a shell's background job starts with the signal ignored, and hands that on: here it must count
    listen = lambda: signal.signal(signal.SIGINT, signal.default_int_handler)  # noqa: E731
    running = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, preexec_fn=listen)
    out = tmp_path / "outputs"
    for _ in range(600):
        if len(list(out.glob(".siteplan-work-*/*.npz"))) >= 2 or running.poll() is not None:
            break
        time.sleep(0.1)
    running.send_signal(signal.SIGINT)
    _, said = running.communicate(timeout=60)
    assert running.returncode == 130, said
    assert "stopped" in said and "Traceback" not in said
    assert not (out / "area.json").exists() and not (out / "run.json").exists()
    kept = {path.name for path in out.glob(".siteplan-work-*/*.npz")}
    assert len(kept) >= 2
