"""Channel-change messages of single-cable systems: EN 50494 and EN 50607, restated in public demodulator drivers (data file)."""

import csv
from pathlib import Path

import pytest

from siteplan.errors import InputError
from siteplan.signal_chain.single_cable import channel_change

ROWS = list(csv.DictReader((Path(__file__).parent / "data" / "single_cable_command_examples.csv").open(encoding="utf-8")))
pytestmark = pytest.mark.quick


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['standard']} {row['user_band_1_based']}")
def test_tuning_word_message_and_offset(row):
    position = {"A": 0, "B": 1}.get(row["position"], row["position"])
    asked = channel_change(
        standard=row["standard"],
        user_band=int(row["user_band_1_based"]),
        user_band_mhz=float(row["user_band_mhz"]),
        position=int(position),
        horizontal=row["polarisation"] == "H",
        high_band=row["band"] == "high",
        if_mhz=float(row["if_mhz"]),
    )
    assert asked.tuning_word == int(row["T"])
    assert asked.message.hex(" ").upper() == row["message_hex"]
    assert asked.tuned_minus_wanted_mhz == float(row["tuned_minus_wanted_mhz"])


def test_user_bands_and_positions_that_do_not_exist():
    ask = {"user_band_mhz": 1210.0, "horizontal": False, "high_band": False, "if_mhz": 1000.0}
    with pytest.raises(InputError, match="1 to 8"):
        channel_change(standard="EN 50494", user_band=9, position=0, **ask)
    with pytest.raises(InputError, match="0 to 1"):
        channel_change(standard="EN 50494", user_band=1, position=2, **ask)
    with pytest.raises(InputError, match="1 to 32"):
        channel_change(standard="EN 50607", user_band=33, position=0, **ask)
    with pytest.raises(InputError, match="no single-cable standard"):
        channel_change(standard="EN 1", user_band=1, position=0, **ask)
