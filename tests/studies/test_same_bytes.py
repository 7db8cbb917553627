"""The same inputs give the same bytes: another hash seed, time zone, language, working folder and number of threads change no file.

Each run is a process of its own on ten addresses of the sample that show different verdicts; all files are compared but run.json, the
only one with times in it.
"""

import csv
import os
import subprocess
import sys
from pathlib import Path

import pytest

SAMPLE = Path(__file__).resolve().parents[2] / "sample_terrain"
AREA = "\n[area]\nbounds = [-9.5800, 47.5000, -9.5775, 47.5015]\ncell_m = 10\nradio_paths = 100\n"
FIRST = {"PYTHONHASHSEED": "1", "TZ": "UTC", "LANG": "C", "LC_ALL": "C", "SITEPLAN_WORKERS": "1"}
SECOND = {"PYTHONHASHSEED": "77", "TZ": "Asia/Kathmandu", "LANG": "de_DE.UTF-8", "LC_ALL": "C.UTF-8", "SITEPLAN_WORKERS": "2"}
# where an installation has it, the second run has decimal commas
COMMAS = ("de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "fr_FR.utf8")

pytestmark = pytest.mark.skipif(not (SAMPLE / "plan.toml").exists(), reason="the sample is not beside the tests (an installed copy)")


def small_plan(folder: Path) -> Path:
    """Return a plan of ten of the sample's addresses, spread over its list, on the sample's own files."""
    with (SAMPLE / "addresses.csv").open(encoding="utf-8", newline="") as file:
        heading, *rows = csv.reader(file)
    with (folder / "addresses.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([heading, *rows[:: max(1, len(rows) // 10)][:10]])
    text = (SAMPLE / "plan.toml").read_text(encoding="utf-8")
    for path in sorted(SAMPLE.iterdir()):
        if path.name != "addresses.csv":
            text = text.replace(f'"{path.name}"', f'"{path.as_posix()}"')
    plan = folder / "plan.toml"
    plan.write_text(text.replace('"../outputs"', '"unused"') + AREA, encoding="utf-8")
    return plan


def locales() -> set[str]:
    try:
        done = subprocess.run(["locale", "-a"], capture_output=True, text=True, check=False, timeout=20)
    except OSError:
        return set()
    return set(done.stdout.split())


def siteplan(settings: dict, cwd: Path, *args: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "siteplan", *args], env={**os.environ, **settings}, cwd=cwd, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


def files(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def test_every_file_but_the_record_is_the_same(tmp_path):
    plan = small_plan(tmp_path)
    second = dict(SECOND)
    commas = next((name for name in COMMAS if name in locales()), "")
    if commas:
        second |= {"LC_ALL": commas}
    (tmp_path / "elsewhere").mkdir()
    outs = []
    for number, (settings, cwd) in enumerate(((FIRST, tmp_path), (second, tmp_path / "elsewhere"))):
        out = tmp_path / f"out-{number}"
        siteplan(settings, cwd, "area", str(plan), "--out", str(out), "--quiet")
        siteplan(settings, cwd, "run", str(plan), "--out", str(out), "--quiet")
        outs.append(files(out))
    one, other = outs
    assert one.keys() == other.keys()
    tables = {"verdicts.csv", "verdicts.xlsx", "verdicts.gpkg", "verdicts.geojson", "rejects.csv"}
    assert tables | {"map.html", "index.html", "area-satellites.tif", "area.html"} <= set(one)
    assert sum(name.startswith("sheets/") for name in one) >= 8 and any(name.startswith("profiles/") for name in one)
    differ = [name for name in one if name != "run.json" and one[name] != other[name]]
    assert not differ
    # the record itself differs, which shows that the comparison can fail
    assert one["run.json"] != other["run.json"]


def test_the_number_of_threads_is_read_and_bad_ones_are_passed_over(monkeypatch):
    from siteplan.studies.tiles import MOST_WORKERS, WORKERS_BY_DEFAULT, workers

    for wanted, got in (("1", 1), ("5", 5), ("0", 1), ("", WORKERS_BY_DEFAULT), ("many", WORKERS_BY_DEFAULT), ("9999", MOST_WORKERS)):
        monkeypatch.setenv("SITEPLAN_WORKERS", wanted)
        assert workers() == got
