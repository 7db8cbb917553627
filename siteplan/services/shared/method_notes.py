"""Every propagation method and loss with the range it holds for, taken from the code that checks it."""

from __future__ import annotations

import math

from siteplan.errors import told
from siteplan.radio import building_entry, clutter_loss, vegetation
from siteplan.radio.methods import hata
from siteplan.radio.methods.shape import Range
from siteplan.radio.methods.table import METHODS
from siteplan.records.methods import Bound, MethodNote


def method_notes() -> tuple[MethodNote, ...]:
    """Return the methods a plan can name (and free_space, which p1812 hands short paths to), then the losses that stand apart."""
    paths = tuple(MethodNote(name, method.label, "path", _bounds(name, method.range, method.below_m)) for name, method in METHODS.items())
    return paths + _losses()


def _bounds(name: str, held: Range, below_m: float) -> tuple[Bound, ...]:
    sender = Bound("tx_height", *held.height_agl_m, "m above ground")
    if name in hata.RANGES:
        sender = Bound("tx_over_mean_ground", *hata.EFFECTIVE_HEIGHT_M, "m")
    return (
        Bound("path", held.path_m[0] / 1000.0, min(held.path_m[1], below_m) / 1000.0, "km"),
        sender,
        Bound("rx_height", *(held.rx_height_agl_m or held.height_agl_m), "m above ground"),
        Bound("frequency", *held.frequency_mhz, "MHz"),
        Bound("time", *held.time_pct, "%"),
        Bound("locations", *held.location_pct, "%"),
    )


def _losses() -> tuple[MethodNote, ...]:
    any_share = Bound("locations", 0.0, 100.0, told("% (ends left out)"))
    forest = vegetation.MIXED_FOREST
    return (
        MethodNote(
            "p2108_height_gain",
            clutter_loss.HEIGHT_GAIN_LABEL,
            "loss",
            (
                Bound("frequency", *clutter_loss.HEIGHT_GAIN_MHZ, "MHz"),
                Bound("rx_height", 0.0, math.inf, told("m above ground (0 left out)")),
            ),
        ),
        MethodNote(
            "p2108_terrestrial",
            f"{clutter_loss.LABEL}, 3.2",
            "loss",
            (
                Bound("frequency", *clutter_loss.TERRESTRIAL_MHZ, "MHz"),
                Bound("path", clutter_loss.TERRESTRIAL_LEAST_M / 1000.0, math.inf, "km"),
                any_share,
            ),
        ),
        MethodNote(
            "p2108_slant",
            f"{clutter_loss.LABEL}, 3.3",
            "loss",
            (Bound("frequency", *clutter_loss.SLANT_MHZ, "MHz"), Bound("elevation", 0.0, 90.0, "deg"), any_share),
        ),
        MethodNote(
            "p2109",
            building_entry.LABEL,
            "loss",
            (
                Bound("frequency", *building_entry.FREQUENCY_MHZ, "MHz"),
                Bound("elevation", -90.0, 90.0, "deg"),
                Bound("probability", 0.0, 100.0, told("% (ends left out)")),
            ),
        ),
        MethodNote(
            "p833_woodland",
            f"{vegetation.LABEL}, 2.1",
            "loss",
            (Bound("frequency", forest[0][0], forest[-1][0], told("MHz (mixed forest)")),),
        ),
        MethodNote("p833_slant", f"{vegetation.LABEL}, 2.2", "loss", (Bound("frequency", *vegetation.FOLIAGE_MHZ, "MHz"),)),
    )
