"""Open DVB scan tables (the text format of the Linux DVB API, version 5): which multiplexes a transmitter sends, without its power."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from siteplan.errors import TableError, told
from siteplan.records.places import Reject

LARGEST_BYTES = 4_000_000
_SYSTEMS = {"DVBT": "DVB-T", "DVBT2": "DVB-T2", "ISDBT": "ISDB-T", "ATSC": "ATSC"}
_HEAD = re.compile(r"\s*\[(.*)\]\s*")
_PAIR = re.compile(r"\s*([A-Za-z0-9_]+)\s*=\s*(.*?)\s*")


@dataclass(frozen=True, slots=True)
class ScanEntry:
    """One multiplex of a scan table; "" where the table says AUTO or nothing. line of its heading, counted from 1.

    modulation as "64QAM"; guard as "1/8"; fft_size as "8k"
    """

    line: int
    name: str
    system: str
    frequency_mhz: float
    bandwidth_mhz: float
    modulation: str = ""
    code_rate: str = ""
    guard: str = ""
    fft_size: str = ""


def read_scan_table(path: Path) -> tuple[tuple[ScanEntry, ...], tuple[Reject, ...]]:
    """Return the terrestrial multiplexes of a scan table, and the entries that can't be used, each with its line.

    Raises TableError where the file can't be read as such a table at all.
    """
    entries, rejects = [], []
    for line, name, keys in _sections(path):
        entry, fault = _entry(line, name, keys)
        if entry is not None:
            entries.append(entry)
        else:
            field, value, reason = fault
            rejects.append(Reject(path.name, line, field, value, reason))
    if not entries and not rejects:
        raise TableError(told("no entry such as [name] with DELIVERY_SYSTEM and FREQUENCY lines is in this scan table"), file=path.name)
    return tuple(entries), tuple(rejects)


def _sections(path: Path) -> list[tuple[int, str, dict[str, str]]]:
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise TableError(told("this is too large for a scan table"), file=path.name)
        text = path.read_bytes().decode("utf-8-sig", errors="replace")
    except OSError as wrong:
        raise TableError(told("this scan table can't be read ({strerror})", strerror=wrong.strerror or wrong), file=path.name) from None
    out: list[tuple[int, str, dict[str, str]]] = []
    for number, line in enumerate(text.splitlines(), start=1):
        bare = line.split("#", 1)[0]
        head, pair = _HEAD.fullmatch(bare), _PAIR.fullmatch(bare)
        if head:
            out.append((number, head[1].strip(), {}))
        elif pair and out:
            out[-1][2][pair[1].upper()] = pair[2]
        elif bare.strip():
            raise TableError(
                told("this line is neither [name] nor KEY = value; is it a scan table of version 5?"), file=path.name, row=number
            )
    return out


def _entry(line: int, name: str, keys: dict[str, str]) -> tuple[ScanEntry | None, tuple[str, str, str]]:
    said = keys.get("DELIVERY_SYSTEM", "")
    system = _SYSTEMS.get(said.upper().replace("-", "").replace("/", ""))
    if system is None:
        return None, ("DELIVERY_SYSTEM", said, told("is no terrestrial system; {systems} are taken", systems=", ".join(_SYSTEMS)))
    hertz = keys.get("FREQUENCY", "")
    if not hertz.isdigit() or not 30e6 <= int(hertz) <= 3e9:
        return None, ("FREQUENCY", hertz, told("is no frequency in Hz, 30000000 to 3000000000"))
    width = keys.get("BANDWIDTH_HZ", "")
    if width and (not width.isdigit() or int(width) not in (1_712_000, 5_000_000, 6_000_000, 7_000_000, 8_000_000, 10_000_000)):
        return None, ("BANDWIDTH_HZ", width, told("is no TV bandwidth in Hz, such as 8000000"))
    default = 6.0 if system in ("ATSC", "ISDB-T") else 7.0 if int(hertz) < 300e6 else 8.0
    mhz = int(hertz) / 1e6
    return ScanEntry(
        line=line,
        name=name or f"{mhz:g} MHz",
        system=system,
        frequency_mhz=mhz,
        bandwidth_mhz=default if not width else 1.7 if width == "1712000" else int(width) / 1e6,
        modulation=_modulation(keys.get("MODULATION", "")),
        code_rate=_known(keys.get("CODE_RATE_HP", keys.get("INNER_FEC", ""))),
        guard=_known(keys.get("GUARD_INTERVAL", "")),
        fft_size=_known(keys.get("TRANSMISSION_MODE", "")).lower(),
    ), ("", "", "")


def _known(text: str) -> str:
    return "" if text.upper() in ("", "AUTO", "NONE") else text


def _modulation(text: str) -> str:
    found = re.fullmatch(r"QAM/?(\d+)", text.upper())
    if found:
        return f"{found[1]}QAM"
    return {"QPSK": "QPSK", "DQPSK": "DQPSK", "VSB/8": "8VSB", "8VSB": "8VSB"}.get(text.upper(), "")
