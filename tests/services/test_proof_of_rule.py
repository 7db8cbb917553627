"""The satellite rule held against full-resolution land: how often is 'book', and 'not feasible', wrong?

A small part of tests/benchmarks/bench_proof.py, which prints the whole with intervals; what counts as wrong says tests/degraded_land.py.
"""

import pytest
from degraded_land import FILES, Degradation, cases, truth
from proof_counts import Tally, tally, wilson
from shared_data import need_shared

BOOK_LIMIT, NEVER_LIMIT, LEAST_BOOKED, LEAST_NEVER = 0.03, 0.01, 200, 100
ALL_OF_IT = Degradation("all of it", cell_m=2.5, noise_m=0.5, shift_m=1.5)
FINE = (
    ("city", "ground", Degradation("position 5 m"), 70),
    ("city", "ground", Degradation("noise 1 m", noise_m=1.0), 70),
    ("city", "ground", Degradation("2.5 m, nearest", cell_m=2.5, how="nearest", position_m=1.0), 70),
    ("city", "ground", ALL_OF_IT, 70),
    ("city", "ground", Degradation("nothing said", cell_m=2.5, noise_m=0.5, shift_m=1.5, stated=False), 70),
    ("city", "ground", Degradation("canopy missing, said so", canopy=False, noise_m=0.3), 40),
    ("city", "roof", Degradation("2.5 m, highest", cell_m=2.5, how="max"), 70),
    ("river park", "ground", Degradation("2.5 m, mean", cell_m=2.5, noise_m=0.3), 70),
    ("river park", "ground", Degradation("shift 2 m", shift_m=2.0), 70),
    ("valley", "ground", Degradation("noise of each cell", noise_m=0.5, reach_m=0.0), 70),
)
COARSE = (
    ("city", "ground", Degradation("5 m, mean", cell_m=5.0, noise_m=1.0, position_m=1.0), 120),
    ("city", "ground", Degradation("5 m, nearest", cell_m=5.0, how="nearest", noise_m=1.0), 120),
    ("city", "ground", Degradation("10 m, mean", cell_m=10.0, noise_m=2.0), 40),
)


def counted(rows, first: int) -> dict[str, Tally]:
    """Return the counts of each row, sets checked to be there."""
    for name in dict.fromkeys(name for name, *_ in rows):
        for file in FILES[name]:
            need_shared(f"terrain/{file}")
    return {
        f"{name}, {kind}: {worse.name}": tally(cases(truth(name), worse, count=count, seed=first + k, kind=kind))
        for k, (name, kind, worse, count) in enumerate(rows)
    }


def told(rows: dict[str, Tally]) -> str:
    """Return the counts as text for a failure."""
    total = sum(rows.values(), Tally())
    lines = [f"{name}: {row}" for name, row in rows.items()]
    book, never = wilson(total.wrong_book, total.book), wilson(total.wrong_not_feasible, total.not_feasible)
    return "\n".join([*lines, f"{total}; wrong book {book[0]:.4f}-{book[1]:.4f}, wrong not feasible {never[0]:.4f}-{never[1]:.4f}"])


@pytest.fixture(scope="module")
def fine():
    return counted(FINE, 11_000)


def test_booked_jobs_are_clear_in_truth(fine):
    total = sum(fine.values(), Tally())
    print(told(fine))
    assert total.book >= LEAST_BOOKED, told(fine)
    assert total.wrong_book <= BOOK_LIMIT * total.book, told(fine)


def test_what_is_ruled_out_is_blocked_in_truth(fine):
    total = sum(fine.values(), Tally())
    assert total.not_feasible >= LEAST_NEVER, told(fine)
    assert total.wrong_not_feasible <= NEVER_LIMIT * total.not_feasible, told(fine)


def test_survey_first_does_not_swallow_everything(fine):
    total = sum(fine.values(), Tally())
    assert total.judged == total.book + total.not_feasible + total.survey
    assert total.survey <= 0.4 * total.judged, told(fine)


def test_without_canopy_nothing_is_booked(fine):
    row = fine["city, ground: canopy missing, said so"]
    assert row.judged >= 30 and row.book == 0
    assert row.not_feasible > 0  # a house in the way is proof all the same


def test_canopy_that_is_missing_without_a_word_books_nothing():
    untold = Degradation("canopy missing, nobody says", canopy=False, says_so=False, noise_m=0.3)
    (row,) = counted((("city", "ground", untold, 40),), 14_000).values()
    assert row.book == 0 and row.judged > 30
    assert row.wrong_not_feasible == 0 < row.not_feasible


def test_coarse_land_books_nothing_and_rules_out_rightly():
    rows = counted(COARSE, 12_000)
    total = sum(rows.values(), Tally())
    assert total.book == 0
    assert total.not_feasible >= 20, told(rows)
    assert total.wrong_not_feasible <= NEVER_LIMIT * total.not_feasible, told(rows)


def test_a_list_that_claims_to_be_better_than_it_is_gets_caught():
    """The same counting finds a rule that is told of 0.5 m where addresses are 8 m off: the proof can fail."""
    bold = Degradation("claims 0.5 m", position_m=8.0, claimed_m=0.5)
    total = sum(counted((("city", "ground", bold, 120),), 13_000).values(), Tally())
    assert total.wrong_book > 3 * BOOK_LIMIT * total.book
    assert total.wrong_not_feasible > 3 * NEVER_LIMIT * total.not_feasible


def test_the_same_seed_gives_the_same_cases():
    need_shared(f"terrain/{FILES['city'][0]}")
    one, other = (cases(truth("city"), ALL_OF_IT, count=5, seed=5) for _ in range(2))
    assert repr(one) == repr(other) and len(one) == 5
