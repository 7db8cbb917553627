"""What the readings of finished installations say about levels foretold nearby, source by source."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from siteplan.records.readings import PORT, Compared
from siteplan.records.verdict import Reason
from siteplan.services.shared.teaching import REACH_M, Lesson, binomial_band, correction, learn

_M_PER_DEG = 111_320.0  # a flat grid is enough over the few km that a correction reaches


@dataclass(frozen=True, slots=True)
class Taught:
    """Lessons by source, on a flat grid about one place."""

    lessons: Mapping[str, Lesson]
    lat_deg: float
    lon_deg: float

    def said(self, source: str, *, lat_deg: float, lon_deg: float) -> Reason | None:
        """Return what readings nearby say about one source at one place; None where none is near."""
        lesson = self.lessons.get(source)
        if lesson is None:
            return None
        off, _, near = correction(lesson, *_flat(lat_deg, lon_deg, self.lat_deg, self.lon_deg))
        if near == 0:
            return None
        values = {"source": source, "count": near, "reach_m": REACH_M}
        if lesson.used == "none":
            return Reason(lesson.why, values)
        if abs(off) < 1.0:
            return Reason("learned_right", values)
        return Reason("learned_lower" if off < 0 else "learned_higher", values | {"off_db": abs(off)})


def teach(compared: Sequence[Compared]) -> Taught | None:
    """Return what readings teach, None where there are none. One value an installation and source: the mean over its carriers.

    Carriers of one dish share its LNB and its cable, so they are one witness, not many.
    """
    found: dict[str, dict[str, list[Compared]]] = {}
    for one in compared:
        if math.isfinite(one.level_off_db) and one.expected.outlet != PORT:  # one witness a place: behind the cable, as most read it
            source = "TV" if one.expected.service == "terrestrial" else one.expected.source
            found.setdefault(source, {}).setdefault(one.expected.id, []).append(one)
    if not found:
        return None
    first = next(iter(next(iter(found.values())).values()))[0].expected
    lessons = {}
    for source, homes in found.items():
        places = [_flat(ones[0].expected.lat_deg, ones[0].expected.lon_deg, first.lat_deg, first.lon_deg) for ones in homes.values()]
        residuals = [sum(one.level_off_db for one in ones) / len(ones) for ones in homes.values()]
        lessons[source] = learn([east for east, _ in places], [north for _, north in places], residuals)
    return Taught(lessons, first.lat_deg, first.lon_deg)


def _flat(lat_deg: float, lon_deg: float, lat0_deg: float, lon0_deg: float) -> tuple[float, float]:
    return (lon_deg - lon0_deg) * _M_PER_DEG * math.cos(math.radians(lat0_deg)), (lat_deg - lat0_deg) * _M_PER_DEG


def taught_notes(taught: Taught | None) -> tuple[Reason, ...]:
    """Return what readings teach of each source, with the errors out of sample that decided it."""
    notes = []
    for source, lesson in sorted(taught.lessons.items()) if taught else ():
        values: dict[str, object] = {"source": source, "count": len(lesson.residual_db), "bias_db": round(lesson.bias_db, 1) + 0.0}
        trials = {trial.name: trial for trial in lesson.trials}
        if not trials:
            notes.append(Reason("taught_few", values))
            continue
        used = trials[lesson.used]
        low, high = binomial_band(used.count, 0.8)
        values |= {"none_db": trials["none"].rmse_db, "mean_db": trials["bias"].rmse_db, "used_db": used.rmse_db}
        values |= {"inside": used.inside, "of": used.count, "low": low, "high": high}
        notes.append(Reason(f"taught_{lesson.used}", values))
    return tuple(notes)
