"""The door to the PDF maker (weasyprint, in the extra `pdf`): prepares a page that a browser draws well, and lets nothing be fetched.

weasyprint gives drawings inside a page no style of the page, no CSS variable and no mark kept in another drawing. So the marks are
put in place, the rules that drawings need go into each drawing, and variables are written out. Same page, same bytes: the dates
inside a PDF are the plan's, its identifier is the page's own digest.
"""

from __future__ import annotations

import hashlib
import re
from functools import cache

from siteplan.errors import MissingLibraryError, told

# its letters run wider than a browser's: the last column of a table in half a page may break
# and floats kept whole on a page are drawn twice: the plot stands over its lines.
_NARROW = (
    ".works.two td:last-child .figure { white-space: normal; } .spot-plot > .plan { float: none; break-inside: avoid; } "
    ".spot-code .code { margin-bottom: 0; } .beware { overflow-wrap: normal; } "
    ".spot-plot { break-inside: auto; } .spot-plot .spot-lines { float: none; width: auto; }"
)
_PLOT_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
# what a drawing may need: classes that stand in drawings and marks, and the text of plots
_WORDS = re.compile(r"\.plot\b|\.tick-word|\.middle|\.end\b|\.halo|\.blank|\.line\b|\.book\b|\.survey\b|\.none\b|\.unjudged")


def make_pdf(page: str, *, date: str = "") -> bytes:
    """Return a page as PDF.

    page  HTML as a page of siteplan is written
    date  ISO date that the run hangs on, "" for none: the only date in the file

    Raises MissingLibraryError where weasyprint or a library that it loads is absent.
    """
    html_class = _library()
    from weasyprint.text.fonts import FontConfiguration

    prepared = prepared_page(page, date=date)
    document = html_class(string=prepared, url_fetcher=_fetcher()).render(font_config=FontConfiguration())
    return document.write_pdf(identifier=hashlib.sha256(prepared.encode()).digest()[:16])


def pdf_ready() -> None:
    """Raise MissingLibraryError where no PDF can be made here: better before an hour's work than after it."""
    _library()


def _library() -> type:
    try:
        from weasyprint import HTML
    except (ImportError, OSError) as error:  # OSError: Pango is not on this machine
        raise MissingLibraryError(
            told(
                "A PDF needs the library weasyprint and Pango, which it loads: pip install 'siteplan[pdf]', and on Debian "
                "apt install libpango-1.0-0 libpangoft2-1.0-0. Or print the page from a browser."
            )
        ) from error
    return HTML


def _fetcher() -> object:
    """Return what fetches data that stand in the page and nothing else, as the library at hand wants it: an object since version 68."""
    try:
        from weasyprint.urls import URLFetcher
    except ImportError:
        return _nothing_but_data

    class DataAlone(URLFetcher):
        def fetch(self, url: str, headers: object = None) -> object:
            if not url.startswith("data:"):
                raise ValueError(f"a page of siteplan asks for nothing: {url[:80]}")
            return super().fetch(url, headers)

    return DataAlone(allowed_protocols=("data",))


def _nothing_but_data(url: str, *_: object, **__: object) -> dict[str, object]:
    if not url.startswith("data:"):
        raise ValueError(f"a page of siteplan asks for nothing: {url[:80]}")
    from weasyprint.urls import default_url_fetcher

    return default_url_fetcher(url)


# ---- a page made ready ----------------------------------------------------------------------------------------------------------


def prepared_page(page: str, *, date: str = "") -> str:
    """Return a page without scripts and folds; variables written out, marks in place, each drawing with its own rules."""
    page = re.sub(r"<script\b.*?</script>|<meta http-equiv[^>]*>", "", page, flags=re.S)
    page = re.sub(r"<details\b.*?</details>", "", page, flags=re.S)
    styles = re.findall(r"<style>(.*?)</style>", page, re.S)
    spoken = re.search(r'<html lang="(\w+)"', page)
    values = _variables("".join(styles), spoken[1] if spoken else "en")
    page = re.sub(r"<style>(.*?)</style>", lambda found: f"<style>{_written_out(found[1], values)}</style>", page, flags=re.S)
    page = _marks_in_place(page)
    rules = _drawing_rules(_written_out("".join(styles), values))
    page = re.sub(r"(<svg\b[^>]*>)", rf"\1<style>{_safe(rules)}</style>", page)
    stamp = f'<meta name="dcterms.created" content="{date}"><meta name="dcterms.modified" content="{date}">' if date else ""
    return page.replace("</head>", f"{stamp}<style>{_NARROW}</style></head>", 1)


def _safe(rules: str) -> str:
    return rules.replace("\\", r"\\")


@cache
def _variables(style: str, language: str) -> dict[str, str]:
    """Return --name -> value: of the light look, and of paper where a print rule sets it again; rules of other languages left out."""
    plain = re.sub(r"@media \(prefers-color-scheme: dark\) \{.*?\n\}", "", style, flags=re.S)
    plain = re.sub(r":lang\([^{}]*\{[^{}]*\}", lambda found: found[0] if f":lang({language})" in found[0] else "", plain)
    return {name: value.strip() for name, value in re.findall(r"(--[\w-]+):([^;}]*)", plain)}


def _written_out(style: str, values: dict[str, str]) -> str:
    return re.sub(r"var\((--[\w-]+)(?:,([^()]*))?\)", lambda found: values.get(found[1], (found[2] or found[0]).strip()), style)


@cache
def _drawing_rules(style: str) -> str:
    """Return the rules for what stands in drawings, outside of any @media, the class of the drawing itself left off."""
    plain = re.sub(r"/\*.*?\*/", "", style, flags=re.S)
    plain = re.sub(r"@[^{};]*\{(?:[^{}]*\{[^{}]*\})*[^{}]*\}", "", plain)
    kept = []
    for selectors, body in _PLOT_RULE.findall(plain):
        wanted = [re.sub(r"^\.plot\s+", "", one.strip()) for one in selectors.split(",") if _WORDS.search(one)]
        wanted = [one for one in wanted if not one.startswith((".plot.", ".card", ".above", ".round")) and one != ".plot"]
        if wanted:
            kept.append(f"{','.join(wanted)}{{{body.strip()}}}")
    # a white edge round letters would be drawn over them here
    return "".join([*kept, "text.halo,text.on-land{stroke:none;fill:#1d2327}"])


def _marks_in_place(page: str) -> str:
    """Return the page with each <use> of a mark replaced by the mark's own shapes, and the store of marks gone."""
    symbols = dict(re.findall(r'<symbol id="([\w-]+)" viewBox="0 0 24 24">(.*?)</symbol>', page, re.S))
    page = re.sub(r'<svg class="defs".*?</svg>', "", page, flags=re.S)
    return re.sub(
        r'<svg class="mark"([^>]*)><use href="#([\w-]+)"/></svg>',
        lambda found: f'<svg class="mark" viewBox="0 0 24 24"{found[1]}>{symbols.get(found[2], "")}</svg>',
        page,
    )
