"""The house rules that lint-imports can't hold: what lies where, what loads late, and what each floor may not do."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import siteplan

pytestmark = pytest.mark.quick
PACKAGE = Path(siteplan.__file__).parent
FILES = sorted(PACKAGE.rglob("*.py"))
HEAVY = (
    "numpy", "numba", "rasterio", "geopandas", "pyogrio", "pydantic", "itur", "folium", "pyproj", "shapely", "scipy", "matplotlib",
    "openpyxl", "jinja2", "pygeomag", "sgp4",
)  # fmt: skip

# "Where is it?": what somebody looks for, and the one guess that finds it.
WHERE_IS_IT = {
    "the skyline from a roof": "sky/horizon.py",
    "whether a dish's ray is clear": "sky/clearance.py",
    "dish azimuth and elevation": "sky/look_angles.py",
    "magnetic north": "sky/magnetic.py",
    "refraction": "sky/refraction.py",
    "Fresnel clearance": "radio/fresnel.py",
    "diffraction loss": "radio/methods",
    "the gain of a dish": "radio/antenna.py",
    "what an LNB makes of a carrier": "radio/lnb.py",
    "which carriers prove a satellite": "services/satellite/right_satellite.py",
    "where an orbit puts a satellite": "sky/orbit.py",
    "dBm and dBuV": "units.py",
    "a coordinate system": "geodesy/projection.py",
    "the round Earth": "geodesy/earth.py",
    "the profile between two points": "terrain/profile.py",
    "the three verdicts": "records/verdict.py",
    "why a satellite verdict came out so": "services/satellite/judge.py",
    "why a TV verdict came out so": "services/terrestrial/judge.py",
    "why a mobile verdict came out so": "services/mobile/judge.py",
    "a satellite threshold": "services/satellite/limits.py",
    "a TV threshold": "services/terrestrial/limits.py",
    "a mobile threshold": "services/mobile/limits.py",
    "a GeoTIFF being read": "files/rasters.py",
    "the sentence of a reason": "words/verdicts.py",
    "the words on a sheet": "report/sheet_page.py",
    "the commands": "cli/table.py",
}


@pytest.mark.parametrize("place", WHERE_IS_IT.values(), ids=WHERE_IS_IT.keys())
def test_where_is_it(place):
    assert (PACKAGE / place).exists(), f"siteplan/{place} is gone: move the row of WHERE_IS_IT with what it named"


def heavy_after(code):
    """Run a line of Python in a fresh process and return which heavy libraries it has loaded."""
    script = (
        f"import sys\ntry:\n    {code}\nexcept SystemExit as end:\n    assert not end.code, end.code\n"
        f"print('loaded:', *[m for m in {HEAVY!r} if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout.rsplit("loaded:", 1)[1].split()


def main_with(*flags):
    return f"sys.argv = ['siteplan', *{list(flags)!r}]; from siteplan.__main__ import main; main()"


def test_help_loads_no_heavy_library():
    assert heavy_after(main_with("--help")) == []


@pytest.mark.parametrize("flags", [["--version"], ["run", "--help"], ["aim", "--help"], ["path", "--help"]], ids=" ".join)
def test_what_reads_flags_loads_none_of_ours(flags):
    assert set(heavy_after(main_with(*flags))) <= {"pydantic"}  # typer itself reads typed flags with it


def test_the_package_itself_loads_no_heavy_library():
    assert heavy_after("import siteplan, siteplan.errors, siteplan.constants") == []


def test_records_and_words_need_no_heavy_library():
    assert heavy_after("import siteplan.records.findings, siteplan.records.emitters, siteplan.words.verdicts") == []


def test_aim_loads_only_what_angles_need():
    loaded = heavy_after(main_with("aim", "--lat-deg=45", "--lon-deg=0", "--orbit-deg=13", "--date=2026-11-25"))
    assert set(loaded) <= {"numpy", "pygeomag", "pydantic"}


def test_the_check_sees_a_heavy_library():
    assert heavy_after("import pyproj") == ["pyproj"]


def trees():
    for file in FILES:
        yield file.relative_to(PACKAGE), ast.parse(file.read_text(encoding="utf-8"))


def test_only_the_command_line_catches_everything():
    """Below cli an `except Exception` would hide a bug; letting go of workers and raising again is not catching."""
    found = []
    for file, tree in trees():
        for node in ast.walk(tree):
            everything = isinstance(node, ast.ExceptHandler) and (
                node.type is None or (isinstance(node.type, ast.Name) and node.type.id in ("Exception", "BaseException"))
            )
            if everything and file.parts[0] != "cli" and not any(isinstance(part, ast.Raise) and part.exc is None for part in node.body):
                found.append(f"{file}:{node.lineno}")
    assert not found


def test_only_the_command_line_reads_the_clock():
    """The same inputs give the same bytes: dates come from the plan, times from the caller."""
    clocks = {("date", "today"), ("datetime", "now"), ("datetime", "utcnow"), ("datetime", "today"), ("Date", "today"), ("time", "time")}
    found = [
        f"{file}:{node.lineno}"
        for file, tree in trees()
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and (node.value.id, node.attr) in clocks
        and file.parts[0] != "cli"
    ]
    assert not found


def test_every_public_name_says_what_it_is():
    found = [
        f"{file}:{node.lineno} {node.name}"
        for file, tree in trees()
        for node in tree.body
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_") and not ast.get_docstring(node)
    ]
    found += [str(file) for file, tree in trees() if not ast.get_docstring(tree)]
    assert not found


def test_nothing_random_without_a_seed():
    unseeded = {"random", "secrets", "uuid"}
    found = [
        f"{file}:{node.lineno}"
        for file, tree in trees()
        for node in ast.walk(tree)
        if isinstance(node, ast.Import | ast.ImportFrom)
        and {name.split(".")[0] for name in (getattr(node, "module", None) or "", *(part.name for part in node.names))} & unseeded
    ]
    assert not found
