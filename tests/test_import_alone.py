"""Every module imports by itself, first, with no other module of siteplan loaded before: no hidden order, no cycle."""

import subprocess
import sys
from pathlib import Path

import pytest

import siteplan

PACKAGE = Path(siteplan.__file__).parent

# One process for all: the libraries stay loaded, siteplan's own modules are forgotten before each import.
SCRIPT = """
import importlib, sys, traceback
failed = 0
for name in sys.argv[1:]:
    for loaded in [module for module in sys.modules if module == "siteplan" or module.startswith("siteplan.")]:
        del sys.modules[loaded]
    try:
        importlib.import_module(name)
    except BaseException as wrong:
        failed += 1
        where = traceback.extract_tb(wrong.__traceback__)[-1]
        print(f"{name}: {type(wrong).__name__}: {wrong} ({where.filename}:{where.lineno})")
sys.exit(1 if failed else 0)
"""


def module_names():
    for file in sorted(PACKAGE.rglob("*.py")):
        parts = file.relative_to(PACKAGE.parent).with_suffix("").parts
        yield ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def import_each(names):
    return subprocess.run([sys.executable, "-c", SCRIPT, *names], capture_output=True, text=True, timeout=120, check=False)


@pytest.mark.quick
def test_each_module_imports_alone():
    names = [name for name in module_names() if name != "siteplan.__main__"]
    assert len(names) > 30 and "siteplan.sky.look_angles" in names
    done = import_each(names)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_check_finds_a_module_that_does_not_import():
    done = import_each(["siteplan.no_such_module"])
    assert done.returncode == 1 and "siteplan.no_such_module: ModuleNotFoundError" in done.stdout
