"""Levels, C/N, slope, headroom, isolation and direct current at each outlet of a chain."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from siteplan.errors import MethodRangeError
from siteplan.records.parts import TERRESTRIAL, Carrier, Chain, Item, LevelProfile, OutletReading, OutletState, Step, Window
from siteplan.records.verdict import Reason
from siteplan.signal_chain.isolation import Isolation, isolations
from siteplan.signal_chain.network import Hop, Ways, ends, upstream
from siteplan.signal_chain.noise import cn_after, noise_figure_of
from siteplan.signal_chain.parts import gain_db
from siteplan.signal_chain.profiles import window_of
from siteplan.signal_chain.supply import LOWEST_V, currents, overdrawn

# Bands over which slope is told, MHz: satellite IF and terrestrial UHF (EN 60728-1 gives both ranges; memory).
SLOPE_BANDS = {"satellite": (950.0, 2150.0), "TV": (470.0, 694.0)}


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
    work = _Work(chain, carriers, profile)
    apart, drawn = isolations(chain), overdrawn(chain)
    return tuple(work.state(end, apart[end.id], drawn.get(end.id, ())) for end in ends(chain) if not only or end.id in only)


def is_wanted(carrier: Carrier) -> bool:
    """Return whether a carrier is to be received, not only borne."""
    return math.isnan(carrier.most_over_db)


def reading_passes(chain: Chain, carriers: Sequence[Carrier], profile: LevelProfile, some: Sequence[str]) -> bool:
    """Return whether the readings of some outlets would pass with this chain: a quick look before all is worked."""
    work = _Work(chain, carriers, profile)
    for name in some:
        end = work.ways.by_id[name]
        fed = set(work.ways.sources(end))
        if not all(work.reading(end, one, place).passes for place, one in enumerate(carriers) if one.source in fed and is_wanted(one)):
            return False
    return True


class _Work:
    """One chain being worked. Outlets at the end of like ways get the same figures, worked once."""

    def __init__(self, chain: Chain, carriers: Sequence[Carrier], profile: LevelProfile) -> None:
        self.ways, self.carriers, self.profile = Ways(chain), carriers, profile
        self.counts = Counter((carrier.source, carrier.line) for carrier in carriers if is_wanted(carrier))
        self._seen: dict[tuple, Arrival | str] = {}
        self._like: dict[int, tuple] = {}  # ways are kept by self.ways, so their identities hold
        self._windows: dict[str, Window] = {}

    def arrival(self, way: tuple[Hop, ...], place: int, user_band: int) -> Arrival | str:
        """Return what arrives of the carrier at a place in the list, or why that can't be said."""
        if id(way) not in self._like:
            self._like[id(way)] = tuple((id(hop.item.part), hop.item.length_m, hop.tap) for hop in way[1:])
        alike = place, user_band, self._like[id(way)]
        if alike not in self._seen:
            carrier = self.carriers[place]
            try:
                count = max(self.counts[carrier.source, carrier.line], carrier.on_line)
                self._seen[alike] = arrival(way, carrier, carriers=count, user_band=user_band)
            except MethodRangeError as wrong:
                self._seen[alike] = str(wrong)
        return self._seen[alike]

    def reading(self, end: Item, carrier: Carrier, place: int) -> OutletReading:
        """Return one carrier at one outlet; on a single-cable system at the tuner whose user band leaves least to spare."""
        way = self.ways.way(end, carrier.source, carrier.line)
        if way is None:
            lacks = Reason("outlet_no_way", {"outlet": end.id, "carrier": carrier.name, "line": carrier.line})
            return _without(end, carrier, self.window(carrier), lacks)
        made = [self._at(end, way, carrier, place, band) for band in end.user_bands or (0,)]
        return min(made, key=_spare_db) if len(made) > 1 else made[0]

    def window(self, carrier: Carrier) -> Window:
        """Return the profile's window for a carrier's modulation, looked for once."""
        if carrier.modulation not in self._windows:
            self._windows[carrier.modulation] = window_of(self.profile, carrier.modulation)
        return self._windows[carrier.modulation]

    def _at(self, end: Item, way: tuple[Hop, ...], carrier: Carrier, place: int, user_band: int) -> OutletReading:
        window, seen = self.window(carrier), self.arrival(way, place, user_band)
        if isinstance(seen, str):
            return _without(end, carrier, window, Reason("outlet_no_data", {"outlet": end.id, "carrier": carrier.name, "why": seen}))
        reasons: list[Reason] = []
        level, cn = seen.level_dbuv, seen.cn_db
        values = {"outlet": end.id, "carrier": carrier.name, "level_dbuv": level, "min_dbuv": window.min_dbuv, "max_dbuv": window.max_dbuv}
        if level < window.min_dbuv:
            reasons.append(Reason("outlet_low", values))
        if level > window.max_dbuv:
            reasons.append(Reason("outlet_high", values))
        lacking = window.cn_over_threshold_db - (cn - carrier.threshold_db)
        if lacking > 0:
            reasons.append(Reason("outlet_cn_low", {"outlet": end.id, "carrier": carrier.name, "cn_db": cn, "lacking_db": lacking}))
        if seen.headroom_db < self.profile.headroom_db:
            tight = min((n for n, step in enumerate(seen.steps) if step.headroom_db == seen.headroom_db), default=0)
            values = {"item": way[tight + 1].item.id, "carrier": carrier.name, "headroom_db": seen.headroom_db}
            reasons.append(Reason("outlet_overload", values | {"limit_db": self.profile.headroom_db}))
        return OutletReading(
            outlet=end.id, carrier=carrier, frequency_mhz=seen.frequency_mhz, level_dbuv=level, level_sigma_db=seen.level_sigma_db,
            cn_db=cn, margin_db=cn - carrier.threshold_db, min_dbuv=window.min_dbuv, max_dbuv=window.max_dbuv, passes=not reasons,
            reasons=tuple(reasons),
        )  # fmt: skip

    def state(self, end: Item, apart: Isolation, drawn: tuple[Reason, ...]) -> OutletState:
        """Return one outlet: its readings, and what belongs to the whole of it."""
        sources, limits = self.ways.sources(end), self.profile
        fed = [(place, one) for place, one in enumerate(self.carriers) if one.source in sources]
        readings = tuple(self.reading(end, one, place) for place, one in fed if is_wanted(one))
        reasons = [reason for place, one in fed if not is_wanted(one) for reason in self._borne(end, one, place, readings)]
        slopes = []
        for band, (low, high) in SLOPE_BANDS.items():
            slope = _slope_db(self.ways, end, readings, TERRESTRIAL if band == "TV" else "", low, high)
            if math.isfinite(slope):
                slopes.append((band, slope))
                if abs(slope) > limits.slope_db:
                    reasons.append(Reason("outlet_slope", {"outlet": end.id, "band": band, "slope_db": slope, "limit_db": limits.slope_db}))
        if apart.isolation_db < limits.isolation_db:
            values = {"outlet": end.id, "other": apart.other, "part": apart.part, "mhz": apart.frequency_mhz}
            values |= {"isolation_db": apart.isolation_db, "limit_db": limits.isolation_db}
            reasons.append(Reason("outlet_isolation" if apart.known else "outlet_isolation_unknown", values))
        volts = currents(self.ways, end)
        for source, at_lnb, _ in volts:
            if at_lnb < LOWEST_V:
                reasons.append(Reason("outlet_voltage", {"outlet": end.id, "source": source, "volts": at_lnb, "limit_v": LOWEST_V}))
        reasons += drawn
        nearest = apart.other if math.isfinite(apart.isolation_db) else ""
        return OutletState(
            end.id, readings, tuple(slopes), apart.isolation_db, tuple(volts), tuple(reasons), nearest, _user_bands(self.ways, end)
        )

    def _borne(self, end: Item, carrier: Carrier, place: int, readings: Sequence[OutletReading]) -> list[Reason]:
        """Return what a signal that nobody wants does here: it overdrives a part, or stands too far over the weakest wanted one."""
        way = self.ways.way(end, carrier.source, carrier.line)
        seen = self.arrival(way, place, 0) if way is not None else ""
        if isinstance(seen, str):
            return []  # no way, or a part on it whose data end before
        found = []
        if seen.headroom_db < self.profile.headroom_db:
            tight = min((n for n, step in enumerate(seen.steps) if step.headroom_db == seen.headroom_db), default=0)
            values = {"item": way[tight + 1].item.id, "carrier": carrier.name, "headroom_db": seen.headroom_db}
            found.append(Reason("outlet_overload", values | {"limit_db": self.profile.headroom_db}))
        beside = [one.level_dbuv for one in readings if one.carrier.line == carrier.line and math.isfinite(one.level_dbuv)]
        over = seen.level_dbuv - min(beside, default=math.inf)
        if over > carrier.most_over_db:
            values = {"outlet": end.id, "carrier": carrier.name, "over_db": over, "limit_db": carrier.most_over_db}
            found.append(Reason("outlet_mobile", values))
        return found


def _user_bands(ways: Ways, end: Item) -> tuple[tuple[int, float], ...]:
    unit = next((item for item in upstream(ways.chain, end) if item.part.kind == "single_cable"), None) if end.user_bands else None
    return tuple((band, unit.part.user_bands_mhz[band - 1]) for band in end.user_bands) if unit is not None else ()


def _without(end: Item, carrier: Carrier, window: Window, lacks: Reason) -> OutletReading:
    return OutletReading(
        outlet=end.id, carrier=carrier, frequency_mhz=carrier.frequency_mhz, level_dbuv=math.nan, level_sigma_db=math.nan, cn_db=math.nan,
        margin_db=math.nan, min_dbuv=window.min_dbuv, max_dbuv=window.max_dbuv, passes=False, reasons=(lacks,),
    )  # fmt: skip


def _spare_db(reading: OutletReading) -> float:
    spare = min(reading.margin_db, reading.level_dbuv - reading.min_dbuv, reading.max_dbuv - reading.level_dbuv)
    return spare if math.isfinite(spare) else -math.inf


def _slope_db(ways: Ways, end: Item, readings: Sequence[OutletReading], line: str, low_mhz: float, high_mhz: float) -> float:
    """Return the gain at the top of a band less that at its bottom, from the last gain-controlled output on; NaN where nothing passes."""
    fitting = (r.carrier for r in readings if (r.carrier.line == TERRESTRIAL) == (line == TERRESTRIAL) and math.isfinite(r.level_dbuv))
    carrier = next(fitting, None)
    way = ways.way(end, carrier.source, carrier.line) if carrier else None
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
