"""What was measured, what was expected there, and what the difference means."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from siteplan.records.verdict import Reason

NAN = float("nan")
MOST_CN_DB = 35.0  # a meter's own noise lets it show no more, whatever was foretold: common practice, no source
PORT = "antenna"  # the outlet of what is measured at the antenna itself, before any cable
ROUTER = "router"  # where the two cables of a mobile antenna end


@dataclass(frozen=True, slots=True)
class Expected:
    """One carrier or cell at one place of measuring as a run foretold it, a line of expected.csv.

    Levels in dBuV at 75 ohm in the carrier's bandwidth.

    id, row, job     of the address; lat_deg, lon_deg its place
    service          "satellite", "terrestrial" or "mobile"
    source           satellite, transmitter, or operator
    outlet           where it is measured: an outlet, PORT (at the LNB, the aerial or the mobile antenna, before any cable), or where a
                     mobile device stands
    line             sub-band (VL, HL, VH, HH), TV, or the band of a cell
    rf_mhz, if_mhz   in the air, on the cable
    cn_db, threshold_db   there, and what is needed; margin is the difference. Of a cell the ratio to interference and noise
    min_dbuv, max_dbuv    the profile's window; at PORT what the LNB's gain may make of the level
    rsrp_dbm, rsrq_db     of a cell; min_dbm what the plan wants. channel: its channel number, pci its physical cell identity,
                     standard_band its band by the standard's name, "" unknown; min_rsrq_db counts where a device shows no ratio
    """

    id: str
    row: int
    name: str
    lat_deg: float
    lon_deg: float
    service: str
    source: str
    outlet: str
    carrier: str
    line: str
    rf_mhz: float
    if_mhz: float
    bandwidth_mhz: float
    modulation: str
    level_dbuv: float
    level_sigma_db: float
    cn_db: float
    cn_sigma_db: float
    threshold_db: float
    min_dbuv: float
    max_dbuv: float
    profile: str
    job: str = ""  # what the run promised of the whole job
    area: str = ""  # as a column of the address list calls it
    rsrp_dbm: float = NAN
    rsrq_db: float = NAN
    min_dbm: float = NAN
    channel: str = ""
    pci: str = ""
    min_rsrq_db: float = NAN
    standard_band: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """One row of a readings file, units put right; NaN where the meter gave nothing. locked False: the meter found no signal there.

    taken_at   ISO 8601 as given, "" unknown; level always dBuV at 75 ohm; margin_db the meter's own link margin
    notes      what was put right, such as a unit
    rsrp_dbm, rsrq_db, sinr_db, rssi_dbm   of a mobile cell; rsrp_a_dbm, rsrp_b_dbm on each of the antenna's two leads
    pci        physical cell identity of a cell as given, "" unknown
    technology, band, cell_id   of a cell as given, "" unknown
    polarisation   "V", "H" or "", as the meter was set
    """

    file: str
    file_row: int
    id: str
    source: str
    carrier: str
    outlet: str
    frequency_mhz: float = NAN
    level_dbuv: float = NAN
    cn_db: float = NAN
    mer_db: float = NAN
    margin_db: float = NAN
    pre_ber: float = NAN
    post_ber: float = NAN
    locked: bool = True
    taken_at: str = ""
    installer: str = ""
    meter: str = ""
    kit: str = ""
    lat_deg: float = NAN
    lon_deg: float = NAN
    note: str = ""
    notes: tuple[Reason, ...] = ()
    rsrp_dbm: float = NAN
    rsrq_db: float = NAN
    sinr_db: float = NAN
    rssi_dbm: float = NAN
    rsrp_a_dbm: float = NAN
    rsrp_b_dbm: float = NAN
    pci: str = ""
    polarisation: str = ""
    technology: str = ""
    band: str = ""
    cell_id: str = ""

    @property
    def moment(self) -> datetime:
        """Return when it was taken, for putting readings in order; without a zone as UTC, before all others where nobody says."""
        return _moment(self.taken_at)

    @property
    def of_cell(self) -> bool:
        """Return whether this is of a mobile cell."""
        values = (self.rsrp_dbm, self.rsrq_db, self.sinr_db, self.rssi_dbm, self.rsrp_a_dbm, self.rsrp_b_dbm)
        return bool(self.pci or self.technology or self.band or self.cell_id) or any(value == value for value in values)


def _moment(taken_at: str) -> datetime:
    """Return a time for putting in order; the beginning of all times where there is none, or none that is read."""
    try:
        taken = datetime.fromisoformat(taken_at.replace("Z", "+00:00"))
    except ValueError:
        return datetime.min.replace(tzinfo=UTC)
    return taken.replace(tzinfo=UTC) if taken.tzinfo is None else taken


@dataclass(frozen=True, slots=True)
class Compared:
    """One reading beside what was expected. off: measured less expected (of a cell RSRP and SINR); margin_db the least to spare.

    passes  against the profile, None where nothing can be said
    """

    reading: Reading
    expected: Expected
    level_off_db: float
    cn_off_db: float
    margin_db: float
    passes: bool | None
    reasons: tuple[Reason, ...] = ()

    @property
    def ratio_db(self) -> float:
        """Return what the meter gave as C/N (MER, or its margin over what is needed), of a cell as SINR; NaN where it gave none."""
        if self.expected.service != "mobile":
            return self.margin_db + self.expected.threshold_db
        return self.reading.sinr_db if self.reading.sinr_db == self.reading.sinr_db else self.reading.cn_db


@dataclass(frozen=True, slots=True)
class ReadingsFile:
    """One file of readings: to which address it belongs and how that was found, what was compared, what could not be."""

    file: str
    matched: Reason
    id: str = ""
    row: int = 0
    compared: tuple[Compared, ...] = ()
    unknown: tuple[Reading, ...] = ()
    findings: tuple[Reason, ...] = ()
    rejects: tuple = ()


@dataclass(frozen=True, slots=True)
class Installation:
    """Everything that is stored of one address: its latest reading of each carrier and outlet first, older ones after."""

    id: str
    row: int
    name: str
    booked: bool
    expected: tuple[Expected, ...]
    compared: tuple[Compared, ...]
    older: tuple[Reading, ...] = ()
    findings: tuple[Reason, ...] = ()
    signed_at: str = ""
    changed_after_signing: bool = False
    digest: str = ""
    files_changed: tuple[str, ...] = ()  # reports that are not as they were written
    expected_changed: bool = False  # the run's expectations are others than when it was signed
    area: str = ""  # as the address list names it
