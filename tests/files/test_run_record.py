"""run.json says what a run rests on: inputs by hash, versions, every setting, counts that add up."""

import hashlib
import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from files.hand_rows import findings

from siteplan.files.run_record import counts, input_files, input_hashes, made_with, run_record, settings, shown_path, versions
from siteplan.records.plan import AddressesTable, OutputsTable, Plan, TerrainTable

pytestmark = pytest.mark.quick
STARTED, FINISHED = datetime(2026, 6, 11, 8, 0, 0, 5, tzinfo=UTC), datetime(2026, 6, 11, 8, 1, 2, tzinfo=UTC)


def plan(folder: Path) -> Plan:
    ground = TerrainTable(ground=folder / "data" / "g.tif", height_above_ground=(folder / "h.tif",), surface=folder / "data" / "g.tif")
    outputs = OutputsTable(folder=folder.parent / "results")
    return Plan(file=folder / "plan.toml", terrain=(ground,), addresses=AddressesTable(file=folder / "list.csv"), outputs=outputs)


def test_the_record_is_json_with_times_counts_and_settings() -> None:
    record = json.loads(json.dumps(run_record(findings(), started=STARTED, finished=FINISHED), allow_nan=False))
    assert record["run"] == {"started": "2026-06-11T08:00:00+00:00", "finished": "2026-06-11T08:01:02+00:00"}
    assert record["counts"]["job"] == {"book": 2, "survey first": 1, "not feasible": 1, "not judged": 2, "rows": 6}
    assert record["settings"]["limits"]["clear_sky_margin_db"] == 6.0 and record["settings"]["date"] == "2026-06-11"
    assert record["rejected"] == 2
    assert record["made_with"]["inputs"][0]["file"] == "plan.toml" and "unreadable" in record["made_with"]["inputs"][0]


def test_counts_add_up_for_the_job_and_each_service() -> None:
    for line in counts(findings()).values():
        assert sum(line[state] for state in ("book", "survey first", "not feasible", "not judged")) == line["rows"] == 6


def test_what_the_study_says_it_was_made_with_wins() -> None:
    record = run_record(replace(findings(), made_with={"versions": {"x": "1"}}), started=STARTED, finished=FINISHED)
    assert record["made_with"] == {"versions": {"x": "1"}}


def test_inputs_are_hashed_once_each_and_named_as_the_plan_would(tmp_path: Path) -> None:
    folder = tmp_path / "area"
    (folder / "data").mkdir(parents=True)
    (folder / "plan.toml").write_bytes(b"x = 1\n")
    (folder / "list.csv").write_bytes(b"abc")
    (folder / "data" / "g.tif").write_bytes(b"")
    lines = input_hashes(input_files(plan(folder)), plan(folder))
    assert [line["file"] for line in lines] == ["plan.toml", "data/g.tif", "h.tif", "list.csv"]
    # SHA-256 of "abc" and of nothing: FIPS 180-2, appendix B.1, and its well-known empty value
    assert lines[3] == {"file": "list.csv", "bytes": 3, "sha256": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"}
    assert lines[1]["sha256"] == hashlib.sha256(b"").hexdigest() and "unreadable" in lines[2]
    assert made_with(plan(folder))["inputs"] == lines


def test_settings_hold_every_key_and_paths_relative_to_the_plan(tmp_path: Path) -> None:
    told = settings(plan(tmp_path))
    assert told["terrain"][0]["ground"] == "data/g.tif" and told["kit"]["dishes_m"] == [0.6, 0.8, 1.0, 1.2]
    assert told["outputs"]["folder"] == (tmp_path.parent / "results").as_posix()
    assert shown_path(Path("/elsewhere/x"), plan(tmp_path)) == "/elsewhere/x"
    json.dumps(told, allow_nan=False)


def test_versions_name_the_program_and_what_moves_figures() -> None:
    found = versions()
    assert {"siteplan", "python", "numpy", "rasterio", "pyproj", "numba"} <= found.keys()
