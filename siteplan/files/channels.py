"""Numbers that standards fix for tables of senders: channel rasters, resource blocks, and which modes there are."""

from __future__ import annotations

# raster -> spans of channels: (first, last, centre of the first in MHz, step in MHz).
# "8 MHz": GE06 (ITU), UHF IV/V 306 + 8 n with 8 MHz, VHF III with 7 MHz. "6 MHz": 47 CFR 73.603. "7 MHz": the Australian plan (restated).
RASTERS: dict[str, tuple[tuple[int, int, float, float], ...]] = {
    "8 MHz": ((5, 12, 177.5, 7.0), (21, 69, 474.0, 8.0)),
    "7 MHz": ((6, 9, 177.5, 7.0), (10, 12, 212.5, 7.0), (28, 51, 529.5, 7.0)),
    "6 MHz": ((2, 4, 57.0, 6.0), (5, 6, 79.0, 6.0), (7, 13, 177.0, 6.0), (14, 69, 473.0, 6.0)),
}

# Resource blocks of a carrier by its bandwidth in MHz. LTE: 3GPP TS 36.104, table 5.6-1.
LTE_BLOCKS = {1.4: 6, 3.0: 15, 5.0: 25, 10.0: 50, 15.0: 75, 20.0: 100}
# NR by subcarrier spacing in kHz: 3GPP TS 38.104, table 5.3.2-1 (bands up to 7 GHz).
NR_BLOCKS = {
    15: {5: 25, 10: 52, 15: 79, 20: 106, 25: 133, 30: 160, 35: 188, 40: 216, 45: 242, 50: 270},
    30: {5: 11, 10: 24, 15: 38, 20: 51, 25: 65, 30: 78, 35: 92, 40: 106, 45: 119, 50: 133, 60: 162, 70: 189, 80: 217, 90: 245, 100: 273},
    60: {10: 11, 15: 18, 20: 24, 25: 31, 30: 38, 35: 44, 40: 51, 45: 58, 50: 65, 60: 79, 70: 93, 80: 107, 90: 121, 100: 135},
}  # fmt: skip
SUBCARRIERS_PER_BLOCK = 12

# system -> modulation -> code rates. DVB-T: ETSI EN 300 744; DVB-T2: EN 302 755.
_T_RATES = ("1/2", "2/3", "3/4", "5/6", "7/8")
_T2_RATES = ("1/2", "3/5", "2/3", "3/4", "4/5", "5/6")
TERRESTRIAL_MODES = {
    "DVB-T": dict.fromkeys(("QPSK", "16QAM", "64QAM"), _T_RATES),
    "DVB-T2": dict.fromkeys(("QPSK", "16QAM", "64QAM", "256QAM"), _T2_RATES),
}
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
        return f"the system {system!r} is not known; write one of {', '.join(modes)}"
    if modulation not in modes[system]:
        return f"{system} has no modulation {modulation!r}; write one of {', '.join(modes[system])}"
    if code_rate not in modes[system][modulation]:
        return f"{system} {modulation} has no code rate {code_rate!r}; write one of {', '.join(modes[system][modulation])}"
    return ""
