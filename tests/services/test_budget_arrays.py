"""Interference of many neighbours worked as arrays: the same numbers as pair by pair, and one call a neighbour however many carriers."""

import sys
from pathlib import Path

import numpy as np
import pytest

from siteplan.records.plan import Plan
from siteplan.services.satellite import budget

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))
import bench_budget

PLAN = Plan(file=Path("plan.toml"))


@pytest.mark.quick
def test_arrays_give_what_pair_by_pair_gives():
    wanted = bench_budget.scene(12, 3)
    found = budget.budgets(wanted, budget.place(*bench_budget.WHERE), PLAN)
    peer = bench_budget.pair_by_pair(wanted, found, PLAN)
    assert set(found.ci_adjacent_db) == set(peer) == {"N0", "N1", "N2"}
    for name, worked in peer.items():
        assert np.isfinite(worked).any()
        assert found.ci_adjacent_db[name][0] == pytest.approx(worked, abs=1e-9)


@pytest.mark.quick
def test_the_dish_pattern_is_asked_once_a_neighbour(monkeypatch):
    calls = []
    real = budget.off_axis_gain_dbi
    monkeypatch.setattr(budget, "off_axis_gain_dbi", lambda **asked: calls.append(1) or real(**asked))
    for carriers in (4, 40):
        calls.clear()
        budget.budgets(bench_budget.scene(carriers, 3), budget.place(*bench_budget.WHERE), PLAN)
        assert len(calls) == 3
