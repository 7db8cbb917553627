"""Is it the right satellite? Which carriers it alone has, which to tune first as proof, and what each other may be taken for."""

from __future__ import annotations

import bisect
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from siteplan.radio.lnb import at_lnb, best_lnb
from siteplan.records.emitters import Satellite, Transponder
from siteplan.records.findings import LinkLine, SatelliteView
from siteplan.records.lnb import AtLnb, Lnb
from siteplan.records.plan import Plan
from siteplan.records.tuning import FalseFriend, Neighbour, Tuning, TuningLine
from siteplan.records.verdict import Reason
from siteplan.services.satellite import limits
from siteplan.sky.look_angles import look_angles_array

_LINEAR = ("H", "V")
_IDS = ("network_id", "original_network_id", "transport_stream_id")


def receivable(satellites: Sequence[Satellite], plan: Plan) -> tuple[tuple[Satellite, ...], tuple[Reason, ...]]:
    """Return the satellites with those transponders alone that the LNB of the kit takes, and a reason for each that it doesn't.

    For each satellite that LNB is used which takes most of its transponders. A satellite none of whose transponders any takes stays,
    without transponders.
    """
    kept, lost = [], []
    for satellite in satellites:
        lnb = best_lnb(satellite.transponders, plan.kit.lnb)
        fits = [lnb is not None and at_lnb(t, lnb) is not None for t in satellite.transponders]
        taken = tuple(t for t, fit in zip(satellite.transponders, fits, strict=True) if fit)
        lost += [lnb_reason(satellite, t, lnb, plan) for t, fit in zip(satellite.transponders, fits, strict=True) if not fit]
        kept.append(satellite if len(taken) == len(satellite.transponders) else replace(satellite, transponders=taken))
    return tuple(kept), tuple(lost)


def lnb_reason(satellite: Satellite, transponder: Transponder, lnb: Lnb | None, plan: Plan) -> Reason:
    """Return why a transponder is left out: its polarisation or its frequency does not fit the LNB."""
    lnbs = (lnb,) if lnb is not None else plan.kit.lnb
    turned = "LR" if transponder.polarisation in _LINEAR else "HV"
    polarisation_only = any(at_lnb(replace(transponder, polarisation=way), one) is not None for one in lnbs for way in turned)
    values = {
        "satellite": satellite.name, "transponder": transponder.name, "frequency_mhz": transponder.frequency_mhz,
        "polarisation": transponder.polarisation, "lnb": ", ".join(str(one) for one in lnbs),
        "bands": ", ".join(dict.fromkeys(f"{o.from_mhz:g}-{o.to_mhz:g}" for one in lnbs for o in one.oscillators)),
    }  # fmt: skip
    return Reason("lnb_polarisation" if polarisation_only else "lnb_band", values)


def tuned(views: Sequence[SatelliteView], plan: Plan, *, lat_deg: float, lon_deg: float, height_m: float) -> tuple[SatelliteView, ...]:
    """Return the views with how to tune to each satellite; one that never rises has nothing to tune."""
    out = []
    for number, view in enumerate(views, start=1):
        if view.look.elevation_deg <= 0.0:
            out.append(view)
            continue
        others = near(view.satellite)
        orbits, stands = [other.orbit_deg for other in others], np.array([other.stands_at_deg for other in others])
        looks = look_angles_array(lat_deg=lat_deg, lon_deg=lon_deg, height_ell_m=height_m, orbit_deg=stands)
        there = dict(zip(orbits, zip(looks.azimuth_deg.tolist(), looks.elevation_deg.tolist(), strict=True), strict=True))
        out.append(replace(view, tuning=tuning_of(view, there, plan, position=number, positions=len(views))))
    return tuple(out)


def near(satellite: Satellite) -> list[Satellite]:
    """Return the neighbours within limits.NEIGHBOUR_DEG of orbit, nearest first; one that shares the place stands in the same beam."""
    apart = {other.orbit_deg: abs(_apart_deg(satellite, other)) for other in satellite.neighbours}
    found = [other for other in satellite.neighbours if limits.SAME_PLACE_DEG < apart[other.orbit_deg] <= limits.NEIGHBOUR_DEG + 1e-9]
    return sorted(found, key=lambda other: apart[other.orbit_deg])


def _apart_deg(satellite: Satellite, other: Satellite) -> float:
    return (other.orbit_deg - satellite.orbit_deg + 180.0) % 360.0 - 180.0


def tuning_of(view: SatelliteView, there: Mapping[float, tuple[float, float]], plan: Plan, *, position: int, positions: int) -> Tuning:
    """Return how to tune to the satellite of one view.

    there  azimuth and elevation (degrees) of each neighbour, by its orbital longitude; what is below the horizon does not count
    """
    satellite = view.satellite
    up = tuple(other.orbit_deg for other in near(satellite) if other.orbit_deg in there and there[other.orbit_deg][1] > 0.0)
    lnb, at, friends, notes = _compared(satellite, up, plan)
    levels = relative_levels_db([found.transponder for found in at], view.links)
    lines = [TuningLine(found, level, own) for found, level, own in zip(at, levels, friends, strict=True)]
    neighbours = tuple(
        Neighbour(
            name=other.name,
            orbit_deg=other.orbit_deg,
            apart_deg=_apart_deg(satellite, other),
            aside_deg=(there[other.orbit_deg][0] - view.look.azimuth_deg + 180.0) % 360.0 - 180.0,
            higher_deg=there[other.orbit_deg][1] - view.look.elevation_deg,
            carriers=len(other.transponders),
            alike=sum(any(friend.orbit_deg == other.orbit_deg for friend in own) for own in friends),
        )
        for other in near(satellite)
        if other.orbit_deg in up
    )
    switched = positions > 1
    return Tuning(lnb, position if switched else 0, positions if switched else 1, _with_first(lines), neighbours, notes)


_Compared = tuple[Lnb | None, tuple[AtLnb, ...], tuple[tuple[FalseFriend, ...], ...], tuple[Reason, ...]]
_compared_before: dict[tuple[int, int, tuple[float, ...]], tuple[Satellite, tuple[Lnb, ...], _Compared]] = {}
_MOST_KEPT = 256


def _compared(satellite: Satellite, up: tuple[float, ...], plan: Plan) -> _Compared:
    """Return what hangs on no address: LNB, carriers behind it, what each may be taken for, what is left out. up: neighbours that rise.

    Worked once for each satellite and set of neighbours: the answers are kept by the very records asked about, which stay referenced.
    """
    key = (id(satellite), id(plan.kit.lnb), up)
    before = _compared_before.get(key)
    if before is not None and before[0] is satellite and before[1] is plan.kit.lnb:
        return before[2]
    lnb = best_lnb(satellite.transponders, plan.kit.lnb)
    at = tuple(found for t in satellite.transponders if lnb is not None and (found := at_lnb(t, lnb)) is not None)
    notes = tuple(lnb_reason(satellite, t, lnb, plan) for t in satellite.transponders if lnb is None or at_lnb(t, lnb) is None)
    made = lnb, at, tuple(_friends(at, [other for other in near(satellite) if other.orbit_deg in up])), notes
    if len(_compared_before) >= _MOST_KEPT:
        _compared_before.clear()
    _compared_before[key] = (satellite, plan.kit.lnb, made)
    return made


def relative_levels_db(transponders: Sequence[Transponder], links: Sequence[LinkLine]) -> list[float]:
    """Return the power of each carrier against the strongest, dB: from the links (C/N times symbol rate) where all known, else from EIRP.

    A dish's gain rises with frequency as the free-space loss does, so that EIRP alone sets the difference; noise is one for all.
    """
    budgets = {(line.transponder.name, line.transponder.frequency_mhz, line.transponder.polarisation): line.cn_db for line in links}
    cn = [budgets.get((t.name, t.frequency_mhz, t.polarisation), math.nan) for t in transponders]
    from_links = [value + 10.0 * math.log10(t.symbol_rate_kbaud) for value, t in zip(cn, transponders, strict=True)]
    usable = all(math.isfinite(value) or not math.isfinite(t.eirp_dbw) for value, t in zip(from_links, transponders, strict=True))
    power = from_links if usable and any(map(math.isfinite, from_links)) else [t.eirp_dbw for t in transponders]
    strongest = max((value for value in power if math.isfinite(value)), default=math.nan)
    return [value - strongest for value in power]


def may_be_taken_for(ours: Transponder, theirs: Transponder) -> bool:
    """Return whether a meter set to our carrier may lock to theirs.

    It may unless the frequency differs by more than the LNB's drift, or the symbol rate clearly, or the linear polarisation; a linear
    LNB sees a circular carrier whichever way it is turned.
    """
    if abs(theirs.frequency_mhz - ours.frequency_mhz) > limits.LNB_DRIFT_MHZ + 1e-9:
        return False
    rates = ours.symbol_rate_kbaud, theirs.symbol_rate_kbaud
    if max(rates) > min(rates) * (1.0 + limits.CLEARLY_OTHER_RATE):
        return False
    alike = (ours.polarisation in _LINEAR) == (theirs.polarisation in _LINEAR)
    return ours.polarisation == theirs.polarisation or not alike


def _friends(at: Sequence[AtLnb], others: Sequence[Satellite]) -> list[tuple[FalseFriend, ...]]:
    found: list[list[FalseFriend]] = [[] for _ in at]
    for other in others:
        theirs = sorted(other.transponders, key=lambda t: t.frequency_mhz)
        frequencies = [t.frequency_mhz for t in theirs]
        for place, line in enumerate(at):
            ours = line.transponder
            first = bisect.bisect_left(frequencies, ours.frequency_mhz - limits.LNB_DRIFT_MHZ - 1e-6)
            last = bisect.bisect_right(frequencies, ours.frequency_mhz + limits.LNB_DRIFT_MHZ + 1e-6)
            for t in theirs[first:last]:
                if may_be_taken_for(ours, t):
                    found[place].append(
                        FalseFriend(other.name, other.orbit_deg, t, t.frequency_mhz - ours.frequency_mhz, _told_by(ours, t))
                    )
    return [tuple(own) for own in found]


def _told_by(ours: Transponder, theirs: Transponder) -> tuple[str, ...]:
    out = [key for key in _IDS if _differ(getattr(ours, key), getattr(theirs, key))]
    if ours.programmes and theirs.programmes and not set(ours.programmes) & set(theirs.programmes):
        out.append("programmes")
    return tuple(out)


def _differ(ours: int | None, theirs: int | None) -> bool:
    return ours is not None and theirs is not None and ours != theirs


def _with_first(lines: Sequence[TuningLine]) -> tuple[TuningLine, ...]:
    """Return the lines with the three to tune first marked.

    Strongest first of those that no neighbour has and that something confirms; where fewer, those that no neighbour has at all; where
    still fewer, those whose false friends the ids or programmes tell apart.
    """

    def rank(place: int) -> tuple[int, float, float]:
        line = lines[place]
        told = all(friend.told_by for friend in line.friends)
        kind = 0 if not line.friends and line.confirmed_by else 1 if not line.friends else 2 if told else 3
        return kind, -line.level_db if math.isfinite(line.level_db) else math.inf, line.at.transponder.frequency_mhz

    order = [place for place in sorted(range(len(lines)), key=rank) if rank(place)[0] < 3]
    chosen: list[int] = []
    for place in order:  # streams of one carrier prove no more than one of them
        t = lines[place].at.transponder
        same = (lines[other].at.transponder for other in chosen)
        if len(chosen) < limits.PROOFS and all((t.frequency_mhz, t.polarisation) != (s.frequency_mhz, s.polarisation) for s in same):
            chosen.append(place)
    return tuple(replace(line, first=chosen.index(place) + 1) if place in chosen else line for place, line in enumerate(lines))
