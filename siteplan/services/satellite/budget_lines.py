"""One link's budget as lines, each with its source: what explain and the sheet print. Reads the worked arrays, sums nothing anew."""

from __future__ import annotations

import math

import numpy as np

from siteplan.errors import told, wording
from siteplan.records.emitters import Satellite
from siteplan.records.links import BudgetLine, LinkLine
from siteplan.records.plan import Plan
from siteplan.services.satellite.budget import Budgets
from siteplan.services.satellite.footprint import beam_of
from siteplan.services.shared.explain import PRACTICE, of_plan
from siteplan.services.shared.fading import EDITIONS

_NO_DISTURBER = wording("no carrier of the plan's satellites")
_METHOD = wording("Rec. ITU-R P.618-13, section 2.5: gases + sqrt((rain + clouds)^2 + scintillation^2)")


def budget_lines(found: Budgets, d: int, n: int, line: LinkLine, satellite: Satellite, plan: Plan) -> tuple[BudgetLine, ...]:
    """Return every line of one carrier's budget with one dish at the first place, in the order in which they add up."""
    return (*_clear_sky(found, d, n, line, satellite, plan), *_totals(found, d, n, line, plan), *_weather(found, d, n, line, plan))


def _pick(values: object, *at: int) -> float:
    """Return one value of an array that broadcasts to a larger one, by its place there."""
    array = np.asarray(values)
    return float(array[tuple(place if size > 1 else 0 for place, size in zip(at[len(at) - array.ndim :], array.shape, strict=True))])


def _clear_sky(found: Budgets, d: int, n: int, line: LinkLine, satellite: Satellite, plan: Plan) -> list[BudgetLine]:
    out = []
    aims = of_plan(plan, "mount.aim_error_deg", *(("satellites.station_keeping_deg",) if satellite.day is None else ()))
    aims += "" if satellite.day is None else told("; half the daily figure of its orbit")
    sources = {
        "eirp_dbw": _eirp_source(line, satellite),
        "pointing_db": told("main lobe of ITU-R BO.1213-1; {aims}", aims=aims),
        "polarisation_db": told("-20 log cos of the skew error; {of_plan}", of_plan=of_plan(plan, "mount.skew_error_deg")),
        "dish_gain_dbi": told("aperture efficiency, {of_plan}", of_plan=of_plan(plan, "kit.dish_efficiency")),
    }
    for term in found.link.terms:
        value = _pick(term.value, 0, d, n)
        if term.name == "eirp_dbw":
            value = line.eirp_dbw
        elif term.name == "gas_db" and "weather_unknown" in line.notes:
            value = math.nan
        unit = {"eirp_dbw": "dBW", "dish_gain_dbi": "dBi"}.get(term.name, "dB")
        out.append(BudgetLine(f"term_{term.name}", value, unit, sources.get(term.name, term.source)))
    gain = _pick(found.link.g_over_t_db_per_k, 0, d, n)
    out.append(BudgetLine("g_over_t", gain, "dB/K", told("dish gain less noise temperature, clear sky")))
    return out


def _eirp_source(line: LinkLine, satellite: Satellite) -> str:
    beam = beam_of(satellite, line.transponder)
    if line.eirp_from == "footprint" and beam is not None:
        return f"footprint, {beam.source or beam.name}: {'between contours' if beam.contours else 'Gaussian beam'} ({PRACTICE})"
    if line.eirp_from == "outside" and beam is not None:
        return told("outside the footprint, {source}", source=beam.source or beam.name)
    if line.eirp_from == "readings":
        return told(
            "readings of {readings} installations within 50 km, nearest first ({practice})",
            readings=len(line.transponder.readings),
            practice=PRACTICE,
        )
    return told("table of satellites: {eirp_source}", eirp_source=line.eirp_source)


def _totals(found: Budgets, d: int, n: int, line: LinkLine, plan: Plan) -> list[BudgetLine]:
    known = math.isfinite(line.eirp_dbw)
    adjacent = {name: float(ci[0, d, n]) for name, ci in found.ci_adjacent_db.items() if math.isfinite(float(ci[0, d, n]))}
    together = -10.0 * math.log10(sum(10.0 ** (-ci / 10.0) for ci in adjacent.values())) if adjacent and known else ""
    heard = "; ".join(told("{name} {ci:.1f} dB", name=name, ci=ci) for name, ci in adjacent.items()) or told(_NO_DISTURBER)
    if found.silent:
        heard += told("; nothing known of {silent}", silent=", ".join(found.silent))
    cross = _pick(found.ci_cross_db, 0, d, n)
    crossed = math.isfinite(cross) and known
    pattern = told(
        "Rec. ITU-R {off_axis}{off_axis_2}",
        off_axis=plan.kit.off_axis,
        off_axis_2="-1" if plan.kit.off_axis == "BO.1213" else told("-6, and BO.1213-1 near the axis"),
    )
    xpd = told("{of_plan}; tan^2 of the skew error", of_plan=of_plan(plan, "kit.cross_polar_db"))
    mode = line.transponder
    table = {"DVB-S": told("ETSI EN 300 421, losses of a real receiver inside")}.get(
        mode.system, told("ETSI EN 302 307-1 table 13, -2 table 20a")
    )
    return [
        BudgetLine("cn", line.cn_db, "dB", told("sum of the terms above: EIRP - losses + G - 10 log(kTB)")),
        BudgetLine(
            "ci_adjacent",
            together,
            "dB",
            told("{heard}; {pattern}, topocentric separation", heard=heard, pattern=pattern) if adjacent else heard,
        ),
        BudgetLine("ci_cross", cross if crossed else "", "dB", xpd if crossed else told("nothing known across it on this satellite")),
        BudgetLine("cni", line.cni_db, "dB", told("noise and interference added as powers")),
        BudgetLine("ideal_threshold", line.ideal_threshold_db, "dB", table),
        BudgetLine("implementation", line.implementation_db, "dB", of_plan(plan, "kit.implementation_loss_db")),
        BudgetLine("threshold", line.threshold_db, "dB", told("the two lines above")),
        BudgetLine("link_margin", line.margin_db, "dB", told("C/(N+I) less threshold, clear sky")),
        BudgetLine("wanted_margin", plan.limits.clear_sky_margin_db, "dB", of_plan(plan, "limits.clear_sky_margin_db")),
    ]


def _weather(found: Budgets, d: int, n: int, line: LinkLine, plan: Plan) -> list[BudgetLine]:
    fade = found.fades.fade

    def at(values: object) -> float:
        return _pick(values, 0, d, n, -1)

    xpd, clear_gas = at(found.weather.rain_xpd_db), at(found.fades.clear_gas_db)
    rained = math.isfinite(xpd)
    left_db = at(found.weather.cni_db) if math.isfinite(line.eirp_dbw) else math.nan
    p618 = told("Rec. ITU-R P.618-13, section")
    rain = f"{EDITIONS['method']}, {EDITIONS['specific rain attenuation']}, P.837-7, P.839-4"
    out = [
        BudgetLine("wanted_availability", line.wanted_pct, wording("% of the average year"), of_plan(plan, "limits.availability_pct")),
        BudgetLine("weather_rain", -at(fade.rain_db), "dB", rain),
        BudgetLine("weather_gas", clear_gas - at(fade.gas_db), "dB", told("{gases}, beyond the clear sky's", gases=EDITIONS["gases"])),
        BudgetLine("weather_cloud", -at(fade.cloud_db), "dB", EDITIONS["clouds"]),
        BudgetLine("weather_scintillation", -at(fade.scintillation_db), "dB", f"{p618} 2.4.1"),
        BudgetLine("weather_fade", -at(found.weather.beyond_db), "dB", told("{method}, beyond clear sky", method=_METHOD)),
        BudgetLine("weather_noise", -at(found.weather.g_over_t_loss_db), "dB", told("{p618} 3: a warmer sky lowers G/T", p618=p618)),
        BudgetLine("weather_xpd", xpd if rained else "", "dB", f"{p618} 4.1" if rained else told("nothing known across it")),
        BudgetLine("cni_weather", left_db, "dB", told("C/N less the two above, and interference")),
        BudgetLine("weather_margin", line.weather_margin_db, "dB", told("C/(N+I) less threshold; 0 is enough, no reserve is wanted again")),
    ]
    bound = {"under": "at least: ", "over": "at most: "}.get(line.bound, "")
    return [
        *out,
        BudgetLine(
            "available",
            line.available_pct,
            wording("% of the average year"),
            told("{bound}P.618-13 turned round, by propagation alone", bound=bound),
        ),
        BudgetLine("outage_hours", line.hours_per_year, wording("h a year"), told("365.25 days")),
        BudgetLine("worst_month", line.worst_month_pct, wording("% of the worst month"), f"out; {EDITIONS['worst month']}"),
        BudgetLine("needs_eirp", line.needs_eirp_dbw, "dBW", told("EIRP that would just hold margin and availability")),
        BudgetLine("left_out", ", ".join(line.left_out), "", told("what the clear-sky C/N does not hold")),
    ]
