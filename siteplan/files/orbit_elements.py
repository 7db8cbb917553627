"""Orbits from a file: two-line elements (TLE), or CCSDS orbit mean-elements messages (OMM). Bad sets go, good sets stay."""

from __future__ import annotations

import csv
import json
import math
import re
import xml.etree.ElementTree as xml
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from pathlib import Path

from siteplan.errors import TableError, told, wording
from siteplan.records.orbit import MeanElements
from siteplan.records.places import Reject

LARGEST_BYTES = 64_000_000
_ALLOWED = wording("two-line elements (TLE), or an orbit mean-elements message (OMM) as KVN, XML, JSON or CSV")
_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # "alpha-5" catalogue numbers: A0000 is 100000; I and O are left out
_KVN = re.compile(r"^\s*([A-Z][A-Z0-9_]*)\s*=\s*(.*?)\s*(?:\[[^\]]*\])?\s*$")
# key of an OMM (CCSDS 502.0-B-3) -> least and greatest value; None: any
_NUMBERS: dict[str, tuple[float, float]] = {
    "MEAN_MOTION": (0.05, 20.0), "ECCENTRICITY": (0.0, 0.999), "INCLINATION": (0.0, 180.0), "RA_OF_ASC_NODE": (-360.0, 360.0),
    "ARG_OF_PERICENTER": (-360.0, 360.0), "MEAN_ANOMALY": (-360.0, 360.0),
}  # fmt: skip
_OPTIONAL = {"BSTAR": 0.0, "MEAN_MOTION_DOT": 0.0, "MEAN_MOTION_DDOT": 0.0}
_MUST_SAY = {
    "CENTER_NAME": ("EARTH",), "REF_FRAME": ("TEME",), "TIME_SYSTEM": ("UTC",), "MEAN_ELEMENT_THEORY": ("SGP4", "SGP", "SGP/SGP4"),
}  # fmt: skip


class _Fault(Exception):
    """One set can't be taken: where, what it says, why."""

    def __init__(self, row: int, field: str, value: str, reason: str) -> None:
        super().__init__(reason)
        self.row, self.field, self.value, self.reason = row, field, value, reason


def read_orbits(path: Path) -> tuple[tuple[MeanElements, ...], tuple[Reject, ...]]:
    """Return the element sets of one file in its order, and those that can't be taken with line (or number of the set) and reason.

    Raises TableError where the file as a whole holds no orbits.
    """
    if path.stat().st_size > LARGEST_BYTES:
        raise TableError(told("this is too large for a file of orbits"), file=path.name, allowed=_ALLOWED)
    text = path.read_bytes().decode("utf-8-sig", "replace").replace("\r\n", "\n")
    sets = _tle_sets(text) if _looks_like_tle(text) else _omm_sets(path.name, text)
    found, rejects = [], []
    for take in sets:
        try:
            found.append(take())
        except _Fault as wrong:
            rejects.append(Reject(path.name, wrong.row, wrong.field, wrong.value[:80], wrong.reason))
    if not found and not rejects:
        raise TableError(told("no orbit is found in this file"), file=path.name, allowed=_ALLOWED)
    return tuple(found), tuple(rejects)


# ---- two-line elements -------------------------------------------------------------------------------------


def _looks_like_tle(text: str) -> bool:
    return re.search(r"^1 [ 0-9A-Z]{5}[A-Z ] ", text, re.MULTILINE) is not None


def _tle_sets(text: str) -> Iterator:
    name, first = "", (0, "")
    for row, line in enumerate(text.split("\n"), start=1):
        line = line.rstrip()
        if line.startswith("1 ") and len(line) > 30:
            if first[1]:
                yield _failing(_Fault(first[0], "line 1", first[1][:20], told("line 2 of this set is missing")))
            first = (row, line)
        elif line.startswith("2 ") and len(line) > 30:
            if first[1]:
                yield lambda name=name, one=first, two=(row, line): _from_tle(name, one, two)
            else:
                yield _failing(_Fault(row, "line 2", line[:20], told("line 1 of this set is missing")))
            name, first = "", (0, "")
        elif line.strip():
            name = line.strip().removeprefix("0 ").strip()
    if first[1]:
        yield _failing(_Fault(first[0], "line 1", first[1][:20], told("line 2 of this set is missing")))


def _failing(fault: _Fault) -> object:
    def fail() -> MeanElements:
        raise fault

    return fail


def _from_tle(name: str, one: tuple[int, str], two: tuple[int, str]) -> MeanElements:
    """Return the elements of one pair of lines; columns as in Spacetrack Report No. 3 and the revised format of AIAA 2006-6753."""
    for number, (row, line) in enumerate((one, two), start=1):
        if len(line) != 69:
            raise _Fault(
                row, f"line {number}", line[:24], told("has {line} characters; 69 are wanted, so some are lost or added", line=len(line))
            )
        summed = sum(int(letter) if letter.isdigit() else letter == "-" for letter in line[:68]) % 10
        if line[68] != str(summed):
            reason = told(
                "wrong checksum: the line adds up to {summed}, its last digit says {line}; a digit was changed on the way",
                summed=summed,
                line=line[68],
            )
            raise _Fault(row, f"line {number}", line[:24], reason)
    if one[1][2:7] != two[1][2:7]:
        raise _Fault(two[0], "line 2", two[1][2:7], told("belongs to another satellite than line 1 ({one})", one=one[1][2:7].strip()))
    line1 = one[1]

    def number(place: tuple[int, str], first: int, last: int, what: str, prefix: str = "") -> float:
        text = place[1][first - 1 : last].strip()
        try:
            return float(prefix + text.replace(" ", ""))
        except ValueError:
            raise _Fault(place[0], what, text, told("is not a number")) from None

    year = int(number(one, 19, 20, "epoch year"))
    day = number(one, 21, 32, "epoch day")
    if not 1.0 <= day < 367.0:
        raise _Fault(one[0], told("epoch day"), line1[20:32].strip(), told("is out of range; a day of the year from 1 to 366 is wanted"))
    return _checked(
        two[0],
        MeanElements(
            name=name,
            number=_catalogue(one[0], line1[2:7]),
            epoch=datetime(year + (1900 if year >= 57 else 2000), 1, 1) + timedelta(days=day - 1.0),
            inclination_deg=number(two, 9, 16, "inclination"),
            node_deg=number(two, 18, 25, "ascending node"),
            eccentricity=number(two, 27, 33, "eccentricity", "0."),
            perigee_deg=number(two, 35, 42, told("argument of perigee")),
            anomaly_deg=number(two, 44, 51, "mean anomaly"),
            mean_motion=number(two, 53, 63, "mean motion"),
            half_first_derivative=number(one, 34, 43, "first derivative"),
            sixth_second_derivative=_with_exponent(one[0], line1[44:52], "second derivative"),
            bstar=_with_exponent(one[0], line1[53:61], "drag term"),
        ),
    )


def _catalogue(row: int, text: str) -> int:
    plain = text.strip()
    if plain.isdigit():
        return int(plain)
    if len(plain) == 5 and plain[0] in _LETTERS and plain[1:].isdigit():
        return (_LETTERS.index(plain[0]) + 10) * 10_000 + int(plain[1:])
    raise _Fault(row, told("catalogue number"), plain, told("is no catalogue number"))


def _with_exponent(row: int, text: str, what: str) -> float:
    """Return " 12345-4" as 0.12345e-4."""
    match = re.fullmatch(r"([+-]?)(\d{5})([+-]\d)", text.strip().replace(" ", ""))
    if match is None:
        if text.strip() in ("", "0", "00000-0", "00000+0"):
            return 0.0
        raise _Fault(row, what, text.strip(), told("is not a number with its exponent, such as 12345-4"))
    return float(f"{match[1]}0.{match[2]}e{match[3]}")


# ---- orbit mean-elements messages --------------------------------------------------------------------------


def _omm_sets(file: str, text: str) -> Iterator:
    start = text.lstrip()[:1]
    try:
        if start == "<":
            messages = [(place, _xml_fields(segment)) for place, segment in enumerate(xml.fromstring(text).iter("segment"), start=1)]
        elif start in ("[", "{"):
            loaded = json.loads(text)
            loaded = loaded if isinstance(loaded, list) else [loaded]
            messages = [(place, one if isinstance(one, dict) else {}) for place, one in enumerate(loaded, start=1)]
        elif "MEAN_MOTION" in text.split("\n", 1)[0] and "," in text.split("\n", 1)[0]:
            messages = [(place, dict(one)) for place, one in enumerate(csv.DictReader(text.split("\n")), start=2)]
        else:
            messages = list(_kvn_messages(text))
    except (xml.ParseError, json.JSONDecodeError, RecursionError, csv.Error) as wrong:
        raise TableError(told("this file can't be read as orbits: {wrong}", wrong=wrong), file=file, allowed=_ALLOWED) from None
    for row, fields in messages:
        yield lambda row=row, fields=fields: _from_omm(row, fields)


def _xml_fields(segment: xml.Element) -> dict[str, object]:
    return {element.tag.rsplit("}", 1)[-1]: element.text or "" for element in segment.iter() if not len(element)}


def _kvn_messages(text: str) -> Iterator[tuple[int, dict[str, object]]]:
    fields: dict[str, object] = {}
    first = 1
    for row, line in enumerate(text.split("\n"), start=1):
        match = _KVN.match(line)
        if match is None or match[1] == "COMMENT":
            continue
        if match[1] in fields and match[1] in ("CCSDS_OMM_VERS", "OBJECT_NAME", "EPOCH"):  # the next message begins
            yield first, fields
            fields = {}
        if not fields:
            first = row
        fields[match[1]] = match[2]
    if "EPOCH" in fields or "MEAN_MOTION" in fields:
        yield first, fields


def _from_omm(row: int, fields: Mapping[str, object]) -> MeanElements:
    said = {str(key).strip().upper(): str(value if value is not None else "").strip() for key, value in fields.items()}
    for key, allowed in _MUST_SAY.items():
        if said.get(key) and said[key].upper() not in allowed:
            raise _Fault(row, key, said[key], told("only {allowed} can be read", allowed=allowed[0]))
    numbers = {}
    for key, (least, most) in _NUMBERS.items():
        numbers[key] = _float(said.get(key, ""))
        if math.isnan(numbers[key]):
            raise _Fault(row, key, said.get(key, ""), told("is missing") if not said.get(key) else told("is not a number"))
        if not least <= numbers[key] <= most:
            raise _Fault(row, key, said[key], told("is out of range; {least:g} to {most:g} is allowed", least=least, most=most))
    for key, default in _OPTIONAL.items():
        numbers[key] = _float(said[key]) if said.get(key) else default
        if math.isnan(numbers[key]):
            raise _Fault(row, key, said[key], told("is not a number"))
    try:
        epoch = datetime.fromisoformat(said.get("EPOCH", "").removesuffix("Z"))
    except ValueError:
        raise _Fault(row, "EPOCH", said.get("EPOCH", ""), told("is no moment such as 2026-06-10T12:00:00.000000")) from None
    catalogue = said.get("NORAD_CAT_ID", "")
    return _checked(
        row,
        MeanElements(
            name=said.get("OBJECT_NAME", ""), number=int(catalogue) if catalogue.isdigit() else 0, epoch=epoch.replace(tzinfo=None),
            inclination_deg=numbers["INCLINATION"], node_deg=numbers["RA_OF_ASC_NODE"], eccentricity=numbers["ECCENTRICITY"],
            perigee_deg=numbers["ARG_OF_PERICENTER"], anomaly_deg=numbers["MEAN_ANOMALY"], mean_motion=numbers["MEAN_MOTION"],
            half_first_derivative=numbers["MEAN_MOTION_DOT"], sixth_second_derivative=numbers["MEAN_MOTION_DDOT"], bstar=numbers["BSTAR"],
        ),
    )  # fmt: skip


def _float(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan


def _checked(row: int, found: MeanElements) -> MeanElements:
    if not 0.05 <= found.mean_motion <= 20.0:
        raise _Fault(row, told("mean motion"), f"{found.mean_motion:g}", told("is out of range; revolutions a day, 0.05 to 20, are wanted"))
    if not 0.0 <= found.inclination_deg <= 180.0:
        raise _Fault(row, "inclination", f"{found.inclination_deg:g}", told("is out of range; 0 to 180 degrees are wanted"))
    return found
