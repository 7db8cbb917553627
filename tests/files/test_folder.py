"""The folder of results: only our own files are replaced, all or nothing, and nothing outside is ever reached."""

import json
import os
from pathlib import Path

import pytest

from siteplan.errors import OutputError
from siteplan.files import folder as folder_module
from siteplan.files.folder import last_record, listed_files, numbered, publish, sheet_name

pytestmark = pytest.mark.quick


def put(folder: Path, files: dict, **how) -> tuple[str, ...]:
    return publish(folder, files, lambda: {"run": {"started": "then"}}, **how)


def tree(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_writes_bytes_text_and_functions_and_lists_them_with_hashes(tmp_path: Path) -> None:
    out = tmp_path / "new" / "out"
    notes = put(out, {"a.csv": b"1\n", "sheets/0002-b.html": "é", "c.gpkg": lambda path: path.write_bytes(b"3")})
    assert notes == ()
    record = json.loads((out / "run.json").read_bytes())
    assert record["run"] == {"started": "then"} and [line["file"] for line in record["files"]] == ["a.csv", "c.gpkg", "sheets/0002-b.html"]
    # sha256 of "1\n", as sha256sum prints it
    assert record["files"][0] == {"file": "a.csv", "bytes": 2, "sha256": "4355a46b19d348dc2f57c046f8ef63d4538ebb936000f3c9ee954a27460dd865"}
    assert set(tree(out)) == {"a.csv", "c.gpkg", "sheets/0002-b.html", "run.json"}
    assert listed_files(out) == ("a.csv", "c.gpkg", "sheets/0002-b.html")


def test_replaces_what_the_last_run_lists_and_removes_the_rest_of_it(tmp_path: Path) -> None:
    put(tmp_path, {"a.csv": b"1", "sheets/old.html": b"x"})
    put(tmp_path, {"a.csv": b"2"})
    assert tree(tmp_path).keys() == {"a.csv", "run.json"} and (tmp_path / "a.csv").read_bytes() == b"2"
    assert not (tmp_path / "sheets").exists()


def test_what_is_not_ours_is_left_alone_and_named(tmp_path: Path) -> None:
    (tmp_path / "sheets").mkdir()
    (tmp_path / "notes.txt").write_text("mine")
    (tmp_path / "photos").mkdir()
    (tmp_path / "sheets" / "mine.html").write_text("mine")
    notes = put(tmp_path, {"a.csv": b"1", "sheets/b.html": b"2"})
    assert len(notes) == 1 and "notes.txt" in notes[0] and "photos/" in notes[0] and "sheets/mine.html" in notes[0]
    assert "a.csv" not in notes[0] and "run.json" not in notes[0]
    put(tmp_path, {"a.csv": b"1"})
    assert (tmp_path / "sheets" / "mine.html").read_text() == "mine" and not (tmp_path / "sheets" / "b.html").exists()


def test_a_stranger_under_a_name_of_ours_stops_everything(tmp_path: Path) -> None:
    put(tmp_path, {"a.csv": b"1"})
    (tmp_path / "map.html").write_text("mine")
    before = tree(tmp_path)
    with pytest.raises(OutputError, match=r"map\.html was not made by a run of siteplan.*nothing was changed.*another folder"):
        put(tmp_path, {"a.csv": b"2", "map.html": b"3"})
    assert tree(tmp_path) == before


def test_somebody_elses_run_json_is_a_stranger(tmp_path: Path) -> None:
    (tmp_path / "run.json").write_text('{"files": [{"file": "a.csv"}]}')
    (tmp_path / "a.csv").write_text("mine")
    with pytest.raises(OutputError, match="was not made by"):
        put(tmp_path, {"b.csv": b"2"})
    assert (tmp_path / "a.csv").read_text() == "mine" and last_record(tmp_path) == {}


def test_a_run_json_that_lists_places_outside_reaches_nothing_there(tmp_path: Path) -> None:
    out, victim = tmp_path / "out", tmp_path / "victim.txt"
    victim.write_text("safe")
    put(out, {"a.csv": b"1"})
    record = json.loads((out / "run.json").read_bytes())
    record["files"] += [{"file": name} for name in ("../victim.txt", str(victim), "x/../../victim.txt", ".", "", "..", 7, None)]
    (out / "run.json").write_text(json.dumps(record))
    put(out, {"b.csv": b"2"})
    assert victim.read_text() == "safe" and tree(out).keys() == {"b.csv", "run.json"}


ODD_NAMES = ["../x.csv", "/x.csv", "a//b", "A.csv", "a b.csv", "a\\b", "..", "", "sheets/../x", "run.json", "ä.csv", "a/"]


@pytest.mark.parametrize("name", ODD_NAMES)
def test_odd_names_are_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(OutputError, match="name of an output"):
        put(tmp_path, {name: b"1"})
    assert tree(tmp_path) == {}


@pytest.mark.skipif(os.name == "nt", reason="symbolic links need rights there")
def test_links_are_never_followed(tmp_path: Path) -> None:
    out, elsewhere = tmp_path / "out", tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "keep.html").write_text("safe")
    out.mkdir()
    (out / "sheets").symlink_to(elsewhere)
    with pytest.raises(OutputError, match="not a plain folder"):
        put(out, {"sheets/keep.html": b"1"})
    (out / "sheets").unlink()
    put(out, {"sheets/keep.html": b"1", "a.csv": b"1"})
    # our own files turned into links afterwards: the link goes, what it points at stays
    (out / "a.csv").unlink()
    (out / "a.csv").symlink_to(elsewhere / "keep.html")
    for file in (out / "sheets").iterdir():
        file.unlink()
    (out / "sheets").rmdir()
    (out / "sheets").symlink_to(elsewhere)
    notes = put(out, {"a.csv": b"2"})
    assert (elsewhere / "keep.html").read_text() == "safe" and (out / "a.csv").read_bytes() == b"2" and not (out / "a.csv").is_symlink()
    assert any("could not be removed" in note for note in notes)


@pytest.mark.skipif(os.name == "nt", reason="symbolic links need rights there")
def test_a_planted_journal_link_is_not_written_through(tmp_path: Path) -> None:
    out, victim = tmp_path / "out", tmp_path / "victim"
    out.mkdir()
    victim.write_text("safe")
    (out / ".siteplan-writing.json").symlink_to(victim)
    put(out, {"a.csv": b"1"})
    assert victim.read_text() == "safe"


def test_a_failure_while_drawing_leaves_everything_as_it_was(tmp_path: Path) -> None:
    put(tmp_path, {"a.csv": b"1", "b.html": b"1"})
    before = tree(tmp_path)

    def broken(path: Path) -> None:
        path.write_bytes(b"half a")
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        put(tmp_path, {"a.csv": b"2", "b.html": broken})
    assert tree(tmp_path) == before and [path.name for path in sorted(tmp_path.iterdir())] == ["a.csv", "b.html", "run.json"]


def test_an_interruption_while_moving_leaves_whole_files_and_the_next_run_goes_on(tmp_path: Path, monkeypatch) -> None:
    put(tmp_path, {"a.csv": b"1", "b.csv": b"1"})
    real = folder_module._move

    def stop(source: Path, target: Path) -> bool:
        if target.name == "c.csv":
            raise KeyboardInterrupt
        return real(source, target)

    monkeypatch.setattr(folder_module, "_move", stop)
    with pytest.raises(KeyboardInterrupt):
        put(tmp_path, {"a.csv": b"2", "new.csv": b"2", "c.csv": b"2", "b.csv": b"2"})
    monkeypatch.undo()
    files = tree(tmp_path)
    assert files["a.csv"] == files["new.csv"] == b"2" and files["b.csv"] == b"1" and "c.csv" not in files
    put(tmp_path, {"a.csv": b"3", "new.csv": b"3"})  # new.csv is in no run.json, and is ours all the same
    assert tree(tmp_path).keys() == {"a.csv", "new.csv", "run.json"}


def test_a_file_held_open_elsewhere_is_named_and_all_others_are_new(tmp_path: Path, monkeypatch) -> None:
    put(tmp_path, {"verdicts.xlsx": b"1", "a.csv": b"1", "z.csv": b"1"})
    real = os.replace

    def held(source: Path, target: Path) -> None:
        if Path(target).name == "verdicts.xlsx":
            raise PermissionError(13, "in use")
        real(source, target)

    monkeypatch.setattr(os, "replace", held)
    with pytest.raises(OutputError, match=r"verdicts\.xlsx in .* is open in another program.*close it and run again"):
        put(tmp_path, {"a.csv": b"2", "verdicts.xlsx": b"2", "z.csv": b"2"})
    monkeypatch.undo()
    files = tree(tmp_path)
    assert (files["a.csv"], files["verdicts.xlsx"], files["z.csv"]) == (b"2", b"1", b"2")
    put(tmp_path, {"a.csv": b"3", "verdicts.xlsx": b"3"})
    assert (tmp_path / "verdicts.xlsx").read_bytes() == b"3"


def test_a_folder_that_cannot_be_written_is_an_output_error(tmp_path: Path, monkeypatch) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match="can't be a folder"):
        put(tmp_path / "file" / "out", {"a.csv": b"1"})
    put(tmp_path / "out", {"a.csv": b"1"})
    before = tree(tmp_path / "out")

    def no(*_: object, **__: object) -> str:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(folder_module.tempfile, "mkdtemp", no)
    with pytest.raises(OutputError, match="can't write there.*Nothing was changed"):
        put(tmp_path / "out", {"a.csv": b"2"})
    monkeypatch.undo()
    monkeypatch.setattr(folder_module, "_put", lambda path, content: no())
    with pytest.raises(OutputError, match="can't write there"):
        put(tmp_path / "out", {"a.csv": b"2"})
    assert tree(tmp_path / "out") == before


def test_a_folder_under_the_name_of_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.csv").mkdir()
    with pytest.raises(OutputError, match="is a folder where a file is to be"):
        put(tmp_path, {"a.csv": b"1"})


def test_keeping_adds_to_what_is_there(tmp_path: Path) -> None:
    put(tmp_path, {"a.csv": b"1", "sheets/b.html": b"1", "gone.csv": b"1"})
    (tmp_path / "gone.csv").unlink()
    put(tmp_path, {"sheets/c.html": b"2", "sheets/b.html": b"2"}, keep=True)
    assert listed_files(tmp_path) == ("a.csv", "sheets/b.html", "sheets/c.html")
    assert (tmp_path / "sheets" / "b.html").read_bytes() == b"2"


def test_leftovers_of_a_killed_run_are_cleared(tmp_path: Path) -> None:
    (tmp_path / ".siteplan-new-abc").mkdir()
    (tmp_path / ".siteplan-new-abc" / "half.csv").write_text("x")
    assert put(tmp_path, {"a.csv": b"1"}) == ()
    assert tree(tmp_path).keys() == {"a.csv", "run.json"} and len(list(tmp_path.iterdir())) == 2


def test_progress_counts_files(tmp_path: Path) -> None:
    seen: list[tuple[int, int]] = []
    put(tmp_path, {"a.csv": b"1", "b.csv": b"1"}, progress=lambda done, of: seen.append((done, of)))
    assert seen == [(1, 2), (2, 2)]


def test_names_of_sheets_are_row_and_slug() -> None:
    assert sheet_name(17, "Orchard Steep 14") == "sheets/0017-orchard-steep-14.html"
    assert sheet_name(12345, "東京") == "sheets/12345.html"
    assert numbered(3, "../<b>") == "0003-b"
