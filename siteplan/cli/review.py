"""`siteplan review PLAN`: all installations for the supervisor."""

from __future__ import annotations

from typing import Annotated

import typer

from siteplan.cli.run import OutOption, PlanArgument
from siteplan.cli.working import Working
from siteplan.errors import told


def review(
    plan: PlanArgument,
    names: Annotated[bool, typer.Option("--names", help="Show installers' names; else they are numbered.")] = False,
    redact: Annotated[bool, typer.Option("--redact", help="Leave out every name, of addresses too: ids alone.")] = False,
    out: OutOption = None,
) -> int:
    """Write the review of all installations: what is missing, what fails, what passes weakly, and groups that are off together."""
    with Working(quiet=False) as working:
        from siteplan.studies.proof_job import make_review

        page, shown = make_review(plan, names=names, redacted=redact, out=out, clock=working.now)
    booked = sum(one.booked for one in shown.missing)
    typer.echo(told("{booked} booked jobs have no report, {done} jobs have one", booked=booked, done=len(shown.done)))
    typer.echo(told("Open {page}", page=page))
    return 0
