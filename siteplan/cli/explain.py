"""`siteplan explain PLAN ID`: how the verdicts of one address came about."""

from __future__ import annotations

from typing import Annotated

import typer

from siteplan.cli.run import OutOption, PlanArgument
from siteplan.cli.working import Working


def explain(
    plan: PlanArgument,
    address: Annotated[str, typer.Argument(metavar="ID", help="Id of the address, or its row number.", show_default=False)],
    out: OutOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object in place of the text.")] = False,
) -> int:
    """How each verdict of one address came about: every number, with its source.

    Writes the path profiles it speaks of beside the last run's files, and prints the commands that give their losses again.
    """
    with Working(quiet=False) as working:
        from siteplan.studies import explain as study

        found = study.explain_one(plan, address, out, say=working.say, clock=working.now)
    if as_json:
        import json

        typer.echo(json.dumps(study.explained_values(found), ensure_ascii=False, allow_nan=False, indent=2))
    else:
        for line in study.explained_lines(found):
            typer.echo(line)
    return 0
