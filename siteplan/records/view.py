"""The surface made ready for rays, and seen from one place: flat arrays for the compiled loops."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from siteplan.records.ground import KIND_NAMES, Grid, Surface
from siteplan.records.results import Clearance

if TYPE_CHECKING:
    import numpy as np


@dataclass(frozen=True, eq=False)
class Prepared:
    """A surface with coarser levels by maximum, made once.

    arrays           geodesy.kernels.Grids
    grids            every grid; positions in it are what the orders and the kernels' answers count
    surface_order    (layers,) int64: for each layer, finest first, its surface or, where it has none, its ground
    ground_order     (layers,) int64: bare earth
    rim_lat_deg, rim_lon_deg   (grids, points) places round the outline of each grid
    highest_m, highest_ground_m  greatest known height
    """

    surface: Surface
    arrays: Any
    grids: tuple[Grid, ...]
    surface_order: np.ndarray
    ground_order: np.ndarray
    rim_lat_deg: np.ndarray
    rim_lon_deg: np.ndarray
    highest_m: float
    highest_ground_m: float


@dataclass(frozen=True, eq=False)
class LocalView:
    """A prepared surface as it lies around one place.

    coef      (grids, 2, terms, terms) float64: column and row, counted between cell centres, as powers of metres (east, north),
              where east = d sin(azimuth), north = d cos(azimuth), d the geodesic distance and azimuth from TRUE north
    sizes     (grids, 2) cell size, and how far out the powers hold to within fit_error_cells (past it the grid has nothing); metres
    radius_m  how far is looked
    """

    prepared: Prepared
    lat_deg: float
    lon_deg: float
    radius_m: float
    coef: np.ndarray
    sizes: np.ndarray
    fit_error_cells: np.ndarray


CLEARANCE_STATES = ("unknown", "blocked", "partly", "clear")


@dataclass(frozen=True, eq=False)
class Clearances:
    """Clearance for many eyes at once, arrays of shape (eyes,); fields as Clearance, state counts in CLEARANCE_STATES, kind is KIND_*.

    margin_m, centre_margin_m   how much higher (perpendicular to the ray) things could be before they touch the needed tube, or the
                                centre ray; negative where they do. margin_distance_m, centre_margin_distance_m: where each is
                                least
    """

    state: np.ndarray
    spare_deg: np.ndarray
    centre_spare_deg: np.ndarray
    clearance_m: np.ndarray
    needed_m: np.ndarray
    distance_m: np.ndarray
    obstacle_amsl_m: np.ndarray
    obstacle_agl_m: np.ndarray
    bearing_deg: np.ndarray
    kind: np.ndarray
    loss_db: np.ndarray
    known_to_m: np.ndarray
    margin_m: np.ndarray
    centre_margin_m: np.ndarray
    margin_distance_m: np.ndarray
    centre_margin_distance_m: np.ndarray

    def one(self, index: int) -> Clearance:
        """Return one eye's Clearance."""
        return Clearance(
            state=CLEARANCE_STATES[int(self.state[index])],
            kind=KIND_NAMES[int(self.kind[index])],
            **{
                name: float(getattr(self, name)[index])
                for name in (
                    "spare_deg", "centre_spare_deg", "clearance_m", "needed_m", "distance_m", "obstacle_amsl_m", "obstacle_agl_m",
                    "bearing_deg", "loss_db", "known_to_m",
                )
            },
        )  # fmt: skip
