"""What a meter should show at one address: at every outlet, at each antenna's own port, and of the mobile cells."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

from siteplan.records.findings import AddressFinding, SectorLine, WayLine
from siteplan.records.parts import TERRESTRIAL, LevelProfile, OutletReading
from siteplan.records.plan import Plan
from siteplan.records.readings import PORT, ROUTER, Expected
from siteplan.records.verdict import State
from siteplan.services.outlets.cell_limits import CellLimits, cell_limits

MOST_CELLS = 6  # as many cells as a sheet names
_GOES_UP = (State.BOOK, State.SURVEY_FIRST)


def expected_of(row: AddressFinding, area: str = "", plan: Plan | None = None) -> tuple[Expected, ...]:
    """Return what is expected at every outlet of one address, at each antenna's own port, and of the mobile cells.

    plan  for the limits of cells and the errors of meters and devices; None: siteplan's own. Raises InputError: no limits of that name.
    """
    plan = plan or Plan(file=Path("plan.toml"))
    found, address = row.outlets, row.row.address
    if address is None:
        return ()
    made = []
    if found is not None and found.profile is not None:
        for state in found.outlets:
            for reading in state.readings:
                if math.isfinite(reading.level_dbuv):
                    made.append(_expected(row, reading, found.profile.name))
        made += [_at_port(row, reading, found.profile.name, plan) for reading in ports_of(row)]
        made += _unforetold(row, found.profile)
    return tuple(replace(one, area=area) for one in (*made, *cells_of(row, plan)))


def ports_of(row: AddressFinding) -> tuple[OutletReading, ...]:
    """Return one reading of each carrier that reaches an outlet: what its LNB or aerial hands out is in its carrier."""
    kept: dict[tuple[str, str, str], OutletReading] = {}
    for state in row.outlets.outlets if row.outlets is not None else ():
        for reading in state.readings:
            if math.isfinite(reading.carrier.level_dbuv):
                kept.setdefault((reading.carrier.source, reading.carrier.line, reading.carrier.name), reading)
    return tuple(kept.values())


def port_window_dbuv(level_dbuv: float, sigma_db: float) -> tuple[float, float]:
    """Return the levels that a good antenna may show: expectation and twice its error (an LNB's gain alone differs by 5 dB).

    By hand: LNB 3 dB, prediction 1 dB, meter 1.5 dB: sigma 3.5 dB, a window of 14 dB.
    """
    return level_dbuv - 2.0 * sigma_db, level_dbuv + 2.0 * sigma_db


def _at_port(row: AddressFinding, reading: OutletReading, profile: str, plan: Plan) -> Expected:
    carrier = reading.carrier
    sigma = math.hypot(carrier.level_sigma_db, plan.installation.meter_sigma_db)
    least, most = port_window_dbuv(carrier.level_dbuv, sigma)
    return replace(
        _expected(row, reading, profile), outlet=PORT, if_mhz=carrier.frequency_mhz, level_dbuv=carrier.level_dbuv,
        level_sigma_db=sigma, cn_db=carrier.cn_db, min_dbuv=least, max_dbuv=most,
    )  # fmt: skip


def cells_of(row: AddressFinding, plan: Plan) -> tuple[Expected, ...]:
    """Return what is expected of the mobile cells that a sheet names, by the way that was chosen; a roof antenna at its port too."""
    found, address = row.mobile, row.row.address
    if found is None or address is None or row.verdicts["mobile"].state not in _GOES_UP or not found.lines:
        return ()
    limits = cell_limits(plan)
    chosen, made = found.enough or found.lines[0].way, []
    for line in found.lines[:MOST_CELLS]:
        way = next((one for one in line.ways if one.way == chosen and one.fits), None)
        if way is None:
            continue
        made.append(_cell(row, line, way, ROUTER if chosen == "roof antenna" else chosen, limits))
        if chosen == "roof antenna":
            made.append(_cell(row, line, way, PORT, limits))
    device = plan.readings.device_sigma_db
    return tuple(replace(one, level_sigma_db=math.hypot(one.level_sigma_db, device)) for one in made)


def _cell(row: AddressFinding, line: SectorLine, way: WayLine, outlet: str, limits: CellLimits) -> Expected:
    """Return one cell at one place; at the antenna what is wanted is higher by what the cable still takes."""
    address, sector = row.row.address, line.sector
    rsrp_dbm, sinr_db = (way.port_rsrp_dbm, way.port_sinr_db) if outlet == PORT else (way.rsrp_dbm, way.sinr_db)
    blocks = sector.technology in ("LTE", "NR")
    own = blocks and limits.own
    least_dbm = limits.rsrp_dbm if own else line.rsrp_dbm - line.margin_db
    return Expected(
        id=address.id, row=row.row.row, name=address.name, lat_deg=address.lat_deg, lon_deg=address.lon_deg, service="mobile",
        source=sector.operator, outlet=outlet, carrier=f"{way.site}, {sector.technology} {sector.band}", line=sector.band,
        rf_mhz=sector.frequency_mhz, if_mhz=math.nan, bandwidth_mhz=sector.bandwidth_mhz, modulation=sector.technology, level_dbuv=math.nan,
        level_sigma_db=way.sigma_db, cn_db=sinr_db, cn_sigma_db=way.sinr_sigma_db,
        threshold_db=limits.sinr_db if own else line.wanted_ratio_db, min_dbuv=math.nan, max_dbuv=math.nan,
        profile=limits.name, rsrp_dbm=rsrp_dbm, rsrq_db=way.rsrq_db if outlet != PORT else math.nan,
        min_dbm=least_dbm + rsrp_dbm - way.rsrp_dbm, min_rsrq_db=limits.rsrq_db if blocks else math.nan,
        standard_band=sector.standard_band, channel="" if sector.channel is None else str(sector.channel),
        pci="" if sector.pci is None or way.site != sector.site else str(sector.pci), job=str(row.job),
    )  # fmt: skip


def _unforetold(row: AddressFinding, profile: LevelProfile) -> list[Expected]:
    """Return the carriers whose strength nobody states, with what they need, so that readings of them find their job."""
    address, made = row.row.address, []
    for view in row.satellite.views if row.satellite is not None and address is not None else ():
        for line in view.links:
            if math.isfinite(line.cn_db) or view.state not in _GOES_UP:
                continue
            sent = line.transponder
            window = next((one for one in profile.windows if one.modulation == "DVB-S"), None)
            made.append(
                Expected(
                    id=address.id, row=row.row.row, name=address.name, lat_deg=address.lat_deg, lon_deg=address.lon_deg,
                    service="satellite", source=view.satellite.name, outlet="",
                    carrier=sent.name or f"{sent.frequency_mhz:g} {sent.polarisation}", line="",
                    rf_mhz=sent.frequency_mhz, if_mhz=math.nan, bandwidth_mhz=sent.symbol_rate_kbaud / 1000.0,
                    modulation=f"{sent.system} {sent.modulation} {sent.code_rate}".strip(), level_dbuv=math.nan, level_sigma_db=math.nan,
                    cn_db=math.nan, cn_sigma_db=math.nan, threshold_db=line.threshold_db, min_dbuv=window.min_dbuv if window else math.nan,
                    max_dbuv=window.max_dbuv if window else math.nan, profile=profile.name, job=str(row.job),
                )  # fmt: skip
            )
    return made


def _expected(row: AddressFinding, reading: OutletReading, profile: str) -> Expected:
    address, carrier = row.row.address, reading.carrier
    terrestrial = carrier.source == TERRESTRIAL
    aims = row.terrestrial.aims if row.terrestrial else ()
    source = aims[0].transmitter.name if terrestrial and aims else carrier.source
    return Expected(
        id=address.id, row=row.row.row, name=address.name, lat_deg=address.lat_deg, lon_deg=address.lon_deg,
        service="terrestrial" if terrestrial else "satellite", source=source, outlet=reading.outlet, carrier=carrier.name,
        line=carrier.line,
        rf_mhz=carrier.rf_mhz if math.isfinite(carrier.rf_mhz) else carrier.frequency_mhz, if_mhz=reading.frequency_mhz,
        bandwidth_mhz=carrier.bandwidth_mhz, modulation=carrier.modulation, level_dbuv=reading.level_dbuv,
        level_sigma_db=reading.level_sigma_db, cn_db=reading.cn_db, cn_sigma_db=carrier.cn_sigma_db, threshold_db=carrier.threshold_db,
        min_dbuv=reading.min_dbuv, max_dbuv=reading.max_dbuv, profile=profile, job=str(row.job),
    )  # fmt: skip
