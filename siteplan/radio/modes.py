"""What a carrier needs: thresholds of satellite and terrestrial transmission modes, and how a mode is written."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from siteplan.errors import InputError, told

SATELLITE_SYSTEMS = ("DVB-S", "DVB-S2", "DVB-S2X")
TERRESTRIAL_SYSTEMS = ("DVB-T", "DVB-T2", "ATSC", "ATSC3", "ISDB-T", "DAB")
FIXED, INDOOR = "fixed", "portable indoor"


@dataclass(frozen=True, slots=True)
class Mode:
    """One transmission mode and the Es/N0 (satellite) or raw C/N (terrestrial: Ricean, or Rayleigh where asked for) it needs.

    implemented  the threshold already holds the losses of a real receiver (DVB-S, ATSC 8VSB), so none is to be added
    source       document and table; status "published", "derived" or "memory" says how the value was checked
    """

    system: str
    modulation: str
    code_rate: str
    threshold_db: float
    implemented: bool
    source: str
    status: str

    @property
    def name(self) -> str:
        """Return the mode as it is written in tables: "DVB-T2 256QAM 2/3"."""
        return f"{self.system} {self.modulation} {self.code_rate}"


_SOURCES = {
    "DVB-S": "ETSI EN 300 421",
    "DVB-S2": "ETSI EN 302 307-1, table 13",
    "DVB-S2X": "ETSI EN 302 307-2, table 20a",
    "DVB-T": "ETSI EN 300 744, annex A",
    "DVB-T2": "ETSI TS 102 831, table 44",
    "ATSC": "BPR-10 appendix 8 (planning factors, C/N 15)",
    "ATSC3": "ATSC A/327 (memory)",
    "ISDB-T": "ARIB STD-B31 (memory)",
    "DAB": "EBU Tech 3391 (memory)",
}


@cache
def _modes(table: str, column: str) -> dict[tuple[str, str, str], Mode]:
    text = (files("siteplan.radio") / "tables" / table).read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return {
        (row["system"], row["modulation"], row["code_rate"]): Mode(
            row["system"],
            row["modulation"],
            row["code_rate"],
            float(row[column]),
            row["system"] in ("DVB-S", "ATSC"),
            _SOURCES[row["system"]],
            row["status"],
        )
        for row in rows
    }


def satellite_mode(system: str, modulation: str, code_rate: str) -> Mode:
    """Return a satellite mode with the Es/N0 it needs; C/N in the bandwidth of the symbol rate is Es/N0.

    system "DVB-S", "DVB-S2" or "DVB-S2X" (which holds the modes of DVB-S2 too); modulation "QPSK"; code_rate "3/4". Letter case and
    hyphens in the modulation do not matter.

    Raises InputError naming what is known. Source: see the mode. Checked in tests/authorities/test_dvbs2.py.
    """
    modes = _modes("satellite_modes.csv", "es_n0_db")
    system, modulation, code_rate = _tidy(system), _tidy_modulation(modulation), code_rate.strip().upper()
    found = modes.get((system, modulation, code_rate))
    if found is None and system == "DVB-S2X":
        found = modes.get(("DVB-S2", modulation, code_rate))
    if found is None:
        raise _unknown(system, modulation, code_rate, modes, SATELLITE_SYSTEMS)
    return found


def terrestrial_mode(text: str, reception: str = FIXED) -> Mode:
    """Return a terrestrial mode with the raw C/N it needs, from "DVB-T2 256QAM 2/3", "ATSC 8VSB 2/3", "ATSC3 256QAM 9/15", "DAB DQPSK 3A".

    reception  "fixed" (roof aerial: a Ricean channel) or "portable indoor" (a Rayleigh channel)

    Raises InputError naming what is known. Source: see the mode. Checked in tests/authorities/test_dvbt.py.
    """
    if reception not in (FIXED, INDOOR):
        raise InputError(told("the reception is {reception!r}; write {fixed} or {indoor}", reception=reception, fixed=FIXED, indoor=INDOOR))
    modes = _modes("terrestrial_modes.csv", "cn_ricean_db" if reception == FIXED else "cn_rayleigh_db")
    parts = text.split()
    if len(parts) == 4 and parts[1].isdigit():  # "DVB-T 64 QAM 2/3"
        parts = [parts[0], parts[1] + parts[2], parts[3]]
    if len(parts) != 3:
        raise InputError(told("the mode {text!r} can't be read; write system, modulation and code rate, as DVB-T2 256QAM 2/3", text=text))
    system = parts[0].upper()
    system = system if system in TERRESTRIAL_SYSTEMS else _tidy(parts[0])
    modulation, code_rate = _tidy_modulation(parts[1]), parts[2].upper()
    found = modes.get((system, modulation, code_rate))
    if found is None:
        raise _unknown(system, modulation, code_rate, modes, TERRESTRIAL_SYSTEMS)
    return found


def _tidy(system: str) -> str:
    return re.sub(r"^DVB-?", "DVB-", system.strip().upper().replace("_", "-"))


def _tidy_modulation(modulation: str) -> str:
    return re.sub(r"[\s_-]", "", modulation.upper())


def _unknown(system: str, modulation: str, code_rate: str, modes: dict[tuple[str, str, str], Mode], systems: tuple[str, ...]) -> InputError:
    if system not in systems:
        return InputError(told("the system {system!r} is not known; write one of {systems}", system=system, systems=", ".join(systems)))
    family = {system, "DVB-S2"} if system == "DVB-S2X" else {system}
    modulations = list(dict.fromkeys(key[1] for key in modes if key[0] in family))
    if modulation not in modulations:
        return InputError(
            told(
                "{system} has no modulation {modulation!r} here; write one of {modulations}",
                system=system,
                modulation=modulation,
                modulations=", ".join(modulations),
            )
        )
    rates = list(dict.fromkeys(key[2] for key in modes if key[0] in family and key[1] == modulation))
    return InputError(
        told(
            "{system} {modulation} has no code rate {code_rate!r} here; write one of {rates}",
            system=system,
            modulation=modulation,
            code_rate=code_rate,
            rates=", ".join(rates),
        )
    )
