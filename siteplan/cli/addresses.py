"""`siteplan addresses PLAN`: the verdicts as tables, without pages."""

from __future__ import annotations

from siteplan.cli.run import OutOption, PlanArgument, QuietOption, StrictOption, finish


def addresses(plan: PlanArgument, out: OutOption = None, strict: StrictOption = False, quiet: QuietOption = False) -> int:
    """Judge every address of a plan; write the tables only."""
    return finish(plan, out, strict, quiet, tables_only=True)
