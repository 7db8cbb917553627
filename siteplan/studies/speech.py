"""A plan opened for a run: read and checked, and its language and units chosen for all that is said from then on."""

from __future__ import annotations

from pathlib import Path

from siteplan.files.plan_file import read_plan
from siteplan.files.plan_paths import stated_language
from siteplan.records.plan import Plan
from siteplan.words.language import LANGUAGES, speak


def open_plan(path: Path) -> Plan:
    """Return the plan of a file. Raises PlanError as read_plan does, in the plan's own language where that can be found in it."""
    language = stated_language(path)
    speak(language if language in LANGUAGES else "en")
    plan = read_plan(path)
    speak(plan.outputs.language, plan.outputs.units)
    return plan
