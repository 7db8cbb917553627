"""What sends: satellites with transponders, terrestrial transmitters with multiplexes, mobile sectors."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.records.beams import Beam
from siteplan.records.orbit import DayOfOrbit


@dataclass(frozen=True, slots=True)
class ReadEirp:
    """An EIRP that one installation's reading gives: where it was read, its value, its error (1 sigma)."""

    lat_deg: float
    lon_deg: float
    eirp_dbw: float
    error_db: float


@dataclass(frozen=True, slots=True)
class Transponder:
    """One carrier of a satellite. eirp_dbw NaN where unknown; eirp_source "stated" (by the operator), "measured" or "assumed".

    polarisation   "H", "V", "L" or "R"
    system         "DVB-S", "DVB-S2" or "DVB-S2X"; modulation "QPSK", "8PSK", ...; code_rate "3/4"
    roll_off       of the carrier's edges, NaN: what is usual for the system
    stream_id      of a multistream carrier (input stream identifier, 0 to 255); scrambling_code n of the physical layer; None not stated
    network_id, original_network_id, transport_stream_id   as the carrier's tables name it, None where not stated
    encrypted      None where not stated
    beam           name of the satellite's beam that carries it, "" where there is one beam or none is known
    readings       what finished installations say of its EIRP, where the row itself only assumes it
    """

    name: str
    frequency_mhz: float
    polarisation: str
    symbol_rate_kbaud: float
    system: str
    modulation: str
    code_rate: str
    eirp_dbw: float = float("nan")
    eirp_source: str = "assumed"
    programmes: tuple[str, ...] = ()
    roll_off: float = float("nan")
    stream_id: int | None = None
    scrambling_code: int | None = None
    network_id: int | None = None
    original_network_id: int | None = None
    transport_stream_id: int | None = None
    encrypted: bool | None = None
    beam: str = ""
    readings: tuple[ReadEirp, ...] = ()


@dataclass(frozen=True, slots=True)
class Satellite:
    """A geostationary satellite. orbit_deg is east longitude in (-180, 180], west negative; beams where footprints are known.

    neighbours        the other satellites of the same table, each without neighbours of its own: what this one may be taken for
    catalogue_number  of the satellite catalogue, by which an orbit file names it; None where not stated
    day               where it really is over the plan's date, where an orbit file says so
    """

    name: str
    orbit_deg: float
    transponders: tuple[Transponder, ...] = ()
    polarisation_offset_deg: float = 0.0
    beams: tuple[Beam, ...] = ()
    neighbours: tuple[Satellite, ...] = ()
    catalogue_number: int | None = None
    day: DayOfOrbit | None = None

    @property
    def stands_at_deg(self) -> float:
        """Return the longitude to aim at: of its orbit on the plan's date where that is known, else the table's."""
        return self.orbit_deg if self.day is None else self.day.lon_deg


def means(entry: str, satellite: Satellite, carrier: Transponder) -> bool:
    """Return whether a name in a plan means this carrier: "O1" on any satellite, "25E: O1" or "Oriel 25E: O1" on that one alone."""
    where, _, name = entry.rpartition(":")
    orbit = f"{abs(satellite.orbit_deg):g}{'W' if satellite.orbit_deg < 0 else 'E'}"
    fits = "".join(where.split()).casefold() in ("", orbit.casefold(), "".join(satellite.name.split()).casefold())
    return fits and name.strip().casefold() == carrier.name.casefold()


@dataclass(frozen=True, slots=True)
class Pattern:
    """How a transmitting antenna shares out its power, relative to its greatest; loss_db of radio.pattern gives the number.

    shape             "omni", "cardioid", "directional" or "table"
    azimuth_deg       of the greatest power, NaN where it has none; beamwidth_deg at -3 dB ("directional")
    losses            ((bearing_deg, loss_db), ...) of a table, bearings true and rising, losses 0 or more
    tilt_deg, vertical_beamwidth_deg   electrical tilt below the horizon and width at -3 dB; NaN: the same at all elevations
    vertical_losses   ((depression_deg, loss_db), ...) of a table, depression positive downwards and rising
    name              of the tables, "" where there is none
    """

    shape: str = "omni"
    azimuth_deg: float = float("nan")
    beamwidth_deg: float = float("nan")
    losses: tuple[tuple[float, float], ...] = ()
    tilt_deg: float = 0.0
    vertical_beamwidth_deg: float = float("nan")
    vertical_losses: tuple[tuple[float, float], ...] = ()
    name: str = ""


@dataclass(frozen=True, slots=True)
class Multiplex:
    """One TV channel of a transmitter. mode as "DVB-T2 256QAM 2/3"; erp_dbw in the antenna's greatest direction, over a half-wave dipole.

    polarisation  "h", "v", "m" (mixed: the stated power in each plane) or "s" (slant: the stated power halved between the planes)
    network       multiplexes of one network name and frequency are one single-frequency network; delay_us is the sender's own static delay
    guard_us, useful_us   guard interval and useful length of a symbol; NaN where not told
    """

    name: str
    frequency_mhz: float
    bandwidth_mhz: float
    erp_dbw: float
    polarisation: str
    mode: str
    channel: int | None = None
    programmes: tuple[str, ...] = ()
    pattern: Pattern = Pattern()
    network: str = ""
    delay_us: float = 0.0
    guard_us: float = float("nan")
    useful_us: float = float("nan")


@dataclass(frozen=True, slots=True)
class Transmitter:
    """A terrestrial TV site. ground_amsl_m NaN: take it from the terrain."""

    name: str
    lat_deg: float
    lon_deg: float
    antenna_height_agl_m: float
    multiplexes: tuple[Multiplex, ...]
    ground_amsl_m: float = float("nan")
    region: str = ""


@dataclass(frozen=True, slots=True)
class Sector:
    """One mobile sector on one carrier.

    technology    "GSM", "UMTS", "LTE" or "NR"; band as the table calls it, standard_band the standard's own name where known ("20", "n78")
    frequency_mhz downlink; uplink_mhz NaN where there is none or the band is not known; duplex "FDD", "TDD", "SDL" or ""
    channel       ARFCN, UARFCN, EARFCN or NR-ARFCN, None where the table gives none
    re_eirp_dbm   EIRP of the reference in the beam's axis, dBm: LTE and NR one resource element, UMTS the pilot, GSM the carrier
    azimuth_deg   NaN: omnidirectional; downtilt_deg below the horizon; beamwidths at -3 dB
    bandwidth_mhz NaN where not told; resource_blocks 0 where not told; load share of its power it sends on average, NaN: the plan's
    pattern       "TR 36.814", "TR 38.901" or "table": horizontal ((turn_deg, gain_db), ...), vertical ((down_deg, gain_db), ...)
    antenna_gain_dbi   of the sector's antenna, for the way back; NaN where not told
    origin        "table", or "cell list" (open crowd-sourced: where phones measured, not where masts stand)
    pci           physical cell identity, None where the table gives none (UMTS: primary scrambling code)
    site_error_m  how far off the site may lie, 1 sigma; samples: measurements behind it; assumed: codes of what nobody stated
    """

    operator: str
    site: str
    name: str
    lat_deg: float
    lon_deg: float
    antenna_height_agl_m: float
    technology: str
    band: str
    frequency_mhz: float
    re_eirp_dbm: float
    azimuth_deg: float = float("nan")
    downtilt_deg: float = 0.0
    beamwidth_deg: float = 65.0
    vertical_beamwidth_deg: float = 10.0
    ground_amsl_m: float = float("nan")
    standard_band: str = ""
    channel: int | None = None
    uplink_mhz: float = float("nan")
    duplex: str = ""
    bandwidth_mhz: float = float("nan")
    resource_blocks: int = 0
    spacing_khz: float = 15.0
    load: float = float("nan")
    pattern: str = "TR 36.814"
    horizontal: tuple[tuple[float, float], ...] = ()
    vertical: tuple[tuple[float, float], ...] = ()
    antenna_gain_dbi: float = float("nan")
    origin: str = "table"
    site_error_m: float = 0.0
    samples: int = 0
    assumed: tuple[str, ...] = ()
    pci: int | None = None
