"""The supervisor's review: what is missing first, in counts and not in shares, names really gone where they shall be."""

import csv

import pytest
from three_homes import CARRIERS, NOW, good, put, write_plan

from siteplan.files.expected import EXPECTED_COLUMNS, read_expected
from siteplan.files.plan_file import read_plan
from siteplan.report import review_page
from siteplan.store.readings_store import open_store
from siteplan.studies.proof_job import make_review, review_of
from siteplan.studies.readings_job import take_readings


@pytest.fixture
def plan(tmp_path):
    return write_plan(tmp_path)


def page_of(plan, **more):
    return review_page.page(review_of(read_plan(plan), names=more.pop("names", False), **more), read_plan(plan))


def take(plan):
    return take_readings(plan, plan.parent / "in", now=NOW)


def test_missing_first_then_fails_then_weak_then_the_rest(plan):
    put(plan, "a.csv", good("A-1", noise=8.0))
    put(plan, "b.csv", good("A-3", noise=9.6))
    take(plan)
    text = page_of(plan)
    order = [text.index(said) for said in ("1 booked job has no report", "1 does not pass", "1 passes weakly", "0 pass")]
    assert order == sorted(order) and "0 of 3" in text and "3 of 3" in text and "%" not in text.split("</style>")[-1]


def test_a_level_at_the_edge_of_its_window_is_a_weak_pass(plan):
    put(plan, "a.csv", good("A-1", level=47.5))
    take(plan)
    text = page_of(plan)
    assert "1 passes weakly" in text


def test_a_booked_job_of_which_nothing_is_expected_is_missing_too(plan):
    rows = "B-9,Quay 1,9,book\nA-1,x,2,book\nB-8,Quay 2,10,survey first\n"
    (plan.parent / "out" / "verdicts.csv").write_text("id,name,row,job_verdict\n" + rows)
    put(plan, "a.csv", good("A-1"))
    take(plan)
    text = page_of(plan)
    assert "2 booked jobs have no report" in text and "Quay 1" in text and "Quay 2" not in text


def test_what_is_stored_but_no_longer_in_the_run_is_named(plan):
    put(plan, "a.csv", good("A-1"))
    put(plan, "b.csv", good("A-2"))
    take(plan)
    out = plan.parent / "out" / "expected.csv"
    out.write_text("".join(line for line in out.read_text().splitlines(keepends=True) if not line.startswith("A-2,")))
    assert "1 installations in the store are not in the last run and are left out here: A-2." in page_of(plan)


def test_redacted_means_gone_from_both_files(plan):
    put(plan, "a.csv", good("A-1", noise=8.0, who="Ada Fenn"))
    take(plan)
    make_review(plan, names=True, redacted=True, out=None, clock=lambda: NOW)
    for name in ("review.html", "review.csv"):
        text = (plan.parent / "out" / name).read_text(encoding="utf-8")
        assert not any(word in text.lower() for word in ("fenn", "mill row", "mill-row", "fen end", "fen-end")) and "A-1" in text
    assert "Fenn" in page_of(plan, names=True) and "Mill Row" in page_of(plan)


def test_an_installer_is_judged_by_reading_minus_prediction(plan):
    """Ada's job lies where little is foretold, Bo's where much is: her readings are 10 dB lower than his, and she is the nearer one."""
    out = plan.parent / "out" / "expected.csv"
    lines = read_expected(out)
    with out.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(EXPECTED_COLUMNS)
        for one in lines:
            values = {name: getattr(one, name) for name in EXPECTED_COLUMNS} | ({"level_dbuv": 55.0} if one.id == "A-1" else {})
            writer.writerow(["" if value != value else value for value in values.values()])
    put(plan, "a.csv", good("A-1", level=55.0, who="Ada"))
    put(plan, "b.csv", good("A-2", level=62.0, who="Bo"))
    take(plan)
    text = page_of(plan, names=True)
    ada, bo = (text[text.index(f">{name}<") :].split("</tr>")[0] for name in ("Ada", "Bo"))
    assert "+0.0 dB" in ada and "\u22123.0 dB" in bo and "1 of 1" in ada and "3 of 3" in ada


def test_five_hundred_installations_stay_small(plan):
    out = plan.parent / "out" / "expected.csv"
    head, *lines = out.read_text(encoding="utf-8").splitlines()
    mine = [line for line in lines if line.startswith("A-1,2,")]
    many = [line.replace("A-1,2,", f"H-{n},{n + 10},") for n in range(500) for line in mine]
    out.write_text("\n".join([head, *many]) + "\n", encoding="utf-8")
    rows = [f"H-{n},outlet 1,Oriel 25E,{name},65,{16 - (n % 9)},2026-06-12" for n in range(500) for name, *_ in CARRIERS]
    put(plan, "a.csv", "id,outlet,source,carrier,level_dbuv,cn_db,taken_at\n" + "\n".join(rows) + "\n")
    assert take(plan).stored == 1500
    page, review = make_review(plan, names=False, out=None, clock=lambda: NOW)
    assert len(review.done) == 500 and page.stat().st_size < 400_000
    with open_store(plan.parent / "readings.gpkg") as store:
        assert len(store.ids()) == 500


def test_what_the_readings_teach_is_printed_with_its_errors_out_of_sample(plan):
    """Forty homes over 3 km that all read 4 dB low: the shift is used, and the review says what it was worth."""
    out = plan.parent / "out" / "expected.csv"
    head, *lines = out.read_text(encoding="utf-8").splitlines()
    first = next(line for line in lines if line.startswith("A-1,2,"))
    many = [first.replace("A-1,2,", f"H-{n},{n + 10},").replace(",47.5,", f",{47.5 + (n * 7 % 40) * 0.0007:.5f},") for n in range(40)]
    out.write_text("\n".join([head, *many]) + "\n", encoding="utf-8")
    rows = [f"H-{n},outlet 1,Oriel 25E,O1,{61 + (n * 11 % 5 - 2) * 0.4:.1f},16" for n in range(40)]
    put(plan, "a.csv", "id,outlet,source,carrier,level_dbuv,cn_db\n" + "\n".join(rows) + "\n")
    take(plan)
    text = page_of(plan)
    assert "Oriel 25E: 40 installations lie -4.0 dB from the prediction on average, and that is used nearby" in text
    assert "the error falls from 4.0 to 0.6 dB" in text and "in their 80 % interval (27 to 37 allowed)" in text


def test_an_id_goes_before_a_row_of_the_same_number(plan):
    """Addresses 2 and 3 stand in rows 3 and 4: "3" is the address, not the row."""
    from siteplan.studies.proof_job import check_proof

    out = plan.parent / "out" / "expected.csv"
    out.write_text(out.read_text().replace("A-2,3,", "2,3,").replace("A-3,4,", "3,4,"))
    put(plan, "a.csv", good("3"))
    take(plan)
    with open_store(plan.parent / "readings.gpkg") as store:
        store.sign("3", "2026-06-12T10:00")
    assert "Signed on 2026-06-12T10:00." in check_proof(plan, "3", out=None)
    assert "Not signed yet." in check_proof(plan, "2", out=None)
