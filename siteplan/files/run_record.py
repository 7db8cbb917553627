"""What run.json says: which inputs, which versions, which settings, how many of what. The only output with times in it."""

from __future__ import annotations

import hashlib
import platform
import sys
from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import datetime
from importlib import metadata
from pathlib import Path

from siteplan.records.findings import Findings
from siteplan.records.plan import Plan
from siteplan.records.verdict import SERVICES, State
from siteplan.words import sentence

# Libraries whose version can move a figure or a byte.
_LIBRARIES = ("numpy", "numba", "rasterio", "pyproj", "shapely", "pyogrio", "openpyxl", "itur", "pygeomag", "sgp4", "pydantic")
_C_LIBRARIES = (
    ("gdal", "rasterio", "__gdal_version__"), ("proj", "pyproj", "proj_version_str"), ("geos", "shapely", "geos_version_string"),
)  # fmt: skip


def run_record(findings: Findings, *, started: datetime, finished: datetime) -> dict[str, object]:
    """Return the record of one run, ready for JSON: times, inputs and versions as findings.made_with has them, settings, counts."""
    return {
        "run": {"started": started.isoformat(timespec="seconds"), "finished": finished.isoformat(timespec="seconds")},
        "made_with": dict(findings.made_with) or made_with(findings.plan),
        "counts": counts(findings),
        "rejected": len(findings.rejects),
        "notes": [sentence(note) for note in findings.notes],
        "terrain": [dict(layer) for layer in findings.terrain],
        "settings": settings(findings.plan),
    }


def made_with(plan: Plan) -> dict[str, object]:
    """Return what a run of this plan rests on: versions, and size and SHA-256 of every input file. No times."""
    return {"versions": versions(), "inputs": input_hashes(input_files(plan), plan)}


def counts(findings: Findings) -> dict[str, dict[str, int]]:
    """Return for the job and each service how many rows are in each state; each adds up to the rows read."""
    table = {"job": Counter(row.job for row in findings.rows)}
    table |= {service: Counter(row.verdicts[service].state for row in findings.rows) for service in SERVICES}
    return {name: {str(state): count[state] for state in State} | {"rows": len(findings.rows)} for name, count in table.items()}


def versions() -> dict[str, str]:
    """Return the versions of siteplan, Python and the libraries whose version can move a figure; only what is installed."""
    from siteplan import __version__

    found = {"siteplan": __version__, "python": platform.python_version(), "system": platform.system()}
    for name in _LIBRARIES:
        try:
            found[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            continue
    for name, module, attribute in _C_LIBRARIES:
        # asked only of what the run has loaded already: a version is no reason to load a library
        version = getattr(sys.modules.get(module), attribute, None)
        if version:
            found[name] = str(version)
    return found


def input_files(plan: Plan) -> tuple[Path, ...]:
    """Return every file that a plan names, the plan itself first."""
    named: list[Path | None] = [plan.file]
    for table in plan.terrain:
        named += [table.ground, table.surface, *table.height_above_ground, *table.building_height, *table.canopy_height, table.buildings]
    named += [plan.addresses.file, plan.satellites.file, *plan.satellites.beams, plan.satellites.orbits]
    named += [plan.transmitters.file, plan.mobile.file]
    named += [plan.transmitters.patterns, *plan.transmitters.scan_tables, plan.installation.parts, plan.mount.plots]
    return tuple(dict.fromkeys(path for path in named if path is not None))


def input_hashes(paths: Iterable[Path], plan: Plan) -> list[dict[str, object]]:
    """Return file (relative to the plan where it lies below it), bytes and SHA-256 of each input; unreadable ones say so."""
    lines: list[dict[str, object]] = []
    for path in paths:
        line: dict[str, object] = {"file": shown_path(path, plan)}
        try:
            with path.open("rb") as file:
                line |= {"bytes": path.stat().st_size, "sha256": hashlib.file_digest(file, "sha256").hexdigest()}
        except OSError as error:
            line["unreadable"] = error.strerror or str(error)
        lines.append(line)
    return lines


def settings(plan: Plan) -> Mapping[str, object]:
    """Return every setting of a plan, defaults filled in, paths relative to the plan where they lie below it."""
    return _shown(plan.model_dump(mode="python"), plan)  # type: ignore[return-value]


def shown_path(path: Path, plan: Plan) -> str:
    """Return a path as the plan would write it: relative to the plan's folder where it lies below, with forward slashes."""
    try:
        return path.relative_to(plan.file.parent).as_posix()
    except ValueError:
        return path.as_posix()


def _shown(value: object, plan: Plan) -> object:
    if isinstance(value, Path):
        return shown_path(value, plan)
    if isinstance(value, Mapping):
        return {key: _shown(item, plan) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_shown(item, plan) for item in value]
    return value.isoformat() if hasattr(value, "isoformat") else value
