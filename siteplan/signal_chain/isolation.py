"""Isolation between outlets: what one receiver puts into its outlet must not reach another's."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from siteplan.errors import MethodRangeError
from siteplan.records.parts import TERRESTRIAL, Chain, Item
from siteplan.signal_chain.network import THROUGH, ends, split_feed, upstream
from siteplan.signal_chain.parts import gain_db

# At both ends of each band it is looked for, MHz: satellite IF and terrestrial UHF, as for slopes.
SATELLITE_MHZ, TV_MHZ = (950.0, 2150.0), (470.0, 694.0)
ONE_WAY = ("amplifier", "mast_head", "single_cable")  # nothing is counted for what comes back through them: their data do not hold it


@dataclass(frozen=True, slots=True)
class Isolation:
    """The least isolation of one outlet: to which other, in which part the two ways part, at which frequency.

    isolation_db  infinity where an outlet stands alone
    known         False: the part where the ways part states no isolation, so only the branches are counted
    """

    isolation_db: float
    other: str = ""
    part: str = ""
    frequency_mhz: float = math.nan
    known: bool = True


@dataclass(frozen=True, slots=True)
class _Branch:
    """The way between one outlet and a part: by which item it leaves that part, loss towards it and loss from it."""

    outlet: str
    child: str
    up_db: float
    down_db: float


def isolations(chain: Chain) -> dict[str, Isolation]:
    """Return for each outlet of a chain the isolation to the outlet that it is least apart from.

    Worked for every pair: loss of one branch, from the outlet back to where the two ways part, the isolation of that part between its
    outputs, and loss of the other branch down to its outlet, at the frequency where the sum is least; the lesser of both directions.
    Source: levels add along a way (EN 60728-1 measures it between outlets; memory).
    """
    by_id = {item.id: item for item in chain.items}
    outlets = ends(chain)
    found = {end.id: Isolation(math.inf) for end in outlets}
    if len(outlets) < 2:
        return found
    for frequency in (*SATELLITE_MHZ, *TV_MHZ):
        branches: dict[str, list[_Branch]] = {}
        for end in outlets:
            _climb(by_id, end, end, "", (0.0, 0.0), frequency, branches)
        for name, reaching in branches.items():
            if len({branch.child for branch in reaching}) > 1 and _carries(chain, by_id[name], frequency):
                _pair(by_id[name], reaching, frequency, found)
    return found


def _climb(
    by_id: dict[str, Item], end: Item, item: Item, port: str, lost: tuple[float, float], frequency_mhz: float, out: dict[str, list[_Branch]]
) -> None:
    """Go from an outlet towards the antennas, noting at each part what lies between; a part without data there ends the way."""
    try:
        gain = gain_db(item, frequency_mhz, tap=port not in THROUGH)
    except MethodRangeError:
        return
    up = lost[0] + (max(-gain, 0.0) if item.part.kind not in ONE_WAY else 0.0)
    down = lost[1] + (-gain if item.part.kind != "single_cable" else 0.0)
    for feed in item.fed_from:
        name, out_port = split_feed(feed)
        before = by_id[name]
        if before.part.low_mhz <= frequency_mhz <= before.part.high_mhz:
            out.setdefault(name, []).append(_Branch(end.id, item.id, up, down))
            _climb(by_id, end, before, out_port, (up, down), frequency_mhz, out)


def _carries(chain: Chain, item: Item, frequency_mhz: float) -> bool:
    """Return whether what is wanted at a part uses this frequency: satellite IF behind an LNB, UHF behind an aerial."""
    before = [item, *upstream(chain, item)]
    if frequency_mhz in TV_MHZ:
        return any(one.serves == TERRESTRIAL for one in before)
    return any(one.part.kind == "lnb" for one in before)


def _pair(where: Item, reaching: Sequence[_Branch], frequency_mhz: float, found: dict[str, Isolation]) -> None:
    """Hold every outlet against the nearest one that leaves this part by another way."""
    inside, known = where.part.isolation_db, math.isfinite(where.part.isolation_db)
    by_child: dict[str, list[_Branch]] = {}
    for branch in reaching:
        by_child.setdefault(branch.child, []).append(branch)
    nearest = [min(some, key=lambda one: one.down_db) for some in by_child.values()], [
        min(some, key=lambda one: one.up_db) for some in by_child.values()
    ]
    below = sorted(nearest[0], key=lambda one: one.down_db)[:3]
    above = sorted(nearest[1], key=lambda one: one.up_db)[:3]
    for mine in reaching:
        sums = [(mine.up_db + other.down_db, other.outlet) for other in below if other.child != mine.child and other.outlet != mine.outlet]
        sums += [(other.up_db + mine.down_db, other.outlet) for other in above if other.child != mine.child and other.outlet != mine.outlet]
        if not sums:
            continue
        branches_db, other = min(sums)
        least = branches_db + (inside if known else 0.0)
        if least < found[mine.outlet].isolation_db:
            found[mine.outlet] = Isolation(least, other, where.id, frequency_mhz, known)
