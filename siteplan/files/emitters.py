"""What sends: tables of transponders, of TV multiplexes and of mobile sectors, one row each, into records. Bad rows go, good rows stay."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace

from siteplan.errors import TableError
from siteplan.files import channels
from siteplan.files.numbers import parse_number
from siteplan.files.satellite_rows import SATELLITE_COLUMNS as SATELLITE_COLUMNS  # readers of senders are asked for here
from siteplan.files.satellite_rows import orbit_name as orbit_name
from siteplan.files.satellite_rows import read_satellites as read_satellites
from siteplan.files.sender_rows import (
    DIPOLE_DBI,
    LINEAR,
    RowFault,
    SenderTable,
    modulation_of,
    open_senders,
    programmes_of,
    read_rows,
    system_of,
)  # fmt: skip
from siteplan.files.tables import Row, squash
from siteplan.records.emitters import Multiplex, Sector, Transmitter
from siteplan.records.places import Reject
from siteplan.records.plan import Plan

TRANSMITTER_COLUMNS = (
    "transmitter", "lat_deg", "lon_deg", "ground_amsl_m", "antenna_height_agl_m", "multiplex", "channel", "raster", "frequency_mhz",
    "bandwidth_mhz", "erp_kw", "gain_dbi", "gain_dbd", "polarisation", "mode", "programmes", "region",
)  # fmt: skip
SECTOR_COLUMNS = (
    "operator", "site", "sector", "lat_deg", "lon_deg", "ground_amsl_m", "antenna_height_agl_m", "technology", "band", "frequency_mhz",
    "re_eirp_dbm", "re_power_dbm", "power_dbm", "gain_dbi", "gain_dbd", "feeder_loss_db", "bandwidth_mhz", "spacing_khz", "azimuth_deg",
    "downtilt_deg", "beamwidth_deg", "vertical_beamwidth_deg",
)  # fmt: skip
_TALLEST_MAST_M = 1000.0
_HIGHEST_GROUND_M, _LOWEST_GROUND_M = 9000.0, -500.0
_TECHNOLOGIES = {"lte": "LTE", "4g": "LTE", "eutra": "LTE", "nr": "NR", "5g": "NR", "5gnr": "NR"}


# ---- terrestrial TV ----------------------------------------------------------------------------------------


def read_transmitters(plan: Plan, ground_crs: str = "") -> tuple[tuple[Transmitter, ...], tuple[Reject, ...]]:
    """Return TV transmitters with their multiplexes, in the order of the table; ground_crs for x and y that name no system.

    Rows of one name, place and height are one transmitter. Raises TableError where the table as a whole can't be used.
    """
    if plan.transmitters.file is None:
        return (), ()
    senders = open_senders(
        plan.transmitters.file, TRANSMITTER_COLUMNS, placed=True, needed=("transmitter", "antenna_height_agl_m", "polarisation", "mode"),
        crs=ground_crs,
    )  # fmt: skip
    _need_power(senders, ("erp", "eirp"), "erp_kw, erp_dbw, erp_dbm, eirp_dbw or eirp_dbm")
    found: dict[tuple, Transmitter] = {}

    def take(row: Row) -> None:
        multiplex = _multiplex(senders, row)
        place = senders.place(row)
        ground = senders.number(row, "ground_amsl_m", _LOWEST_GROUND_M, _HIGHEST_GROUND_M, math.nan)
        height = _height(senders, row)
        name = senders.word(row, "transmitter")
        key = (name, round(place.lat_deg, 6), round(place.lon_deg, 6), height, repr(ground))
        first = found.get(key) or Transmitter(name, place.lat_deg, place.lon_deg, height, (), ground, senders.text(row, "region"))
        for other in first.multiplexes:
            if other.frequency_mhz == multiplex.frequency_mhz and other.polarisation == multiplex.polarisation:
                key = "channel" if senders.text(row, "channel") else "frequency_mhz"
                raise senders.fault(row, key, f"{name} already sends {other.name} there")
        found[key] = replace(first, multiplexes=(*first.multiplexes, multiplex))

    rejects = read_rows(senders, take)
    return tuple(found.values()), rejects


def _multiplex(senders: SenderTable, row: Row) -> Multiplex:
    channel, frequency, bandwidth = _channel(senders, row)
    polarisation = LINEAR.get(squash(senders.word(row, "polarisation")), "").lower()
    if not polarisation:
        raise senders.fault(row, "polarisation", "is no polarisation; write h or v (one row for each where both are sent)")
    mode = _mode(senders, row)
    name = senders.text(row, "multiplex") or (f"channel {channel}" if channel is not None else f"{frequency:g} MHz")
    return Multiplex(name, frequency, bandwidth, _erp_dbw(senders, row), polarisation, mode, channel, programmes_of(senders, row))


def _channel(senders: SenderTable, row: Row) -> tuple[int | None, float, float]:
    """Return channel, frequency and bandwidth: from the channel's raster, or as stated; the two must agree."""
    raster = senders.text(row, "raster") or "8 MHz"
    raster = next((known for known in channels.RASTERS if squash(known) == squash(raster) or squash(known) == squash(raster) + "mhz"), "")
    if not raster:
        raise senders.fault(row, "raster", f"is no channel raster; write one of {', '.join(channels.RASTERS)}")
    channel, frequency, bandwidth = None, math.nan, 8.0
    text = re.sub(r"^(?:ch(?:annel)?|k(?:anal)?|e|uhf|vhf)\.?\s*", "", senders.text(row, "channel"), flags=re.IGNORECASE)
    if text:
        number = parse_number(text)
        known = channels.channel_mhz(int(number), raster) if number == number and number == int(number) else None
        if known is None:
            raise senders.fault(row, "channel", f"is no channel of the {raster} raster; {channels.channels_of(raster)} are allowed")
        channel, (frequency, bandwidth) = int(number), known
    if senders.text(row, "frequency_mhz"):
        stated = senders.number(row, "frequency_mhz", 30.0, 3000.0)
        if channel is not None and abs(stated - frequency) > 1.0:
            raise senders.fault(row, "frequency_mhz", f"does not agree with channel {channel}, which is at {frequency:g} MHz")
        frequency, bandwidth = stated, bandwidth if channel is not None else 7.0 if stated < 300.0 else 8.0
    if math.isnan(frequency):
        key = "channel" if senders.has("channel") else "frequency_mhz"
        raise senders.fault(row, key, "channel and frequency_mhz are empty; one is wanted")
    stated = senders.number(row, "bandwidth_mhz", 1.0, 20.0, bandwidth)
    if stated not in (1.7, 5.0, 6.0, 7.0, 8.0, 10.0):
        raise senders.fault(row, "bandwidth_mhz", "is no TV bandwidth; write 5, 6, 7 or 8")
    return channel, frequency, stated


def _mode(senders: SenderTable, row: Row) -> str:
    text = senders.word(row, "mode")
    parts = text.replace(",", " ").split()
    if len(parts) == 4 and parts[1].isdigit():
        parts = [parts[0], parts[1] + parts[2], parts[3]]
    if len(parts) != 3:
        raise senders.fault(row, "mode", "can't be read; write system, modulation and code rate, such as DVB-T2 256QAM 2/3")
    system, modulation, code_rate = system_of(parts[0]), modulation_of(parts[1]), parts[2].upper()
    fault = channels.mode_fault(system, modulation, code_rate, channels.TERRESTRIAL_MODES)
    if fault:
        raise senders.fault(row, "mode", fault)
    return f"{system} {modulation} {code_rate}"


def _erp_dbw(senders: SenderTable, row: Row) -> float:
    stems = ("erp", "eirp", "power")
    erp, eirp = senders.power_dbw(row, "erp"), senders.power_dbw(row, "eirp")
    if not math.isnan(erp) and not math.isnan(eirp) and abs(eirp - DIPOLE_DBI - erp) > 0.5:
        raise senders.fault(row, "erp_kw", "ERP and EIRP don't agree (EIRP is 2.15 dB more); leave one of them empty")
    if math.isnan(erp):
        erp = eirp - DIPOLE_DBI
    if math.isnan(erp):
        power, gain = senders.power_dbw(row, "power"), senders.gain_dbi(row)
        erp = power + gain - DIPOLE_DBI
    if math.isnan(erp):
        raise RowFault(_first_power(senders, stems), "", "the power is empty; ERP or EIRP with its unit is wanted")
    if not -30.0 <= erp <= 70.0:
        raise RowFault(_first_power(senders, stems), f"{erp:.1f} dBW", "is out of range; ERP from 1 mW to 10 MW is allowed")
    return erp


# ---- mobile ------------------------------------------------------------------------------------------------


def read_sectors(plan: Plan, ground_crs: str = "") -> tuple[tuple[Sector, ...], tuple[Reject, ...]]:
    """Return mobile sectors, one a carrier, in the order of the table; ground_crs for x and y that name no system.

    Power in the beam's axis is the EIRP of one resource element: re_eirp_dbm; or re_power_dbm and a gain; or the carrier's whole power_dbm
    (all resource elements together), a gain and bandwidth_mhz: P - 10 log(12 N_RB) + G (3GPP TS 36.133, 38.133). feeder_loss_db comes off.
    Raises TableError where the table as a whole can't be used.
    """
    if plan.mobile.file is None:
        return (), ()
    needed = ("operator", "antenna_height_agl_m", "technology", "frequency_mhz")
    senders = open_senders(plan.mobile.file, SECTOR_COLUMNS, placed=True, needed=needed, crs=ground_crs)
    advice = "re_eirp_dbm; or re_power_dbm and gain_dbi; or power_dbm, gain_dbi and bandwidth_mhz"
    _need_power(senders, ("re_eirp", "re_power"), advice)
    found: dict[tuple, Sector] = {}

    def take(row: Row) -> None:
        sector = _sector(senders, row)
        carrier = (sector.technology, sector.band, sector.frequency_mhz)
        key = (sector.operator, sector.site, sector.name, carrier, sector.lat_deg, sector.lon_deg)
        if key in found:
            raise senders.fault(row, "sector", "this carrier of this sector is already in an earlier row")
        found[key] = sector

    rejects = read_rows(senders, take)
    return tuple(found.values()), rejects


def _sector(senders: SenderTable, row: Row) -> Sector:
    technology = _TECHNOLOGIES.get(squash(senders.word(row, "technology")))
    if technology is None:
        raise senders.fault(row, "technology", "is not known here; write LTE or NR")
    frequency = senders.number(row, "frequency_mhz", 0.0, 1e9)
    if not 300.0 <= frequency <= 6000.0:
        raise senders.fault(row, "frequency_mhz", "is out of range; the downlink frequency in MHz is wanted, 300 to 6000")
    operator = senders.word(row, "operator")
    place = senders.place(row)
    eirp = _re_eirp_dbm(senders, row, technology, frequency)
    azimuth = math.nan
    if squash(senders.text(row, "azimuth_deg")) not in ("", "omni", "omnidirectional", "all"):
        azimuth = senders.number(row, "azimuth_deg", 0.0, 360.0) % 360.0
    site = senders.text(row, "site") or f"{place.lat_deg:.5f}, {place.lon_deg:.5f}"
    return Sector(
        operator=operator, site=site, name=senders.text(row, "sector") or ("omni" if math.isnan(azimuth) else f"{azimuth:g}°"),
        lat_deg=place.lat_deg, lon_deg=place.lon_deg, antenna_height_agl_m=_height(senders, row), technology=technology,
        band=senders.text(row, "band") or f"{frequency:g} MHz", frequency_mhz=frequency, re_eirp_dbm=eirp, azimuth_deg=azimuth,
        downtilt_deg=senders.number(row, "downtilt_deg", -30.0, 90.0, 0.0),
        beamwidth_deg=senders.number(row, "beamwidth_deg", 1.0, 360.0, 65.0),
        vertical_beamwidth_deg=senders.number(row, "vertical_beamwidth_deg", 0.5, 180.0, 10.0),
        ground_amsl_m=senders.number(row, "ground_amsl_m", _LOWEST_GROUND_M, _HIGHEST_GROUND_M, math.nan),
    )  # fmt: skip


def _re_eirp_dbm(senders: SenderTable, row: Row, technology: str, frequency_mhz: float) -> float:
    power_column = _first_power(senders, ("re_eirp", "re_power", "power"))
    eirp = senders.power_dbw(row, "re_eirp") + 30.0
    if math.isnan(eirp):
        element, gain = senders.power_dbw(row, "re_power") + 30.0, senders.gain_dbi(row)
        loss = senders.number(row, "feeder_loss_db", 0.0, 30.0, 0.0)
        whole = senders.power_dbw(row, "power") + 30.0
        if math.isnan(element) and not math.isnan(whole):
            blocks = _blocks(senders, row, technology, frequency_mhz)
            element = whole - 10.0 * math.log10(channels.SUBCARRIERS_PER_BLOCK * blocks)
        if math.isnan(element):
            raise RowFault(power_column, "", "the power is empty; re_eirp_dbm, or a power and a gain, is wanted")
        if math.isnan(gain):
            raise senders.fault(row, "gain_dbi", "the gain is empty; gain_dbi or gain_dbd is wanted beside the power")
        eirp = element + gain - loss
    if not -30.0 <= eirp <= 70.0:
        raise RowFault(power_column, f"{eirp:.1f} dBm", "EIRP of one resource element is out of range; -30 to 70 dBm is allowed")
    return eirp


def _blocks(senders: SenderTable, row: Row, technology: str, frequency_mhz: float) -> int:
    width = senders.number(row, "bandwidth_mhz", 1.0, 400.0)
    spacing = 15
    if technology == "NR":
        # where no spacing is given: 30 kHz above 2.3 GHz or 50 MHz, else 15 kHz (common practice, no source)
        usual = 30.0 if frequency_mhz > 2300.0 or width > 50.0 else 15.0
        spacing = int(senders.number(row, "spacing_khz", 15.0, 60.0, usual))
        if spacing not in channels.NR_BLOCKS:
            raise senders.fault(row, "spacing_khz", "is no subcarrier spacing; write 15, 30 or 60")
    blocks = channels.resource_blocks(technology, width, spacing)
    if blocks is None:
        widths = channels.widths_of(technology, spacing)
        raise senders.fault(row, "bandwidth_mhz", f"is no bandwidth of {technology}; write one of {widths}")
    return blocks


# ---- shared ------------------------------------------------------------------------------------------------


def _height(senders: SenderTable, row: Row) -> float:
    height = senders.number(row, "antenna_height_agl_m", -1e9, 1e9)
    if height <= 0.0:
        raise senders.fault(row, "antenna_height_agl_m", "the antenna would stand at or under the ground; metres above ground are wanted")
    if height > _TALLEST_MAST_M:
        raise senders.fault(row, "antenna_height_agl_m", f"is out of range; metres above ground up to {_TALLEST_MAST_M:g} are allowed")
    return height


def _need_power(senders: SenderTable, stems: Sequence[str], advice: str) -> None:
    if not any(senders.has_power(stem) for stem in (*stems, "power")):
        table = senders.table
        raise TableError(f"no column gives the power; write {advice}", file=table.file, row=table.heading_row)


def _first_power(senders: SenderTable, stems: Sequence[str]) -> str:
    for stem in stems:
        for unit in ("kw", "dbw", "dbm", "w", "mw", "dbkw"):
            if senders.has(f"{stem}_{unit}"):
                return senders.column(f"{stem}_{unit}")
    return stems[0]
