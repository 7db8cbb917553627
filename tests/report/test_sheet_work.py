"""The dish block from hand-made findings: whom to aim at."""

from __future__ import annotations

from dataclasses import replace

import ready_findings as ready

from siteplan.records.verdict import Reason
from siteplan.report import sheet_work


def test_a_satellite_that_no_wall_faces_is_not_among_those_to_aim_at():
    run = ready.findings()
    row = next(row for row in run.rows if row.satellite is not None and row.satellite.views and sheet_work.dish(run, row))
    first = row.satellite.views[0]
    reason = Reason("sat_wall_faces_away", {"satellite": "Hidden Bird"})
    away = replace(first, satellite=replace(first.satellite, name="Hidden Bird"), reasons=(reason,))
    both = replace(row, satellite=replace(row.satellite, views=(*row.satellite.views, away)))
    assert sheet_work.dish(run, both) == sheet_work.dish(run, row)
    assert sheet_work.dish(run, replace(row, satellite=replace(row.satellite, views=(away,)))) is None
