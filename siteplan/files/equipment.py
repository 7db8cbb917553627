"""The parts list: cables, amplifiers, switches, LNBs and outlets, one row each, into records. Bad rows go, good rows stay."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from siteplan.errors import told
from siteplan.files.numbers import parse_number
from siteplan.files.sender_rows import SenderTable, open_senders, read_rows
from siteplan.files.tables import Row
from siteplan.records.parts import PART_KINDS, Part
from siteplan.records.places import Reject

COLUMNS = (
    "part", "kind", "low_mhz", "high_mhz", "gain_points", "tap_points", "inputs", "outputs", "fixed_lines", "wideband", "noise_figure_db",
    "max_output_dbuv", "output_dbuv", "isolation_db", "current_ma", "supply_ma", "passes_dc", "diode_isolated", "loop_ohm_per_100m",
    "impedance_ohm", "user_bands_mhz", "standard", "sigma_db", "price", "note",
)  # fmt: skip
_YES, _NO = ("yes", "y", "true", "1", "ja", "oui"), ("", "no", "n", "false", "0", "nein", "non")
_NAN = float("nan")


def builtin_parts() -> Path:
    """Return the parts list that comes with siteplan: generic parts of standard classes."""
    return Path(str(files("siteplan.files") / "builtin" / "parts.csv"))


def read_parts(path: Path | None = None) -> tuple[dict[str, Part], tuple[Reject, ...]]:
    """Return the parts of a list by name, in its order; siteplan's own list where no path is given.

    A name twice keeps the first row. Raises TableError where the table as a whole can't be used.
    """
    senders = open_senders(path or builtin_parts(), COLUMNS, placed=False, needed=("part", "kind"))
    found: dict[str, Part] = {}

    def take(row: Row) -> None:
        part = _part(senders, row)
        if part.name in found:
            raise senders.fault(row, "part", told("is already in an earlier row"))
        found[part.name] = part

    return found, read_rows(senders, take)


def _part(senders: SenderTable, row: Row) -> Part:
    kind = senders.word(row, "kind").casefold().replace("-", "_").replace(" ", "_")
    if kind not in PART_KINDS:
        raise senders.fault(row, "kind", told("is not known; write one of {part_kinds}", part_kinds=", ".join(PART_KINDS)))
    gains = _points(senders, row, "gain_points")
    if kind == "cable":
        if not gains:
            raise senders.fault(
                row, "gain_points", told("is empty: a cable needs its attenuation, dB per 100 m, such as 860:18.0;2150:30.0")
            )
        if min(value for _, value in gains) <= 0:
            raise senders.fault(row, "gain_points", told("a cable's attenuation is a loss, written above 0, dB per 100 m"))
    low, high = senders.number(row, "low_mhz", 0.0, 100_000.0, 0.0), senders.number(row, "high_mhz", 0.0, 100_000.0, 100_000.0)
    if low >= high:
        raise senders.fault(row, "high_mhz", told("must lie above low_mhz ({low:g})", low=low))
    bands = _numbers(senders, row, "user_bands_mhz", 250.0, 2400.0)
    standard = senders.text(row, "standard")
    if kind == "single_cable":
        allowed = {"EN 50494": 8, "EN 50607": 32}
        if standard not in allowed:
            raise senders.fault(row, "standard", told("must be one of {allowed} for a single-cable unit", allowed=", ".join(allowed)))
        if not 1 <= len(bands) <= allowed[standard]:
            raise senders.fault(
                row,
                "user_bands_mhz",
                told(
                    "{standard} has 1 to {allowed} user bands; {bands} are given",
                    standard=standard,
                    allowed=allowed[standard],
                    bands=len(bands),
                ),
            )
    return Part(
        name=senders.word(row, "part"), kind=kind, low_mhz=low, high_mhz=high, gain_points=gains,
        tap_points=_points(senders, row, "tap_points"), inputs=int(senders.number(row, "inputs", 0, 64, 1.0)),
        outputs=int(senders.number(row, "outputs", 0, 64, 1.0)), fixed_lines=_yes(senders, row, "fixed_lines"),
        wideband=_yes(senders, row, "wideband"), noise_figure_db=senders.number(row, "noise_figure_db", 0.0, 30.0, _NAN),
        max_output_dbuv=senders.number(row, "max_output_dbuv", 50.0, 140.0, _NAN),
        output_dbuv=senders.number(row, "output_dbuv", 40.0, 130.0, _NAN),
        isolation_db=senders.number(row, "isolation_db", 0.0, 100.0, _NAN), current_ma=senders.number(row, "current_ma", 0.0, 5000.0, 0.0),
        supply_ma=senders.number(row, "supply_ma", 0.0, 10_000.0, 0.0), passes_dc=_yes(senders, row, "passes_dc", empty=True),
        diode_isolated=_yes(senders, row, "diode_isolated"), loop_ohm_per_100m=senders.number(row, "loop_ohm_per_100m", 0.01, 200.0, _NAN),
        impedance_ohm=senders.number(row, "impedance_ohm", 25.0, 300.0, 75.0), user_bands_mhz=bands, standard=standard,
        sigma_db=senders.number(row, "sigma_db", 0.0, 10.0, 0.0), price=senders.number(row, "price", 0.0, 1e6, _NAN),
        note=senders.text(row, "note"),
    )  # fmt: skip


def _yes(senders: SenderTable, row: Row, key: str, *, empty: bool = False) -> bool:
    text = senders.text(row, key).casefold()
    if not text:
        return empty
    if text in _YES:
        return True
    if text in _NO:
        return False
    raise senders.fault(row, key, told("is neither yes nor no"))


def _points(senders: SenderTable, row: Row, key: str) -> tuple[tuple[float, float], ...]:
    """Return the points of a cell such as 860:-4;2150:-5.5, rising in frequency."""
    text = senders.text(row, key)
    made = []
    for piece in filter(None, (one.strip() for one in text.split(";"))):
        frequency, _, value = piece.partition(":")
        pair = parse_number(frequency), parse_number(value)
        if not all(number == number for number in pair):
            raise senders.fault(
                row, key, told("{piece!r} is not a point; write MHz:dB with semicolons between, such as 860:-4;2150:-5.5", piece=piece)
            )
        if not 0 < pair[0] <= 100_000 or abs(pair[1]) > 200:
            raise senders.fault(
                row, key, told("{piece!r} is out of range; MHz lie between 0 and 100000, dB between -200 and 200", piece=piece)
            )
        made.append(pair)
    if [frequency for frequency, _ in made] != sorted({frequency for frequency, _ in made}):
        raise senders.fault(row, key, told("the frequencies must rise from point to point"))
    return tuple(made)


def _numbers(senders: SenderTable, row: Row, key: str, least: float, most: float) -> tuple[float, ...]:
    made = []
    for piece in filter(None, (one.strip() for one in senders.text(row, key).split(";"))):
        value = parse_number(piece)
        if not least <= value <= most:
            raise senders.fault(
                row,
                key,
                told(
                    "{piece!r} is not a number between {least:g} and {most:g}; put semicolons between several",
                    piece=piece,
                    least=least,
                    most=most,
                ),
            )
        made.append(value)
    return tuple(made)
