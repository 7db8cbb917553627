"""The link of one transponder at one address, itemised, and what each dish of the kit makes of a satellite."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.records.emitters import Transponder

NAN = float("nan")


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """One line of a budget. code names it (labels: words.explain, words.link); source is a standard, a plan key or where it was read."""

    code: str
    value: float | str
    unit: str = "dB"
    source: str = ""


@dataclass(frozen=True, slots=True)
class LinkLine:
    """One transponder at one address, with the dish named.

    cn_db                C/N in clear sky, gases and pointing counted; left_out names what that sum does not hold
    threshold_db         of a real receiver: ideal_threshold_db and implementation_db
    margin_db            of cni_db (interference counted) over the threshold, in clear sky
    needs_eirp_dbw       EIRP that would just hold the wanted clear-sky margin, and the threshold in the wanted availability's weather
    eirp_dbw             towards the address, NaN unknown; eirp_source "stated", "measured" or "assumed"; eirp_from "table", "footprint",
                         "outside" (a footprint that does not reach this place) or "none"
    wanted               it counts for dish and verdict
    weather_margin_db    over the threshold at wanted_pct of the average year; NaN: weather unknown
    available_pct, hours_per_year, worst_month_pct, hours_worst_month   by propagation alone; bound "", "under", "over" as in
                         radio.availability
    terms                every line of the budget in order; notes: codes of what is stretched or missing
    needs_by_dish        (dish_m, EIRP that would do) of each dish of the kit
    """

    transponder: Transponder
    dish_m: float
    cn_db: float
    threshold_db: float
    margin_db: float
    needs_eirp_dbw: float
    left_out: tuple[str, ...] = ()
    cni_db: float = NAN
    ideal_threshold_db: float = NAN
    implementation_db: float = NAN
    eirp_dbw: float = NAN
    eirp_source: str = "assumed"
    eirp_from: str = "none"
    wanted: bool = True
    wanted_pct: float = NAN
    weather_margin_db: float = NAN
    available_pct: float = NAN
    hours_per_year: float = NAN
    worst_month_pct: float = NAN
    hours_worst_month: float = NAN
    bound: str = ""
    terms: tuple[BudgetLine, ...] = ()
    notes: tuple[str, ...] = ()
    needs_by_dish: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class DishLine:
    """One dish of the kit and one satellite, nothing in the way: the wanted transponder it does least for, and whether all hold.

    spare_db  the least, over the wanted ones, of margin over the wanted margin and of margin in weather; -inf where one is unknown
    """

    dish_m: float
    weakest: str
    margin_db: float
    weather_margin_db: float
    holds: bool
    spare_db: float = NAN
