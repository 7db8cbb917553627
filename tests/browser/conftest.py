"""A real Chromium with the network cut: every page is opened from disk, and every attempt to reach anything else is noted and refused."""

from __future__ import annotations

import os
import shutil
from contextlib import contextmanager

import pytest

pytestmark = pytest.mark.browser
FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--force-color-profile=srgb", "--font-render-hinting=none",
]  # fmt: skip


@pytest.fixture(scope="session")
def chromium():
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    program = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if not program:
        pytest.skip("no Chromium on this machine: install Debian's package chromium, or name one in CHROMIUM")
    with sync_api.sync_playwright() as play:
        browser = play.chromium.launch(executable_path=program, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def folder(tmp_path_factory):
    """Return a folder with all pages of the hand-made run, each file that they may link to beside them."""
    import ready_findings as ready

    from siteplan.files.source_notes import source_notes
    from siteplan.report import index_page, list_page, map_page, methods_page, sheet_page
    from siteplan.services.shared.method_notes import method_notes

    out, run = tmp_path_factory.mktemp("pages"), ready.findings()
    names = ready.all_files(run)
    for name in names:
        (out / name).parent.mkdir(exist_ok=True)
        (out / name).write_text("placeholder", encoding="utf-8")
    for row in run.rows:
        (out / (row.sheet_file or f"sheets/row-{row.row.row}.html")).write_text(sheet_page.page(run, row), encoding="utf-8")
    (out / "map.html").write_text(map_page.page(run, (*names, "index.html", "list.html", "map.html")), encoding="utf-8")
    (out / "list.html").write_text(list_page.page(run, (*names, "index.html", "list.html", "map.html")), encoding="utf-8")
    (out / "methods.html").write_text(methods_page.page(run, method_notes(), source_notes()), encoding="utf-8")
    (out / "index.html").write_text(index_page.page(run, names), encoding="utf-8")
    return out


@pytest.fixture
def opened(chromium, folder):
    """Return a way to open one page: `with opened("map.html") as page`. Fails at the end where it asked for anything or complained."""

    @contextmanager
    def open_page(name: str, *, width: int = 1440, scripts: bool = True, dark: bool = False, base=None):
        context = chromium.new_context(
            viewport={"width": width, "height": 900 if width > 500 else 740},
            java_script_enabled=scripts,
            color_scheme="dark" if dark else "light",
            has_touch=width <= 500,
        )
        path, _, rest = name.partition("#")
        url = (base or folder).joinpath(path).resolve().as_uri() + (f"#{rest}" if rest else "")
        asked, faults = [], []
        own = (base or folder).resolve().as_uri()

        def route(handler):
            if handler.request.url.startswith((own, "data:")):
                handler.continue_()
            else:
                asked.append(handler.request.url)
                handler.abort()

        context.route("**/*", route)
        page = context.new_page()
        page.on("request", lambda r: asked.append(r.url) if not r.url.startswith((own, "data:", "blob:")) else None)
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda message: faults.append(message.text) if message.type in ("error", "warning") else None)
        page.on("dialog", lambda dialog: (faults.append("a dialog opened"), dialog.dismiss()))
        page.goto(url, wait_until="load")
        if scripts and path.endswith(("map.html", "area.html", "list.html")):
            page.wait_for_function("document.documentElement.dataset.ready === 'yes'", timeout=20_000)
        yield page
        context.close()
        assert asked == []
        assert faults == []

    return open_page
