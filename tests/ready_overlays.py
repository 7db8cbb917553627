"""Hand-made maps of an area for the map page: four quarters or stripes whose every cell is known beforehand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import ready_findings as ready

from siteplan.records.findings import Findings, Overlay

ROWS, COLS = 60, 80
WEST, SOUTH, EAST, NORTH = ready.LON - 0.01, ready.LAT - 0.006, ready.LON + 0.01, ready.LAT + 0.006
SEEN = ((0, "unknown", "nobody knows"), (1, "blocked", "blocked"), (2, "partly", "partly"), (3, "clear", "clear"))


def quarters(north_west: float, north_east: float, south_west: float, south_east: float, dtype: object) -> np.ndarray:
    """Return a picture of four quarters."""
    top, left = np.arange(ROWS)[:, None] < ROWS // 2, np.arange(COLS)[None, :] < COLS // 2
    return np.where(top, np.where(left, north_west, north_east), np.where(left, south_west, south_east)).astype(dtype)


def overlays() -> tuple[Overlay, ...]:
    """Every kind of question: clear, partly, blocked, unknown in the four quarters; names; heights; margins that rise to the east."""
    box = (WEST, SOUTH, EAST, NORTH)
    rising = np.broadcast_to(np.linspace(-20.0, 20.0, COLS), (ROWS, COLS)).astype(np.float32).copy()
    rising[:5] = np.nan
    heights = quarters(3.0, 4.2, np.nan, np.nan, np.float32)
    return (
        Overlay(
            "sees-1", "Where does a dish see Oriel 25E?", quarters(3, 2, 1, 0, np.uint8), *box, classes=SEEN,
            legend="Plain: a dish 3.0 m up sees it. Sparse dots: partly. Dense dots: blocked. Hatched: nobody knows.",
        ),
        Overlay("sees-how-many", "How many of the satellites does a dish see?", quarters(2, 1, 0, 255, np.uint8), *box,
                classes=((0, "", "0"), (1, "", "1"), (2, "", "2")), legend="The more satellites are clear, the lighter."),
        Overlay("mount-height", "How high must the dish stand?", heights, *box, unit="m", legend="The lowest height."),
        Overlay("best-terrestrial", "Which TV transmitter is best?", quarters(0, 1, 255, 1, np.uint8), *box,
                classes=((0, "", "Hallow Hill"), (1, "", "Cairn Tor")), legend="Each pattern is one transmitter."),
        Overlay("tv-programmes", "How many TV programmes?", quarters(24, 0, 255, 12, np.uint8), *box,
                classes=((0, "", "0"), (12, "", "12"), (24, "", "24")), legend="Programmes that can be promised."),
        Overlay("tv-margin", "How much to spare?", rising, *box, unit="dB", threshold=0.0, threshold_words="0 dB: just enough",
                legend="Under 0 dB the signal is too weak."),
        Overlay("mobile-strength", "How strong is mobile internet?", rising - 100.0, *box, unit="dBm", threshold=-100.0,
                threshold_words="\u2212100 dBm is wanted", legend="The plan wants \u2212100 dBm."),
    )  # fmt: skip


def with_rows() -> Findings:
    """The run of nine rows, with maps of the area."""
    return replace(ready.findings(), overlays=overlays())


def area_alone() -> Findings:
    """What the area command shows: no rows."""
    run = ready.findings()
    return replace(run, rows=(), rejects=(), notes=(), addresses=replace(run.addresses, rows=()), overlays=overlays())
