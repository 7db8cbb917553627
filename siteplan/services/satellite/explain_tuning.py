"""How to tune to a satellite, step by step: what the LNB makes of each carrier to tune first, and where its orbit puts it."""

from __future__ import annotations

from siteplan.errors import told, wording
from siteplan.radio.lnb import oscillator_for
from siteplan.records.explained import Section, Step
from siteplan.records.findings import SatelliteView
from siteplan.records.plan import Plan
from siteplan.records.tuning import TuningLine
from siteplan.services.satellite import limits
from siteplan.services.shared.explain import PRACTICE, of_plan

TABLE = wording("table of satellites")


def explain_tuning(view: SatelliteView, plan: Plan, *, position: int, positions: int) -> list[Section]:
    """Return a section for each carrier to tune first. position: of the satellite among all that the plan wants."""
    tuning = view.tuning
    if tuning is None or tuning.lnb is None:
        return []
    lnb = Step("lnb", str(tuning.lnb), "", told("the first that takes most: {of_plan}", of_plan=of_plan(plan, "kit.lnb")))
    place = Step("switch_position", float(position) if positions > 1 else None, "", told("order of satellites.wanted"))
    out = []
    for line in tuning.first:
        one = oscillator_for(tuning.lnb, line.at.transponder.frequency_mhz)
        steps = (
            lnb,
            place,
            Step("oscillator", one.mhz if one else None, "MHz", told("the LNB's band that holds the carrier")),
            *_steps(line),
        )
        out.append(Section("tuning", steps, f"{view.satellite.name}, {line.at.transponder.name}", "satellite"))
    return out


def _steps(line: TuningLine) -> tuple[Step, ...]:
    at = line.at
    rule = told(
        "limits.NEIGHBOUR_DEG {neighbour_deg:g}, LNB_DRIFT_MHZ {lnb_drift_mhz:g}, CLEARLY_OTHER_RATE {practice}",
        neighbour_deg=limits.NEIGHBOUR_DEG,
        lnb_drift_mhz=limits.LNB_DRIFT_MHZ,
        practice=PRACTICE,
    )
    friends = ", ".join(f"{friend.transponder.name} of {friend.satellite}" for friend in line.friends)
    roll_off = told(
        "roll-off {roll_off:g}, {roll_off_assumed}",
        roll_off=at.roll_off,
        roll_off_assumed=f"assumed: {PRACTICE}" if at.roll_off_assumed else TABLE,
    )
    return (
        Step("link_frequency", at.transponder.frequency_mhz, "MHz", TABLE),
        Step("if", at.if_mhz, "MHz", told("distance of the carrier from the oscillator")),
        Step("sub_band", at.sub_band, "", told("polarisation and band")),
        Step("supply", at.supply_v, "V", told("13 V vertical or right-hand, 18 V horizontal or left-hand ({practice})", practice=PRACTICE)),
        Step("tone", at.tone, "", told("22 kHz asks for the upper oscillator ({practice})", practice=PRACTICE)),
        Step(
            "occupied",
            at.occupied_mhz,
            "MHz",
            told("symbol rate x (1 + roll-off), EN 300 421, EN 302 307-1; {roll_off}", roll_off=roll_off),
        ),
        Step("relative_level", line.level_db, "dB", told("C/N x symbol rate against the strongest carrier; else EIRP")),
        Step("disturbed", ", ".join(at.disturbed), "", told("edges at IF against the bands of radio/lnb.py")),
        Step("false_friends", friends, "", rule),
    )


def day_steps(view: SatelliteView) -> tuple[Step, ...]:
    """Return where an orbit file puts a satellite on the date, and how far it wanders as seen from here; () where no file does."""
    day = view.satellite.day
    if day is None:
        return ()
    how = told("SGP4 (AIAA 2006-6753) over the sidereal day from 0 h UTC, turned by mean sidereal time IAU 1982")
    return (
        Step("day_epoch", day.epoch.isoformat(timespec="seconds"), "", told("orbit file, UTC")),
        Step("day_age", day.age_days, "days", told("date less epoch")),
        Step("day_longitude", day.lon_deg, "deg", told("middle; {how}", how=how)),
        Step("day_east_west", day.lon_across_deg, "deg", how),
        Step("day_north_south", day.lat_across_deg, "deg", how),
        Step("day_drift", day.drift_deg_per_day, told("deg a day, east positive"), told("mean longitude of two sidereal days")),
        Step("box", view.box_deg, "deg", told("twice the greatest angle from the middle of its directions over the day")),
        Step("beam", view.beam_deg, "deg", told("70 wavelengths / D at the highest carrier ({practice})", practice=PRACTICE)),
    )
