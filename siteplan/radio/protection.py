"""How much stronger a wanted TV signal must be than an unwanted one, by how their channels lie to each other."""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteplan.errors import wording
from siteplan.radio.terrestrial_link import NOISE_BANDWIDTH_MHZ

SAME, OVERLAP, NEXT, APART = "same channel", "overlap", "next channel", "apart"
# Ratio for the channel below and above, dB: unwanted digital TV. DVB: Rec. ITU-R BT.1368 annex 2 and BT.2033 annex 1 (-30 dB, memory);
# ATSC: BT.1368 annex 1 (-28 below, -26 above, memory); ISDB-T: BT.1368 annex 3 (-26 below, -29 above, memory); DAB: BT.1660 (-35, memory).
NEXT_DB = {
    "DVB-T": (-30.0, -30.0), "DVB-T2": (-30.0, -30.0), "ATSC": (-28.0, -26.0), "ATSC3": (-30.0, -30.0), "ISDB-T": (-26.0, -29.0),
    "DAB": (-35.0, -35.0),
}  # fmt: skip
SOURCE = wording("Rec. ITU-R BT.1368 / BT.2033 (memory): same channel as C/N, shared width 10 log(share), next channel by system")


@dataclass(frozen=True, slots=True)
class Ratio:
    """A protection ratio and the relation of the channels it holds for."""

    relation: str
    ratio_db: float


def protection_ratio(
    *, system: str, needed_cn_db: float, wanted_mhz: float, wanted_width_mhz: float, unwanted_mhz: float, unwanted_width_mhz: float
) -> Ratio:
    """Return the protection ratio of a wanted digital TV channel against an unwanted one, -inf where they lie apart.

    needed_cn_db  what the wanted mode needs of a real receiver: an unwanted OFDM or VSB signal acts as noise does
    widths        of the channels; the unwanted one's power is taken as spread evenly over its width

    Same or overlapping channels: C/N + 10 log(shared width / unwanted width). Next channel (gap under half a channel): NEXT_DB.
    Source: Rec. ITU-R BT.1368 and BT.2033 (memory). Checked by hand in tests/radio/test_protection.py.
    """
    wide = NOISE_BANDWIDTH_MHZ.get((system, wanted_width_mhz), wanted_width_mhz)
    low, high = wanted_mhz - wide / 2.0, wanted_mhz + wide / 2.0
    spread = unwanted_width_mhz * wide / wanted_width_mhz  # signals are a little narrower than channels
    shared = min(high, unwanted_mhz + spread / 2.0) - max(low, unwanted_mhz - spread / 2.0)
    if shared > 0.02 * wide:
        share = min(1.0, shared / spread)
        relation = SAME if share > 0.98 and abs(unwanted_mhz - wanted_mhz) < 0.5 else OVERLAP
        return Ratio(relation, needed_cn_db + 10.0 * math.log10(share))
    gap = abs(unwanted_mhz - wanted_mhz) - (wanted_width_mhz + unwanted_width_mhz) / 2.0
    if gap < 0.5 * wanted_width_mhz:
        below, above = NEXT_DB.get(system, (-30.0, -30.0))
        return Ratio(NEXT, below if unwanted_mhz < wanted_mhz else above)
    return Ratio(APART, -math.inf)
