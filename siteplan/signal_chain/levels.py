"""Levels, C/N, slope, headroom, isolation and direct current at each outlet of a chain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from siteplan.errors import MethodRangeError
from siteplan.records.parts import TERRESTRIAL, Carrier, Chain, Item, LevelProfile, OutletReading, OutletState, Step
from siteplan.records.verdict import Reason
from siteplan.signal_chain.network import Hop, ends, trace, upstream
from siteplan.signal_chain.noise import cn_after, noise_figure_of
from siteplan.signal_chain.parts import gain_db
from siteplan.signal_chain.profiles import window_of

# Bands over which slope is told, MHz: satellite IF and terrestrial UHF (EN 60728-1 gives both ranges; memory).
SLOPE_BANDS = {"satellite": (950.0, 2150.0), "TV": (470.0, 694.0)}
SUPPLY_V = 18.0  # nominal for horizontal, EN 61319-1 (memory); 17 to 19 V allowed
LOWEST_V = 15.0  # an LNB takes less than about this for 13 V and hands out the other polarisation: common practice, no source
SUPPLY_MA = 350.0  # what a receiver must be able to feed, EN 61319-1 (memory)


@dataclass(frozen=True, slots=True)
class Arrival:
    """One carrier at the end of a chain: frequency on the last cable, level, C/N, 1 sigma of the level, each step, least headroom."""

    frequency_mhz: float
    level_dbuv: float
    cn_db: float
    level_sigma_db: float
    steps: tuple[Step, ...]
    headroom_db: float


def arrival(way: Sequence[Hop], carrier: Carrier, *, carriers: int, user_band: int = 0) -> Arrival:
    """Follow one carrier along its way.

    carriers   how many share an amplifying part (its intermodulation)
    user_band  of the receiver's tuner on a single-cable system, from 1

    A gain-controlled output holds its level whatever comes in: slope and tolerance before it do not pass through.
    Headroom is the part's two-carrier rating less 7.5 log10(n - 1) less the level: common practice, no source.
    Raises MethodRangeError where a part has no data at the frequency.
    """
    level, cn, frequency = carrier.level_dbuv, carrier.cn_db, carrier.frequency_mhz
    variance = carrier.level_sigma_db**2
    least = math.inf
    steps: list[Step] = []
    for hop in way[1:]:
        part = hop.item.part
        before = level
        if part.kind == "single_cable" and carrier.line != TERRESTRIAL:
            band = part.user_bands_mhz[user_band - 1] if 1 <= user_band <= len(part.user_bands_mhz) else frequency
            gain = _gain(hop, frequency)
            frequency = band
        else:
            gain = _gain(hop, frequency)
        cn = cn_after(
            cn, level_in_dbuv=before, noise_figure_db=noise_figure_of(gain, part.noise_figure_db), bandwidth_mhz=carrier.bandwidth_mhz,
            impedance_ohm=part.impedance_ohm,
        )  # fmt: skip
        level = before + gain
        variance += part.sigma_db**2
        if math.isfinite(part.output_dbuv) and carrier.line != TERRESTRIAL:
            gain, level, variance = part.output_dbuv - before, part.output_dbuv, part.sigma_db**2
        headroom = math.nan
        if math.isfinite(part.max_output_dbuv):
            headroom = part.max_output_dbuv - 7.5 * math.log10(max(carriers - 1, 1)) - level
            least = min(least, headroom)
        steps.append(Step(hop.item.id, part.name, gain, level, cn, headroom))
    return Arrival(frequency, level, cn, math.sqrt(variance), tuple(steps), least)


def outlets(chain: Chain, carriers: Sequence[Carrier], profile: LevelProfile, *, only: Sequence[str] = ()) -> tuple[OutletState, ...]:
    """Return every outlet of a chain with every carrier that can reach it, held against a profile.

    only  ids of the outlets to work; all where empty

    A carrier whose source feeds an outlet but which no way brings there counts as failing there (a reason); a part without data
    at a carrier's frequency fails that carrier alone. The chain must have no `faults`.
    """
    per_line: dict[tuple[str, str], int] = {}
    for carrier in carriers:
        per_line[carrier.source, carrier.line] = per_line.get((carrier.source, carrier.line), 0) + 1
    made = []
    for end in ends(chain):
        if only and end.id not in only:
            continue
        sources = {item.serves for item in upstream(chain, end) if item.serves}
        readings = []
        for carrier in carriers:
            if carrier.source not in sources:
                continue
            for band in _tuners(end):
                readings.append(_reading(chain, end, carrier, profile, per_line[carrier.source, carrier.line], band))
        made.append(_state(chain, end, tuple(readings), profile))
    return tuple(made)


def _tuners(end: Item) -> tuple[int, ...]:
    return end.user_bands[:1] or (0,)  # every tuner of one receiver hangs on the same cable: one is worked


def _reading(chain: Chain, end: Item, carrier: Carrier, profile: LevelProfile, count: int, user_band: int) -> OutletReading:
    window = window_of(profile, carrier.modulation)
    way = trace(chain, end, carrier)
    reasons: list[Reason] = []
    nothing = (math.nan, math.nan, math.nan)
    if way is None:
        reasons.append(Reason("outlet_no_way", {"outlet": end.id, "carrier": carrier.name, "line": carrier.line}))
    else:
        try:
            seen = arrival(way, carrier, carriers=count, user_band=user_band)
        except MethodRangeError as wrong:
            reasons.append(Reason("outlet_no_data", {"outlet": end.id, "carrier": carrier.name, "why": str(wrong)}))
            way = None
    if way is None:
        frequency, (level, sigma, cn), steps = carrier.frequency_mhz, nothing, ()
    else:
        frequency, level, sigma, cn, steps = seen.frequency_mhz, seen.level_dbuv, seen.level_sigma_db, seen.cn_db, seen.steps
        values = {"outlet": end.id, "carrier": carrier.name, "level_dbuv": level, "min_dbuv": window.min_dbuv, "max_dbuv": window.max_dbuv}
        if level < window.min_dbuv:
            reasons.append(Reason("outlet_low", values))
        if level > window.max_dbuv:
            reasons.append(Reason("outlet_high", values))
        lacking = window.cn_over_threshold_db - (cn - carrier.threshold_db)
        if lacking > 0:
            reasons.append(Reason("outlet_cn_low", {"outlet": end.id, "carrier": carrier.name, "cn_db": cn, "lacking_db": lacking}))
        if seen.headroom_db < profile.headroom_db:
            tight = min((step for step in steps if math.isfinite(step.headroom_db)), key=lambda step: step.headroom_db)
            values = {"item": tight.item, "carrier": carrier.name, "headroom_db": tight.headroom_db, "limit_db": profile.headroom_db}
            reasons.append(Reason("outlet_overload", values))
    return OutletReading(
        outlet=end.id, carrier=carrier, frequency_mhz=frequency, level_dbuv=level, level_sigma_db=sigma, cn_db=cn,
        margin_db=cn - carrier.threshold_db, min_dbuv=window.min_dbuv, max_dbuv=window.max_dbuv, passes=not reasons, reasons=tuple(reasons),
        steps=steps,
    )  # fmt: skip


def _state(chain: Chain, end: Item, readings: tuple[OutletReading, ...], profile: LevelProfile) -> OutletState:
    reasons: list[Reason] = []
    slopes = []
    for band, (low, high) in SLOPE_BANDS.items():
        slope = _slope_db(chain, end, readings, TERRESTRIAL if band == "TV" else "", low, high)
        if math.isfinite(slope):
            slopes.append((band, slope))
            if abs(slope) > profile.slope_db:
                reasons.append(Reason("outlet_slope", {"outlet": end.id, "band": band, "slope_db": slope, "limit_db": profile.slope_db}))
    isolation = _isolation_db(chain, end)
    if isolation < profile.isolation_db:
        reasons.append(Reason("outlet_isolation", {"outlet": end.id, "isolation_db": isolation, "limit_db": profile.isolation_db}))
    volts = currents(chain, end)
    for source, at_lnb, milliamps, limit in volts:
        if at_lnb < LOWEST_V:
            reasons.append(Reason("outlet_voltage", {"outlet": end.id, "source": source, "volts": at_lnb, "limit_v": LOWEST_V}))
        if milliamps > limit:
            reasons.append(Reason("outlet_current", {"outlet": end.id, "source": source, "current_ma": milliamps, "limit_ma": limit}))
    return OutletState(end.id, readings, tuple(slopes), isolation, tuple(line[:3] for line in volts), tuple(reasons))


def _slope_db(chain: Chain, end: Item, readings: Sequence[OutletReading], line: str, low_mhz: float, high_mhz: float) -> float:
    """Return the gain at the top of a band less that at its bottom, from the last gain-controlled output on; NaN where nothing passes."""
    carrier = next((r.carrier for r in readings if (r.carrier.line == TERRESTRIAL) == (line == TERRESTRIAL) and r.steps), None)
    way = trace(chain, end, carrier) if carrier else None
    if way is None:
        return math.nan
    held = [place for place, hop in enumerate(way) if math.isfinite(hop.item.part.output_dbuv)] if line != TERRESTRIAL else []
    rest = way[held[-1] + 1 :] if held else way[1:]
    try:
        return sum(_gain(hop, high_mhz) - _gain(hop, low_mhz) for hop in rest)
    except MethodRangeError:
        return math.nan


def _gain(hop: Hop, frequency_mhz: float) -> float:
    return gain_db(hop.item, frequency_mhz, tap=hop.tap)


def _isolation_db(chain: Chain, end: Item) -> float:
    """Return the isolation to the nearest other outlet: that of the part where the two ways part. infinity where an outlet stands alone."""
    mine = [end, *upstream(chain, end)]
    least = math.inf
    for other in ends(chain):
        if other.id == end.id:
            continue
        theirs = {item.id for item in (other, *upstream(chain, other))}
        shared = next((item for item in mine if item.id in theirs), None)
        if shared is not None and math.isfinite(shared.part.isolation_db):
            least = min(least, shared.part.isolation_db)
    return least


def currents(chain: Chain, end: Item) -> list[tuple[str, float, float, float]]:
    """Return (source, volts at its LNB on the 18 V setting, current in mA, what the supply can give) for each LNB this outlet reaches.

    The supply is the nearest part before the outlet that feeds its LNBs itself, else the receiver (350 mA, EN 61319-1; memory). Ohm's law
    over the loop resistance of the cables between; each part on the way that draws current adds to it.
    """
    made = []
    for lnb in upstream(chain, end):
        if lnb.part.kind != "lnb":
            continue
        way = trace(chain, end, Carrier("", lnb.serves, _any_line(chain, end, lnb), 1000.0, 1.0, 0.0, 0.0, 0.0, ""))
        if way is None:
            continue
        loop, drawn = 0.0, lnb.part.current_ma
        limit = next((hop.item.part.supply_ma for hop in _from(way, lnb)[1:] if hop.item.part.supply_ma > 0), SUPPLY_MA)
        fed = _fed_part(_from(way, lnb)[1:])
        for hop in fed:
            part = hop.item.part
            if part.kind == "cable" and math.isfinite(part.loop_ohm_per_100m):
                loop += part.loop_ohm_per_100m * hop.item.length_m / 100.0
            elif part.supply_ma == 0:
                drawn += part.current_ma
        made.append((lnb.serves, SUPPLY_V - loop * drawn / 1000.0, drawn, limit))
    return made


def _any_line(chain: Chain, end: Item, lnb: Item) -> str:
    """Return a line by which an LNB reaches an outlet."""
    for line in ("HH", "HL", "VH", "VL"):
        if trace(chain, end, Carrier("", lnb.serves, line, 1000.0, 1.0, 0.0, 0.0, 0.0, "")) is not None:
            return line
    return "HH"


def _from(way: Sequence[Hop], lnb: Item) -> Sequence[Hop]:
    place = next(place for place, hop in enumerate(way) if hop.item.id == lnb.id)
    return way[place:]


def _fed_part(way: Sequence[Hop]) -> list[Hop]:
    """Return what lies between the LNB and the nearest supply."""
    fed = []
    for hop in way:
        if hop.item.part.supply_ma > 0:
            break
        fed.append(hop)
    return fed
