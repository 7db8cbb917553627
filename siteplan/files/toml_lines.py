"""Where in a TOML text each key stands, so that a complaint about a plan can name its line. Reads shapes only; tomllib reads values."""

from __future__ import annotations

import re

_BARE = re.compile(r"[A-Za-z0-9_-]+")
Trail = tuple[str | int, ...]


def key_lines(text: str) -> dict[Trail, int]:
    """Return the line (from 1) of every key and table of a TOML text, by its trail: ("terrain", 0, "ground").

    Tables in double brackets are counted from 0. Keys inside an inline table share the line of the key they belong to and are not listed.
    The text need not be valid: what can't be followed is passed over.
    """
    found: dict[Trail, int] = {}
    counts: dict[Trail, int] = {}
    prefix: Trail = ()
    at, line = 0, 1
    while at < len(text):
        end = text.find("\n", at)
        end = len(text) if end < 0 else end
        stripped = text[at:end].strip()
        if not stripped or stripped.startswith("#"):
            at, line = end + 1, line + 1
            continue
        if stripped.startswith("["):
            double = stripped.startswith("[[")
            names, _ = _dotted(stripped.lstrip("[ \t"), 0)
            prefix = _table(names, double, counts)
            found.setdefault(prefix, line)
            at, line = end + 1, line + 1
            continue
        names, after = _dotted(text, at)
        equals = text.find("=", after)
        if not names or equals < 0 or equals > end:
            at, line = end + 1, line + 1
            continue
        for depth in range(1, len(names) + 1):
            found.setdefault((*prefix, *names[:depth]), line)
        stop = _value_end(text, equals + 1)
        line += text.count("\n", at, stop) + 1
        at = stop + 1
    return found


def _table(names: list[str], double: bool, counts: dict[Trail, int]) -> Trail:
    trail: Trail = ()
    for place, name in enumerate(names):
        trail = (*trail, name)
        if place == len(names) - 1 and double:
            counts[trail] = counts.get(trail, -1) + 1
        if trail in counts:
            trail = (*trail, counts[trail])
    return trail


def _dotted(text: str, at: int) -> tuple[list[str], int]:
    """Return the parts of a dotted key that starts at `at`, and where it ends."""
    names: list[str] = []
    while at < len(text):
        while at < len(text) and text[at] in " \t":
            at += 1
        if at < len(text) and text[at] in "\"'":
            end = text.find(text[at], at + 1)
            if end < 0:
                return names, at
            names.append(text[at + 1 : end])
            at = end + 1
        else:
            match = _BARE.match(text, at)
            if not match:
                return names, at
            names.append(match[0])
            at = match.end()
        while at < len(text) and text[at] in " \t":
            at += 1
        if at >= len(text) or text[at] != ".":
            return names, at
        at += 1
    return names, at


def _value_end(text: str, at: int) -> int:
    """Return where the line break after a value stands: brackets closed, strings passed over."""
    depth = 0
    while at < len(text):
        here = text[at]
        if here == "\n" and depth <= 0:
            return at
        if here == "#":
            at = text.find("\n", at)
            if at < 0:
                return len(text)
            continue
        if here in "\"'":
            at = _string_end(text, at)
            continue
        depth += (here in "[{") - (here in "]}")
        at += 1
    return len(text)


def _string_end(text: str, at: int) -> int:
    quote = text[at]
    triple = text.startswith(quote * 3, at)
    closing, at = (quote * 3, at + 3) if triple else (quote, at + 1)
    while at < len(text):
        if text[at] == "\\" and quote == '"':
            at += 2
            continue
        if text.startswith(closing, at):
            return at + len(closing)
        if text[at] == "\n" and not triple:
            return at
        at += 1
    return len(text)
