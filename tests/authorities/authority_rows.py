"""Read the extracts of published values that lie in tests/authorities/data; lines that start with # say where they come from."""

import csv
from pathlib import Path

DATA = Path(__file__).parent / "data"


def rows_of(name):
    with open(DATA / name, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def number(text):
    return float(text) if text else float("nan")
