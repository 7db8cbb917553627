"""`siteplan check PLAN`: read everything a plan names and say what was understood, without computing."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def check(
    plan: Annotated[Path | None, typer.Argument(metavar="PLAN", help="The plan file (TOML) of one area.", show_default=False)] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
    defaults: Annotated[bool, typer.Option("--defaults", help="Print every default, and where it comes from; needs no plan.")] = False,
) -> None:
    """Read everything a plan names and say what was understood, without computing."""
    import json

    from siteplan.errors import InputError
    from siteplan.studies import check as study

    if defaults:
        typer.echo(json.dumps(study.defaults_values(), indent=2) if as_json else "\n".join(study.defaults_lines()))
        return
    if plan is None:
        raise typer.BadParameter("name a plan file", param_hint="PLAN")
    found = study.check(plan)
    typer.echo(json.dumps(found, indent=2, ensure_ascii=False) if as_json else "\n".join(study.check_lines(found)))
    if found["problem"]:
        raise InputError(str(found["problem"]))
