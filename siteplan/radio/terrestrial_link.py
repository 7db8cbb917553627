"""What a terrestrial mode needs at an aerial: C/N of a real receiver, noise, and from them the minimum and minimum median field."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from siteplan.errors import InputError, told, wording
from siteplan.radio.antenna import scaled_aerial
from siteplan.radio.modes import FIXED, INDOOR, Mode, terrestrial_mode
from siteplan.radio.noise import receiver_noise_dbw
from siteplan.units import dbd_to_dbi, dbm_to_dbuv, dbw_to_dbm, effective_area_dbm2, field_from_flux_dbuv_per_m

# Noise bandwidths, MHz: DVB-T from its 8k carriers (EN 300 744); DVB-T2 with the extended carriers that networks use (EN 302 755);
# ATSC the whole channel (BPR-10); ATSC3 (A/322), ISDB-T (ARIB STD-B31, 5.57 MHz of 6) and DAB (EN 300 401) from memory.
NOISE_BANDWIDTH_MHZ = {
    ("DVB-T", 8.0): 7.61,
    ("DVB-T", 7.0): 6.66,
    ("DVB-T", 6.0): 5.71,
    ("DVB-T", 5.0): 4.76,
    ("DVB-T2", 8.0): 7.77,
    ("DVB-T2", 7.0): 6.80,
    ("DVB-T2", 6.0): 5.83,
    ("DVB-T2", 5.0): 4.86,
    ("ATSC", 6.0): 6.0,
    ("ATSC3", 8.0): 7.78,
    ("ATSC3", 7.0): 6.81,
    ("ATSC3", 6.0): 5.83,
    ("ISDB-T", 8.0): 7.43,
    ("ISDB-T", 7.0): 6.50,
    ("ISDB-T", 6.0): 5.57,
    ("DAB", 1.7): 1.536,
}
# GE06 / Rec. ITU-R BT.1368; Rec. ITU-R BT.2033; ATSC by band as BPR-10 appendix 8; the rest from memory of Rec. ITU-R BT.2036.
NOISE_FIGURE_DB = {"DVB-T": 7.0, "DVB-T2": 6.0, "ATSC": 7.0, "ATSC3": 6.0, "ISDB-T": 7.0, "DAB": 7.0}
_VHF_FIGURE_DB = {"ATSC": 10.0}  # BPR-10 appendix 8, below 300 MHz


@dataclass(frozen=True, slots=True)
class ReceiverTerms:
    """What a real receiver needs over the raw C/N: implementation loss, pilot boost, and noise that follows the signal, dB under it."""

    implementation_db: float
    pilot_db: float
    backstop_dbc: float
    source: str


# DVB-T: raw Ricean C/N + 2.48 dB with noise 30.3 dB under the signal gives the published outlet values of 64QAM within 0.05 dB.
RECEIVER_TERMS = {
    "DVB-T": ReceiverTerms(
        2.48, 0.0, -30.3,
        wording("fits the published outlet values (receiver_cn.csv) within 0.05 dB; GE06 plans 3 dB in all")
    ),
    "DVB-T2": ReceiverTerms(
        2.0, 0.4, -33.0,
        wording("TS 102 831 / EBU Tech 3348: pilot boost and back-stop noise (memory); 2 dB common practice")
    ),
    "ATSC": ReceiverTerms(0.0, 0.0, -math.inf, wording("the planning factor is a real receiver's (BPR-10 appendix 8)")),
    "ATSC3": ReceiverTerms(2.0, 0.4, -33.0, wording("taken as DVB-T2 (common practice, no source)")),
    "ISDB-T": ReceiverTerms(3.0, 0.0, -math.inf, wording("Rec. ITU-R BT.1368, annex 3: implementation degradation 3 dB (memory)")),
    "DAB": ReceiverTerms(0.0, 0.0, -math.inf, wording("the C/N of EBU Tech 3391 is a real receiver's (memory)")),
}
# Portable indoor reception: an aerial without directivity or gain, and what the house costs, median and deviation over rooms
# (GE06 Agreement, annex 2: 8 dB and 5.5 dB in UHF, 9 dB and 3 dB in VHF; memory).
INDOOR_GAIN_DBD = {"uhf": 0.0, "vhf": -2.2}
INDOOR_LOSS_DB = {"uhf": (8.0, 5.5), "vhf": (9.0, 3.0)}
INDOOR_HEIGHT_M = 1.5
_UHF_FROM_MHZ = 300.0


@dataclass(frozen=True, slots=True)
class Amplifier:
    """A mast-head amplifier; gain_db 0: there is none."""

    gain_db: float = 0.0
    noise_figure_db: float = 2.0


@dataclass(frozen=True, slots=True)
class TerrestrialNeed:
    """What one mode needs.

    raw_cn_db, implementation_db, pilot_db, backstop_db   parts of cn_db; backstop_db is what the noise that follows the signal adds
    noise_figure_db            of all after the feeder; with a mast-head amplifier of amplifier and feeder too (feeder_loss_db is then 0)
    noise_dbw                  of the receiver in the mode's noise bandwidth; minimum_power_dbw is cn_db above it
    noise_field_dbuv_per_m     field that is as strong as the noise: C/N = 0 dB
    minimum_field_dbuv_per_m   field at the aerial that just serves one place
    minimum_median_dbuv_per_m  median over locations that gives the wanted share of them the minimum
    minimum_level_dbuv         at the receiver's 75 ohm input, after the feeder
    gain_dbd, feeder_loss_db   of aerial and cable at this frequency
    location_db                the allowance between the two fields; sigma_db the deviation over locations behind it
    indoor_db                  what the house costs, 0 for a roof aerial
    """

    cn_db: float
    noise_dbw: float
    minimum_power_dbw: float
    minimum_field_dbuv_per_m: float
    minimum_median_dbuv_per_m: float
    minimum_level_dbuv: float
    gain_dbd: float
    feeder_loss_db: float
    location_db: float
    noise_field_dbuv_per_m: float = math.nan
    noise_figure_db: float = math.nan
    sigma_db: float = 5.5
    raw_cn_db: float = math.nan
    implementation_db: float = 0.0
    pilot_db: float = 0.0
    backstop_db: float = 0.0
    indoor_db: float = 0.0


def minimum_field(
    *,
    cn_db: float,
    noise_bandwidth_mhz: float,
    noise_figure_db: float,
    frequency_mhz: float,
    gain_dbd: float,
    feeder_loss_db: float,
    location_pct: float = 95.0,
    sigma_db: float = 5.5,
) -> TerrestrialNeed:
    """Return the minimum and minimum median field strength for fixed reception.

    cn_db                     with implementation loss
    gain_dbd, feeder_loss_db  of the aerial and its cable at this frequency
    location_pct, sigma_db    share of locations to be served, 1 to 99, and their standard deviation

    Raises InputError or MethodRangeError where a value is out of range. Man-made noise is left out (up to about 2 dB in band III).
    Source: GE06 Agreement, annex 2; Rec. ITU-R BT.1368; EBU Tech 3348: Pn = F + 10 log(k T0 B), Ps = C/N + Pn,
    Aa = G + 10 log(1.64 lambda^2 / 4 pi), flux = Ps - Aa + Lf, Emin = flux + 145.8, Emed = Emin + mu sigma.
    Checked in tests/authorities/test_dvbt.py.
    """
    if not 1.0 <= location_pct <= 99.0:
        raise InputError(told("the share of locations is {location_pct} %; give 1 to 99", location_pct=location_pct))
    if not frequency_mhz > 0.0:
        raise InputError(told("the frequency is {frequency_mhz} MHz; give one above 0", frequency_mhz=frequency_mhz))
    noise = receiver_noise_dbw(bandwidth_hz=1e6 * noise_bandwidth_mhz, noise_figure_db=noise_figure_db)
    power = cn_db + noise
    area = float(effective_area_dbm2(dbd_to_dbi(gain_dbd), frequency_mhz))
    field = float(field_from_flux_dbuv_per_m(power - area + feeder_loss_db))
    allowance = NormalDist().inv_cdf(location_pct / 100.0) * sigma_db
    return TerrestrialNeed(
        cn_db=cn_db,
        noise_dbw=noise,
        minimum_power_dbw=power,
        minimum_field_dbuv_per_m=field,
        minimum_median_dbuv_per_m=field + allowance,
        minimum_level_dbuv=float(dbm_to_dbuv(dbw_to_dbm(power))),
        gain_dbd=gain_dbd,
        feeder_loss_db=feeder_loss_db,
        location_db=allowance,
        noise_field_dbuv_per_m=field - cn_db,
        noise_figure_db=noise_figure_db,
        sigma_db=sigma_db,
    )


def terrestrial_need(
    mode: str,
    *,
    frequency_mhz: float,
    bandwidth_mhz: float = 8.0,
    gain_dbd_at_500: float = 10.0,
    feeder_loss_db_at_500: float = 3.0,
    location_pct: float = 95.0,
    sigma_db: float = 5.5,
    reception: str = FIXED,
    amplifier: Amplifier = Amplifier(),
) -> TerrestrialNeed:
    """Return what a mode such as "DVB-T2 256QAM 2/3" needs at an aerial.

    bandwidth_mhz                           of the channel: 5, 6, 7 or 8 (1.7 for DAB)
    gain_dbd_at_500, feeder_loss_db_at_500  of aerial and cable at 500 MHz; they change with frequency as antenna.scaled_aerial says
    reception                               "fixed": a roof aerial, Ricean C/N; "portable indoor": Rayleigh C/N, no gain, the house's loss
    amplifier                               before the feeder: its noise counts, the feeder's loss hardly (Friis)

    Raises InputError for an unknown mode, bandwidth or reception. Source: minimum_field; Friis (1944) for the amplifier.
    Checked in tests/authorities/test_dvbt.py and test_atsc_planning.py.
    """
    known = terrestrial_mode(mode, reception)
    bandwidth = NOISE_BANDWIDTH_MHZ.get((known.system, float(bandwidth_mhz)))
    if bandwidth is None:
        allowed = ", ".join(f"{width:g}" for system, width in NOISE_BANDWIDTH_MHZ if system == known.system)
        raise InputError(
            told(
                "{system} in a channel of {bandwidth_mhz:g} MHz is not known; write one of {allowed}",
                system=known.system,
                bandwidth_mhz=bandwidth_mhz,
                allowed=allowed,
            )
        )
    gain, feeder = scaled_aerial(frequency_mhz=frequency_mhz, gain_dbd_at_500=gain_dbd_at_500, feeder_loss_db_at_500=feeder_loss_db_at_500)
    band = "uhf" if frequency_mhz > _UHF_FROM_MHZ else "vhf"
    figure = _VHF_FIGURE_DB.get(known.system, NOISE_FIGURE_DB[known.system]) if band == "vhf" else NOISE_FIGURE_DB[known.system]
    indoor, spread = 0.0, sigma_db
    if reception == INDOOR:
        gain, feeder = INDOOR_GAIN_DBD[band], 0.0
        indoor, rooms = INDOOR_LOSS_DB[band]
        spread = math.hypot(sigma_db, rooms)
    elif amplifier.gain_db > 0.0:
        figure, feeder = cascade_noise_figure_db(amplifier, feeder_loss_db=feeder, receiver_figure_db=figure), 0.0
    terms = RECEIVER_TERMS[known.system]
    cn = required_cn_db(known)
    need = minimum_field(
        cn_db=cn,
        noise_bandwidth_mhz=bandwidth,
        noise_figure_db=figure,
        frequency_mhz=frequency_mhz,
        gain_dbd=gain,
        feeder_loss_db=feeder + indoor,
        location_pct=location_pct,
        sigma_db=spread,
    )
    return TerrestrialNeed(
        **{name: getattr(need, name) for name in TerrestrialNeed.__slots__}
        | {
            "feeder_loss_db": feeder,
            "raw_cn_db": known.threshold_db,
            "implementation_db": terms.implementation_db,
            "pilot_db": terms.pilot_db,
            "backstop_db": cn - known.threshold_db - terms.implementation_db - terms.pilot_db,
            "indoor_db": indoor,
        }
    )


def cascade_noise_figure_db(amplifier: Amplifier, *, feeder_loss_db: float, receiver_figure_db: float) -> float:
    """Return the noise figure at the aerial's terminals of amplifier, feeder and receiver: F1 + (L F2 - 1) / G1. Source: Friis (1944)."""
    after = 10.0 ** ((feeder_loss_db + receiver_figure_db) / 10.0)
    return 10.0 * math.log10(10.0 ** (amplifier.noise_figure_db / 10.0) + (after - 1.0) / 10.0 ** (amplifier.gain_db / 10.0))


def required_cn_db(mode: Mode) -> float:
    """Return the C/N a real receiver needs for a terrestrial mode: raw C/N plus implementation and pilots, and the back-stop noise.

    Noise that follows the signal at b dBc leaves -10 log(10^(-c/10) - 10^(b/10)) of c. Raises InputError where it leaves nothing.
    Source: RECEIVER_TERMS. Checked in tests/authorities/test_dvbt.py.
    """
    terms = RECEIVER_TERMS[mode.system]
    wanted = mode.threshold_db + terms.implementation_db + terms.pilot_db
    left = 10.0 ** (-wanted / 10.0) - 10.0 ** (terms.backstop_dbc / 10.0)
    if left <= 0.0:
        raise InputError(
            told(
                "{name} needs {wanted:.1f} dB, more than a receiver's own noise of {backstop_dbc:g} dBc leaves",
                name=mode.name,
                wanted=wanted,
                backstop_dbc=terms.backstop_dbc,
            )
        )
    return -10.0 * math.log10(left)
