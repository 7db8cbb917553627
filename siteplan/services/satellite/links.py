"""What one address gets of a satellite: each transponder's link, itemised, and the smallest dish of the kit that holds what is wanted."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from siteplan.errors import MethodRangeError
from siteplan.radio import atmosphere
from siteplan.radio.availability import Availability, availability
from siteplan.records.emitters import Satellite
from siteplan.records.links import DishLine, LinkLine
from siteplan.records.plan import Plan
from siteplan.services.satellite.budget import Budgets, budgets, place, smallest_by
from siteplan.services.satellite.budget_lines import budget_lines
from siteplan.services.satellite.footprint import FROM, NONE
from siteplan.sky.look_angles import look_angles_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

# The clear-sky C/N holds neither; the margin holds interference, the margin in weather both.
LEFT_OUT = ("rain", "interference")


class SatelliteLinks:
    """The links of one satellite at one address: worked once, asked for dishes, lines and margins."""

    def __init__(self, satellite: Satellite, where: tuple[float, float, float], plan: Plan) -> None:
        self.satellite, self.where, self.plan = satellite, where, plan
        self.found = budgets(satellite, place(*where), plan)

    @property
    def known(self) -> bool:
        """Return whether any carrier counts and the EIRP of all that count is stated or measured and reaches this place."""
        found = self.found
        return found is not None and bool(found.wanted.any()) and bool(np.isfinite(found.eirp_dbw[0, found.wanted]).all()) and bool(
            found.trusted[found.wanted].all()
        )

    def outside(self) -> bool:
        """Return whether a footprint of a carrier that counts does not reach this place."""
        return self.found is not None and bool((self.found.eirp_from[0, self.found.wanted] == FROM.index("outside")).any())

    def assumed(self) -> int:
        """Return how many carriers do not count because their EIRP is unknown or only assumed."""
        return 0 if self.found is None else int((~self.found.wanted & ~self.found.trusted).sum())

    def smallest_dish(self) -> float:
        """Return the smallest dish of the kit that holds what is wanted on every carrier that counts, NaN where none does."""
        return float(smallest_dishes(self.found, self.plan)[0]) if self.found is not None else math.nan

    def dishes(self) -> tuple[DishLine, ...]:
        """Return what each dish makes of the carriers that count, smallest first; () where none counts."""
        found = self.found
        if found is None or not found.wanted.any():
            return ()
        out = []
        for d, dish_m in enumerate(found.dishes_m.tolist()):
            clear, weather, spare, n = self._least(d)
            out.append(DishLine(dish_m, found.carriers[n].name, clear, weather, spare >= 0.0, spare))
        return tuple(out)

    def best(self) -> DishLine | None:
        """Return the dish that comes nearest to what is wanted, None where no carrier counts."""
        return max(self.dishes(), key=lambda one: one.spare_db, default=None)

    def _least(self, d: int) -> tuple[float, float, float, int]:
        """Return the least clear-sky margin, the least in weather, the least to spare, and of which carrier, with one dish."""
        found = self.found
        at = np.flatnonzero(found.wanted)
        clear, weather = found.margin_db[0, d, at], found.weather_margin_db[0, d, at, -1]
        over = (clear - self.plan.limits.clear_sky_margin_db).tolist()
        spare = [_spare(one, other) for one, other in zip(over, weather.tolist(), strict=True)]
        return float(clear.min()), float(weather.min()), min(spare), int(at[int(np.argmin(spare))])

    def lines(self, dish_m: float, *, loss_db: float = 0.0) -> tuple[LinkLine, ...]:
        """Return the link of every carrier with one dish of the kit.

        loss_db  what stands in the ray costs; a value that is not a number (unknown, or fully blocked) counts as 0 and the view says so
        """
        found = self.found
        if math.isfinite(loss_db) and loss_db > 0.0:
            found = budgets(self.satellite, place(*self.where), self.plan, loss_db=loss_db)
        if found is None:
            return ()
        d = int(np.argmin(np.abs(found.dishes_m - dish_m)))
        needs = needs_eirp_dbw(found, self.plan)[0]
        return tuple(self._line(found, d, n, needs[:, n].tolist()) for n in range(len(found.carriers)))

    def _line(self, found: Budgets, d: int, n: int, needs: list[float]) -> LinkLine:
        carrier, plan = found.carriers[n], self.plan
        margin, weather = float(found.margin_db[0, d, n]), float(found.weather_margin_db[0, d, n, -1])
        known = math.isfinite(float(found.eirp_dbw[0, n]))
        lasts = _lasts(found, d, n)
        source = {"footprint": "stated", "readings": "measured"}.get(FROM[found.eirp_from[0, n]], carrier.eirp_source)
        line = LinkLine(
            transponder=carrier,
            dish_m=float(found.dishes_m[d]),
            cn_db=float(found.link.cn_db[0, d, n]) if known else math.nan,
            threshold_db=float(found.threshold_db[n]),
            margin_db=margin,
            needs_eirp_dbw=needs[d],
            left_out=LEFT_OUT,
            cni_db=float(found.cni_db[0, d, n]) if known else math.nan,
            ideal_threshold_db=float(found.ideal_db[n]),
            implementation_db=float(found.implementation_db[n]),
            eirp_dbw=float(found.eirp_dbw[0, n]),
            eirp_source=source if known else "unknown",
            eirp_from=FROM[found.eirp_from[0, n]],
            wanted=bool(found.wanted[n]),
            wanted_pct=plan.limits.availability_pct,
            weather_margin_db=weather,
            notes=self._notes(found, n),
            needs_by_dish=tuple(zip(found.dishes_m.tolist(), needs, strict=True)),
            **({} if lasts is None else _lasting(lasts)),
        )
        return replace(line, terms=budget_lines(found, d, n, line, self.satellite, plan))

    @cached_property
    def _elevation_deg(self) -> float:
        lat, lon, ground = self.where
        seen = look_angles_array(lat_deg=lat, lon_deg=lon, height_ell_m=ground, orbit_deg=self.satellite.stands_at_deg)
        return float(seen.elevation_deg)

    def _notes(self, found: Budgets, n: int) -> tuple[str, ...]:
        """Return codes of what the line stretches or lacks (words.link)."""
        p = 100.0 - self.plan.limits.availability_pct
        mhz = found.carriers[n].frequency_mhz
        notes = list(atmosphere.extended(frequency_mhz=mhz, elevation_deg=self._elevation_deg, time_pct=p))
        if np.isnan(found.fades.fade.total_db[0, 0, n, -1]):
            notes = ["weather_unknown"]
        if found.silent:
            notes.append("neighbour_unknown")
        if found.eirp_from[0, n] == FROM.index("outside"):
            notes.append("outside_footprint")
        elif found.eirp_from[0, n] == NONE and found.carriers[n].beam:
            notes.append("beam_unknown")
        return tuple(notes)


def _spare(clear_db: float, weather_db: float) -> float:
    """Return the lesser of two reserves; -inf where one is unknown."""
    least = min(clear_db, weather_db)
    return least if math.isfinite(least) and math.isfinite(clear_db + weather_db) else -math.inf


def _lasting(lasts: Availability) -> dict[str, float | str]:
    return {
        "available_pct": lasts.available_pct, "hours_per_year": lasts.hours_per_year, "worst_month_pct": lasts.worst_month_pct,
        "hours_worst_month": lasts.hours_worst_month, "bound": lasts.bound,
    }  # fmt: skip


def _lasts(found: Budgets, d: int, n: int) -> Availability | None:
    """Return how long a link lasts by propagation alone; None where that can't be said."""
    order = np.argsort(found.times_pct, kind="stable")
    at, left = np.log(found.times_pct[order]), found.weather_margin_db[0, d, n, order]
    clear = float(found.margin_db[0, d, n])

    def needed_db(time_pct: NDArray) -> NDArray:
        return clear - np.interp(np.log(time_pct), at, left)

    try:
        return availability(needed_db, clear)
    except MethodRangeError:
        return None


def needs_eirp_dbw(found: Budgets, plan: Plan) -> NDArray:
    """Return (places, dishes, carriers) the EIRP that would just hold the clear-sky margin and the threshold in the wanted weather.

    Noise and interference do not change with it, so it is what C/(N+I) lacks. Where the weather is unknown, that of clear sky.
    """
    worked = found.link.terms[0].value
    clear = worked + found.threshold_db + plan.limits.clear_sky_margin_db - found.cni_db
    return np.fmax(clear, worked + found.threshold_db - found.weather.cni_db[..., -1])


def smallest_dishes(found: Budgets, plan: Plan) -> NDArray:
    """Return (places,) the smallest dish that holds margin and availability on every carrier that counts; NaN where none does.

    An EIRP that is only assumed holds nothing.
    """
    if not found.wanted.any():
        return np.full(found.eirp_dbw.shape[0], np.nan)
    return smallest_by(found, plan, found.margin_db, found.weather_margin_db[..., -1])
