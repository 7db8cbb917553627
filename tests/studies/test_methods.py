"""`siteplan methods`: what it says is what the code holds, its counts are those of the check files, and its tests exist."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from authorities.authority_rows import rows_of

from siteplan.errors import InputError
from siteplan.radio.methods.table import METHODS, NAMES
from siteplan.services.shared.method_notes import method_notes
from siteplan.studies.methods import methods_lines, methods_values
from siteplan.words import methods as words

TESTS = Path(__file__).resolve().parents[1]


def test_every_method_has_its_words_and_every_word_a_method():
    assert set(words.METHODS) == {note.name for note in method_notes()}
    assert set(METHODS) <= set(words.METHODS)
    for name in NAMES:
        assert "propagation.method_tv" in words.METHODS[name].use


def test_counts_are_those_of_the_check_files_and_tests_exist():
    checks = [check for text in words.METHODS.values() for check in text.checks]
    assert len(checks) > 10
    for check in checks:
        assert (TESTS.parent / check.test).exists(), check.test
        if check.data:
            assert len(rows_of(check.data)) == check.count, check.data
            assert check.data in (TESTS.parent / check.test).read_text(encoding="utf-8"), f"{check.test} does not read {check.data}"


def test_every_method_but_the_figure_names_a_check_and_a_weakness():
    for name, text in words.METHODS.items():
        assert text.weak, name
        assert text.checks or "memory" in text.edition, name


def test_ranges_are_those_the_code_checks():
    values = {found["name"]: found for found in methods_values()["methods"]}
    for name, method in METHODS.items():
        range_ = {part["quantity"]: (part["least"], part["most"]) for part in values[name]["range"]}
        assert range_["frequency"] == method.range.frequency_mhz
        assert range_["time"] == method.range.time_pct
        assert range_["path"][0] == method.range.path_m[0] / 1000.0
    assert values["hata_open"]["use"].startswith('propagation.method_tv = "hata_open"')
    assert values["p2108_slant"]["use"] is None and values["p2109"]["use"].startswith("mobile.building")
    assert values["p2108_terrestrial"]["range"][1] == {"quantity": "path", "least": 0.25, "most": None, "unit": "km"}


def test_the_page_for_people():
    lines = methods_lines()
    assert max(map(len, lines)) <= 120
    text = "\n".join(lines)
    assert "ITU-R P.1812-8" in text
    assert "258 values, within 0.0002 dB (data not shipped)" in " ".join(text.split())
    assert "sender's antenna 25 m above ground alone" in text
    assert "path length 0.001 to 0.25 km" in text
    assert "Not here: ITU-R P.1546" in text
    assert text.count("Okumura's curves") == 2  # methods that differ in nothing but the town are told once
    assert methods_lines("p2109")[0] == "p2109: ITU-R P.2109-2"
    assert "p1812" not in " ".join(methods_lines("p2109"))
    with pytest.raises(InputError, match="'p21'.*p833_slant, or sources"):
        methods_lines("p21")


def test_sources_reach_over_the_whole_chain():
    """The standards a verdict rests on are all there: a formula whose source is gone from the code is missed here."""
    text = "\n".join(methods_lines("sources"))
    for standard in (
        "P.1812-8", "P.526-16", "P.525-4", "P.618-13", "P.676-12", "P.837-7", "P.838-3", "P.839-4", "P.840-8", "P.841-4", "P.834-7",
        "P.453-13",
        "P.836-6", "P.1511-2", "P.2108-1", "P.2109-2", "P.833-10", "BT.419-3", "BT.1368", "GE06", "EN 302 307", "EN 300 744", "TR 38.901",
        "World Magnetic Model 2025", "Karney", "EN 50494", "common practice, no source", "from memory",
    ):  # fmt: skip
        assert standard in text, standard
    assert "radio/antenna.py\n" in text
    assert "bt419_discrimination_db: Rec. ITU-R BT.419-3 (band III and cross-polar from memory) [tests/authorities/test_bt419.py]" in text
    values = methods_values("sources")
    assert len(values["sources"]) > 250
    (n0,) = (found for found in values["plan_defaults"] if found["key"] == "limits.n0")
    assert n0["source"] == "standard: ITU-R P.1812, typical temperate value"
    assert "methods" not in values


def test_every_room_of_physics_names_its_sources():
    """A module of radio or sky without one source would be a number nobody can trace."""
    package = TESTS.parent / "siteplan"
    told = {found["file"] for found in methods_values("sources")["sources"]}
    without = {
        file.relative_to(package).as_posix()
        for room in ("radio", "sky")
        for file in (package / room).rglob("*.py")
        if file.name != "__init__.py" and "kernels" not in file.relative_to(package).parts[1:-1]
    } - told
    assert without <= {"radio/methods/table.py"}


def test_command():
    command = [sys.executable, "-m", "siteplan", "methods"]
    done = subprocess.run([*command, "p833_slant", "--json"], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    (found,) = json.loads(done.stdout)["methods"]
    assert found["label"] == "ITU-R P.833-10, 2.2"
    done = subprocess.run([*command, "nothing"], capture_output=True, text=True, check=False)
    assert done.returncode == 3
    assert "there is no method 'nothing'" in done.stderr
