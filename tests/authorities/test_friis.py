"""Noise of stages in a row against printed worked examples (data file names them), by the formula and carrier by carrier."""

from itertools import groupby

import pytest
from authorities.authority_rows import rows_of

from siteplan.signal_chain.noise import cascade_noise_figure_db, cn_after, floor_dbuv

EXAMPLES = {
    name: [(float(row["gain_db"]), float(row["noise_figure_db"]), row["total_db"]) for row in rows]
    for name, rows in groupby(rows_of("friis_examples.csv"), key=lambda row: row["example"])
}
TOTALS = [(name, place, float(total)) for name, stages in EXAMPLES.items() for place, (_, _, total) in enumerate(stages, 1) if total]
pytestmark = pytest.mark.quick


@pytest.mark.parametrize(("name", "place", "printed"), TOTALS)
def test_noise_figure_of_a_cascade_as_printed(name, place, printed):
    stages = tuple((gain, figure) for gain, figure, _ in EXAMPLES[name][:place])
    assert cascade_noise_figure_db(stages) == pytest.approx(printed, abs=5e-5)


@pytest.mark.parametrize(("name", "place", "printed"), TOTALS)
def test_carrier_to_noise_stage_by_stage_loses_what_is_printed(name, place, printed):
    """A matched source at T0 has C/N = level - k T0 B; after the stages it is less by just the cascade's noise figure."""
    level, bandwidth = 60.0, 8.0
    start = level - floor_dbuv(bandwidth)
    cn = start
    for gain, figure, _ in EXAMPLES[name][:place]:
        cn = cn_after(cn, level_in_dbuv=level, noise_figure_db=figure, bandwidth_mhz=bandwidth)
        level += gain
    assert start - cn == pytest.approx(printed, abs=5e-5)
