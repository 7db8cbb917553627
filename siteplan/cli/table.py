"""The commands of siteplan, and how errors become exit codes. Each command lives in a file of its own and loads late."""

from __future__ import annotations

import importlib
import sys
from typing import NoReturn

import typer

from siteplan.errors import told

INTERRUPTED = 130
# name of the command -> (module in siteplan.cli and function in it, the line in the list of commands)
COMMANDS = {
    "new": ("new", "Write a commented plan from a folder of terrain and a list of addresses."),
    "run": ("run", "Judge every address of a plan and write verdicts, map and sheets."),
    "addresses": ("addresses", "Judge every address of a plan; write the tables only."),
    "sheet": ("sheet", "Write the sheet of one address of a plan."),
    "area": ("area", "Draw maps of an area: satellites seen, mount height needed, best transmitter and mobile site."),
    "explain": ("explain", "How the verdicts of one address came about, number by number."),
    "check": ("check", "Read everything a plan names and say what was understood, without computing."),
    "readings": ("readings", "Take in what was measured: matched to its job, compared with what was expected, stored."),
    "proof": ("proof", "Write the report of one installation: measured beside expected, pass or fail."),
    "review": ("review", "Write the supervisor's review of all installations."),
    "aim": ("aim", "Where a dish at one place points for one satellite."),
    "skyline": ("skyline", "What stands against the sky from one point of a plan's terrain."),
    "path": ("path", "Loss and field strength over one path profile."),
    "fade": ("fade", "What rain, clouds and gases take from a satellite's signal at one place."),
    "columns": ("columns", "The columns of every table that is read or written: meaning, unit, whether needed."),
    "methods": ("methods", "The propagation methods, their ranges and checks, and where every number comes from."),
}


def app() -> typer.Typer:
    """Return the command line with every command of COMMANDS."""
    made = typer.Typer(
        name="siteplan",
        help="Can a satellite dish, a TV aerial or a mobile-internet antenna work at this address? Works without a network.",
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    for name, (module, text) in COMMANDS.items():
        made.command(name, short_help=text)(getattr(importlib.import_module(f"siteplan.cli.{module}"), module))

    @made.callback(invoke_without_command=True)
    def root(version: bool = typer.Option(False, "--version", help="Print the version and stop.")) -> None:
        if version:
            from siteplan import __version__

            typer.echo(f"siteplan {__version__}")
            raise typer.Exit

    return made


def main() -> None:
    """Run the command line. No traceback reaches a person: it goes to the log file, whose place is printed."""
    from siteplan.errors import SiteplanError

    try:
        code = app()(standalone_mode=False)
        if code == INTERRUPTED:  # how the command parser returns an interruption
            _stopped()
        sys.exit(code if isinstance(code, int) else 0)
    except SiteplanError as wrong:
        typer.echo(f"siteplan: {wrong}", err=True)
        sys.exit(wrong.exit_code)
    except KeyboardInterrupt:
        _stopped()
    except SystemExit:
        raise
    except Exception as wrong:  # the one place that may: below it nothing catches Exception
        _click_or_bug(wrong)


def _stopped() -> NoReturn:
    typer.echo(told("siteplan: stopped; what was written before is complete, nothing is half done."), err=True)
    sys.exit(INTERRUPTED)


def _click_or_bug(wrong: Exception) -> None:
    """Turn the command parser's own errors into exit 2 or 130, anything else into one line, a log entry and exit 1."""
    names = {kind.__name__ for kind in type(wrong).__mro__}
    if "Abort" in names:
        _stopped()
    if "ClickException" in names:
        wrong.show()  # type: ignore[attr-defined]
        sys.exit(2)
    from siteplan.cli.log import log_bug

    place = log_bug(wrong)
    kind = type(wrong).__name__
    words = told("siteplan: something went wrong inside siteplan itself ({kind}). Details are in {place}", kind=kind, place=place)
    typer.echo(words, err=True)
    sys.exit(1)
