"""Tables of mobile sectors, one row a carrier, into records. Bad rows go with their reason, good rows stay."""

from __future__ import annotations

import math
from pathlib import Path

from siteplan.errors import TableError, told
from siteplan.files import cell_list, channels, mobile_bands
from siteplan.files.mobile_bands import CHANNEL_COLUMNS, CHANNEL_NAMES, Band
from siteplan.files.numbers import parse_number
from siteplan.files.sector_patterns import read_pattern
from siteplan.files.sender_rows import RowFault, SenderTable, open_senders, read_rows
from siteplan.files.sender_values import HIGHEST_GROUND_M, LOWEST_GROUND_M, antenna_height_agl_m, first_power, need_power
from siteplan.files.tables import Row, squash
from siteplan.records.emitters import Sector
from siteplan.records.places import Reject
from siteplan.records.plan import Plan

SECTOR_COLUMNS = (
    "operator", "site", "sector", "lat_deg", "lon_deg", "ground_amsl_m", "antenna_height_agl_m", "technology", "band", "frequency_mhz",
    "re_eirp_dbm", "re_power_dbm", "power_dbm", "gain_dbi", "gain_dbd", "feeder_loss_db", "bandwidth_mhz", "spacing_khz", "azimuth_deg",
    "downtilt_deg", "beamwidth_deg", "vertical_beamwidth_deg", "arfcn", "uarfcn", "earfcn", "nr_arfcn", "eirp_dbm", "load_pct", "pattern",
    "pci",
)  # fmt: skip
TECHNOLOGIES = {
    "gsm": "GSM", "2g": "GSM", "umts": "UMTS", "3g": "UMTS", "wcdma": "UMTS", "hspa": "UMTS", "lte": "LTE", "4g": "LTE", "eutra": "LTE",
    "nr": "NR", "5g": "NR", "5gnr": "NR",
}  # fmt: skip
# The pilot of a UMTS carrier has a tenth of its power (common practice, no source).
UMTS_PILOT_DB = -10.0
_WIDTHS = {"GSM": 0.2, "UMTS": 5.0}  # 3GPP TS 45.005; TS 25.101
# Highest physical cell identity: LTE 3GPP TS 36.211, 6.11; NR TS 38.211, 7.4.2.1; UMTS primary scrambling code TS 25.213, 5.2.3.
MOST_PCI = {"LTE": 503, "NR": 1007, "UMTS": 511}
SHAPES = ("TR 36.814", "TR 38.901")


def read_sectors(plan: Plan, ground_crs: str = "") -> tuple[tuple[Sector, ...], tuple[Reject, ...]]:
    """Return mobile sectors, one a carrier, in the order of the table; ground_crs for x and y that name no system.

    The frequency is stated, or comes from the channel number (ARFCN, UARFCN, EARFCN, NR-ARFCN by technology). Power in the beam's axis:
    re_eirp_dbm of one resource element; or eirp_dbm of the whole carrier; or re_power_dbm or power_dbm (whole) with a gain, feeder_loss_db
    off it. A whole carrier is P - 10 log(12 N_RB) for one element (3GPP TS 36.133, 38.133), the pilot of UMTS a tenth of it, GSM all of it.
    An open cell list is recognised by its columns. Raises TableError where the table as a whole can't be used.
    """
    path = plan.mobile.file
    if path is None:
        return (), ()
    if cell_list.is_cell_list(path):
        return cell_list.read_cell_list(plan)
    needed = ["operator", "antenna_height_agl_m", "technology"]
    senders = open_senders(path, SECTOR_COLUMNS, placed=True, needed=needed, crs=ground_crs)
    if not any(senders.has(key) for key in ("frequency_mhz", *CHANNEL_COLUMNS.values())):
        shown = ", ".join(senders.table.columns)
        message = told("column frequency_mhz is missing, and no channel number stands for it (columns: {shown})", shown=shown)
        raise TableError(message, file=senders.table.file, row=senders.table.heading_row)
    advice = told("re_eirp_dbm; or re_power_dbm and gain_dbi; or eirp_dbm, or power_dbm and gain_dbi, with bandwidth_mhz")
    need_power(senders, ("re_eirp", "re_power", "eirp"), advice)
    found: dict[tuple, Sector] = {}
    tables: dict[str, tuple] = {}

    def take(row: Row) -> None:
        sector = _sector(senders, row, path.parent, tables)
        carrier = (sector.technology, sector.band, sector.frequency_mhz)
        key = (sector.operator, sector.site, sector.name, carrier, sector.lat_deg, sector.lon_deg)
        if key in found:
            raise senders.fault(row, "sector", told("this carrier of this sector is already in an earlier row"))
        found[key] = sector

    rejects = read_rows(senders, take)
    return tuple(found.values()), rejects


def _sector(senders: SenderTable, row: Row, folder: Path, tables: dict[str, tuple]) -> Sector:
    technology = TECHNOLOGIES.get(squash(senders.word(row, "technology")))
    if technology is None:
        raise senders.fault(row, "technology", told("is not known here; write GSM, UMTS, LTE or NR"))
    frequency, channel, band = _carrier(senders, row, technology)
    operator = senders.word(row, "operator")
    place = senders.place(row)
    width, spacing, blocks = _width(senders, row, technology, frequency)
    eirp = _reference_eirp_dbm(senders, row, technology, blocks)
    azimuth = math.nan
    if squash(senders.text(row, "azimuth_deg")) not in ("", "omni", "omnidirectional", "all"):
        azimuth = senders.number(row, "azimuth_deg", 0.0, 360.0) % 360.0
    site = senders.text(row, "site") or f"{place.lat_deg:.5f}, {place.lon_deg:.5f}"
    pattern, horizontal, vertical = _pattern(senders, row, folder, tables)
    named = senders.text(row, "band")
    return Sector(
        operator=operator, site=site, name=senders.text(row, "sector") or ("omni" if math.isnan(azimuth) else f"{azimuth:g}°"),
        lat_deg=place.lat_deg, lon_deg=place.lon_deg, antenna_height_agl_m=antenna_height_agl_m(senders, row), technology=technology,
        band=named or (band.name if band else f"{frequency:g} MHz"), frequency_mhz=frequency, re_eirp_dbm=eirp, azimuth_deg=azimuth,
        downtilt_deg=senders.number(row, "downtilt_deg", -30.0, 90.0, 0.0),
        beamwidth_deg=senders.number(row, "beamwidth_deg", 1.0, 360.0, 65.0),
        vertical_beamwidth_deg=senders.number(row, "vertical_beamwidth_deg", 0.5, 180.0, 10.0),
        ground_amsl_m=senders.number(row, "ground_amsl_m", LOWEST_GROUND_M, HIGHEST_GROUND_M, math.nan),
        standard_band=band.name if band else "", channel=channel, uplink_mhz=band.uplink_mhz(frequency) if band else math.nan,
        duplex=band.duplex if band else "", bandwidth_mhz=width, resource_blocks=blocks, spacing_khz=spacing,
        load=0.01 * senders.number(row, "load_pct", 0.0, 100.0, math.nan), pattern=pattern, horizontal=horizontal, vertical=vertical,
        antenna_gain_dbi=senders.gain_dbi(row), pci=_pci(senders, row, technology),
    )  # fmt: skip


def _pci(senders: SenderTable, row: Row, technology: str) -> int | None:
    """Return a row's physical cell identity, None where the cell is empty."""
    if not senders.text(row, "pci"):
        return None
    most = MOST_PCI.get(technology)
    if most is None:
        raise senders.fault(row, "pci", told("{technology} has no physical cell identity; leave it empty", technology=technology))
    value = senders.number(row, "pci", 0.0, float(most))
    if value != int(value):
        raise senders.fault(row, "pci", told("is no whole number from 0 to {most}", most=most))
    return int(value)


# ---- the carrier: channel number, band, frequency, bandwidth -------------------------------------------------------


def _carrier(senders: SenderTable, row: Row, technology: str) -> tuple[float, int | None, Band | None]:
    """Return (downlink MHz, channel number, band) of a row; band, number and frequency must agree."""
    named = senders.text(row, "band")
    bands = mobile_bands.bands_named(technology, named)
    for other, key in CHANNEL_COLUMNS.items():
        if other != technology and senders.text(row, key):
            raise senders.fault(
                row,
                key,
                told(
                    "belongs to {other}, and this row is {technology}; write {channel_columns}",
                    other=other,
                    technology=technology,
                    channel_columns=CHANNEL_COLUMNS[technology],
                ),
            )
    channel, frequency, found = _numbered(senders, row, technology, bands)
    if senders.text(row, "frequency_mhz"):
        stated = senders.number(row, "frequency_mhz", 0.0, 1e9)
        if not 300.0 <= stated <= 6000.0:
            raise senders.fault(row, "frequency_mhz", told("is out of range; the downlink frequency in MHz is wanted, 300 to 6000"))
        if channel is not None and abs(stated - frequency) > 0.11:
            is_at = told(
                "{channel_names} {channel}, which is {frequency:g} MHz",
                channel_names=CHANNEL_NAMES[technology],
                channel=channel,
                frequency=frequency,
            )
            raise senders.fault(row, "frequency_mhz", told("does not agree with {is_at}", is_at=is_at))
        frequency = stated
    if math.isnan(frequency):
        key = CHANNEL_COLUMNS[technology] if senders.has(CHANNEL_COLUMNS[technology]) else "frequency_mhz"
        raise senders.fault(
            row, key, told("frequency_mhz and {channel_columns} are empty; one is wanted", channel_columns=CHANNEL_COLUMNS[technology])
        )
    inside = tuple(band for band in bands if band.dl_low_mhz <= frequency <= band.dl_high_mhz)
    if bands and not inside:
        spans = mobile_bands.spans_of(bands)
        raise senders.fault(
            row,
            "frequency_mhz",
            told(
                "lies outside the downlink of {technology} band {named}; {spans} is allowed",
                technology=technology,
                named=named,
                spans=spans,
            ),
        )
    at = inside or found or mobile_bands.bands_at(technology, frequency)
    first = min(at, key=lambda band: mobile_bands.all_bands().index(band), default=None)
    return frequency, channel, first


def _numbered(senders: SenderTable, row: Row, technology: str, bands: tuple[Band, ...]) -> tuple[int | None, float, tuple[Band, ...]]:
    key, name = CHANNEL_COLUMNS[technology], CHANNEL_NAMES[technology]
    text = senders.text(row, key)
    if not text:
        return None, math.nan, ()
    number = parse_number(text)
    if math.isnan(number) or number != int(number) or number < 0:
        raise senders.fault(row, key, told("is no {name}; a whole number is wanted", name=name))
    channel = int(number)
    frequency, found = mobile_bands.channel_mhz(technology, channel, bands)
    if bands and not found:
        _, elsewhere = mobile_bands.channel_mhz(technology, channel)
        lies = told("lies in band {name}; ", name=elsewhere[0].name) if elsewhere else ""
        raise senders.fault(
            row,
            key,
            told("{lies}band {name} has {channels_of}", lies=lies, name=bands[0].name, channels_of=mobile_bands.channels_of(bands)),
        )
    uplink = mobile_bands.uplink_band(technology, channel)
    if not found and uplink:
        raise senders.fault(row, key, told("is an uplink number of band {uplink}; the downlink's is wanted", uplink=uplink))
    if math.isnan(frequency) or not found:
        raise senders.fault(
            row,
            key,
            told("is in no {technology} band that is known here; write band and frequency_mhz, or another number", technology=technology),
        )
    return channel, frequency, found


def _width(senders: SenderTable, row: Row, technology: str, frequency_mhz: float) -> tuple[float, float, int]:
    """Return (bandwidth MHz, spacing kHz, resource blocks) of a row; NaN and 0 where the table gives no bandwidth."""
    if technology in _WIDTHS:
        return _WIDTHS[technology], 0.0, 0
    width = senders.number(row, "bandwidth_mhz", 1.0, 400.0, math.nan)
    spacing = 15.0
    if technology == "NR":
        # where no spacing is given: 30 kHz above 2.3 GHz or 50 MHz, else 15 kHz (common practice, no source)
        usual = 30.0 if frequency_mhz > 2300.0 or width > 50.0 else 15.0
        spacing = senders.number(row, "spacing_khz", 15.0, 60.0, usual)
        if spacing not in channels.NR_BLOCKS:
            raise senders.fault(row, "spacing_khz", told("is no subcarrier spacing; write 15, 30 or 60"))
    if math.isnan(width):
        return math.nan, spacing, 0
    blocks = channels.resource_blocks(technology, width, int(spacing))
    if blocks is None:
        widths = channels.widths_of(technology, int(spacing))
        raise senders.fault(
            row, "bandwidth_mhz", told("is no bandwidth of {technology}; write one of {widths}", technology=technology, widths=widths)
        )
    return width, spacing, blocks


# ---- power and pattern -----------------------------------------------------------------------------------------------


def _reference_eirp_dbm(senders: SenderTable, row: Row, technology: str, blocks: int) -> float:
    """Return the EIRP of the reference in the beam's axis, dBm."""
    power_column = first_power(senders, ("re_eirp", "re_power", "eirp", "power"))
    elements = technology in ("LTE", "NR")
    eirp, element = senders.power_dbw(row, "re_eirp") + 30.0, senders.power_dbw(row, "re_power") + 30.0
    if not elements and not (math.isnan(eirp) and math.isnan(element)):
        advice = told("{technology} has no resource elements; write eirp_dbm, or power_dbm and gain_dbi", technology=technology)
        raise RowFault(power_column, senders.text(row, power_column), advice)
    if math.isnan(eirp):
        whole_eirp, whole = senders.power_dbw(row, "eirp") + 30.0, senders.power_dbw(row, "power") + 30.0
        share = math.nan
        if math.isnan(element) and not (math.isnan(whole_eirp) and math.isnan(whole)):
            share = UMTS_PILOT_DB if technology == "UMTS" else 0.0
            if elements and blocks == 0:
                raise senders.fault(row, "bandwidth_mhz", told("is empty; the power of a whole carrier needs it"))
            share -= 10.0 * math.log10(channels.SUBCARRIERS_PER_BLOCK * blocks) if elements else 0.0
        eirp = whole_eirp + share
    if math.isnan(eirp):
        gain, loss = senders.gain_dbi(row), senders.number(row, "feeder_loss_db", 0.0, 30.0, 0.0)
        element = whole + share if math.isnan(element) else element
        if math.isnan(element):
            raise RowFault(power_column, "", told("the power is empty; re_eirp_dbm, eirp_dbm, or a power and a gain, is wanted"))
        if math.isnan(gain):
            raise senders.fault(row, "gain_dbi", told("the gain is empty; gain_dbi or gain_dbd is wanted beside the power"))
        eirp = element + gain - loss
    if not -30.0 <= eirp <= 70.0:
        what = told("EIRP of one resource element") if elements else "EIRP"
        raise RowFault(power_column, f"{eirp:.1f} dBm", told("{what} is out of range; -30 to 70 dBm is allowed", what=what))
    return eirp


def _pattern(senders: SenderTable, row: Row, folder: Path, tables: dict[str, tuple]) -> tuple[str, tuple, tuple]:
    """Return (shape, horizontal, vertical): a standard shape by name, or a table beside the sectors."""
    text = senders.text(row, "pattern")
    shape = next((known for known in SHAPES if squash(text) in (squash(known), squash(known)[2:])), "")
    if not text or shape:
        return shape or SHAPES[0], (), ()
    if Path(text).suffix.lower() not in (".csv", ".txt", ".tsv"):
        raise senders.fault(
            row,
            "pattern",
            told("is no shape known here; write {shapes}, or the name of a table beside this one", shapes=" or ".join(SHAPES)),
        )
    if text not in tables:
        tables[text] = read_pattern(folder, text)
    horizontal, vertical, fault = tables[text]
    if fault:
        raise senders.fault(row, "pattern", fault)
    return "table", horizontal, vertical
