"""Name of a page -> what draws it. A page that is made for each address takes (findings, row), front page and list (findings, files),
that of the methods (findings, methods, sources)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from siteplan.report import index_page, list_page, map_page, methods_page, sheet_page


@dataclass(frozen=True, slots=True)
class PageKind:
    """One kind of page: where it is written, and what draws it. `each_address`: one file for every row, named by the row."""

    file: str
    draw: Callable[..., str]
    each_address: bool = False


PAGES: dict[str, PageKind] = {
    "front": PageKind("index.html", index_page.page),
    "list": PageKind("list.html", list_page.page),
    "map": PageKind("map.html", map_page.page),
    "methods": PageKind("methods.html", methods_page.page),
    "sheet": PageKind("sheets/{name}.html", sheet_page.page, each_address=True),
}
