"""What the map's script is given: rows as short lists, sentences as a table of patterns and the numbers that go into them."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from siteplan.records.findings import AddressFinding, Findings, SatelliteView
from siteplan.records.plan import tile_host
from siteplan.records.verdict import SERVICES, State
from siteplan.report.drawing import what_blocks
from siteplan.report.html import place_name, sheet_link
from siteplan.report.map_overlays import overlay_data, overlay_key
from siteplan.report.png import data_uri, grey_alpha_png
from siteplan.words import how_sure, sentence, sentences, state_word
from siteplan.words.language import spoken
from siteplan.words.pages import TEXTS, text
from siteplan.words.place import place_text

_NUMBER = re.compile(r"\d+(?:[.,]\d+)*")
PLAIN_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,59}")
_STATES = tuple(State)
LONGEST_FIND = 160


class Sentences:
    """A table of sentences: each kept once, its numbers taken out. "34 m away" is pattern "# m away" and "34"."""

    def __init__(self) -> None:
        self.patterns: dict[str, int] = {}

    def put(self, words: str) -> str:
        """Return a sentence as "pattern|number|number", "" for none."""
        if not words:
            return ""
        pattern = _NUMBER.sub("#", words.replace("#", "\u266f"))
        place = self.patterns.setdefault(pattern, len(self.patterns))
        return "|".join([str(place), *_NUMBER.findall(words)])

    def get(self, packed: str) -> str:
        """Return the sentence again, as the page's script does."""
        place, *numbers = packed.split("|")
        parts = list(self.patterns)[int(place)].split("#")
        return "".join(part + (numbers[k] if k < len(numbers) else "") for k, part in enumerate(parts))


def questions(findings: Findings) -> list[tuple[str, str, Callable[[AddressFinding], State]]]:
    """Return what the map can be asked: (key, question, state of a row), the job first."""
    asked: list[tuple[str, str, Callable[[AddressFinding], State]]] = [("job", text("map_q_job"), lambda row: row.job)]
    names = [satellite.name for satellite in findings.satellites]
    whole = text("map_q_arc") if not names else text("map_q_satellite", satellite=names[0])
    if len(names) > 1:
        whole = text("map_q_satellites")
    asked.append(("satellite", whole, lambda row: row.verdicts["satellite"].state))
    for place, satellite in enumerate(findings.satellites if len(names) > 1 else ()):
        asked.append(
            (
                f"satellite-{place + 1}",
                text("map_q_satellite", satellite=satellite.name),
                _one_satellite(satellite.name, satellite.orbit_deg),
            )
        )
    asked.append(("terrestrial", text("map_q_terrestrial"), lambda row: row.verdicts["terrestrial"].state))
    asked.append(("mobile", text("map_q_mobile"), lambda row: row.verdicts["mobile"].state))
    return asked


def _one_satellite(name: str, orbit_deg: float) -> Callable[[AddressFinding], State]:
    def state(row: AddressFinding) -> State:
        views = row.satellite.views if row.satellite else ()
        return next((v.state for v in views if v.satellite.name == name and v.satellite.orbit_deg == orbit_deg), State.NOT_JUDGED)

    return state


def map_data(findings: Findings) -> dict[str, object]:
    """Return all that the map's script needs, ready for JSON: no set, no NaN, the same order each time."""
    table = Sentences()
    asked = questions(findings)
    transmitters = {(t.name, t.lat_deg, t.lon_deg): k for k, t in enumerate(findings.transmitters)}
    sites: dict[tuple[str, float, float], int] = {}
    for sector in findings.sectors:
        sites.setdefault((sector.site, sector.lat_deg, sector.lon_deg), len(sites))
    rows = [_row(findings, row, asked, table, transmitters, sites) for row in findings.rows]
    return {
        "rows": rows,
        "patterns": list(table.patterns),
        "questions": [key for key, _, _ in asked],
        "overlays": overlay_data(findings.overlays, [key for key, _, _ in asked]),
        "asked": {overlay_key(one): one.question for one in findings.overlays},
        "transmitters": [[name, _degrees(lat), _degrees(lon)] for name, lat, lon in transmitters],
        "sites": [[name, _degrees(lat), _degrees(lon)] for name, lat, lon in sites],
        "pictures": [
            {
                "picture": data_uri(grey_alpha_png(backdrop.shade, backdrop.alpha)),
                "bounds": [[backdrop.south_deg, backdrop.west_deg], [backdrop.north_deg, backdrop.east_deg]],
            }
            for backdrop in findings.backdrops
        ],
        "outlines": [_ring(ring) for ring in findings.outlines],
        "tiles": findings.plan.map.tile_url if tile_host(findings.plan.map.tile_url) else "",
        "states": ["book", "survey", "none", "unjudged"],
        "texts": {
            name: text(name) for name in TEXTS if name.startswith(("map_", "service_")) or name in ("row", "how_sure", "compass")
        }
        | {f"place_{name}": place_text(name) for name in ("say_outside", "panel", "hint", "missing")},
        "command": f"siteplan sheet {findings.plan.file.name} ",
        "state_words": [state_word(state) for state in _STATES],
        "feet": spoken().units == "feet",
    }


def _ring(ring: tuple[tuple[float, float], ...]) -> list[int]:
    """Return a ring in millionths of a degree: longitude and latitude of the first corner, then the steps from corner to corner."""
    whole = [(round(lon * 1e6), round(lat * 1e6)) for lon, lat in ring]
    steps = [(b[0] - a[0], b[1] - a[1]) for a, b in zip(whole, whole[1:], strict=False)]
    return [figure for pair in (*whole[:1], *steps) for figure in pair]


def _degrees(value: float) -> float:
    return round(value, 6)


def _row(
    findings: Findings,
    row: AddressFinding,
    asked: list[tuple[str, str, Callable[[AddressFinding], State]]],
    table: Sentences,
    transmitters: dict[tuple[str, float, float], int],
    sites: dict[tuple[str, float, float], int],
) -> list[object]:
    """Return one row as a list; the script names its places. What is missing at the end is left off."""
    address = row.row.address
    verdicts = [row.verdicts[service] for service in SERVICES]
    reasons = [table.put(sentences(verdict.reasons)) for verdict in verdicts]
    same = len(set(reasons)) == 1
    asks = [table.put(sentence(verdict.ask)) if verdict.ask is not None else "" for verdict in verdicts]
    sure = [
        table.put(how_sure(verdict.how_sure.level, verdict.how_sure.because)) if verdict.state is not State.NOT_JUDGED else ""
        for verdict in verdicts
    ]
    packed: list[object] = [
        row.row.row,
        place_name(row),
        _find_words(row),
        _degrees(address.lat_deg) if address else None,
        _degrees(address.lon_deg) if address else None,
        "".join(str(_STATES.index(state(row))) for _, _, state in asked),
        [round(100 * v.probability) if math.isfinite(v.probability) else -1 for v in verdicts] if any(map(_known, verdicts)) else 0,
        reasons[:1] if same else reasons,
        asks if any(asks) else 0,
        sure[:1] if len(set(sure)) == 1 else sure,
        sheet_link(findings, row),
        address.id if address and PLAIN_ID.fullmatch(address.id) else "",
        _spot(row),
        _wedges(row, table),
        _aim(row, transmitters),
        _site(row, sites),
    ]
    while packed and packed[-1] in (0, "", None):
        packed.pop()
    return packed


def _known(verdict: object) -> bool:
    return math.isfinite(verdict.probability)  # type: ignore[attr-defined]


def _find_words(row: AddressFinding) -> str:
    """Return what else a row can be found by: the user's own words, numbers left out."""
    name = place_name(row)
    words = [cell for cell in dict.fromkeys(row.row.cells.values()) if cell.strip() and cell != name and any(c.isalpha() for c in cell)]
    address = row.row.address
    if address is not None and address.id and address.id not in (name, *words):
        words.append(address.id)
    return " · ".join(words)[:LONGEST_FIND]


def _spot(row: AddressFinding) -> list[float] | int:
    """Return where the dish stands, if that is not the address's own point."""
    address, spot = row.row.address, row.satellite.spot if row.satellite else None
    if address is None or spot is None:
        return 0
    here, there = (_degrees(address.lat_deg), _degrees(address.lon_deg)), (_degrees(spot.lat_deg), _degrees(spot.lon_deg))
    return 0 if here == there else list(there)


def _wedges(row: AddressFinding, table: Sentences) -> list[list[object]] | int:
    """Return bearing, distance and words of each thing that stands before a wanted satellite."""
    found: dict[tuple[int, int], list[object]] = {}
    for view in row.satellite.views if row.satellite else ():
        seen = view.clearance
        if seen is None or not _blocks(view) or not math.isfinite(seen.bearing_deg) or not math.isfinite(seen.distance_m):
            continue
        words = table.put(what_blocks(seen.kind, seen.distance_m, seen.obstacle_agl_m))
        found.setdefault((round(seen.bearing_deg), round(seen.distance_m)), [round(seen.bearing_deg, 1), round(seen.distance_m, 1), words])
    return list(found.values()) or 0


def _blocks(view: SatelliteView) -> bool:
    return view.clearance is not None and view.clearance.state in ("partly", "blocked")


def _aim(row: AddressFinding, transmitters: dict[tuple[str, float, float], int]) -> list[object] | int:
    for aim in row.terrestrial.aims[:1] if row.terrestrial else ():
        t = aim.transmitter
        place = transmitters.get((t.name, t.lat_deg, t.lon_deg))
        return _line(place, aim.bearing_deg, aim.ray_blocked_m)
    return 0


def _site(row: AddressFinding, sites: dict[tuple[str, float, float], int]) -> list[object] | int:
    for line in row.mobile.lines[:1] if row.mobile else ():
        s = line.sector
        return _line(sites.get((s.site, s.lat_deg, s.lon_deg)), line.bearing_deg, line.ray_blocked_m)
    return 0


def _line(place: int | None, bearing_deg: float, blocked_m: float) -> list[object] | int:
    if place is None:
        return 0
    return [place, round(bearing_deg, 1), round(blocked_m)] if math.isfinite(blocked_m) else [place, round(bearing_deg, 1)]
