"""One reading of a mobile cell beside what was expected: which cell it is, whether it passes, and which failures count."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace

from siteplan.records.readings import PORT, Compared, Expected, Reading
from siteplan.records.verdict import Reason
from siteplan.signal_chain.diagnosis_mobile import is_rssi

NEAR_CELL_MHZ = 1.0  # channels of mobile networks may lie 5 MHz apart; a device names its own exactly
WEAK_DB = 1.0


def cells_fitting(reading: Reading, expected: Sequence[Expected]) -> list[Expected]:
    """Return the expected cell that a reading is of, among those of its operator and place: by name, frequency, band, then identity.

    Of several that fit those with the reading's own identity count. Where still several cells fit, all are returned: none is guessed. A
    frequency that fits none is another cell's: no band is tried then.
    """
    mine = [one for one in expected if not reading.technology or reading.technology == one.modulation]
    found = [one for one in mine if reading.carrier and reading.carrier.casefold() == one.carrier.casefold()]
    if not found and math.isfinite(reading.frequency_mhz):
        off = [(abs(one.rf_mhz - reading.frequency_mhz), one) for one in mine]
        best = min((mhz for mhz, _ in off), default=math.inf)
        found = [one for mhz, one in off if mhz <= NEAR_CELL_MHZ and mhz <= best]
    elif not found and reading.band:
        found = [one for one in mine if _bare(reading.band) in (_bare(one.line), _bare(one.standard_band))]
    elif not found and reading.pci:
        found = [one for one in mine if reading.pci == one.pci]
    found = [one for one in found if reading.pci and reading.pci == one.pci] or found
    return found if len({(one.source, one.carrier) for one in found}) > 1 else found[:1]


def _bare(band: str) -> str:
    """Return a band's bare name: "B20", "band 20", "LTE 20" and "20" are one; "n78" and "78" too."""
    text = band.strip().casefold()
    return re.sub(r"^(lte|nr|umts|gsm|[2-5]g)?\s*(band|b|n)?\s*", "", text).removesuffix("mhz").strip() or text


def compared_cell(reading: Reading, expected: Expected) -> Compared:
    """Return a mobile cell's reading beside its expectation: strength and ratio must both reach what is wanted.

    The ratio is SINR (or what stands under C/N); where a device shows none, RSRQ against its own least value stands for it. RSSI in the
    column of RSRP is not judged at all.
    """
    ratio = reading.sinr_db if math.isfinite(reading.sinr_db) else reading.cn_db
    if is_rssi(reading.rsrp_dbm, expected):
        wrong = Reason("read_rsrp_is_rssi", {"value": reading.rsrp_dbm, "expected": expected.rsrp_dbm})
        return Compared(reading, expected, math.nan, ratio - expected.cn_db, math.nan, None, (wrong,))
    margin = ratio - expected.threshold_db
    by_rsrq = math.isnan(margin) and math.isfinite(expected.min_rsrq_db)
    spare = reading.rsrq_db - expected.min_rsrq_db if by_rsrq else margin
    reasons: list[Reason] = []
    if not reading.locked:
        reasons.append(Reason("read_no_cell"))
    if reading.rsrp_dbm < expected.min_dbm:
        reasons.append(Reason("read_rsrp_low", {"rsrp_dbm": reading.rsrp_dbm, "min_dbm": expected.min_dbm}))
    if spare < 0.0:
        reasons.append(Reason("read_rsrq_short" if by_rsrq else "read_sinr_short", {"short_db": -spare}))
    passes: bool | None = not reasons
    if passes and (math.isnan(spare) or math.isnan(reading.rsrp_dbm)):
        passes = None  # one of the two alone proves nothing good
    if reading.pci and expected.pci and reading.pci != expected.pci:
        reasons.append(Reason("read_other_cell", {"pci": reading.pci, "planned": expected.pci}))
    strong = reading.rsrp_dbm - expected.min_dbm
    if passes and margin < WEAK_DB:
        reasons.append(Reason("read_sinr_weak", {"margin_db": margin}))
    if passes and strong < WEAK_DB:
        reasons.append(Reason("read_rsrp_weak", {"margin_db": strong}))
    least = min((value for value in (strong, spare) if math.isfinite(value)), default=math.nan)
    return Compared(reading, expected, reading.rsrp_dbm - expected.rsrp_dbm, ratio - expected.cn_db, least, passes, tuple(reasons))


def counted(compared: Sequence[Compared], expected: Sequence[Expected]) -> tuple[Compared, ...]:
    """Return readings of one address with failures that don't count for the job turned into "not proved", and said so.

    One cell is enough: where one passes at the device, other cells that fail don't count, but the planned one (the first expected) always
    does. Nor does a cell count at the antenna itself: what arrives at the device decides.
    """
    planned = next((one for one in expected if one.service == "mobile" and one.outlet != PORT), None)
    good = any(one.passes and one.expected.service == "mobile" and one.expected.outlet != PORT for one in compared)

    def aside(one: Compared) -> bool:
        if one.expected.service != "mobile" or one.passes is not False:
            return False
        return one.expected.outlet == PORT or (good and one.expected != planned)

    return tuple(replace(one, passes=None, reasons=(*one.reasons, Reason("read_not_counted"))) if aside(one) else one for one in compared)
