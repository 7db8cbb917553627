"""Which transmitter to aim at and what to put up for it: order of aims, what stays open between two, aerial, amplifier, second aerial."""

from __future__ import annotations

import math
from collections.abc import Iterable

from siteplan.radio.modes import terrestrial_mode
from siteplan.radio.terrestrial_link import Amplifier
from siteplan.radio.tv_aerial import group_for
from siteplan.records.findings import Aim, MultiplexLine
from siteplan.records.plan import Plan
from siteplan.records.tv import AerialChoice, MobileAtAerial
from siteplan.services.terrestrial import limits
from siteplan.services.terrestrial.disturb import plane_of
from siteplan.services.terrestrial.lines import need_of


def programmes_of(line: MultiplexLine) -> tuple[str, ...]:
    """Return the programmes of a multiplex; where its row names none, the multiplex counts as one of its own name."""
    return line.multiplex.programmes or (line.multiplex.name,)


def programmes_given(lines: Iterable[MultiplexLine]) -> tuple[str, ...]:
    """Return the programmes of lines, each once, in the order of the table."""
    return tuple(dict.fromkeys(name for line in lines for name in programmes_of(line)))


def rank(aim: Aim, plan: Plan) -> tuple:
    """Return the sort key of an aim: region wanted, programmes to promise, those that likely work, channels likewise, weakest margin."""
    sure = sum(line.probability >= plan.limits.book_probability for line in aim.lines)
    works = sum(line.margin_db >= 0 for line in aim.lines)
    elsewhere = bool(plan.transmitters.region) and aim.transmitter.region.casefold() != plan.transmitters.region.casefold()
    promised, likely = len(aim.programmes_sure), len(aim.programmes_likely)
    margin = aim.margin_db if works else max(line.margin_db for line in aim.lines)  # where none suffices, what comes nearest
    return (elsewhere, -promised, -likely, -sure, -works, -margin, aim.transmitter.name)


def difference(first: Aim, second: Aim) -> tuple[float, float]:
    """Return (margin of the first less that of the second over the programmes both carry, sigma of that difference), dB.

    The weakest margin that each gives to those programmes; sigmas as independent (another way over the ground each). NaN where they
    share none.
    """
    shared = set(programmes_given(first.lines)) & set(programmes_given(second.lines))
    if not shared:
        return math.nan, math.nan
    one, other = _weakest_for(first, shared), _weakest_for(second, shared)
    return one.margin_db - other.margin_db, math.hypot(one.sigma_db, other.sigma_db)


def _weakest_for(aim: Aim, names: set[str]) -> MultiplexLine:
    best = {}
    for line in aim.lines:
        for name in programmes_of(line):
            if name in names and (name not in best or line.margin_db > best[name].margin_db):
                best[name] = line
    return min(best.values(), key=lambda line: line.margin_db)


def stay_open(first: Aim, second: Aim, plan: Plan) -> bool:
    """Return whether the order of two aims can't be told from here: their margins differ by less than the sigma of the difference.

    Both must be of the same wanted region, both must likely work, and the second must likely give what the first can be promised to.
    """
    if rank(first, plan)[0] != rank(second, plan)[0]:
        return False
    apart, sigma = difference(first, second)
    if not abs(apart) < limits.OPEN_SIGMAS * sigma:
        return False
    return bool(second.programmes_likely) and len(second.programmes_likely) >= len(first.programmes_sure)


def choose(aims: tuple[Aim, ...], plan: Plan, mobile: MobileAtAerial | None) -> AerialChoice:
    """Return what to put up for the best aim, and what stays open."""
    best = aims[0]
    lines = _counts(best, plan)
    advice, attenuator, helps = _amplifier(lines, plan, mobile)
    plane = plane_of(tuple(line.multiplex for line in lines))
    open_with, apart, sigma = "", math.nan, math.nan
    if len(aims) > 1:
        apart, sigma = difference(best, aims[1])
        open_with = aims[1].transmitter.name if stay_open(best, aims[1], plan) else ""
    taken = lines if not open_with else [*lines, *_counts(aims[1], plan)]  # one aerial to try both aims with
    low = min(line.multiplex.frequency_mhz - line.multiplex.bandwidth_mhz / 2.0 for line in taken)
    high = max(line.multiplex.frequency_mhz + line.multiplex.bandwidth_mhz / 2.0 for line in taken)
    second, adds, fits = _second(aims, plan)
    return AerialChoice(
        group=group_for(low, high),
        from_mhz=low,
        to_mhz=high,
        plane=plane,
        amplifier=advice,
        attenuator_db=attenuator,
        weakest_dbuv=min(line.receiver_dbuv for line in lines),
        strongest_dbuv=max(line.receiver_dbuv for line in lines),
        helps_db=helps,
        slant=any(line.multiplex.polarisation == "s" for line in lines),
        open_with=open_with,
        difference_db=apart,
        difference_sigma_db=sigma,
        second=second,
        adds=adds,
        filter_fits=fits,
        mobile=mobile,
    )


def _counts(aim: Aim, plan: Plan) -> list[MultiplexLine]:
    """Return the multiplexes of an aim that are not hopeless; all of them where all are."""
    return [line for line in aim.lines if line.probability > plan.limits.not_feasible_probability] or list(aim.lines)


def least_receiver_dbuv(line: MultiplexLine) -> float:
    """Return the least level at a receiver's input that its mode is planned with. Source: limits.OUTLET_OVER_CN_DB."""
    return terrestrial_mode(line.multiplex.mode).threshold_db + limits.OUTLET_OVER_CN_DB


def _amplifier(lines: list[MultiplexLine], plan: Plan, mobile: MobileAtAerial | None) -> tuple[str, float, float]:
    """Return (advice, attenuator dB, what a mast-head amplifier adds to the margin of the weakest)."""
    if plan.transmitters.reception != "fixed":
        return "none", 0.0, 0.0
    weakest = min(lines, key=lambda line: line.receiver_dbuv - least_receiver_dbuv(line))
    strongest = max(line.receiver_dbuv for line in lines)
    weak = weakest.receiver_dbuv < least_receiver_dbuv(weakest)
    bare = need_of(weakest.multiplex, plan, Amplifier())
    helped = need_of(weakest.multiplex, plan, Amplifier(limits.ADVISED_GAIN_DB, limits.ADVISED_FIGURE_DB))
    helps = bare.minimum_field_dbuv_per_m - helped.minimum_field_dbuv_per_m
    too_strong = strongest > limits.OUTLET_MOST_DBUV
    if weak and plan.kit.amplifier_gain_db <= 0.0:
        after = max(strongest + bare.feeder_loss_db, mobile.total_dbuv if mobile is not None else -math.inf) + limits.ADVISED_GAIN_DB
        return ("apart" if too_strong or after > plan.kit.amplifier_most_dbuv else "masthead"), 0.0, helps
    if too_strong:
        spare = weakest.receiver_dbuv - least_receiver_dbuv(weakest)
        off = strongest - limits.ATTENUATED_TO_DBUV
        return ("attenuator" if spare >= off else "apart"), float(math.ceil(off)), helps
    return "none", 0.0, helps


def _second(aims: tuple[Aim, ...], plan: Plan) -> tuple[str, tuple[str, ...], bool]:
    """Return (transmitter that a second aerial would add most programmes from, those, whether a filter can keep the two apart)."""
    best = aims[0]
    have = set(best.programmes_sure)
    found = []
    for aim in aims[1:]:
        lines = [line for line in aim.lines if line.probability >= plan.limits.book_probability]
        adds = tuple(name for name in programmes_given(lines) if name not in have)
        if adds:
            bring = [line for line in lines if set(programmes_of(line)) - have]
            found.append((-len(adds), -aim.margin_db, aim.transmitter.name, adds, _apart(best.lines, bring)))
    if not found:
        return "", (), True
    _, _, name, adds, fits = min(found)
    return name, adds, fits


def _apart(kept: Iterable[MultiplexLine], brought: Iterable[MultiplexLine]) -> bool:
    """Return whether a filter can pass the one group of channels to the one aerial and the other to the other."""
    kept, brought = list(kept), list(brought)
    sides = enumerate((kept, brought))
    edges = sorted((line.multiplex.frequency_mhz, line.multiplex.bandwidth_mhz, side) for side, lines in sides for line in lines)
    changes = 0
    for (f1, w1, s1), (f2, w2, s2) in zip(edges, edges[1:], strict=False):
        if s1 != s2:
            changes += 1
            if f2 - f1 - (w1 + w2) / 2.0 < limits.FILTER_GAP_MHZ:
                return False
    return changes <= 2  # one group below, above, or between the other
