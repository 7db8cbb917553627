"""What a terrestrial TV mode needs at a roof aerial: minimum field, and minimum median field for planning."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist

from siteplan.errors import InputError
from siteplan.radio.antenna import scaled_aerial
from siteplan.radio.modes import Mode, terrestrial_mode
from siteplan.radio.noise import receiver_noise_dbw
from siteplan.units import dbd_to_dbi, dbm_to_dbuv, dbw_to_dbm, effective_area_dbm2, field_from_flux_dbuv_per_m

# Noise bandwidths, MHz: DVB-T from its 8k carriers (EN 300 744); DVB-T2 with the extended carriers that networks use (EN 302 755).
NOISE_BANDWIDTH_MHZ = {
    ("DVB-T", 8.0): 7.61,
    ("DVB-T", 7.0): 6.66,
    ("DVB-T", 6.0): 5.71,
    ("DVB-T", 5.0): 4.76,
    ("DVB-T2", 8.0): 7.77,
    ("DVB-T2", 7.0): 6.80,
    ("DVB-T2", 6.0): 5.83,
    ("DVB-T2", 5.0): 4.86,
}
NOISE_FIGURE_DB = {"DVB-T": 7.0, "DVB-T2": 6.0}  # GE06 / Rec. ITU-R BT.1368; Rec. ITU-R BT.2033
# Real receivers over the raw C/N. DVB-T: 3 dB, GE06 Agreement, annex 2. DVB-T2: common practice, no source.
IMPLEMENTATION_DB = {"DVB-T": 3.0, "DVB-T2": 2.0}


@dataclass(frozen=True, slots=True)
class PlanningValue:
    """What one mode needs for fixed reception.

    cn_db                      with implementation loss
    noise_dbw                  of the receiver in the mode's noise bandwidth; minimum_power_dbw is cn_db above it
    minimum_dbuv_per_m         field at the aerial that just serves one place
    minimum_median_dbuv_per_m  median over locations that gives the wanted share of them the minimum
    minimum_level_dbuv         at the receiver's 75 ohm input, after the feeder
    gain_dbi, feeder_loss_db   of aerial and cable at this frequency
    location_db                the allowance between the two fields
    """

    cn_db: float
    noise_dbw: float
    minimum_power_dbw: float
    minimum_dbuv_per_m: float
    minimum_median_dbuv_per_m: float
    minimum_level_dbuv: float
    gain_dbi: float
    feeder_loss_db: float
    location_db: float


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
) -> PlanningValue:
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
        raise InputError(f"the share of locations is {location_pct} %; give 1 to 99")
    if not frequency_mhz > 0.0:
        raise InputError(f"the frequency is {frequency_mhz} MHz; give one above 0")
    noise = receiver_noise_dbw(bandwidth_hz=1e6 * noise_bandwidth_mhz, noise_figure_db=noise_figure_db)
    power = cn_db + noise
    gain_dbi = float(dbd_to_dbi(gain_dbd))
    field = float(field_from_flux_dbuv_per_m(power - float(effective_area_dbm2(gain_dbi, frequency_mhz)) + feeder_loss_db))
    allowance = NormalDist().inv_cdf(location_pct / 100.0) * sigma_db
    return PlanningValue(
        cn_db=cn_db,
        noise_dbw=noise,
        minimum_power_dbw=power,
        minimum_dbuv_per_m=field,
        minimum_median_dbuv_per_m=field + allowance,
        minimum_level_dbuv=float(dbm_to_dbuv(dbw_to_dbm(power))),
        gain_dbi=gain_dbi,
        feeder_loss_db=feeder_loss_db,
        location_db=allowance,
    )


def planning_value(
    mode: str,
    *,
    frequency_mhz: float,
    bandwidth_mhz: float = 8.0,
    aerial_gain_dbd: float = 10.0,
    feeder_loss_db: float = 3.0,
    location_pct: float = 95.0,
    sigma_db: float = 5.5,
) -> PlanningValue:
    """Return what a mode such as "DVB-T2 256QAM 2/3" needs at a roof aerial.

    bandwidth_mhz                    of the channel: 5, 6, 7 or 8
    aerial_gain_dbd, feeder_loss_db  of aerial and cable at 500 MHz; both change with frequency as antenna.scaled_aerial says

    Raises InputError for an unknown mode or bandwidth. Source and test: minimum_field.
    """
    known = terrestrial_mode(mode)
    bandwidth = NOISE_BANDWIDTH_MHZ.get((known.system, float(bandwidth_mhz)))
    if bandwidth is None:
        allowed = ", ".join(f"{width:g}" for system, width in NOISE_BANDWIDTH_MHZ if system == known.system)
        raise InputError(f"{known.system} in a channel of {bandwidth_mhz:g} MHz is not known; write one of {allowed}")
    gain, feeder = scaled_aerial(frequency_mhz=frequency_mhz, gain_dbd_at_500=aerial_gain_dbd, feeder_loss_db_at_500=feeder_loss_db)
    return minimum_field(
        cn_db=required_cn_db(known),
        noise_bandwidth_mhz=bandwidth,
        noise_figure_db=NOISE_FIGURE_DB[known.system],
        frequency_mhz=frequency_mhz,
        gain_dbd=gain,
        feeder_loss_db=feeder,
        location_pct=location_pct,
        sigma_db=sigma_db,
    )


def required_cn_db(mode: Mode) -> float:
    """Return the C/N a real receiver needs for a terrestrial mode: raw Ricean C/N plus implementation loss."""
    return mode.threshold_db + IMPLEMENTATION_DB[mode.system]
