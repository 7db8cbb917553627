"""Tables of terrestrial TV transmitters, one row for each multiplex, into records. Bad rows go, good rows stay."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from pathlib import Path

from siteplan.errors import told
from siteplan.files import channels
from siteplan.files.numbers import parse_number
from siteplan.files.patterns import PatternTables, read_patterns
from siteplan.files.scan_tables import ScanEntry, read_scan_table
from siteplan.files.sender_rows import DIPOLE_DBI, LINEAR, RowFault, SenderTable, open_senders, programmes_of, read_rows
from siteplan.files.sender_values import HIGHEST_GROUND_M, LOWEST_GROUND_M, antenna_height_agl_m, first_power, need_power
from siteplan.files.tables import Row, squash
from siteplan.records.emitters import Multiplex, Pattern, Transmitter
from siteplan.records.places import Reject
from siteplan.records.plan import Plan

TRANSMITTER_COLUMNS = (
    "transmitter", "lat_deg", "lon_deg", "ground_amsl_m", "antenna_height_agl_m", "multiplex", "channel", "raster", "frequency_mhz",
    "bandwidth_mhz", "erp_kw", "gain_dbi", "gain_dbd", "polarisation", "mode", "programmes", "region", "pattern", "pattern_azimuth_deg",
    "pattern_beamwidth_deg", "vertical_pattern", "electrical_tilt_deg", "vertical_beamwidth_deg", "network", "delay_us", "guard_interval",
    "fft_size",
)  # fmt: skip
SHAPES = ("omni", "cardioid", "directional")
_POLARISATIONS = {key: letter.lower() for key, letter in LINEAR.items()} | {
    "m": "m", "mixed": "m", "hv": "m", "s": "s", "slant": "s", "slanted": "s", "45": "s",
}  # fmt: skip
_WIDTHS = (1.7, 5.0, 6.0, 7.0, 8.0, 10.0)


@dataclass(frozen=True)
class _Reader:
    """What the rows of one table are read with."""

    senders: SenderTable
    patterns: PatternTables
    scans: dict[str, tuple[Path, tuple[ScanEntry, ...]]]  # by the transmitter's name, squashed
    raster: str
    top_mhz: float


def read_transmitters(plan: Plan, ground_crs: str = "") -> tuple[tuple[Transmitter, ...], tuple[Reject, ...]]:
    """Return TV transmitters with their multiplexes, in the order of the table; ground_crs for x and y that name no system.

    Rows of one name, place and height are one transmitter. A row without channel and frequency takes its multiplexes from the scan table
    that is called as the transmitter is. Raises TableError where a table as a whole can't be used.
    """
    keys = plan.transmitters
    if keys.file is None:
        return (), ()
    patterns, bad_patterns = read_patterns(keys.patterns)
    needed = ("transmitter", "antenna_height_agl_m", "polarisation", *(() if keys.scan_tables else ("mode",)))
    senders = open_senders(keys.file, TRANSMITTER_COLUMNS, placed=True, needed=needed, crs=ground_crs)
    need_power(senders, ("erp", "eirp"), told("erp_kw, erp_dbw, erp_dbm, eirp_dbw or eirp_dbm"))
    scans: dict[str, tuple[Path, tuple[ScanEntry, ...]]] = {}
    more: list[Reject] = list(bad_patterns)
    for path in keys.scan_tables:
        entries, bad = read_scan_table(path)
        scans[squash(path.stem)] = path, entries
        more += bad
    reader = _Reader(senders, patterns, scans, keys.raster, keys.top_mhz)
    found: dict[tuple, Transmitter] = {}
    joined: set[str] = set()

    def take(row: Row) -> None:
        name = senders.word(row, "transmitter")
        scan = scans.get(squash(name))
        if scan is not None and not senders.text(row, "channel") and not senders.text(row, "frequency_mhz"):
            joined.add(squash(name))
            _take_scan(reader, row, scan, found, more)
            return
        _add(reader, row, _multiplex(reader, row), found)

    rejects = read_rows(senders, take)
    for stem, (path, _) in scans.items():
        if stem not in joined:
            reason = told(
                "no row of {file} without channel and frequency has a transmitter called as this scan table is", file=senders.table.file
            )
            more.append(Reject(path.name, 1, "", path.stem, reason))
    return tuple(found.values()), (*rejects, *more)


def _add(reader: _Reader, row: Row, multiplex: Multiplex, found: dict[tuple, Transmitter]) -> None:
    senders = reader.senders
    place = senders.place(row)
    ground = senders.number(row, "ground_amsl_m", LOWEST_GROUND_M, HIGHEST_GROUND_M, math.nan)
    height = antenna_height_agl_m(senders, row)
    name = senders.word(row, "transmitter")
    key = (name, round(place.lat_deg, 6), round(place.lon_deg, 6), height, repr(ground))
    first = found.get(key) or Transmitter(name, place.lat_deg, place.lon_deg, height, (), ground, senders.text(row, "region"))
    for other in first.multiplexes:
        if other.frequency_mhz == multiplex.frequency_mhz and other.polarisation == multiplex.polarisation:
            column = "channel" if senders.text(row, "channel") else "frequency_mhz"
            raise senders.fault(row, column, told("{name} already sends {name_2} there", name=name, name_2=other.name))
    found[key] = replace(first, multiplexes=(*first.multiplexes, multiplex))


def _take_scan(
    reader: _Reader, row: Row, scan: tuple[Path, tuple[ScanEntry, ...]], found: dict[tuple, Transmitter], more: list[Reject]
) -> None:
    """Add every entry of a scan table with the power, polarisation and pattern of one row; each bad entry is told with its line."""
    path, entries = scan
    for entry in entries:
        try:
            _add(reader, row, _scanned(reader, row, entry), found)
        except RowFault as fault:
            if fault.field in (reader.senders.column("mode"), reader.senders.column("frequency_mhz")) or not fault.field:
                more.append(Reject(path.name, entry.line, fault.field, fault.value or entry.name, fault.reason))
            else:
                raise  # the row itself is at fault


def _scanned(reader: _Reader, row: Row, entry: ScanEntry) -> Multiplex:
    senders = reader.senders
    mode = f"{entry.system} {entry.modulation} {entry.code_rate}"
    if not (entry.modulation and entry.code_rate):
        if not senders.text(row, "mode"):
            raise senders.fault(
                row, "mode", told("{name}: the scan table leaves modulation or code rate open, and the row gives no mode", name=entry.name)
            )
        mode = _mode(senders, row, senders.text(row, "mode"))
        if mode.split()[0] != entry.system:
            raise senders.fault(
                row,
                "mode",
                told("{name} is {system} in the scan table, the row says {mode}", name=entry.name, system=entry.system, mode=mode),
            )
    mode = _mode(senders, row, mode)
    if entry.bandwidth_mhz not in channels.SYSTEM_WIDTHS[entry.system]:
        raise senders.fault(
            row,
            "frequency_mhz",
            told(
                "{name}: {system} is not sent in channels of {bandwidth_mhz:g} MHz",
                name=entry.name,
                system=entry.system,
                bandwidth_mhz=entry.bandwidth_mhz,
            ),
        )
    _below_top(reader, row, "frequency_mhz", entry.frequency_mhz, entry.bandwidth_mhz, entry.name)
    useful, guard = _symbol(reader, row, mode, entry.bandwidth_mhz, entry.fft_size, entry.guard)
    return replace(
        _sent(reader, row), name=entry.name, frequency_mhz=entry.frequency_mhz, bandwidth_mhz=entry.bandwidth_mhz, mode=mode, channel=None,
        useful_us=useful, guard_us=guard,
    )  # fmt: skip


def _multiplex(reader: _Reader, row: Row) -> Multiplex:
    senders = reader.senders
    mode = _mode(senders, row, senders.word(row, "mode"))
    channel, block, frequency, bandwidth = _channel(reader, row, mode.split()[0])
    _below_top(reader, row, "channel" if senders.text(row, "channel") else "frequency_mhz", frequency, bandwidth)
    given = f"channel {channel}" if channel is not None else f"block {block}" if block else f"{frequency:g} MHz"
    name = senders.text(row, "multiplex") or given
    useful, guard = _symbol(reader, row, mode, bandwidth, "", "")
    return replace(
        _sent(reader, row), name=name, frequency_mhz=frequency, bandwidth_mhz=bandwidth, mode=mode, channel=channel, useful_us=useful,
        guard_us=guard,
    )  # fmt: skip


def _sent(reader: _Reader, row: Row) -> Multiplex:
    """Return how a row's multiplexes are sent: power, polarisation, pattern, network; the channel is not in it."""
    senders = reader.senders
    polarisation = _POLARISATIONS.get(squash(senders.word(row, "polarisation")), "")
    if not polarisation:
        raise senders.fault(row, "polarisation", told("is no polarisation; write h or v, m (mixed) or s (slant)"))
    network = senders.text(row, "network")
    delay = senders.number(row, "delay_us", -2000.0, 2000.0, 0.0)
    power = _erp_dbw(senders, row)
    return Multiplex("", 0.0, 0.0, power, polarisation, "", None, programmes_of(senders, row), _pattern(reader, row), network, delay)


def _channel(reader: _Reader, row: Row, system: str) -> tuple[int | None, str, float, float]:
    """Return channel, block, frequency and bandwidth: from the channel's raster, or as stated; the two must agree."""
    senders = reader.senders
    raster = senders.text(row, "raster") or reader.raster
    raster = next((known for known in channels.RASTERS if squash(known) == squash(raster) or squash(known) == squash(raster) + "mhz"), "")
    if not raster:
        raise senders.fault(row, "raster", told("is no channel raster; write one of {rasters}", rasters=", ".join(channels.RASTERS)))
    channel, block, frequency, bandwidth = None, "", math.nan, channels.DAB_WIDTH_MHZ if system == "DAB" else 8.0
    text = re.sub(r"^(?:ch(?:annel)?|k(?:anal)?|e|uhf|vhf)\.?\s*", "", senders.text(row, "channel"), flags=re.IGNORECASE)
    if text and system == "DAB":
        block = text.upper().replace(" ", "")
        if block not in channels.DAB_BLOCKS:
            raise senders.fault(row, "channel", told("is no block of DAB; 5A to 13F are allowed"))
        frequency = channels.DAB_BLOCKS[block]
    elif text:
        number = parse_number(text)
        known = channels.channel_mhz(int(number), raster) if number == number and number == int(number) else None
        if known is None:
            raise senders.fault(
                row,
                "channel",
                told(
                    "is no channel of the {raster} raster; {channels_of} are allowed",
                    raster=raster,
                    channels_of=channels.channels_of(raster),
                ),
            )
        channel, (frequency, bandwidth) = int(number), known
    if senders.text(row, "frequency_mhz"):
        stated = senders.number(row, "frequency_mhz", 30.0, 3000.0)
        if (channel is not None or block) and abs(stated - frequency) > 1.0:
            name = f"block {block}" if block else f"channel {channel}"
            raise senders.fault(
                row, "frequency_mhz", told("does not agree with {name}, which is at {frequency:g} MHz", name=name, frequency=frequency)
            )
        if channel is None and system != "DAB":
            bandwidth = float(raster.split()[0]) if raster != "8 MHz" else 7.0 if stated < 300.0 else 8.0
        frequency = stated
    if math.isnan(frequency):
        key = "channel" if senders.has("channel") else "frequency_mhz"
        raise senders.fault(row, key, told("channel and frequency_mhz are empty; one is wanted"))
    stated = senders.number(row, "bandwidth_mhz", 1.0, 20.0, bandwidth)
    if stated not in _WIDTHS:
        raise senders.fault(row, "bandwidth_mhz", told("is no TV bandwidth; write 5, 6, 7 or 8 (1.7 for DAB)"))
    if stated not in channels.SYSTEM_WIDTHS[system]:
        widths = ", ".join(f"{width:g}" for width in channels.SYSTEM_WIDTHS[system])
        key = "bandwidth_mhz" if senders.text(row, "bandwidth_mhz") else "raster" if senders.text(row, "raster") else "mode"
        raise senders.fault(
            row,
            key,
            told("{system} is not sent in channels of {stated:g} MHz; {widths} MHz are known", system=system, stated=stated, widths=widths),
        )
    return channel, block, frequency, stated


def _below_top(reader: _Reader, row: Row, key: str, frequency_mhz: float, bandwidth_mhz: float, name: str = "") -> None:
    top = frequency_mhz + bandwidth_mhz / 2.0
    if top > reader.top_mhz + 0.5:
        what = f"{name} reaches" if name else "reaches"
        reason = told(
            "{what} up to {top:g} MHz, above the top of the TV band, {top_mhz:g} MHz ([transmitters] top_mhz of the plan)",
            what=what,
            top=top,
            top_mhz=reader.top_mhz,
        )
        raise reader.senders.fault(row, key, reason)


def _mode(senders: SenderTable, row: Row, text: str) -> str:
    system, modulation, code_rate = channels.split_mode(text)
    if not system:
        raise senders.fault(row, "mode", told("can't be read; write system, modulation and code rate, such as DVB-T2 256QAM 2/3"))
    fault = channels.mode_fault(system, modulation, code_rate, channels.TERRESTRIAL_MODES)
    if fault:
        raise senders.fault(row, "mode", fault)
    return f"{system} {modulation} {code_rate}"


def _symbol(reader: _Reader, row: Row, mode: str, bandwidth_mhz: float, fft_size: str, guard: str) -> tuple[float, float]:
    """Return useful length and guard interval in microseconds: from the row, else from the scan table; NaN where neither says."""
    senders, system = reader.senders, mode.split()[0]
    size = senders.text(row, "fft_size").lower().replace(" ", "") or fft_size
    size = size if not size.isdigit() else f"{size}k" if int(size) < 64 else f"{int(size) // 1024}k"
    if size and size not in channels.FFT_SIZES.get(system, ()):
        allowed = channels.FFT_SIZES.get(system)
        advice = told("write one of {allowed}", allowed=", ".join(allowed)) if allowed else told("leave it empty")
        raise senders.fault(row, "fft_size", told("{system} has no such size; {advice}", system=system, advice=advice))
    share = senders.text(row, "guard_interval").replace(" ", "") or guard
    if share:
        fault = channels.guard_fault(system, size, share)
        if fault:
            raise senders.fault(row, "guard_interval", fault)
        if not size:
            raise senders.fault(row, "fft_size", told("is empty; a guard interval needs the size of the FFT, such as 8k or 32k"))
    return channels.symbol_us(system, size, share, bandwidth_mhz)


def _pattern(reader: _Reader, row: Row) -> Pattern:
    senders = reader.senders
    name, upright = senders.text(row, "pattern"), senders.text(row, "vertical_pattern")
    azimuth = senders.number(row, "pattern_azimuth_deg", 0.0, 360.0, math.nan) % 360.0
    width = senders.number(row, "pattern_beamwidth_deg", 1.0, 360.0, math.nan)
    tilt = senders.number(row, "electrical_tilt_deg", -10.0, 30.0, 0.0)
    tall = senders.number(row, "vertical_beamwidth_deg", 0.5, 180.0, math.nan)
    shape, losses = name.lower() or "omni", ()
    if shape not in SHAPES:
        shape, losses = "table", _points(reader, row, "pattern", name, "h")
    if shape in ("cardioid", "directional") and math.isnan(azimuth):
        raise senders.fault(
            row, "pattern_azimuth_deg", told("is empty; a {shape} pattern needs the bearing of its greatest power", shape=shape)
        )
    if shape == "directional" and math.isnan(width):
        raise senders.fault(row, "pattern_beamwidth_deg", told("is empty; a directional pattern needs its width at half power, in degrees"))
    down = _points(reader, row, "vertical_pattern", upright, "v") if upright else ()
    return Pattern(shape, azimuth, width, losses, tilt, tall, down, name if losses else "")


def _points(reader: _Reader, row: Row, key: str, name: str, cut: str) -> tuple[tuple[float, float], ...]:
    found = (name.casefold(), cut)
    if found in reader.patterns.faults:
        raise reader.senders.fault(row, key, told("this pattern can't be used: {faults}", faults=reader.patterns.faults[found]))
    if found not in reader.patterns.points:
        shapes = f"{', '.join(SHAPES)} or " if cut == "h" else ""
        raise reader.senders.fault(
            row, key, told("is no pattern that is known; write {shapes}the name of one in the table of patterns", shapes=shapes)
        )
    return reader.patterns.points[found]


def _erp_dbw(senders: SenderTable, row: Row) -> float:
    stems = ("erp", "eirp", "power")
    erp, eirp = senders.power_dbw(row, "erp"), senders.power_dbw(row, "eirp")
    if not math.isnan(erp) and not math.isnan(eirp) and abs(eirp - DIPOLE_DBI - erp) > 0.5:
        raise senders.fault(row, "erp_kw", told("ERP and EIRP don't agree (EIRP is 2.15 dB more); leave one of them empty"))
    if math.isnan(erp):
        erp = eirp - DIPOLE_DBI
    if math.isnan(erp):
        power, gain = senders.power_dbw(row, "power"), senders.gain_dbi(row)
        erp = power + gain - DIPOLE_DBI
    if math.isnan(erp):
        raise RowFault(first_power(senders, stems), "", told("the power is empty; ERP or EIRP with its unit is wanted"))
    if not -30.0 <= erp <= 70.0:
        raise RowFault(first_power(senders, stems), f"{erp:.1f} dBW", told("is out of range; ERP from 1 mW to 10 MW is allowed"))
    return erp
