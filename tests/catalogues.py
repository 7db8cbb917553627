"""Every text that people read, and the gettext catalogues: python tests/catalogues.py writes new texts into words/languages/*.po.

Texts that went are dropped; translations that are there stay. Run it after adding a text, then fill in the empty msgstr.
"""

from __future__ import annotations

import ast
import importlib
import pkgutil
import re
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po

import siteplan.words
from siteplan.words import formats

LANGUAGES = ("de", "fr")
FOLDER = Path(siteplan.words.__file__).parent / "languages"
TABLES = ("SENTENCES", "TEXTS", "WORDS", "HEADINGS", "LABELS", "QUANTITIES", "LINES")


def texts() -> dict[str, str]:
    """Return English text -> where it stands, in the order of the modules."""
    found: dict[str, str] = {}
    for module in sorted(one.name for one in pkgutil.iter_modules(siteplan.words.__path__)):
        loaded = importlib.import_module(f"siteplan.words.{module}")
        for table in TABLES:
            here = getattr(loaded, table, {})
            for key, text in here.items() if isinstance(here, dict) else ((table.lower(), text) for text in here):
                if isinstance(text, str) and text.strip():
                    found.setdefault(text, f"{module}:{key}")
    for text in (*siteplan.words.extra_words(), *formats.WORDS):
        found.setdefault(text, "words")
    columns = importlib.import_module("siteplan.words.columns")
    for pair in next(value for value in vars(columns).values() if isinstance(value, dict) and "row" in value).values():
        for text in pair:
            found.setdefault(text, "columns")
    for text, place in told_texts().items():
        found.setdefault(text, place)
    return found


def told_texts() -> dict[str, str]:
    """Return the templates of told(...) and wording(...) below the floor of words -> the file each stands in."""
    package = Path(siteplan.words.__file__).parent.parent
    found: dict[str, str] = {}
    for path in sorted(package.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("told", "wording") and node.args:
                text = node.args[0]
                if isinstance(text, ast.Constant) and isinstance(text.value, str) and any(letter.isalpha() for letter in text.value):
                    found.setdefault(text.value, f"told:{path.relative_to(package)}")
    return found


def catalogue(language: str) -> Catalog:
    """Return a catalogue as it lies in the package, an empty one where there is none."""
    path = FOLDER / f"{language}.po"
    return read_po(BytesIO(path.read_bytes()), locale=language) if path.exists() else Catalog(locale=language)


def tidy(language: str, said: str) -> str:
    """Return a translation with the language's own apostrophe: French writes l’antenne."""
    return re.sub(r"(?<=[A-Za-zéèêàç])'(?=[A-Za-zéèêàâîôûœÉ])", "’", said) if language == "fr" else said


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    for language in LANGUAGES:
        old = {one.id: one.string for one in catalogue(language) if one.id}
        made = Catalog(locale=language, project="siteplan", charset="utf-8", fuzzy=False)
        for text, place in texts().items():
            made.add(text, tidy(language, str(old.get(text, ""))), auto_comments=[place], flags=())
        out = BytesIO()
        write_po(out, made, width=140, omit_header=False, no_location=True)
        lines = out.getvalue().decode("utf-8").split("\n")
        clock = ('"POT-Creation', '"PO-Revision', '"Last-Trans', '"Language-Team', '"Report-', '"Generated-By')
        kept = [line for line in lines if not line.startswith(clock)]
        (FOLDER / f"{language}.po").write_text("\n".join(kept), encoding="utf-8")
        print(language, len(made), "texts,", sum(not one.string for one in made if one.id), "to translate")


if __name__ == "__main__":
    main()
