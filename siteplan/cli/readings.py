"""`siteplan readings PLAN FILE-OR-FOLDER`: what was measured, beside what was expected."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from siteplan.cli.run import PlanArgument
from siteplan.cli.working import Working


def readings(
    plan: PlanArgument,
    place: Annotated[Path, typer.Argument(metavar="FILE-OR-FOLDER", help="Readings as CSV, XLSX or JSON.", show_default=False)],
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object in place of the text.")] = False,
) -> int:
    """Match measured values to their jobs, compare them with what the last run expected, say what they mean, and store them.

    Columns (any order): id, outlet, source, carrier or frequency_mhz, level_dbuv (or _dbmv, _dbm), cn_db, mer_db, margin_db, pre_ber,
    post_ber, locked, taken_at, installer, meter, kit, note; of mobile cells rsrp_dbm, rsrq_db, sinr_db, pci. All of them: siteplan columns
    readings.
    """
    with Working(quiet=False) as working:
        from siteplan.studies import readings_job as study

        taken = study.take_readings(plan, place, now=working.now())
    if as_json:
        typer.echo(study.taken_json(taken))
    else:
        for line in study.taken_lines(taken):
            typer.echo(line)
    return 0
