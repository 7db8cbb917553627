"""What drawings share: where data lie on them, words that keep off each other, steps of an axis."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from siteplan.records.ground import KIND_GROUND, KIND_NAMES
from siteplan.report.html import esc
from siteplan.words import distance, height, kind_word
from siteplan.words.pages import text

WIDE, SKY, SLIM, NARROW = 720, 560, 340, 300  # widths in px of drawings: a page, beside the plot, a phone, a third of a page
LETTER = 7.1  # mean width of a letter at the size of labels, px: of a wide system typeface, so that nothing is cut

_FOR = {True: "slim", False: "wide", None: "any"}


@dataclass(frozen=True, slots=True)
class Frame:
    """Where data lie on the drawing: left, top, right, bottom in px; x0..x1 and y0..y1 in the data's units, y upwards."""

    left: float
    top: float
    right: float
    bottom: float
    x0: float
    x1: float
    y0: float
    y1: float

    def x(self, value: float) -> float:
        """Return px across."""
        return self.left + (value - self.x0) * (self.right - self.left) / (self.x1 - self.x0)

    def y(self, value: float) -> float:
        """Return px down."""
        return self.bottom - (value - self.y0) * (self.bottom - self.top) / (self.y1 - self.y0)

    def points(self, xs: np.ndarray, ys: np.ndarray) -> str:
        """Return the corner list of a line, to a tenth of a px."""
        px = self.left + (xs - self.x0) * ((self.right - self.left) / (self.x1 - self.x0))
        py = self.bottom - (ys - self.y0) * ((self.bottom - self.top) / (self.y1 - self.y0))
        return " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(px.tolist(), py.tolist(), strict=True))


class Labels:
    """Words on a drawing that must not lie on each other: a word that would is moved up or down by a line until it fits."""

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self.taken: list[tuple[float, float, float, float]] = []

    def put(self, x: float, y: float, words: str, *, css: str = "", step: float = -14.0, anchor: str = "middle") -> str:
        """Return a label near x, y (px, its base line), kept inside the frame and off earlier labels."""
        wide = LETTER * len(words) * (1.06 if "strong" in css else 1.0)
        left = {"middle": x - wide / 2, "start": x, "end": x - wide}[anchor]
        left = max(self.frame.left + 2, min(left, self.frame.right - wide - 2))
        for _ in range(12):
            box = (left, y - 11, left + wide, y + 3)
            if not any(box[0] < b[2] and b[0] < box[2] and box[1] < b[3] and b[1] < box[3] for b in self.taken):
                break
            y += step
        self.taken.append((left, y - 11, left + wide, y + 3))
        return f'<text x="{left:.1f}" y="{y:.1f}" class="label {css}">{esc(words)}</text>'


def svg(width: float, high: float, parts: Sequence[str], *, title: str, key: str, slim: bool | None) -> str:
    """Return one drawing with its text alternative. slim: for a phone (True), for paper and desk (False), for both (None)."""
    return (
        f'<svg class="plot {_FOR[slim]}" viewBox="0 0 {width:g} {high:g}" role="img" aria-labelledby="{key}-t">'
        f'<title id="{key}-t">{esc(title)}</title>{"".join(parts)}</svg>'
    )


def area(frame: Frame, along: np.ndarray, top: np.ndarray, css: str) -> str:
    """Return what lies under a line, down to the foot of the frame."""
    base = f"{frame.bottom:.1f}"
    return (
        f'<polygon class="{css}" points="{frame.x(along[0]):.1f},{base} {frame.points(along, np.clip(top, frame.y0, frame.y1))} '
        f'{frame.x(along[-1]):.1f},{base}"/>'
    )


def what_blocks(kind: str, distance_m: float, obstacle_agl_m: float) -> str:
    """Return "growth 9.1 m high, 34 m away"; ground has no height of its own."""
    if kind == KIND_NAMES[KIND_GROUND] or not math.isfinite(obstacle_agl_m):
        return text("blocks_ground", what=kind_word(kind), distance=distance(distance_m))
    return text("blocks_thing", what=kind_word(kind), height=height(obstacle_agl_m), distance=distance(distance_m))


def nice_step(span: float, most: int) -> float:
    """Return 1, 2 or 5 times a power of ten that cuts a span into at most so many steps."""
    rough = max(span, 1e-9) / most
    power = 10.0 ** math.floor(math.log10(rough))
    return next(power * m for m in (1.0, 2.0, 5.0, 10.0) if power * m >= rough * 0.999)


def finite(value: float) -> float:
    """Return a number, 0 for unknown."""
    return value if math.isfinite(value) else 0.0
