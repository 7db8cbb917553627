"""What a study returns: everything pages and files print, already calculated."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from siteplan.records.dish import DishFinding
from siteplan.records.emitters import Multiplex, Satellite, Sector, Transmitter
from siteplan.records.links import DishLine
from siteplan.records.links import LinkLine as LinkLine  # of a view, so people look for it here
from siteplan.records.parts import OutletFinding
from siteplan.records.places import AddressList, AddressRow, Spot
from siteplan.records.readings import Expected
from siteplan.records.results import Clearance, LookAngles, Profile, Skyline
from siteplan.records.spots import SpotPlan
from siteplan.records.sun import SunFinding
from siteplan.records.tuning import Tuning
from siteplan.records.tv import AerialChoice, Disturbance
from siteplan.records.verdict import Reason, State, Verdict

if TYPE_CHECKING:
    import numpy as np

    from siteplan.records.plan import Plan


@dataclass(frozen=True, slots=True)
class SatelliteView:
    """One wanted satellite from one spot.

    dish_m             smallest dish of the kit that works there at spot height, NaN where none
    mount_height_agl_m lowest mount height tried at which the view is clear, NaN where none
    clearance          at the spot's own height with dish_m (or the smallest dish); clearance_raised at mount_height_agl_m
    probability        of a clear view, errors of data and position counted
    dishes             what each dish of the kit makes of it, smallest first
    box_deg, beam_deg  how far the satellite wanders over a day as seen from here, and the dish's beam; NaN where it is taken to stand still
    """

    satellite: Satellite
    look: LookAngles
    clearance: Clearance | None
    state: State
    reasons: tuple[Reason, ...]
    probability: float
    dish_m: float
    mount_height_agl_m: float
    links: tuple[LinkLine, ...] = ()
    tuning: Tuning | None = None  # None where the satellite never rises
    dishes: tuple[DishLine, ...] = ()
    box_deg: float = float("nan")
    beam_deg: float = float("nan")


@dataclass(frozen=True, slots=True)
class SatelliteFinding:
    """The satellite service at one address.

    visible_arc  stretches (from_deg, to_deg) of orbital longitude this spot can see
    arc          points (orbit_deg, azimuth_deg, elevation_deg) of the geostationary arc, west to east, for the skyline plot
    """

    spot: Spot | None
    views: tuple[SatelliteView, ...] = ()
    skyline: Skyline | None = None
    visible_arc: tuple[tuple[float, float], ...] = ()
    arc: tuple[tuple[float, float, float], ...] = ()
    spots: SpotPlan | None = None
    sun: SunFinding | None = None
    dish: DishFinding | None = None


@dataclass(frozen=True, slots=True)
class MultiplexLine:
    """One multiplex at one address: median field, level at the aerial's terminals, margin over its planning value.

    margin_db     field_strength_dbuv_per_m less needed_median_dbuv_per_m (both medians; the same as minimum_median where nothing disturbs)
    probability   that a location here is served: field over usable_dbuv_per_m, over sigma_db
    usable_dbuv_per_m   power sum of the minimum field and of what disturbances ask for; field_sum_dbuv_per_m with the own network's share
    cn_db, needed_cn_db C/N at the aerial, and what the mode needs; receiver_dbuv  level after the planned feeder
    erp_towards_dbw     power towards the house: pattern_db off; plane_db what the aerial loses by its plane
    fade_db, probability_99   how far the field falls for 1 % of time, and the chance that it still serves then; NaN where not worked
    """

    multiplex: Multiplex
    loss_db: float
    field_strength_dbuv_per_m: float
    minimum_median_dbuv_per_m: float
    level_dbuv: float
    margin_db: float
    sigma_db: float
    probability: float
    usable_dbuv_per_m: float = float("nan")
    needed_median_dbuv_per_m: float = float("nan")
    cn_db: float = float("nan")
    needed_cn_db: float = float("nan")
    receiver_dbuv: float = float("nan")
    erp_towards_dbw: float = float("nan")
    pattern_db: float = 0.0
    plane_db: float = 0.0
    network_db: float = 0.0
    disturbances: tuple[Disturbance, ...] = ()
    fade_db: float = float("nan")
    probability_99: float = float("nan")


@dataclass(frozen=True, slots=True)
class Aim:
    """One terrestrial transmitter from one address, with its multiplexes, best margin first among aims."""

    transmitter: Transmitter
    distance_m: float
    bearing_deg: float
    magnetic_bearing_deg: float
    lines: tuple[MultiplexLine, ...]
    profile: Profile | None = None
    ray_blocked_m: float = float("nan")  # distance from the house of the edge that governs, NaN in line of sight
    diffraction_db: float = float("nan")
    profile_file: str = ""
    path_command: str = ""
    tx_height_agl_m: float = float("nan")  # above the profile's first and last ground: what the loss was worked with
    rx_height_agl_m: float = float("nan")

    plane: str = ""  # "h" or "v": how the aerial's elements lie for most of its multiplexes
    programmes_sure: tuple[str, ...] = ()  # that it can be promised to give here
    programmes_likely: tuple[str, ...] = ()  # whose median suffices

    @property
    def margin_db(self) -> float:
        """Return the margin of the weakest multiplex."""
        return min((line.margin_db for line in self.lines), default=float("nan"))


@dataclass(frozen=True, slots=True)
class TerrestrialFinding:
    """The terrestrial TV service at one address: aims, best first, and the aerial for the first."""

    spot: Spot | None
    aims: tuple[Aim, ...] = ()
    choice: AerialChoice | None = None


@dataclass(frozen=True, slots=True)
class WayLine:
    """One way of getting a carrier's signal to a device at one address.

    way           "indoors", "window", "outdoor unit" or "roof antenna"; sold as the plan says
    fits          the antenna covers the carrier; False only for a roof antenna of other bands
    site, bearing_deg   the sector that is best by this way (indoors another may win)
    loss_db       of the path to where the antenna, or the illuminated wall, stands; entry_loss_db of that wall (0 outdoors)
    rsrp_dbm      at the device: RSRP of LTE and NR, RSCP of UMTS, RSSI of GSM; sinr_db, rsrq_db as radio.mobile_signal.Ratio
    interference_dbm, noise_dbm   in the reference's bandwidth
    sigma_db, sinr_sigma_db       errors of the two; uplink_margin_db over what the site needs
    probability   that it is good enough; possible: that it is not hopeless; weakest "strength", "ratio" or "way back": what holds it back
    port_rsrp_dbm, port_sinr_db   at the antenna's own port, before its cables
    """

    way: str
    sold: bool
    fits: bool
    site: str
    bearing_deg: float
    loss_db: float
    entry_loss_db: float
    gain_dbi: float
    cable_loss_db: float
    rsrp_dbm: float
    rsrq_db: float
    sinr_db: float
    interference_dbm: float
    noise_dbm: float
    sigma_db: float
    sinr_sigma_db: float
    uplink_margin_db: float
    probability: float
    possible: float
    weakest: str = "strength"
    port_rsrp_dbm: float = float("nan")
    port_sinr_db: float = float("nan")


@dataclass(frozen=True, slots=True)
class SectorLine:
    """One mobile sector at one address: the strongest of its operator and band.

    rsrp_dbm, sinr_db, rsrq_db, sigma_db, probability   by the best way that is sold, which `way` names; margin_db over the wanted RSRP
    ways          all four, the one with the least work first
    counts        operator and technology are sold, and a way that fits; wanted_ratio_db of its technology
    gap_db        to the next sector of the same operator and band, which is of second_site; NaN where there is none
    bearing_error_deg   of a site known from an open cell list alone: aim between bearing - error and bearing + error; else 0
    disturbers    (operator, site, sector, dBm into the reference) of the strongest interferers by that way
    warnings      what else holds: out of timing's reach, bands the roof antenna misses
    """

    sector: Sector
    distance_m: float
    bearing_deg: float
    loss_db: float
    rsrp_dbm: float
    margin_db: float
    sigma_db: float
    probability: float
    profile: Profile | None = None
    profile_file: str = ""
    path_command: str = ""
    tx_height_agl_m: float = float("nan")
    rx_height_agl_m: float = float("nan")
    ray_blocked_m: float = float("nan")
    diffraction_db: float = float("nan")
    magnetic_bearing_deg: float = float("nan")
    sinr_db: float = float("nan")
    rsrq_db: float = float("nan")
    way: str = ""
    ways: tuple[WayLine, ...] = ()
    counts: bool = True
    wanted_ratio_db: float = float("nan")
    gap_db: float = float("nan")
    second_site: str = ""
    bearing_error_deg: float = 0.0
    disturbers: tuple[tuple[str, str, str, float], ...] = ()
    warnings: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class MobileFinding:
    """Mobile internet at one address: the best sector of each operator and band that is sold, best first; unsold: the others, also heard.

    enough   the way with the least work that is good enough for the first line, "" where none is proven
    kit      what to bring for that way (for the best one where none is proven): codes of words.mobile with their counts
    """

    spot: Spot | None
    lines: tuple[SectorLine, ...] = ()
    enough: str = ""
    kit: tuple[Reason, ...] = ()
    unsold: tuple[SectorLine, ...] = ()


@dataclass(frozen=True, slots=True)
class AddressFinding:
    """One row of the list, judged (or not judged, with its reason). verdicts has one entry for each of SERVICES."""

    row: AddressRow
    verdicts: Mapping[str, Verdict]
    job: State
    ground_amsl_m: float = float("nan")
    surface_amsl_m: float = float("nan")
    declination_deg: float = float("nan")
    satellite: SatelliteFinding | None = None
    terrestrial: TerrestrialFinding | None = None
    mobile: MobileFinding | None = None
    sheet_file: str = ""  # "sheets/0017-orchard-steep-14.html", "" where this run writes none
    outlets: OutletFinding | None = None
    expected: tuple[Expected, ...] = ()  # what a meter should show, place by place


@dataclass(frozen=True, eq=False)
class Backdrop:
    """A grey picture of the land for the map, warped to Web Mercator (EPSG:3857) so that it lies where the terrain lies.

    shade (rows, cols) uint8 0..255; alpha (rows, cols) uint8, 0 where unknown; bounds in degrees
    """

    shade: np.ndarray
    alpha: np.ndarray
    west_deg: float
    south_deg: float
    east_deg: float
    north_deg: float
    caption: str = ""


@dataclass(frozen=True, eq=False)
class Overlay:
    """One question of the area map, answered for every pixel: Web Mercator (EPSG:3857) pixels, so that it lies where the terrain lies.

    name        short and plain ASCII, as in file names: "sees-25e", "mount-height", "tv-field"
    question    as the map asks it: "Where does a dish see Oriel 25E?"
    values      (rows, cols), row 0 in the north: uint8 codes where classes are named, else float32; unknown is 255 or NaN
    classes     (code, key, words) of each code that occurs; key is "clear", "partly", "blocked", "unknown", or "" where it is a name
    unit        of float32 values: "m", "dBuV/m", "dBm"; "" for classes
    threshold, threshold_words   the value that decides and what it means; NaN and "" where there is none
    legend      one sentence that says what is drawn
    bounds in degrees, kept exactly (outer edges of the picture)
    """

    name: str
    question: str
    values: np.ndarray
    west_deg: float
    south_deg: float
    east_deg: float
    north_deg: float
    classes: tuple[tuple[int, str, str], ...] = ()
    unit: str = ""
    threshold: float = float("nan")
    threshold_words: str = ""
    legend: str = ""


@dataclass(frozen=True, eq=False)
class Findings:
    """One whole run, in the input's order."""

    plan: Plan
    addresses: AddressList
    rows: tuple[AddressFinding, ...]
    satellites: tuple[Satellite, ...] = ()
    transmitters: tuple[Transmitter, ...] = ()
    sectors: tuple[Sector, ...] = ()
    backdrops: tuple[Backdrop, ...] = ()
    rejects: tuple = ()  # of Reject: addresses and emitters alike
    notes: tuple[Reason, ...] = ()
    terrain: tuple[Mapping[str, object], ...] = ()  # what each layer is, as check prints it
    made_with: Mapping[str, object] = field(default_factory=dict)  # versions and hashes of inputs; no clock times
    overlays: tuple[Overlay, ...] = ()  # questions of the area map, in the order they are offered; filled by studies.coverage
    outlines: tuple[tuple[tuple[float, float], ...], ...] = ()  # of buildings, for the map: rings of (lon_deg, lat_deg), not closed
