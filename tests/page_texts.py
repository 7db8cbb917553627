"""What a page shows a person, and a search in it."""

from __future__ import annotations

import html
import re


def visible(page: str) -> str:
    """Return what a page shows or reads out: its text, names for screen readers, and the texts that its script puts in."""
    data = re.findall(r'<script[^>]*type="application/json"[^>]*>(.*?)</script>', page, flags=re.S)
    quoted = [one for block in data for one in re.findall(r'"((?:[^"\\]|\\.)*)"', block)]
    texts = [one.replace("\\/", "/") for one in quoted if " " in one and len(one) < 2000]
    said = re.findall(r'(?:title|aria-label|alt|placeholder)="([^"]*)"', page)
    page = re.sub(r"<script\b.*?</script>|<style\b.*?</style>", " ", page, flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(" | ".join([re.sub(r"<[^>]+>", " ", page), *said, *texts])))


def left(text: str, pattern: str, stay: tuple[str, ...]) -> list[str]:
    """Return what of a text a pattern finds, with what stands round it, once all that may stay is taken out."""
    for one in stay:
        text = re.sub(one, " ", text)
    return [text[max(0, found.start() - 40) : found.end() + 15] for found in re.finditer(pattern, text)]
