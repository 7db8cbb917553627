"""`siteplan columns`: the columns of every table that siteplan reads or writes."""

from __future__ import annotations

from typing import Annotated

import typer


def columns(
    table: Annotated[str, typer.Argument(metavar="[TABLE]", help="One table alone, such as satellites.", show_default=False)] = "",
    empty: Annotated[bool, typer.Option("--empty", help="Print the heading of an empty table, to be filled in.")] = False,
    language: Annotated[str, typer.Option(metavar="CODE", help="en, de or fr.")] = "en",
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object in place of the text.")] = False,
) -> int:
    """What every column means, in which unit, and which ones a row can't do without."""
    from siteplan.errors import InputError, told
    from siteplan.studies.columns import columns_lines, columns_values, empty_table
    from siteplan.words.language import LANGUAGES, speak

    if language not in LANGUAGES:
        known = ", ".join(LANGUAGES)
        raise InputError(told("there is no language {language!r}; write one of {languages}", language=language, languages=known))
    speak(language)
    if empty:
        typer.echo(empty_table(table))
    elif as_json:
        import json

        typer.echo(json.dumps(columns_values(table), ensure_ascii=False, allow_nan=False, indent=2))
    else:
        for line in columns_lines(table):
            typer.echo(line)
    return 0
