"""An area judged: agrees with addresses, goes on after an interruption, and comes out the same however it is cut or worked."""

import numpy as np
import pytest
from area_makers import CELL, SIDE, lon_lat, village

from siteplan.files.plan_file import read_plan
from siteplan.records.view import CLEARANCE_STATES
from siteplan.studies import coverage as coverage_module
from siteplan.studies.addresses import judge_addresses
from siteplan.studies.area_grid import area_grid
from siteplan.studies.coverage import Between, Senders, judge_area, nodes_of, spread
from siteplan.studies.inputs import ground_frames, read_inputs


def box(west_m, north_m, east_m, south_m):
    (west, north), (east, south) = lon_lat(west_m, north_m), lon_lat(east_m, south_m)
    return west, south, east, north


WHOLE = box(10.0, 10.0, SIDE * CELL - 10.0, SIDE * CELL - 10.0)
SMALL = box(60.0, 110.0, 180.0, 180.0)


def question(folder, *, bounds=SMALL, cell_m=4.0, more="[area]\nradio_paths = 200\n"):
    plan = read_plan(village(folder, more=more))
    inputs = read_inputs(plan)
    grid = area_grid(bounds, ground_frames(plan).infos, plan.area, cell_m)
    return plan, grid, Senders(inputs.satellites, inputs.transmitters, inputs.sectors)


def judged(folder, work, **how):
    plan, grid, senders = question(folder, **how)
    return judge_area(plan, grid, senders, on_date=plan.date, work=work)


def same(one, other):
    assert np.array_equal(one.state, other.state) and np.array_equal(one.mount_m, other.mount_m, equal_nan=True)
    assert one.radio.keys() == other.radio.keys()
    for service, radio in one.radio.items():
        assert np.array_equal(radio.best, other.radio[service].best)
        assert np.array_equal(radio.strength, other.radio[service].strength, equal_nan=True)
        assert radio.step == other.radio[service].step and dict(radio.checks) == dict(other.radio[service].checks)


def test_a_map_cell_and_an_address_at_the_same_point_agree(tmp_path):
    """Addresses set on the centres of cells, judged by the main job, against the cells of a map worked in full: no difference."""
    more = "[area]\nradio_paths = 1000000\n"
    plan, grid, senders = question(tmp_path, bounds=WHOLE, cell_m=25.0, more=more)
    area = judge_area(plan, grid, senders, on_date=plan.date, work=tmp_path / "work")
    rows, cols = (part.ravel() for part in np.meshgrid(range(1, grid.rows, 2), range(1, grid.cols, 2), indexing="ij"))
    lat, lon = grid.centres(rows, cols)
    lines = [f"{k},{a:.9f},{b:.9f},1,ground" for k, (a, b) in enumerate(zip(lat, lon, strict=True))]
    plan = read_plan(village(tmp_path, addresses="id,lat_deg,lon_deg,position_error_m,mount\n" + "\n".join(lines) + "\n", more=more))
    findings = judge_addresses(plan, on_date=plan.date, pictures=False)
    compared = 0
    for finding, row, col in zip(findings.rows, rows, cols, strict=True):
        spot = finding.satellite.spot
        if spot.kind != "ground" or (spot.lat_deg, spot.lon_deg) != (finding.row.address.lat_deg, finding.row.address.lon_deg):
            continue  # on a house: the cell stands on its roof, this address wants the ground
        best = finding.terrestrial.aims[0]
        assert senders.transmitters[area.radio["terrestrial"].best[row, col]].name == best.transmitter.name
        weakest = min(best.lines, key=lambda line: line.margin_db)
        # float32 in the raster, nine decimals in the list
        assert area.radio["terrestrial"].strength[row, col] == pytest.approx(weakest.field_strength_dbuv_per_m, abs=0.02)
        tv = area.radio["terrestrial"].more
        assert tv["programmes"][row, col] == len(best.programmes_sure)
        assert bool(tv["open"][row, col]) == bool(finding.terrestrial.choice.open_with)
        strongest = finding.mobile.lines[0]
        assert area.radio["mobile"].strength[row, col] == pytest.approx(strongest.rsrp_dbm, abs=0.02)
        sector = senders.sectors[area.radio["mobile"].best[row, col]]
        assert (sector.operator, sector.band, sector.site) == (strongest.sector.operator, strongest.sector.band, strongest.sector.site)
        for number, view in enumerate(finding.satellite.views):
            if view.clearance is not None and view.reasons[0].code in ("sat_clear", "sat_clear_raised", "sat_partly", "sat_in_the_way"):
                assert CLEARANCE_STATES[area.state[number, row, col]] in (view.clearance.state, "unknown")
                compared += area.state[number, row, col] > 0
    assert compared > 10


def test_interrupted_work_goes_on_where_it_stopped(tmp_path):
    whole = judged(tmp_path / "a", tmp_path / "work-a")
    plan, grid, senders = question(tmp_path / "b")
    work, calls = tmp_path / "work-b", []

    class Stop(BaseException):
        """As when somebody presses Ctrl-C."""

    def stop_after(what, done, total):
        calls.append((what, done, total))
        if len(calls) == 3:
            raise Stop

    with pytest.raises(Stop):
        judge_area(plan, grid, senders, on_date=plan.date, work=work, progress=stop_after)
    there = {path.name: path.stat().st_mtime_ns for path in work.glob("*.npz")}
    assert there and not list(work.glob("*.part"))
    again = []
    done = judge_area(plan, grid, senders, on_date=plan.date, work=work, progress=lambda *step: again.append(step))
    same(whole, done)
    assert all((work / name).stat().st_mtime_ns == when for name, when in there.items())  # nothing was made twice
    assert len(again) < sum(1 for _ in work.glob("*.npz"))


def test_one_thread_and_three_give_the_same(tmp_path, monkeypatch):
    monkeypatch.setenv("SITEPLAN_WORKERS", "1")
    one = judged(tmp_path / "a", tmp_path / "work-a")
    monkeypatch.setenv("SITEPLAN_WORKERS", "3")
    same(one, judged(tmp_path / "b", tmp_path / "work-b"))


def test_large_files_are_read_sheet_by_sheet_with_the_same_answers(tmp_path, monkeypatch):
    whole = judged(tmp_path / "a", tmp_path / "work-a")
    monkeypatch.setattr(coverage_module, "WHOLE_CELLS", 1_000)
    monkeypatch.setattr("siteplan.studies.terrain_files.WHOLE_CELLS", 1_000)
    monkeypatch.setattr(coverage_module, "SHEET_M", 60.0)
    cut = judged(tmp_path / "b", tmp_path / "work-b")
    assert np.array_equal(whole.state, cut.state) and np.allclose(whole.mount_m, cut.mount_m, equal_nan=True, atol=1e-4)
    assert np.array_equal(whole.radio["mobile"].best, cut.radio["mobile"].best)


def test_shared_out_radio_states_how_far_it_lies_from_the_truth(tmp_path):
    area = judged(tmp_path, tmp_path / "work", bounds=WHOLE, cell_m=5.0, more="[area]\nradio_paths = 300\n")
    for service in ("terrestrial", "mobile"):
        radio = area.radio[service]
        assert radio.step > 1
        assert radio.checks["n"] >= 60 and 0.0 <= radio.checks["median_db"] <= radio.checks["p90_db"] <= radio.checks["most_db"]
        assert radio.checks["same_name"] > 0.8
        assert radio.checks["median_db"] < 1.0  # flat ground: most of the village differs by nothing


def test_a_plan_without_senders_gives_no_bands(tmp_path):
    plan, grid, _ = question(tmp_path)
    area = judge_area(plan, grid, Senders(), on_date=plan.date, work=tmp_path / "work")
    assert area.state.shape == (0, grid.rows, grid.cols) and area.known.all() and not area.radio


def test_an_emitter_that_cannot_stand_is_named(tmp_path):
    plan, grid, senders = question(tmp_path)
    from dataclasses import replace

    buried = replace(senders.transmitters[0], ground_amsl_m=-100.0, name="Buried")
    area = judge_area(plan, grid, Senders((), (buried,), ()), on_date=plan.date, work=tmp_path / "work")
    assert [note.code for note in area.notes] == ["emitter_under_ground"] and (area.radio["terrestrial"].best == 65_535).all()


@pytest.mark.quick
def test_nodes_and_spread_cells_lie_inside():
    for count, step in ((10, 1), (10, 3), (11, 4), (3, 7), (1, 5)):
        nodes = nodes_of(count, step)
        assert nodes.min() >= 0 and nodes.max() < count and (np.diff(nodes) > 0).all()
    assert nodes_of(10, 1).tolist() == list(range(10))
    rows, cols = spread(40, 70, 64)
    assert rows.max() < 40 and cols.max() < 70 and len(set(zip(rows.tolist(), cols.tolist(), strict=True))) == 64
    halves = (rows < 20).mean(), (cols < 35).mean()
    assert all(0.4 < half < 0.6 for half in halves)


@pytest.mark.quick
def test_a_plane_is_shared_out_exactly_and_roofs_take_from_roofs():
    rows, cols = np.arange(2, 20, 4), np.arange(2, 30, 4)
    plane = 3.0 * rows[:, None] + 2.0 * cols[None, :]
    got = Between(rows, cols, np.zeros((20, 30), dtype=bool)).shared_out(plane)
    want = 3.0 * np.arange(20)[:, None] + 2.0 * np.arange(30)[None, :]
    inside = np.s_[2:18, 2:26]
    assert got[inside] == pytest.approx(want[inside], abs=1e-5)
    roof = np.zeros((20, 30), dtype=bool)
    roof[4:9, 4:9] = True
    values = np.where(roof[np.ix_(rows, cols)], 100.0, 0.0)
    got = Between(rows, cols, roof).shared_out(values)
    assert (got[roof] == 100.0).all() and (got[~roof] == 0.0).all()


@pytest.mark.quick
def test_unknown_nodes_stay_unknown_around_them():
    rows, cols = np.array([1, 5]), np.array([1, 5])
    values = np.array([[1.0, np.nan], [1.0, np.nan]])
    between = Between(rows, cols, np.zeros((7, 7), dtype=bool))
    assert (between.shared_out(values)[:, :5] == 1.0).all()
    nothing = between.shared_out(np.full((2, 2), np.nan))
    assert np.isnan(nothing).all() and np.isnan(between.nearest(np.full((2, 2), np.nan))).all()
