"""The door to the map library: Leaflet's own script and style sheet, from the package that carries them, to go inside a page.

folium is not used: its templates pull scripts, icons and colour scales from other hosts, give random ids to all they draw, and hold
a marker's HTML for each address. A page of our own with Leaflet inside asks for nothing, is the same bytes each time and a tenth
of the size.
"""

from __future__ import annotations

import re
from functools import cache
from importlib import metadata
from pathlib import Path

from siteplan.errors import MissingLibraryError, told
from siteplan.report.html import asset

_PACKAGE = "XStatic-Leaflet"


@cache
def _file(name: str) -> str:
    # by the package's own list of files, without importing it: its name space is made by pkg_resources, which new Pythons lack
    try:
        return Path(str(metadata.distribution(_PACKAGE).locate_file(f"xstatic/pkg/leaflet/data/{name}"))).read_text(encoding="utf-8")
    except (metadata.PackageNotFoundError, OSError) as error:
        raise MissingLibraryError(
            told("The map needs Leaflet's files, from the package {package}: pip install {package}", package=_PACKAGE)
        ) from error


@cache
def leaflet_script() -> str:
    """Return Leaflet's script with its licence before it. Raises MissingLibraryError where the package is not installed."""
    script = _file("leaflet.js")
    script = re.sub(r"\n//# sourceMappingURL=\S*\s*$", "\n", script)
    script = re.sub(r"</(?=script)|<!(?=--)", lambda end: end.group().replace("<", "<\\"), script, flags=re.IGNORECASE)
    licence = asset("LICENSE-leaflet.txt").replace("*/", "* /")
    return f"/*!\n{licence}*/\n{script}"


@cache
def leaflet_style() -> str:
    """Return Leaflet's style sheet without the pictures it would fetch: this page uses none of them."""
    style = _file("leaflet.css")
    return re.sub(r"url\([^)]*\)", "none", style)


@cache
def leaflet_version() -> str:
    """Return the version that the script itself states."""
    found = re.search(r"Leaflet (\d+\.\d+\.\d+)", leaflet_script())
    return found.group(1) if found else ""
