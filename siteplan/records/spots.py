"""Where on a plot a dish may stand: the best spot, plan B, what moving it does, and the plot itself."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SpotOption:
    """One place for the dish, metres east and north of the address.

    height_agl_m   centre of the dish that is advised; lowest_agl_m the least at which all it sees is clear, errors not counted (NaN none)
    spare_deg      least of the satellites seen, at height_agl_m; sigmas the same over the error of the heights
    sees           names of the wanted satellites it sees clearly, of so many wanted
    cable_m        from here to the entry point of the cable
    """

    kind: str
    lat_deg: float
    lon_deg: float
    east_m: float
    north_m: float
    height_agl_m: float
    lowest_agl_m: float
    spare_deg: float
    sigmas: float
    sees: tuple[str, ...]
    wanted: int
    cable_m: float
    facade_deg: float = float("nan")


@dataclass(frozen=True, slots=True)
class SpotMove:
    """What moving the dish does: way "left", "right", "nearer", "farther" (facing the satellites), "up" or "down"; spare NaN unknown."""

    way: str
    by_m: float
    spare_deg: float


@dataclass(frozen=True, slots=True)
class HeightLimits:
    """How high things may stand in one satellite's direction: steps of (distance_m, height above the ground there; below 0 the ground)."""

    satellite: str
    bearing_deg: float
    steps: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Outline:
    """One building near, or the plot: corners (east_m, north_m) of its outer ring. what: "own", "other" or "plot"."""

    what: str
    corners: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class PlotRun:
    """A run of places of one row of the search grid: middle of the row, both ends, and what they see: "all", "some", "none", "unknown"."""

    north_m: float
    from_east_m: float
    to_east_m: float
    sees: str


@dataclass(frozen=True, slots=True)
class SpotPlan:
    """The search of one address. best is where the sheet tells to stand; plan_b None where there is none.

    entry_m    (east, north) of where the cable goes in, None where no building is known
    looked_in  "plot", "building" (on it and around it) or "circle"; radius_m how far around; step_m of the grid; tried: places looked at
    """

    looked_in: str
    radius_m: float
    step_m: float
    tried: int
    wanted: int
    best: SpotOption
    plan_b: SpotOption | None = None
    moves: tuple[SpotMove, ...] = ()
    limits: tuple[HeightLimits, ...] = ()
    outlines: tuple[Outline, ...] = ()
    runs: tuple[PlotRun, ...] = ()
    entry_m: tuple[float, float] | None = None
    all_clear_share: float = float("nan")  # of the places looked at
