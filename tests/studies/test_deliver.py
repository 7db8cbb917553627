"""Deliver: which files a run writes, in one folder, the same bytes each time, and what a later run leaves or removes."""

import csv
import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from files.hand_rows import findings, placed

from siteplan.errors import OutputError
from siteplan.files.profile_file import read_profile
from siteplan.records.plan import OutputsTable
from siteplan.records.verdict import State
from siteplan.studies import deliver as deliver_module
from siteplan.studies.deliver import deliver

pytestmark = pytest.mark.quick
STARTED = datetime(2026, 6, 11, 8, tzinfo=UTC)
TABLES = {"verdicts.csv", "verdicts.xlsx", "verdicts.gpkg", "verdicts.geojson", "rejects.csv"}
SHEETS = {f"sheets/000{row}-x.html" for row in (2, 3, 4, 5)}
PROFILES = {f"profiles/000{row}-tv-1.csv" for row in (2, 3, 4, 5)}


def clock() -> datetime:
    return datetime(2026, 6, 11, 9, tzinfo=UTC)


@pytest.fixture(autouse=True)
def plain_pages(monkeypatch) -> dict:
    """Pages are tested elsewhere: here only that each is asked for, and what the index is told."""
    told: dict = {}

    def index(run, files) -> str:
        told["files"] = tuple(files)
        return "index"

    monkeypatch.setattr(deliver_module.index_page, "page", index)
    monkeypatch.setattr(deliver_module.map_page, "page", lambda run, files: "map")
    monkeypatch.setattr(deliver_module.sheet_page, "page", lambda run, row: f"sheet of row {row.row.row} ü")
    return told


def run(folder: Path, what=None, **how):
    return deliver(what or findings(), folder, started=STARTED, clock=clock, **how)


def names(folder: Path) -> set[str]:
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


def test_a_whole_run_writes_every_output_and_names_the_page_to_open(tmp_path: Path, plain_pages: dict) -> None:
    made = run(tmp_path)
    everything = TABLES | SHEETS | PROFILES | {"list.html", "map.html", "methods.html", "index.html", "run.json"}
    assert names(tmp_path) == set(made.files) == everything and len(made.files) == len(everything)
    assert made.notes == () and made.open_first == tmp_path / "index.html"
    assert set(plain_pages["files"]) == everything - {"index.html"}
    assert (tmp_path / "sheets" / "0003-x.html").read_text(encoding="utf-8") == "sheet of row 3 ü"
    with (tmp_path / "verdicts.csv").open(encoding="utf-8", newline="") as file:
        assert len(list(csv.DictReader(file))) == 6
    profile = read_profile(tmp_path / "profiles" / "0002-tv-1.csv")
    assert profile.distance_m.tolist() == [0.0, 5000.0, 11119.0]


def test_run_json_alone_holds_times_and_lists_all_others(tmp_path: Path) -> None:
    made = run(tmp_path)
    record = json.loads((tmp_path / "run.json").read_bytes())
    assert record["run"] == {"started": "2026-06-11T08:00:00+00:00", "finished": "2026-06-11T09:00:00+00:00"}
    assert {line["file"] for line in record["files"]} == set(made.files) - {"run.json"}
    for name in names(tmp_path) - {"run.json"}:
        assert b"2026-06-11T08:00:00" not in (tmp_path / name).read_bytes()


def test_the_same_findings_give_the_same_bytes_but_for_run_json(tmp_path: Path) -> None:
    run(tmp_path / "a")
    deliver(findings(), tmp_path / "b", started=clock(), clock=lambda: datetime(2027, 1, 1, tzinfo=UTC))
    for name in names(tmp_path / "a") - {"run.json"}:
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes(), name
    assert (tmp_path / "a" / "run.json").read_bytes() != (tmp_path / "b" / "run.json").read_bytes()


def test_tables_only_writes_no_pages_and_removes_those_that_would_disagree(tmp_path: Path) -> None:
    run(tmp_path)
    made = run(tmp_path, tables_only=True)
    assert names(tmp_path) == TABLES | {"run.json"} == set(made.files) and made.open_first == tmp_path / "verdicts.xlsx"
    assert b"sheets/" not in (tmp_path / "verdicts.csv").read_bytes() and b"profiles/" not in (tmp_path / "verdicts.gpkg").read_bytes()


def test_one_sheet_more_leaves_the_run_beside_it(tmp_path: Path) -> None:
    run(tmp_path)
    before = (tmp_path / "verdicts.csv").read_bytes()
    one = replace(findings(), rows=(replace(placed(4, State.BOOK), sheet_file="sheets/0004-new.html"),))
    made = run(tmp_path, one, one=True)
    assert set(made.files) == {"sheets/0004-new.html", "profiles/0004-tv-1.csv", "run.json"}
    assert made.open_first == tmp_path / "sheets" / "0004-new.html"
    assert (tmp_path / "verdicts.csv").read_bytes() == before and "sheets/0004-x.html" in names(tmp_path)
    record = json.loads((tmp_path / "run.json").read_bytes())
    assert record["counts"]["job"]["rows"] == 6 and record["added_later"][0]["rows"] == [4]
    assert {"verdicts.csv", "sheets/0004-new.html", "sheets/0004-x.html"} <= {line["file"] for line in record["files"]}
    run(tmp_path)
    assert "sheets/0004-new.html" not in names(tmp_path)


def test_one_sheet_in_an_empty_folder(tmp_path: Path) -> None:
    made = run(tmp_path, replace(findings(), rows=(placed(4, State.BOOK),)), one=True)
    assert names(tmp_path) == set(made.files) and json.loads((tmp_path / "run.json").read_bytes())["counts"]["job"]["rows"] == 1


def test_a_plan_without_sheets_still_gets_its_profiles(tmp_path: Path) -> None:
    plan = findings().plan.model_copy(update={"outputs": OutputsTable(sheets="none")})
    run(tmp_path, replace(findings(), plan=plan))
    assert names(tmp_path) & SHEETS == set() and names(tmp_path) >= PROFILES
    assert b"sheets/" not in (tmp_path / "verdicts.geojson").read_bytes()


def test_a_page_that_fails_leaves_the_last_run_whole(tmp_path: Path, monkeypatch) -> None:
    run(tmp_path)
    before = {name: (tmp_path / name).read_bytes() for name in names(tmp_path)}

    def broken(*_: object) -> str:
        raise ZeroDivisionError

    monkeypatch.setattr(deliver_module.map_page, "page", broken)
    with pytest.raises(ZeroDivisionError):
        run(tmp_path, replace(findings(), rows=findings().rows[:2]))
    assert {name: (tmp_path / name).read_bytes() for name in names(tmp_path)} == before


def test_a_strangers_map_stops_the_run_before_anything_is_drawn(tmp_path: Path, monkeypatch) -> None:
    (tmp_path / "map.html").write_text("mine")
    monkeypatch.setattr(deliver_module.sheet_page, "page", lambda *_: pytest.fail("drawn for nothing"))
    with pytest.raises(OutputError, match=r"map\.html was not made by"):
        run(tmp_path)
    assert names(tmp_path) == {"map.html"}


def test_progress_is_told_in_words(tmp_path: Path) -> None:
    seen: list[tuple[str, int, int]] = []
    run(tmp_path, progress=lambda what, done, of: seen.append((what, done, of)))
    assert seen[-1] == ("writing", len(seen), len(seen)) and len(seen) == 17


def test_trouble_with_the_folder_is_found_before_the_work(tmp_path: Path) -> None:
    deliver_module.try_folder(tmp_path / "out")
    assert list((tmp_path / "out").iterdir()) == []
    run(tmp_path / "out")
    deliver_module.try_folder(tmp_path / "out")
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "map.html").write_text("mine")
    deliver_module.try_folder(tmp_path / "other", tables_only=True)
    with pytest.raises(OutputError, match=r"map\.html was not made by"):
        deliver_module.try_folder(tmp_path / "other")
    with pytest.raises(OutputError, match="can't be a folder"):
        deliver_module.try_folder(tmp_path / "other" / "map.html")
