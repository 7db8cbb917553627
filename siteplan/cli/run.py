"""`siteplan run PLAN`: everything a plan asks for."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from siteplan.cli.working import Working

PlanArgument = Annotated[Path, typer.Argument(metavar="PLAN", help="The plan file (TOML) of one area.", show_default=False)]
OutOption = Annotated[Path | None, typer.Option("--out", help="Folder for the results, in place of the plan's.", show_default=False)]
StrictOption = Annotated[bool, typer.Option("--strict", help="Exit with 6 where any row was rejected.")]
PdfOption = Annotated[bool, typer.Option("--pdf", help="Write it as PDF too; needs the extra siteplan[pdf].")]
QuietOption = Annotated[bool, typer.Option("--quiet", help="Print only the last line.")]


def run(plan: PlanArgument, out: OutOption = None, strict: StrictOption = False, quiet: QuietOption = False) -> int:
    """Judge every address of a plan and write verdicts, map and sheets."""
    return finish(plan, out, strict, quiet, tables_only=False)


def finish(
    plan: Path, out: Path | None, strict: bool, quiet: bool, *, tables_only: bool, only: str | None = None, pdf: bool = False
) -> int:
    """Run a plan with progress on stderr; print what was made and which page to open; return the exit code."""
    with Working(quiet) as working:
        from siteplan.studies.job import do_job

        done = do_job(plan, out, tables_only=tables_only, only=only, pdf=pdf, progress=working.step, say=working.say, clock=working.now)
    for line in done.lines:
        if not quiet:
            typer.echo(line)
    typer.echo(done.last_line)
    return 6 if strict and done.rejected else 0
