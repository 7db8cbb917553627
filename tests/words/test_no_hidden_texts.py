"""No English sentence hides in the code: what people read is a template in words/, or told(...) and so in the catalogues."""

import ast
import re
from pathlib import Path

import pytest

import siteplan

pytestmark = pytest.mark.quick
PACKAGE = Path(siteplan.__file__).parent
# Whole files and folders whose texts are not said by a run, and why.
LEFT_OUT = {
    "words/": "the texts themselves",
    "cli/": "help of commands and flags, read before any plan is: English, as commands, flags and keys are; what a command says is told",
    "store/schema.py": "SQL of the store",
    "files/column_names.py": "column names in many languages, to be recognised",
    "files/job_words.py": "order words in many languages, to be recognised",
    "records/plan.py": "defaults and their sources for people who check the program: check --defaults, comments of a new plan",
    "records/plan_chain.py": "the same",
}
# Single texts, by file and beginning, and why.
PARTS, COLUMNS, PLANLESS = "names of parts and items: words/items.py says them", "names of columns", "a calculator without a plan, English"
EXCEPTIONS: dict[tuple[str, str], str] = {
    ("__main__.py", "siteplan needs Python"): "said before anything of siteplan can be loaded",
    ("files/plan_text.py", "Oriel 25E"): "a row of an example table",
    ("files/plan_text.py", "Gorse Pike"): "a row of an example table",
    ("files/reading_columns.py", ""): "column names in many languages, to be recognised",
    ("files/sender_rows.py", "gain_dbi or"): COLUMNS,
    ("files/sender_rows.py", "e"): COLUMNS,
    ("radio/atmosphere.py", "specific rain attenuation"): "a key",
    ("radio/methods/tr38901.py", "3GPP TR 38.901"): "title of a standard",
    ("report/html.py", "default-src"): "a policy for browsers",
    ("report/pdf_door.py", "a page of siteplan asks"): "a bug of ours, for the log",
    ("services/outlets/antennas.py", ""): PARTS,
    ("services/outlets/cell_limits.py", "mobile, common practice"): "name of a profile, as plans may write it",
    ("signal_chain/profiles.py", "50 to 100"): "name of a profile, as plans may write it",
    ("signal_chain/systems.py", "cable"): PARTS,
    ("store/readings_store.py", "unable to open"): "what SQLite says, to be recognised",
    ("studies/calc_aim.py", ""): PLANLESS,
    ("studies/calc_skyline.py", ""): PLANLESS,
}
WORD = re.compile(r"[A-Za-z]{2,}")


def literal(node: ast.AST) -> str | None:
    """Return the text of a string or f-string, its values as {}; None for anything else."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(part.value if isinstance(part, ast.Constant) else "{}" for part in node.values)
    return None


def reads_like_a_sentence(text: str) -> bool:
    """Return whether a literal holds three words in a row with spaces between, markup, SQL, options and format names aside."""
    if re.search(r"\b(?:SELECT|INSERT|PRAGMA|UPDATE|CREATE|ALTER|GEOGCS)\b|\+proj|^data:|siteplan path|;\s*[\w-]+:", text):
        return False
    plain = re.sub(r"<[^>]*>?|^[^<>]*>|\{[^}]*\}|\b[\w-]+=\S+|[\w-]+=\"[^\"]*", " \0 ", text)
    return re.search(r"[A-Za-z]{2,}[,;:]? [A-Za-z']{1,}[,;:]? [A-Za-z]{2,}", plain) is not None


def hidden(source: str) -> list[tuple[int, str]]:
    """Return (line, text) of each literal of a module that reads like a sentence and is neither told nor a docstring."""
    tree = ast.parse(source)
    aside: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr):
            aside.add(id(node.value))
        if isinstance(node, ast.Call) and getattr(node.func, "id", getattr(node.func, "attr", "")) in ("told", "wording", "compile"):
            aside |= {id(part) for argument in node.args[:1] for part in ast.walk(argument)}
        if isinstance(node, ast.JoinedStr):
            aside |= {id(part) for part in ast.walk(node) if part is not node and not isinstance(part, ast.JoinedStr)}
    found = [(node.lineno, text) for node in ast.walk(tree) if id(node) not in aside and (text := literal(node)) is not None]
    return [(line, text) for line, text in found if reads_like_a_sentence(text)]


def test_the_scan_finds_what_is_hidden():
    assert hidden('raise ValueError(f"{name}: this file is empty")') == [(1, "{}: this file is empty")]
    assert hidden('print("nothing was written here")') and hidden("x = '<p>No row was judged</p>'")
    assert not hidden('raise ValueError(told("this file is empty"))') and not hidden('def f():\n    """Return what is so."""')
    assert not hidden("x = '<path class=\"a b c\" d=\"M1 2\"/>'") and not hidden('db.execute("SELECT a FROM b WHERE c = 1")')


def test_no_sentence_hides_in_the_code():
    loose, used = [], set()
    for path in sorted(PACKAGE.rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        if any(name.startswith(left) for left in LEFT_OUT):
            continue
        for line, text in hidden(path.read_text(encoding="utf-8")):
            reason = next((key for key in EXCEPTIONS if key[0] == name and text.startswith(key[1])), None)
            used.add(reason)
            if reason is None:
                loose.append(f"{name}:{line}: {text[:90]}")
    assert loose == [], "\n".join(loose)
    assert set(EXCEPTIONS) <= used, "exceptions that are needed no more"


def printed(source: str) -> list[tuple[int, str]]:
    """Return (line, text) of sentences that a command prints or raises itself; how a command is to be called (BadParameter) is help."""
    found = []
    for node in ast.walk(ast.parse(source)):
        name = getattr(node.func, "attr", getattr(node.func, "id", "")) if isinstance(node, ast.Call) else ""
        if name in ("echo", "say", "write") or (isinstance(node, ast.Raise) and "BadParameter" not in ast.unparse(node)):
            found += [(node.lineno, text) for _, text in hidden(ast.unparse(node))]
    return found


def test_commands_print_nothing_that_is_not_told():
    assert printed('typer.echo(f"{count} jobs have no report")') == [(1, "{} jobs have no report")]
    assert not printed('typer.echo(told("{count} jobs have no report", count=2))')
    loose = [
        f"{path.name}:{line}: {text}" for path in sorted((PACKAGE / "cli").glob("*.py")) for line, text in printed(path.read_text("utf-8"))
    ]
    assert loose == [], "\n".join(loose)
