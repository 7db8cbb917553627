"""Work cut into batches by place, so that each batch reads only the land it needs and a run can be resumed or spread."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass

from siteplan.records.places import Address

# A batch holds addresses of one square of this side, and no more than this many (one batch's results are kept together).
TILE_DEG, LARGEST_BATCH = 0.1, 250

WORKERS_BY_DEFAULT, MOST_WORKERS = 2, 64


def workers() -> int:
    """Return how many threads work at once: SITEPLAN_WORKERS of the environment, else 2. Results are the same with any number."""
    wanted = os.environ.get("SITEPLAN_WORKERS", "")
    return min(max(1, int(wanted)), MOST_WORKERS) if wanted.isdecimal() else WORKERS_BY_DEFAULT


@dataclass(frozen=True, slots=True)
class Batch:
    """Addresses worked together, with their places in the list they came from."""

    number: int
    index: tuple[int, ...]
    addresses: tuple[Address, ...]


def batches(addresses: Sequence[tuple[int, Address]]) -> tuple[Batch, ...]:
    """Return batches in a fixed order: squares from south to north, west to east; within one, the input's order."""
    squares: dict[tuple[int, int], list[tuple[int, Address]]] = {}
    for place, address in addresses:
        key = (int(address.lat_deg // TILE_DEG), int(address.lon_deg // TILE_DEG))
        squares.setdefault(key, []).append((place, address))
    found: list[Batch] = []
    for key in sorted(squares):
        members = squares[key]
        for start in range(0, len(members), LARGEST_BATCH):
            part = members[start : start + LARGEST_BATCH]
            found.append(Batch(len(found), tuple(place for place, _ in part), tuple(address for _, address in part)))
    return tuple(found)
