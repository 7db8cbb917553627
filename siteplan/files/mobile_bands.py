"""Mobile bands and their channel numbers (ARFCN, UARFCN, EARFCN, NR-ARFCN), from the small table in builtin/mobile_bands.csv."""

from __future__ import annotations

import csv
import math
import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from siteplan.errors import told

TECHNOLOGIES = ("GSM", "UMTS", "LTE", "NR")
# technology -> what the standard calls its channel number, and our column of it
CHANNEL_COLUMNS = {"GSM": "arfcn", "UMTS": "uarfcn", "LTE": "earfcn", "NR": "nr_arfcn"}
CHANNEL_NAMES = {"GSM": "ARFCN", "UMTS": "UARFCN", "LTE": "EARFCN", "NR": "NR-ARFCN"}
# NR global raster below 24.25 GHz, 3GPP TS 38.104, table 5.4.2.1-1: (first number, MHz there, kHz a step, last number)
_NR_RASTER = ((0, 0.0, 5.0, 599_999), (600_000, 3000.0, 15.0, 2_016_666))
_ROMAN = {"I": "1", "II": "2", "III": "3", "IV": "4", "V": "5", "VII": "7", "VIII": "8"}


@dataclass(frozen=True, slots=True)
class Band:
    """One run of channels of one band. duplex "FDD", "TDD" or "SDL" (downlink alone); uplink edges NaN where there is none.

    first, last   downlink channel numbers; the first lies at first_mhz, each next one step_khz higher
    """

    technology: str
    name: str
    duplex: str
    first: int
    last: int
    first_mhz: float
    step_khz: float
    dl_low_mhz: float
    dl_high_mhz: float
    ul_low_mhz: float
    ul_high_mhz: float
    source: str

    def mhz(self, channel: int) -> float:
        """Return the downlink frequency of a channel of this band, MHz."""
        return round(self.first_mhz + 0.001 * self.step_khz * (channel - self.first), 6)

    def uplink_mhz(self, downlink_mhz: float) -> float:
        """Return the uplink frequency that goes with a downlink frequency, MHz; NaN where there is none."""
        uplink = downlink_mhz - self.dl_low_mhz + self.ul_low_mhz
        return round(uplink, 6) if uplink <= self.ul_high_mhz else math.nan


@cache
def all_bands() -> tuple[Band, ...]:
    """Return every band of the table, in its order."""
    text = files("siteplan.files").joinpath("builtin/mobile_bands.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return tuple(
        Band(
            row["technology"], row["band"], row["duplex"], int(row["first"]), int(row["last"]),
            *(float(row[key] or "nan") for key in ("first_mhz", "step_khz", "dl_low_mhz", "dl_high_mhz", "ul_low_mhz", "ul_high_mhz")),
            row["source"],
        )
        for row in rows
    )  # fmt: skip


def bands_named(technology: str, text: str) -> tuple[Band, ...]:
    """Return the bands of a technology that "20", "B20", "band 20", "n78" or "VIII" names (two runs of one band are two); () for none."""
    plain = re.sub(r"^(?:e-?utra|lte|nr|umts|gsm|dcs|pcs|e?gsm)?\s*(?:band|b)?\s*", "", text.strip(), flags=re.IGNORECASE).upper()
    plain = plain.removeprefix("N") if technology == "NR" else plain
    known = [band for band in all_bands() if band.technology == technology]
    return tuple(band for band in known if plain and plain in (_bare(band), band.name.upper()))


def bands_at(technology: str, frequency_mhz: float) -> tuple[Band, ...]:
    """Return the bands of a technology whose downlink holds a frequency, the narrowest first; two runs of one band count once."""
    fitting = {b.name: b for b in all_bands() if b.technology == technology and b.dl_low_mhz <= frequency_mhz <= b.dl_high_mhz}
    return tuple(sorted(fitting.values(), key=lambda band: (band.dl_high_mhz - band.dl_low_mhz, band.first)))


def channel_mhz(technology: str, channel: int, bands: tuple[Band, ...] = ()) -> tuple[float, tuple[Band, ...]]:
    """Return (downlink MHz, bands it lies in) of a channel number; NaN and () where no band has it.

    bands  only these are looked at; NR numbers are looked up on the global raster whatever the band

    Source: 3GPP TS 45.005, section 2; TS 25.101, 5.4.3; TS 36.101, 5.7.3; TS 38.104, 5.4.2.1.
    """
    known = bands or tuple(band for band in all_bands() if band.technology == technology)
    holding = tuple(band for band in known if band.first <= channel <= band.last)
    if technology == "NR":
        frequency = nr_mhz(channel)
        return frequency, tuple(sorted(holding, key=lambda band: band.dl_high_mhz - band.dl_low_mhz))
    return (holding[0].mhz(channel), holding) if holding else (math.nan, ())


def nr_mhz(channel: int) -> float:
    """Return the frequency of an NR-ARFCN up to 24.25 GHz, MHz; NaN beyond. Source: 3GPP TS 38.104, table 5.4.2.1-1."""
    for first, first_mhz, step_khz, last in _NR_RASTER:
        if first <= channel <= last:
            return round(first_mhz + 0.001 * step_khz * (channel - first), 6)
    return math.nan


def uplink_band(technology: str, channel: int) -> str:
    """Return the name of the LTE band whose uplink holds a channel number, "" for none: EARFCN from 18000 (131072) on are uplinks."""
    if technology != "LTE":
        return ""
    for band in all_bands():
        shift = 18_000 if band.first < 36_000 else 65_536
        low = band.first + shift
        if band.technology == "LTE" and band.duplex == "FDD" and low <= channel <= low + band.last - band.first:
            return band.name
    return ""


def channels_of(bands: tuple[Band, ...]) -> str:
    """Return the channel numbers of bands in words: "6150 to 6449"."""
    return " or ".join(f"{band.first} to {band.last}" for band in bands)


def spans_of(bands: tuple[Band, ...]) -> str:
    """Return the downlinks of bands in words: "791 to 821 MHz"."""
    return " or ".join(
        dict.fromkeys(
            told("{dl_low_mhz:g} to {dl_high_mhz:g} MHz", dl_low_mhz=band.dl_low_mhz, dl_high_mhz=band.dl_high_mhz) for band in bands
        )
    )


def _bare(band: Band) -> str:
    name = band.name.upper()
    return _ROMAN.get(name, name.removeprefix("N"))
