"""`siteplan sheet PLAN ID`: the sheet of one address."""

from __future__ import annotations

from typing import Annotated

import typer

from siteplan.cli.run import OutOption, PdfOption, PlanArgument, QuietOption, finish


def sheet(
    plan: PlanArgument,
    address: Annotated[str, typer.Argument(metavar="ID", help="Id of the address, or its row number.", show_default=False)],
    out: OutOption = None,
    pdf: PdfOption = False,
    quiet: QuietOption = False,
) -> int:
    """Write the sheet of one address of a plan, and the profiles it shows."""
    return finish(plan, out, False, quiet, tables_only=False, only=address, pdf=pdf)
