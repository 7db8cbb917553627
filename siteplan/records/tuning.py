"""How to tune to a satellite and prove that it is the right one: what to tune first, what confirms it, what it may be taken for."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.records.emitters import Transponder
from siteplan.records.lnb import AtLnb, Lnb
from siteplan.records.verdict import Reason


@dataclass(frozen=True, slots=True)
class FalseFriend:
    """A carrier of another satellite that a meter set to ours may lock to.

    off_mhz  its frequency less ours
    told_by  what differs where both state it: "network_id", "original_network_id", "transport_stream_id", "programmes"; () nothing known
    """

    satellite: str
    orbit_deg: float
    transponder: Transponder
    off_mhz: float
    told_by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TuningLine:
    """One carrier of a wanted satellite at the LNB.

    level_db  power of the whole carrier against the strongest of this satellite, 0 or negative; NaN unknown
    friends   what it may be taken for among the neighbours looked at
    first     1, 2, 3: tune these first, as proof; 0 for the others
    """

    at: AtLnb
    level_db: float
    friends: tuple[FalseFriend, ...] = ()
    first: int = 0

    @property
    def confirmed_by(self) -> bool:
        """Return whether the table states anything that a meter can confirm it by."""
        t = self.at.transponder
        return bool(t.programmes) or any(one is not None for one in (t.network_id, t.original_network_id, t.transport_stream_id))


@dataclass(frozen=True, slots=True)
class Neighbour:
    """Another satellite of the plan's table that rises here, near the wanted one on the arc.

    apart_deg  along the orbit, east positive; aside_deg and higher_deg as seen from here, to the right and upwards positive
    carriers   how many of it were compared
    alike      how many carriers of the wanted one it may be taken for
    """

    name: str
    orbit_deg: float
    apart_deg: float
    aside_deg: float
    higher_deg: float
    carriers: int
    alike: int


@dataclass(frozen=True, slots=True)
class Tuning:
    """How to tune to one wanted satellite with the kit's LNB. lines in the order of the table; neighbours the nearest on the arc first.

    position, positions  of this satellite at the switch before the receiver, and how many share it; 0 of 1 where there is no switch
    notes                carriers that the LNB does not take
    """

    lnb: Lnb | None
    position: int
    positions: int
    lines: tuple[TuningLine, ...] = ()
    neighbours: tuple[Neighbour, ...] = ()
    notes: tuple[Reason, ...] = ()

    @property
    def first(self) -> tuple[TuningLine, ...]:
        """Return what to tune first, in that order."""
        return tuple(sorted((line for line in self.lines if line.first), key=lambda line: line.first))
