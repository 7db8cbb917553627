"""`siteplan proof PLAN ID`: the report of one installation."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from siteplan.cli.run import OutOption, PdfOption, PlanArgument
from siteplan.cli.working import Working
from siteplan.errors import told


def proof(
    plan: PlanArgument,
    address: Annotated[str, typer.Argument(metavar="ID", help="Id of the address, or its row number.", show_default=False)],
    sign: Annotated[bool, typer.Option("--sign", help="Store that it is signed as it is now; a later change is then told.")] = False,
    pictures: Annotated[
        Path | None, typer.Option("--pictures", help="PNG or JPEG picture, or a folder of them; kept with it.", show_default=False)
    ] = None,
    check: Annotated[bool, typer.Option("--check", help="Write nothing; say what was changed since signing.")] = False,
    out: OutOption = None,
    pdf: PdfOption = False,
) -> int:
    """Write the report of one installation: measured beside expected, pass or fail, weakest carrier, skyline, pictures, signature lines."""
    with Working(quiet=False) as working:
        from siteplan.studies.proof_job import check_proof, make_proof

        if check:
            for line in check_proof(plan, address, out=out):
                typer.echo(line)
            return 0
        page, lines = make_proof(plan, address, sign=sign, pictures=pictures, out=out, pdf=pdf, clock=working.now)
    for line in lines:
        typer.echo(line)
    typer.echo(told("Open {page}", page=page))
    return 0
