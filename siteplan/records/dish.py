"""How one dish serves several satellites: LNBs side by side, or a motor; and how its face is tilted."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Feed:
    """One LNB of a dish aimed at another satellite, or between two: where it sits and what it costs.

    aside_deg   of its satellite from the dish's aim as seen from here, to the right; higher_deg upwards
    apart_deg   true angle between satellite and aim; loss_db off the focus
    """

    satellite: str
    aside_deg: float
    higher_deg: float
    apart_deg: float
    loss_db: float


@dataclass(frozen=True, slots=True)
class SharedDish:
    """Satellites that one dish can take with fixed LNBs, the one it is aimed at first."""

    dish_m: float
    feeds: tuple[Feed, ...]


@dataclass(frozen=True, slots=True)
class MotorLine:
    """One satellite of a motorised dish: turn (positive towards the east), how far off its circle, and the view ("clear", ...)."""

    satellite: str
    motor_deg: float
    miss_deg: float
    view: str


@dataclass(frozen=True, slots=True)
class Motor:
    """A polar mount at this place; see sky.polar_mount."""

    axis_elevation_deg: float
    declination_deg: float
    lines: tuple[MotorLine, ...]


@dataclass(frozen=True, slots=True)
class DishFinding:
    """What there is to say of one dish for several satellites. tilts: (satellite, degrees to tilt the face up; NaN: offset unknown)."""

    shared: tuple[SharedDish, ...] = ()
    alone: tuple[str, ...] = ()  # satellites that no other can share a dish with
    motor: Motor | None = None
    tilts: tuple[tuple[str, float], ...] = ()
