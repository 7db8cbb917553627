"""What sends: tables of transponders, of TV multiplexes and of mobile sectors, one row each, into records. Bad rows go, good rows stay."""

from __future__ import annotations

import math
import re
from dataclasses import replace

from siteplan.files import channels
from siteplan.files.numbers import parse_number
from siteplan.files.satellite_rows import SATELLITE_COLUMNS as SATELLITE_COLUMNS  # readers of senders are asked for here
from siteplan.files.satellite_rows import orbit_name as orbit_name
from siteplan.files.satellite_rows import read_satellites as read_satellites
from siteplan.files.sectors import SECTOR_COLUMNS as SECTOR_COLUMNS
from siteplan.files.sectors import read_sectors as read_sectors
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
from siteplan.files.sender_values import HIGHEST_GROUND_M as _HIGHEST_GROUND_M
from siteplan.files.sender_values import LOWEST_GROUND_M as _LOWEST_GROUND_M
from siteplan.files.sender_values import antenna_height_agl_m as _height
from siteplan.files.sender_values import first_power as _first_power
from siteplan.files.sender_values import need_power as _need_power
from siteplan.files.tables import Row, squash
from siteplan.records.emitters import Multiplex, Transmitter
from siteplan.records.places import Reject
from siteplan.records.plan import Plan

TRANSMITTER_COLUMNS = (
    "transmitter", "lat_deg", "lon_deg", "ground_amsl_m", "antenna_height_agl_m", "multiplex", "channel", "raster", "frequency_mhz",
    "bandwidth_mhz", "erp_kw", "gain_dbi", "gain_dbd", "polarisation", "mode", "programmes", "region",
)  # fmt: skip


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
