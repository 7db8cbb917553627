"""How to tune to a satellite, step by step: what the LNB makes of each carrier to tune first, and where its orbit puts it."""

from __future__ import annotations

from siteplan.radio.lnb import oscillator_for
from siteplan.records.explained import Section, Step
from siteplan.records.findings import SatelliteView
from siteplan.records.plan import Plan
from siteplan.records.tuning import TuningLine
from siteplan.services.satellite import limits
from siteplan.services.shared.explain import PRACTICE, of_plan

TABLE = "table of satellites"


def explain_tuning(view: SatelliteView, plan: Plan, *, position: int, positions: int) -> list[Section]:
    """Return a section for each carrier to tune first. position: of the satellite among all that the plan wants."""
    tuning = view.tuning
    if tuning is None or tuning.lnb is None:
        return []
    lnb = Step("lnb", str(tuning.lnb), "", f"the first that takes most: {of_plan(plan, 'kit.lnb')}")
    place = Step("switch_position", float(position) if positions > 1 else None, "", "order of satellites.wanted")
    out = []
    for line in tuning.first:
        one = oscillator_for(tuning.lnb, line.at.transponder.frequency_mhz)
        steps = (lnb, place, Step("oscillator", one.mhz if one else None, "MHz", "the LNB's band that holds the carrier"), *_steps(line))
        out.append(Section("tuning", steps, f"{view.satellite.name}, {line.at.transponder.name}", "satellite"))
    return out


def _steps(line: TuningLine) -> tuple[Step, ...]:
    at = line.at
    rule = f"limits.NEIGHBOUR_DEG {limits.NEIGHBOUR_DEG:g}, LNB_DRIFT_MHZ {limits.LNB_DRIFT_MHZ:g}, CLEARLY_OTHER_RATE {PRACTICE}"
    friends = ", ".join(f"{friend.transponder.name} of {friend.satellite}" for friend in line.friends)
    roll_off = f"roll-off {at.roll_off:g}, {f'assumed: {PRACTICE}' if at.roll_off_assumed else TABLE}"
    return (
        Step("link_frequency", at.transponder.frequency_mhz, "MHz", TABLE),
        Step("if", at.if_mhz, "MHz", "distance of the carrier from the oscillator"),
        Step("sub_band", at.sub_band, "", "polarisation and band"),
        Step("supply", at.supply_v, "V", f"13 V vertical or right-hand, 18 V horizontal or left-hand ({PRACTICE})"),
        Step("tone", at.tone, "", f"22 kHz asks for the upper oscillator ({PRACTICE})"),
        Step("occupied", at.occupied_mhz, "MHz", f"symbol rate x (1 + roll-off), EN 300 421, EN 302 307-1; {roll_off}"),
        Step("relative_level", line.level_db, "dB", "C/N x symbol rate against the strongest carrier; else EIRP"),
        Step("disturbed", ", ".join(at.disturbed), "", "edges at IF against the bands of radio/lnb.py"),
        Step("false_friends", friends, "", rule),
    )


def day_steps(view: SatelliteView) -> tuple[Step, ...]:
    """Return where an orbit file puts a satellite on the date, and how far it wanders as seen from here; () where no file does."""
    day = view.satellite.day
    if day is None:
        return ()
    how = "SGP4 (AIAA 2006-6753) over the sidereal day from 0 h UTC, turned by mean sidereal time IAU 1982"
    return (
        Step("day_epoch", day.epoch.isoformat(timespec="seconds"), "", "orbit file, UTC"),
        Step("day_age", day.age_days, "days", "date less epoch"),
        Step("day_longitude", day.lon_deg, "deg", f"middle; {how}"),
        Step("day_east_west", day.lon_across_deg, "deg", how),
        Step("day_north_south", day.lat_across_deg, "deg", how),
        Step("day_drift", day.drift_deg_per_day, "deg a day, east positive", "mean longitude of two sidereal days"),
        Step("box", view.box_deg, "deg", "twice the greatest angle from the middle of its directions over the day"),
        Step("beam", view.beam_deg, "deg", f"70 wavelengths / D at the highest carrier ({PRACTICE})"),
    )
