"""`siteplan methods`: what each propagation method holds for, what it was checked against, and where every number comes from."""

from __future__ import annotations

from typing import Annotated

import typer


def methods(
    name: Annotated[
        str, typer.Argument(metavar="[NAME]", help="One method; or sources, where numbers come from; or readings.", show_default=False)
    ] = "",
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object in place of the text.")] = False,
) -> int:
    """What each propagation method gives, its range, edition and checks, and where it is known to be weak.

    With the word sources: where every formula, table and threshold comes from, as the code itself says. With the word readings: the rules
    about readings with their thresholds, and how often they are right.
    """
    from siteplan.studies.methods import methods_lines, methods_values

    if as_json:
        import json

        typer.echo(json.dumps(methods_values(name), ensure_ascii=False, allow_nan=False, indent=2))
    else:
        for line in methods_lines(name):
            typer.echo(line)
    return 0
