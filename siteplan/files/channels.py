"""Numbers that standards fix for tables of senders: channel rasters, resource blocks, which modes and guard intervals there are."""

from __future__ import annotations

import re

from siteplan.errors import told

# raster -> spans of channels: (first, last, centre of the first in MHz, step in MHz).
# "8 MHz": GE06 (ITU), UHF IV/V 306 + 8 n with 8 MHz, VHF III with 7 MHz. "6 MHz": 47 CFR 73.603. "7 MHz": the Australian plan (restated).
RASTERS: dict[str, tuple[tuple[int, int, float, float], ...]] = {
    "8 MHz": ((5, 12, 177.5, 7.0), (21, 69, 474.0, 8.0)),
    "7 MHz": ((6, 9, 177.5, 7.0), (10, 12, 212.5, 7.0), (28, 51, 529.5, 7.0)),
    "6 MHz": ((2, 4, 57.0, 6.0), (5, 6, 79.0, 6.0), (7, 13, 177.0, 6.0), (14, 69, 473.0, 6.0)),
}

# Blocks of DAB in band III, centre in MHz (ETSI TR 101 496-3 / EN 50248, from memory; 16 kHz steps between guard bands).
_DAB_GROUPS = {
    5: 174.928, 6: 181.936, 7: 188.928, 8: 195.936, 9: 202.928, 10: 209.936, 11: 216.928, 12: 223.936, 13: 230.784,
}  # fmt: skip
DAB_BLOCKS = {
    f"{group}{letter}": round(first + 1.712 * step, 3) for group, first in _DAB_GROUPS.items() for step, letter in enumerate("ABCD")
}
DAB_BLOCKS |= {"13D": 235.776, "13E": 237.488, "13F": 239.2}
DAB_WIDTH_MHZ = 1.7  # as receivers name it; the signal is 1.536 MHz wide

# Resource blocks of a carrier by its bandwidth in MHz. LTE: 3GPP TS 36.104, table 5.6-1.
LTE_BLOCKS = {1.4: 6, 3.0: 15, 5.0: 25, 10.0: 50, 15.0: 75, 20.0: 100}
# NR by subcarrier spacing in kHz: 3GPP TS 38.104, table 5.3.2-1 (bands up to 7 GHz).
NR_BLOCKS = {
    15: {5: 25, 10: 52, 15: 79, 20: 106, 25: 133, 30: 160, 35: 188, 40: 216, 45: 242, 50: 270},
    30: {5: 11, 10: 24, 15: 38, 20: 51, 25: 65, 30: 78, 35: 92, 40: 106, 45: 119, 50: 133, 60: 162, 70: 189, 80: 217, 90: 245, 100: 273},
    60: {10: 11, 15: 18, 20: 24, 25: 31, 30: 38, 35: 44, 40: 51, 45: 58, 50: 65, 60: 79, 70: 93, 80: 107, 90: 121, 100: 135},
}  # fmt: skip
SUBCARRIERS_PER_BLOCK = 12

# system -> modulation -> code rates. DVB-T: ETSI EN 300 744; DVB-T2: EN 302 755; ATSC: A/53; ATSC3: A/322; ISDB-T: ARIB STD-B31;
# DAB (DAB+ too): EN 300 401, equal error protection.
_T_RATES = ("1/2", "2/3", "3/4", "5/6", "7/8")
_T2_RATES = ("1/2", "3/5", "2/3", "3/4", "4/5", "5/6")
TERRESTRIAL_MODES = {
    "DVB-T": dict.fromkeys(("QPSK", "16QAM", "64QAM"), _T_RATES),
    "DVB-T2": dict.fromkeys(("QPSK", "16QAM", "64QAM", "256QAM"), _T2_RATES),
    "ATSC": {"8VSB": ("2/3",)},
    "ATSC3": dict.fromkeys(("QPSK", "16QAM", "64QAM", "256QAM"), tuple(f"{n}/15" for n in range(2, 14))),
    "ISDB-T": dict.fromkeys(("DQPSK", "QPSK", "16QAM", "64QAM"), _T_RATES),
    "DAB": {"DQPSK": ("1A", "2A", "3A", "4A")},
}
# system -> FFT sizes, and guard intervals as shares of the useful symbol. DVB-T: EN 300 744; DVB-T2: EN 302 755; ISDB-T: ARIB STD-B31.
FFT_SIZES = {
    "DVB-T": ("2k", "4k", "8k"), "DVB-T2": ("1k", "2k", "4k", "8k", "16k", "32k"), "ISDB-T": ("2k", "4k", "8k"),
}  # fmt: skip
GUARD_INTERVALS = {
    "DVB-T": ("1/4", "1/8", "1/16", "1/32"), "ISDB-T": ("1/4", "1/8", "1/16", "1/32"),
    "DVB-T2": ("1/128", "1/32", "1/16", "19/256", "1/8", "19/128", "1/4"),
}  # fmt: skip
# DVB-T2: guard intervals that an FFT size does not have (EN 302 755, table of allowed combinations; from memory).
_T2_NEVER = {
    "32k": ("1/4",), "4k": ("1/128", "19/256", "19/128"), "2k": ("1/128", "19/256", "19/128"),
    "1k": ("1/128", "1/32", "19/256", "19/128"),
}  # fmt: skip
# Elementary period in microseconds by channel width in MHz: 7/64 at 8 MHz (EN 300 744, EN 302 755); ISDB-T at 6 MHz: 63/512 (ARIB STD-B31).
_PERIOD_US = {8.0: 7 / 64, 7.0: 1 / 8, 6.0: 7 / 48, 5.0: 7 / 40, 1.7: 71 / 131, 10.0: 7 / 80}
# Channel widths in MHz that each system is planned with here.
SYSTEM_WIDTHS = {
    "DVB-T": (8.0, 7.0, 6.0, 5.0), "DVB-T2": (8.0, 7.0, 6.0, 5.0), "ATSC": (6.0,), "ATSC3": (8.0, 7.0, 6.0), "ISDB-T": (8.0, 7.0, 6.0),
    "DAB": (DAB_WIDTH_MHZ,),
}  # fmt: skip
DAB_SYMBOL_US = (1000.0, 246.0)  # useful length and guard interval of transmission mode I (EN 300 401)
# DVB-S: EN 300 421; DVB-S2: EN 302 307-1, table 13; DVB-S2X: EN 302 307-2, table 20a, on top of DVB-S2.
_S2_MODES = {
    "QPSK": ("1/4", "1/3", "2/5", "1/2", "3/5", "2/3", "3/4", "4/5", "5/6", "8/9", "9/10"),
    "8PSK": ("3/5", "2/3", "3/4", "5/6", "8/9", "9/10"),
    "16APSK": ("2/3", "3/4", "4/5", "5/6", "8/9", "9/10"),
    "32APSK": ("3/4", "4/5", "5/6", "8/9", "9/10"),
}
_S2X_ONLY = {
    "QPSK": ("2/9", "13/45", "9/20", "11/20"),
    "8APSK": ("5/9-L", "26/45-L"),
    "8PSK": ("23/36", "25/36", "13/18"),
    "16APSK": ("1/2-L", "8/15-L", "5/9-L", "26/45", "3/5", "3/5-L", "28/45", "23/36", "2/3-L", "25/36", "13/18", "7/9", "77/90"),
    "32APSK": ("2/3-L", "32/45", "11/15", "7/9"),
    "64APSK": ("32/45-L", "11/15", "7/9", "4/5", "5/6"),
}
SATELLITE_MODES = {
    "DVB-S": {"QPSK": _T_RATES},
    "DVB-S2": _S2_MODES,
    "DVB-S2X": {name: (*_S2_MODES.get(name, ()), *rates) for name, rates in _S2X_ONLY.items()},
}


def channel_mhz(channel: int, raster: str) -> tuple[float, float] | None:
    """Return (centre frequency, bandwidth) of a TV channel in MHz, None where the raster has no such channel."""
    for first, last, centre, step in RASTERS[raster]:
        if first <= channel <= last:
            return centre + step * (channel - first), step
    return None


def channels_of(raster: str) -> str:
    """Return the channels of a raster in words: "5 to 12, 21 to 69"."""
    return ", ".join(f"{first} to {last}" for first, last, _, _ in RASTERS[raster])


def symbol_us(system: str, fft_size: str, guard: str, bandwidth_mhz: float) -> tuple[float, float]:
    """Return (useful length, guard interval) of a symbol in microseconds; NaN where the standard's table does not say."""
    if system == "DAB":
        return DAB_SYMBOL_US
    size = int(fft_size.rstrip("k")) * 1024 if fft_size else 0
    period = _PERIOD_US.get(bandwidth_mhz)
    if system == "ISDB-T":
        period = 63 / 512 * 6.0 / bandwidth_mhz
    if not size or period is None:
        return float("nan"), float("nan")
    useful = size * period
    if not guard:
        return useful, float("nan")
    above, below = guard.split("/")
    return useful, useful * int(above) / int(below)


def guard_fault(system: str, fft_size: str, guard: str) -> str:
    """Return what is wrong with a guard interval and what there is instead; "" where the standard has it."""
    if system not in GUARD_INTERVALS:
        return told("{system} is not planned with a guard interval here; leave it empty", system=system)
    allowed = GUARD_INTERVALS[system]
    if system == "DVB-T2" and fft_size:
        allowed = tuple(one for one in allowed if one not in _T2_NEVER.get(fft_size, ()))
    if guard not in allowed:
        size = f" with {fft_size}" if fft_size else ""
        return told(
            "{system}{size} has no such guard interval; write one of {allowed}", system=system, size=size, allowed=", ".join(allowed)
        )
    return ""


def split_mode(text: str) -> tuple[str, str, str]:
    """Return (system, modulation, code rate) of a mode as people write it, tidied; ("", "", "") where it is none.

    "DVB-T2 256 QAM 2/3", "ATSC 8VSB", "ATSC 3.0 256QAM 9/15", "ISDB-T 64QAM 3/4", "DAB EEP-3A"
    """
    tidy = " ".join(text.upper().replace(",", " ").split())
    tidy = re.sub(r"^ATSC[ -]?3(?:\.0)?(?= )", "ATSC3", tidy)
    tidy = re.sub(r"^ATSC[ -]?1(?:\.0)?(?= |$)", "ATSC", tidy)
    if re.fullmatch(r"ATSC(?: 8[ -]?VSB)?(?: 2/3)?", tidy):
        return "ATSC", "8VSB", "2/3"
    dab = re.fullmatch(r"DAB\+?(?: DQPSK)?(?: EEP)?[ -]?([0-9])[ -]?([A-Z])", tidy)
    if dab:
        return "DAB", "DQPSK", dab[1] + dab[2]
    parts = tidy.split(" ")
    if len(parts) == 4 and parts[1].isdigit():
        parts = [parts[0], parts[1] + parts[2], parts[3]]
    if len(parts) != 3:
        return "", "", ""
    system = re.sub(r"[_-]", "", parts[0])
    system = system if system == "ATSC3" else "ISDB-T" if system.startswith("ISDB") else f"DVB-{system.removeprefix('DVB')}"
    return system, re.sub(r"[_-]", "", parts[1]), parts[2]


def resource_blocks(technology: str, bandwidth_mhz: float, spacing_khz: int) -> int | None:
    """Return the resource blocks of a carrier ("LTE" or "NR"), None where there is no such bandwidth."""
    if technology == "LTE":
        return LTE_BLOCKS.get(bandwidth_mhz)
    return NR_BLOCKS.get(spacing_khz, {}).get(int(bandwidth_mhz) if float(bandwidth_mhz).is_integer() else -1)


def widths_of(technology: str, spacing_khz: int) -> str:
    """Return the bandwidths that resource_blocks knows, in words."""
    known = LTE_BLOCKS if technology == "LTE" else NR_BLOCKS[spacing_khz]
    return ", ".join(f"{width:g}" for width in known)


def mode_fault(system: str, modulation: str, code_rate: str, modes: dict[str, dict[str, tuple[str, ...]]]) -> str:
    """Return what is wrong with a mode and what there is instead; "" where it is known."""
    if system not in modes:
        return told("the system {system!r} is not known; write one of {modes}", system=system, modes=", ".join(modes))
    if modulation not in modes[system]:
        return told(
            "{system} has no modulation {modulation!r}; write one of {modes}",
            system=system,
            modulation=modulation,
            modes=", ".join(modes[system]),
        )
    if code_rate not in modes[system][modulation]:
        return told(
            "{system} {modulation} has no code rate {code_rate!r}; write one of {modes}",
            system=system,
            modulation=modulation,
            code_rate=code_rate,
            modes=", ".join(modes[system][modulation]),
        )
    return ""
