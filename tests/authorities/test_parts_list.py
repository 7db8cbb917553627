"""The generic parts list against published and typical rows: cables within 10 %, passive parts as typical, single-cable bands."""

import csv
from collections import defaultdict
from pathlib import Path

import pytest

from siteplan.files.equipment import read_parts
from siteplan.records.parts import Item
from siteplan.signal_chain.parts import cable_loss_db, gain_db
from siteplan.signal_chain.single_cable import USER_BANDS

PARTS, _ = read_parts()
SHARED = Path(__file__).parents[3] / "shared" / "standards"
pytestmark = pytest.mark.quick


def shared_rows(name):
    if not (SHARED / name).exists():
        pytest.skip("../shared/standards is not beside the checkout")
    return list(csv.DictReader((SHARED / name).open(encoding="utf-8")))


def test_cables_meet_the_rows_that_they_are_taken_from():
    """75 ohm installation cable (manual of a distribution system) and the series-11 drop cable: every row within 10 %."""
    checked = 0
    for row in shared_rows("coax_attenuation_published.csv"):
        name = {"75 ohm SAT installation cable": "Cable class A 7 mm"}.get(row["cable"])
        if name:
            lost = cable_loss_db(PARTS[name], 100.0, float(row["f_mhz"]))
            assert lost == pytest.approx(float(row["attenuation_db_per_100m"]), rel=0.1)
            checked += 1
    for row in shared_rows("coax_attenuation_typical.csv"):
        if row["cable"].startswith("series-11"):
            lost = cable_loss_db(PARTS["Cable trunk 10 mm"], 100.0, float(row["f_mhz"]))
            assert lost == pytest.approx(float(row["attenuation_db_per_100m"]), rel=0.1)
            checked += 1
    assert checked >= 10


def test_splitters_outlets_and_connectors_are_as_typical_rows():
    """Losses at the bottom of each row's band, within 1 dB; never less than the ideal power division."""
    names = {"2-way splitter": "Splitter 2", "4-way splitter": "Splitter 4", "8-way splitter": "Splitter 8 diode"}
    names["terminated outlet"] = "Outlet"
    checked = 0
    for row in shared_rows("passive_losses_typical.csv"):
        if row["item"] in names:
            low, high = (float(value) for value in row["band_mhz"].split("-"))
            lost = [-gain_db(Item("x", PARTS[names[row["item"]]]), mhz) for mhz in (low, (low + high) / 2)]
            assert lost[0] == pytest.approx(float(row["loss_db"]), abs=1.0) and lost[1] >= lost[0] - 1e-9
            checked += 1
    ideals = [row for row in shared_rows("passive_losses_typical.csv") if row["item"].startswith("ideal")]
    ideal = {int(row["item"].split()[1][0]): float(row["loss_db"]) for row in ideals}
    for ways, name in ((2, "Splitter 2"), (2, "Splitter 2 diode"), (8, "Splitter 8 diode")):
        assert all(-gain_db(Item("x", PARTS[name]), mhz) >= ideal[ways] for mhz in (5.0, 470.0, 950.0, 2150.0))
    assert checked >= 6


def test_single_cable_units_keep_to_their_standards():
    units = [part for part in PARTS.values() if part.kind == "single_cable"]
    assert {unit.standard for unit in units} == set(USER_BANDS)
    for unit in units:
        bands = sorted(unit.user_bands_mhz)
        assert len(bands) <= USER_BANDS[unit.standard] and bands[0] >= 950.0 and bands[-1] <= 2150.0
        gaps = [b - a for a, b in zip(bands, bands[1:], strict=False)]
        assert min(gaps) >= 30.0, unit.name  # room for a carrier of 27.5 MBd


def test_no_part_makes_power_from_nothing_and_what_parts_ways_states_isolation():
    """A passive part (no noise figure, no rating) never has gain; an amplifying one states its rating."""
    by_kind = defaultdict(list)
    for part in PARTS.values():
        by_kind[part.kind].append(part)
        gains = [gain for _, gain in (*part.gain_points, *part.tap_points)] if part.kind != "cable" else []
        if max(gains, default=0.0) > 0.0:
            assert part.max_output_dbuv == part.max_output_dbuv, part.name
    for kind in ("splitter", "multiswitch", "lnb"):
        assert all(part.isolation_db == part.isolation_db for part in by_kind[kind] if part.outputs > 1), kind
