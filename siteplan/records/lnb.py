"""LNBs: which polarisations, which oscillators over which bands, and what its outputs give. And what a carrier becomes behind one."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.records.emitters import Transponder

LINEAR, CIRCULAR = "linear", "circular"
# How many receivers the outputs serve and how: one to eight outputs that each receiver switches by itself; a quattro's four fixed
# sub-bands; a wideband pair's two fixed polarisations; a single cable with a band for each receiver (EN 50494, EN 50607).
SWITCHED = ("single", "twin", "quad", "octo")
OUTPUTS = (*SWITCHED, "quattro", "wideband pair", "single-cable")
FEEDS = ("receiver", "multiswitch")


@dataclass(frozen=True, slots=True)
class Oscillator:
    """One local oscillator and the band that it brings down: from_mhz up to, not including, to_mhz. tone: 22 kHz chooses it."""

    mhz: float
    from_mhz: float
    to_mhz: float
    tone: bool = False

    @property
    def inverted(self) -> bool:
        """Return whether the oscillator stands above its band, so that the spectrum comes out mirrored."""
        return self.mhz > self.from_mhz


@dataclass(frozen=True, slots=True)
class Lnb:
    """An LNB of the kit. name as people write it; polarisation "linear" or "circular"; outputs one of OUTPUTS."""

    name: str
    polarisation: str
    oscillators: tuple[Oscillator, ...]
    outputs: str = "single"

    def __str__(self) -> str:
        """Return its name."""
        return self.name


@dataclass(frozen=True, slots=True)
class AtLnb:
    """One carrier behind one LNB.

    sub_band   "VL", "VH", "HL", "HH" ("RL" ... "LH" circular) where two oscillators are switched, else "V", "H", "R" or "L"
    if_mhz     centre behind the LNB; inverted: the spectrum is mirrored
    supply_v   13 or 18, which the receiver puts on the cable to choose it; NaN and tone None where the output is fixed
    low_mhz, high_mhz  edges at IF, occupied bandwidth counted; roll_off as stated, or roll_off_assumed
    disturbed  bands of other services on the ground that its IF falls on: "cordless", "mobile 1800", "mobile 2100", "mobile 1500"
    """

    transponder: Transponder
    sub_band: str
    if_mhz: float
    supply_v: float
    tone: bool | None
    low_mhz: float
    high_mhz: float
    roll_off: float
    roll_off_assumed: bool
    inverted: bool = False
    disturbed: tuple[str, ...] = ()

    @property
    def occupied_mhz(self) -> float:
        """Return the occupied bandwidth."""
        return self.high_mhz - self.low_mhz
