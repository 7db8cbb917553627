"""Which rows get a sheet: by number, state and id; what gets none links to none and is told how to get one."""

from dataclasses import replace

import pytest
from files.hand_rows import findings

from siteplan.files.plan_file import read_plan
from siteplan.records.plan import OutputsTable
from siteplan.records.verdict import State
from siteplan.studies.sheet_choice import choose_sheets
from siteplan.words import sentence

pytestmark = pytest.mark.quick


def chosen(**outputs):
    run = findings()
    run = replace(run, plan=run.plan.model_copy(update={"outputs": OutputsTable(**outputs)}))
    made, said = choose_sheets(run)
    assert [row.row for row in made.rows] == [row.row for row in run.rows]
    return {row.row.row: row for row in made.rows if row.sheet_file}, [sentence(reason) for reason in said], made


EVERY = {row.row.row for row in findings().rows if row.sheet_file}


def test_a_short_list_gets_all_and_nothing_is_said():
    for how in ({}, {"sheets": "all", "most_sheets": 1}, {"most_sheets": len(EVERY)}):
        rows, said, _ = chosen(**how)
        assert set(rows) == EVERY and said == []


def test_a_long_list_gets_those_to_survey_first_in_its_order():
    rows, said, made = chosen(most_sheets=1)
    waiting = [row.row.row for row in made.rows if row.job is State.SURVEY_FIRST and row.row.row in EVERY]
    assert list(rows) == waiting[:1]
    assert len(said) == 1 and f"{len(rows)} of {len(EVERY)}" in said[0] and "siteplan sheet " in said[0]


def test_states_and_rows_narrow_it():
    states = {row.row.row: row.job.value for row in findings().rows}
    rows, said, _ = chosen(sheet_states=("book",), most_sheets=0)
    assert set(rows) == {row for row in EVERY if states[row] == "book"} and "siteplan sheet " in said[0]
    some = sorted(EVERY)[1]
    rows, said, _ = chosen(sheet_rows=(some, "no such id"))
    assert set(rows) == {some} and "no such id" in said[0]
    address = next(row.row.address for row in findings().rows if row.row.row == some)
    assert set(chosen(sheet_rows=(address.id,))[0]) == {some}
    assert set(chosen(sheet_rows=(some,), sheet_states=("not judged",))[0]) == set()


def test_what_gets_no_sheet_has_no_profile_and_no_command_that_needs_one():
    _, _, made = chosen(sheet_rows=(sorted(EVERY)[0],))
    for row in made.rows:
        if not row.sheet_file and row.terrestrial is not None:
            assert all(aim.profile_file == aim.path_command == "" for aim in row.terrestrial.aims)


def test_none_is_none():
    rows, said, _ = chosen(sheets="none", sheet_rows=(sorted(EVERY)[0],))
    assert rows == {} and "siteplan sheet " in said[0]


def test_the_plan_takes_them_and_says_what_is_allowed(tmp_path):
    from siteplan.errors import PlanError

    (tmp_path / "ground.tif").write_bytes(b"")
    plan = tmp_path / "plan.toml"
    head = '[[terrain]]\nground = "ground.tif"\n[outputs]\n'
    plan.write_text(head + 'sheets = "auto"\nsheet_states = ["survey first", "book"]\nsheet_rows = ["T-1", 17]\nmost_sheets = 40\n')
    outputs = read_plan(plan).outputs
    assert outputs.sheet_rows == ("T-1", 17) and outputs.sheet_states == ("survey first", "book") and outputs.most_sheets == 40
    plan.write_text(head + 'sheet_states = ["maybe"]\n')
    with pytest.raises(PlanError, match="maybe"):
        read_plan(plan)
