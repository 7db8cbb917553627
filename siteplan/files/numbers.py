"""Numbers as people write them in tables: decimal commas, thousands marks, degrees with minutes and seconds, two coordinates in a cell."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from siteplan.errors import told

METRES_PER_DEGREE = 111_320.0  # along a meridian, WGS84 mean
_MINUS = str.maketrans({"−": "-", "–": "-", "‒": "-", "﹣": "-", "－": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " "})
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?")
_GROUPED = re.compile(r"[+-]?\d{1,3}(?:([ '’.,])\d{3})+(?:[.,]\d+)?")
_NORTH = {"n", "north", "nord", "norte", "noord", "nth", "sever", "polnoc", "polnocna"}
_SOUTH = {"s", "south", "sud", "süd", "sued", "sur", "sul", "zuid", "jih", "poludnie", "sth"}
_EAST = {"e", "east", "ost", "est", "este", "leste", "oost", "vychod", "wschod"}
_WEST = {"w", "west", "ouest", "oeste", "ovest", "zapad", "zachod"}
_UNSURE = {"o"}  # Ost, but also ouest, oeste, ovest
_LETTERS = re.compile(r"[^\W\d_]+")
_D, _M, _S = r"(?:°|º|˚|deg(?:rees?)?|d|\s|:)", r"(?:'|′|’|‘|´|`|min|m|\s|:)", r"(?:\"|″|”|“|''|′′|’’|sec|s)?"
_DMS = re.compile(
    rf"([+-]?)\s*(\d{{1,3}})\s*{_D}\s*(\d{{1,2}}(?:[.,]\d+)?)\s*(?:{_M}\s*(?:(\d{{1,2}}(?:[.,]\d+)?)\s*{_S})?|{_M}?)\s*", re.IGNORECASE
)
_WKT_POINT = re.compile(r"\s*(?:SRID=4326;)?\s*POINT\s*Z?\s*\(\s*(\S+)\s+(\S+?)(?:\s+\S+)?\s*\)\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Coordinate:
    """A number from a cell. step: the size of its last digit; axis "lat", "lon" or "" where no letter says; fault says what is wrong."""

    value: float
    step: float = math.nan
    axis: str = ""
    fault: str = ""


def _wrong(fault: str) -> Coordinate:
    return Coordinate(math.nan, fault=fault)


def parse_number(text: str) -> float:
    """Return a plain number with a decimal point or comma, thousands marked by space, apostrophe, point or comma; NaN where it is none.

    One mark alone is a decimal mark: "412,345" is 412.345. Words such as nan and inf are no numbers.
    """
    return _number(text).value


def _number(text: str) -> Coordinate:
    tidy = text.translate(_MINUS).strip()
    if _NUMBER.fullmatch(tidy):
        return Coordinate(*_valued(tidy.replace(",", ".")))
    match = _GROUPED.fullmatch(tidy)
    if match:
        mark = match[1]
        head, _, tail = tidy.rpartition(mark)
        if mark in ".,":
            other = "," if mark == "." else "."
            if tidy.count(mark) == 1 and other not in tidy:
                return Coordinate(*_valued(f"{head}.{tail}"))
        plain = tidy.replace(mark, "").replace(",", ".")
        if plain.count(".") <= 1:
            return Coordinate(*_valued(plain))
    return _wrong(told("is not a number"))


def _valued(plain: str) -> tuple[float, float]:
    value = float(plain)
    mantissa, _, exponent = plain.lower().partition("e")
    decimals = len(mantissa.partition(".")[2]) - (int(exponent) if exponent else 0)
    return (value, 10.0**-decimals if abs(decimals) < 300 else 0.0) if math.isfinite(value) else (math.nan, math.nan)


def parse_metres(text: str) -> Coordinate:
    """Return a map coordinate (easting or northing) with the size of its last digit."""
    tidy = re.sub(r"\s*(?:m|e|n)\s*$", "", text.translate(_MINUS).strip(), flags=re.IGNORECASE)
    return _number(tidy) if tidy else _wrong(told("is empty"))


def parse_angle(text: str) -> Coordinate:
    """Return degrees, south and west negative, from "47,5° N", "N 47 30 44.3", "47°30'44.3\"N", "47:30:44" or "47° 30.7' N"."""
    tidy = text.translate(_MINUS).strip()
    if not tidy:
        return _wrong(told("is empty"))
    tidy, axis, sign, fault = _without_letter(tidy)
    if fault:
        return _wrong(fault)
    plain = re.sub(r"\s*(?:°|º|˚|deg(?:rees)?)\s*$", "", tidy, flags=re.IGNORECASE).strip()
    if _NUMBER.fullmatch(plain):
        value, step = _valued(plain.replace(",", "."))
    else:
        value, step = _degrees(tidy)
    if not math.isfinite(value):
        return _wrong(told("is not a number"))
    if sign and value < 0:
        return _wrong(told("has a minus sign and a compass letter; one of them is wanted"))
    return Coordinate(sign * value if sign else value, step, axis)


def _without_letter(text: str) -> tuple[str, str, int, str]:
    """Return the text without its compass letter, and the axis and sign it stands for (0: none)."""
    words = [(match.start(), match.end(), match[0].lower()) for match in (*_LETTERS.finditer(text),)]
    for start, end, word in (words[:1] + words[-1:]) if words else ():
        edge = start == 0 or end == len(text.rstrip(" .,;"))
        if not edge or (word == "s" and start > 0 and re.search(r"\d\s*m\w*\s*\d+(?:[.,]\d+)?\s*$", text[:start], re.IGNORECASE)):
            continue
        if word in _UNSURE:
            return text, "", 0, _either()
        for names, axis, sign in ((_NORTH, "lat", 1), (_SOUTH, "lat", -1), (_EAST, "lon", 1), (_WEST, "lon", -1)):
            if word in names:
                return (text[:start] + text[end:]).strip(" .,;"), axis, sign, ""
    return text, "", 0, ""


def _either() -> str:
    return told("has the letter O, which is east in some languages and west in others; write E or W")


def _degrees(text: str) -> tuple[float, float]:
    match = _DMS.fullmatch(text.strip())
    if not match:
        return math.nan, math.nan
    degrees, minutes, seconds = float(match[2]), float(match[3].replace(",", ".")), match[4]
    if minutes >= 60.0 or (seconds is not None and (float(seconds.replace(",", ".")) >= 60.0 or not minutes.is_integer())):
        return math.nan, math.nan
    last, unit = (seconds, 3600.0) if seconds is not None else (match[3], 60.0)
    value = degrees + minutes / 60.0 + (float(seconds.replace(",", ".")) / 3600.0 if seconds else 0.0)
    step = 10.0 ** -len(last.replace(",", ".").partition(".")[2]) / unit
    return (-value if match[1] == "-" else value), step


def split_pair(text: str) -> tuple[str, str] | None:
    """Return the two coordinates of one cell as texts, first as written; None where there are not two.

    "47.51, 11.25", "47,51; 11,25", "47,51 11,25", "47,51, 11,25", "N47.51 E11.25", "47°30'N 11°15'E", "(47.51/11.25)".
    WKT "POINT(11.25 47.51)" comes back latitude first, as its order is fixed.
    """
    tidy = text.translate(_MINUS).strip()
    match = _WKT_POINT.fullmatch(tidy)
    if match:
        return match[2], match[1]
    tidy = re.sub(r"^geo:", "", tidy, flags=re.IGNORECASE).strip("()[]{} ")
    tidy = tidy.replace("\n", " ")
    for cut in (r"\s*[;/|]\s*", r",\s+", r"\s+,", r"\s*,\s*(?=[+-]?\d+\.)"):
        parts = [part for part in re.split(cut, tidy) if part.strip()]
        if len(parts) == 2 and all(_angle_like(part) for part in parts):
            return parts[0], parts[1]
    groups = tidy.split(",")
    if len(groups) == 4 and all(re.fullmatch(r"\s*[+-]?\d+\s*", group) for group in groups):
        return ",".join(groups[:2]), ",".join(groups[2:])
    if len(groups) == 2 and all(_angle_like(group) for group in groups) and "." in tidy:
        return groups[0], groups[1]
    for place in (match.start() for match in re.finditer(r"\s|(?<=[NSEWnsew])(?=[\d ])|(?=[EWew]\s*\d)", tidy)):
        first, second = tidy[:place].strip(), tidy[place:].strip()
        if first and second and _angle_like(first) and _angle_like(second) and _balanced(first, second):
            return first, second
    return None


def _angle_like(text: str) -> bool:
    found = parse_angle(text)
    return math.isfinite(found.value) or found.fault == _either()


def _balanced(first: str, second: str) -> bool:
    """Return whether two halves hold equally many numbers, so that "47 30 11 15" is cut in its middle."""
    return len(re.findall(r"\d+(?:[.,]\d+)?", first)) == len(re.findall(r"\d+(?:[.,]\d+)?", second))
