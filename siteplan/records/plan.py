"""All the choices of one run, as read from one plan file (TOML) and checked. Paths are absolute here.

Every key has a default. Each default's `json_schema_extra["source"]` says where it comes from: a standard, or
"common practice, no source".
"""

from __future__ import annotations

import re
from datetime import date as Date
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator

from siteplan.errors import wording
from siteplan.records.lnb import Lnb, Oscillator
from siteplan.records.plan_chain import ChainTable, InstallationTable, MobileProfileTable, ProfileTable, ReadingsTable

PRACTICE = wording("common practice, no source")
_UNIVERSAL = (Oscillator(9750.0, 10_700.0, 11_700.0), Oscillator(10_600.0, 11_700.0, 12_750.0, True))
LNBS = (Lnb("universal single", "linear", _UNIVERSAL), Lnb("universal circular single", "circular", _UNIVERSAL))


def _key(default: object, source: str, what: str, **limits: object) -> object:
    return Field(default=default, description=what, json_schema_extra={"source": source}, **limits)  # type: ignore[call-overload]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


class TerrainTable(_Table):
    """One [[terrain]] table: a ground raster and what is known to stand on it."""

    ground: Path
    surface: Path | None = None
    height_above_ground: tuple[Path, ...] = ()  # one file or a list; what stands there is not told
    building_height: tuple[Path, ...] = ()  # heights above ground of buildings alone
    canopy_height: tuple[Path, ...] = ()  # heights above ground of trees and bushes alone
    surface_has: tuple[Literal["buildings", "trees"], ...] = ("buildings", "trees")  # what the surface raster holds
    height_above_ground_has: tuple[Literal["buildings", "trees"], ...] = ()  # what the height_above_ground rasters hold together
    height_void_is_zero: bool = False  # where the rasters of heights above ground are void, nothing stands
    buildings: Path | None = None
    vertical_unit: Literal["", "m", "ft", "us-ft", "cm"] = ""  # "" : as the file's own tag says, else metres
    crs: str = ""
    flown_on: Date | None = None
    vertical_datum: str = ""
    nodata: float | None = None  # one more value that marks voids in the rasters of this table
    height_error_m: float | None = Field(default=None, gt=0, le=100)  # 1 sigma; from the cell size where absent
    buildings_layer: str = ""
    height_field: str = ""


class AddressesTable(_Table):
    """[addresses]: the list and how to read it."""

    file: Path | None = None
    crs: str = ""
    columns: dict[str, str] = Field(
        default_factory=dict
    )  # ours -> theirs: id, name, lat_deg, lon_deg, x, y, position_error_m, wanted, mount
    sheet: str = ""
    layer: str = ""


class SatellitesTable(_Table):
    """[satellites]: which are wanted, and the table of transponders."""

    wanted: tuple[float, ...] = ()  # read from "19.2E", "30W" or degrees; east positive
    file: Path | None = None
    beams: tuple[Path, ...] = ()  # footprints: contours (GeoJSON, GeoPackage) or a table of beam shapes
    wanted_transponders: tuple[str, ...] = ()  # names as in the table, "25E: O1" for one satellite's; absent: all whose EIRP is stated
    station_keeping_deg: float = _key(
        0.1, "standard: ITU Radio Regulations, No. 22.8 (memory)", "half the side of the box a satellite is kept in", ge=0, le=10
    )
    orbits: Path | None = None  # two-line elements or orbit mean-elements messages, by catalogue_number or name of the satellite


class TransmittersTable(_Table):
    """[transmitters]: terrestrial TV."""

    file: Path | None = None
    patterns: Path | None = None  # table of antenna patterns: pattern, cut, angle_deg, loss_db
    scan_tables: tuple[Path, ...] = ()  # open DVB scan tables, each called as its transmitter is
    greatest_distance_km: float = _key(120.0, PRACTICE, "transmitters farther than this are not looked at", gt=0, le=400)
    raster: Literal["8 MHz", "7 MHz", "6 MHz"] = _key("8 MHz", "standard: GE06 Agreement", "raster of channels where a row names none")
    top_mhz: float = _key(
        694.0, "standard: ITU Radio Regulations, Region 1 where the 700 MHz band is cleared", "top of the TV band", ge=200, le=1000
    )
    region: str = _key("", PRACTICE, "region whose programmes are wanted; its transmitters come first, empty: none")
    interference_km: float = _key(
        150.0, PRACTICE, "transmitters farther than this, and than greatest_distance_km, do not disturb", ge=0, le=1000
    )
    reception: Literal["fixed", "portable indoor"] = _key(
        "fixed", "standard: GE06 Agreement, annex 2", "fixed: roof aerial, Ricean channel; portable indoor: Rayleigh channel at 1.5 m"
    )


class MobileTable(_Table):
    """[mobile]: sectors, what of them is sold, and the house that stands between a signal and a device indoors."""

    file: Path | None = None
    greatest_distance_km: float = _key(35.0, PRACTICE, "sectors farther than this are not looked at", gt=0, le=200)
    operators_sold: tuple[str, ...] = ()  # as the table of sectors names them; empty: all. Others still interfere
    technologies: tuple[Literal["GSM", "UMTS", "LTE", "NR"], ...] = _key(("LTE", "NR"), PRACTICE, "technologies that still count")
    ways: tuple[Literal["window", "indoors", "outdoor unit", "roof antenna"], ...] = _key(
        ("window", "indoors", "outdoor unit", "roof antenna"), PRACTICE, "ways sold of getting the signal to the device"
    )
    load: float = _key(0.5, PRACTICE, "share of its power a sector sends on average, where the table does not say", ge=0, le=1)
    building: Literal["traditional", "thermally_efficient"] = _key(
        "traditional", "standard: ITU-R P.2109 (which kind a house is: common practice)", "what walls and windows let through"
    )
    tdd_guard_us: float = _key(
        142.7, "standard: 3GPP TS 36.211, table 4.2-1: two symbols (memory)", "guard period of time division", gt=0, le=800
    )
    operator_names: dict[str, str] = Field(default_factory=dict)  # of an open cell list: "262-01" = "name"
    list_height_agl_m: float = _key(30.0, PRACTICE, "antenna height of a site of an open cell list", ge=1, le=300)

    @field_validator("operator_names")
    @classmethod
    def _networks(cls, value: dict[str, str]) -> dict[str, str]:
        for code in value:
            if not re.fullmatch(r"\d{3}-\d{1,3}", code):
                raise ValueError(f"{code!r} is no network; write country and network as in \"262-01\" = \"name\"")
        return value


class MountTable(_Table):
    """[mount]: where antennas stand by default."""

    dish_height_agl_m: float = _key(3.0, PRACTICE, "dish centre above ground", ge=0.2, le=300)
    aerial_height_agl_m: float = _key(
        10.0, "standard: ITU-R fixed roof-level reception (BT.1368, GE06)", "TV aerial above ground", ge=0.5, le=300
    )
    mobile_height_agl_m: float = _key(6.0, PRACTICE, "mobile antenna above ground", ge=0.5, le=300)
    indoor_height_agl_m: float = _key(4.0, PRACTICE, "device indoors above ground: a window one floor up", ge=1.0, le=300)
    above_roof_m: float = _key(1.0, PRACTICE, "antenna centre above the roof it stands on", ge=0.1, le=20)
    highest_above_roof_m: float = _key(3.0, PRACTICE, "highest mount tried on a roof", ge=0.1, le=50)
    highest_agl_m: float = _key(6.0, PRACTICE, "highest mount tried from the ground", ge=0.2, le=300)
    own_support_m: float = _key(1.0, PRACTICE, "surface nearer than this is the mount's own support (roof and chimney only)", ge=0, le=10)
    wall_offset_m: float = _key(0.75, PRACTICE, "dish centre outside the wall it hangs on", ge=0.2, le=3)
    wall_view_deg: float = _key(80.0, PRACTICE, "how far to either side of straight out a dish on a wall can turn", gt=0, le=90)
    snap_m: float = _key(15.0, PRACTICE, "a point in the street is moved to the nearest building within this", ge=0, le=100)
    height_error_m: float = _key(0.1, PRACTICE, "how far off the height of an antenna's centre may be, 1 sigma", ge=0, le=5)
    placement_error_m: float = _key(
        1.0, PRACTICE, "how far from the spot on the sheet an antenna may be put up, where the building is sure, 1 sigma", ge=0, le=20
    )
    aim_error_deg: float = _key(0.2, PRACTICE, "how far off a dish is aimed, 1 sigma up and sideways each", ge=0, le=5)
    skew_error_deg: float = _key(2.0, PRACTICE, "how far off an LNB is turned, 1 sigma", ge=0, le=30)
    plots: Path | None = None  # polygons of building plots: an address is looked at on the one that holds it
    search: Literal["auto", "never"] = _key("auto", PRACTICE, "auto: where the first spot can't be booked, other spots are looked for")
    search_radius_m: float = _key(8.0, PRACTICE, "how far around a building, or a point, a spot is looked for without a plot", ge=0, le=50)
    entry_deg: float | None = Field(
        default=None, ge=0, lt=360, description="bearing of the side of the house where the cable goes in; absent: nearest the address"
    )
    cable_detour: float = _key(1.3, PRACTICE, "cable along walls over the rectangular way", ge=1, le=5)
    cable_spare_m: float = _key(3.0, PRACTICE, "cable added for ends and bends", ge=0, le=50)
    kind: Literal["auto", "ground", "wall", "roof", "chimney"] = _key(
        "auto", PRACTICE, "auto: on the roof where the address lies on a building, else on the ground"
    )


class KitTable(_Table):
    """[kit]: what the van carries."""

    dishes_m: tuple[float, ...] = _key((0.6, 0.8, 1.0, 1.2), PRACTICE, "dish diameters, metres")
    dish_efficiency: float = _key(0.65, PRACTICE, "aperture efficiency", gt=0.2, le=0.9)
    dish_offset_deg: float | None = Field(
        default=None, ge=0, le=40, description="offset angle of the dishes: how far below its beam the face looks; absent: not known"
    )
    dish_focal_ratio: float = _key(0.6, PRACTICE, "focal length over diameter of the dishes", ge=0.3, le=1.5)
    dish_feeds: int = _key(4, PRACTICE, "most LNBs on one dish", ge=1, le=8)
    feed_spread_deg: float = _key(10.0, PRACTICE, "farthest from the dish's aim that an LNB may be set", ge=0, le=30)
    lnb_noise_figure_db: float = _key(0.7, PRACTICE, "LNB noise figure", ge=0.1, le=5)
    lnb: tuple[Lnb, ...] = _key(LNBS, PRACTICE, "LNBs; for each satellite the first that takes most of its transponders")
    lnb_feeds: Literal["receiver", "multiswitch"] = _key("receiver", PRACTICE, "what the LNB's outputs go to")
    antenna_noise_k: float = _key(45.0, PRACTICE, "sky and ground noise into a dish in clear sky", ge=5, le=300)
    cross_polar_db: float = _key(25.0, PRACTICE, "cross-polar discrimination of dish and LNB in the axis", ge=5, le=60)
    off_axis: Literal["BO.1213", "S.465"] = _key(
        "BO.1213", "standard: ITU-R BO.1213-1, receiving dishes of broadcasting satellites", "pattern of a dish beside its axis"
    )
    implementation_loss_db: float = _key(1.0, PRACTICE, "real receivers over the ideal DVB-S2 threshold", ge=0, le=5)
    aerial_gain_dbd: float = _key(10.0, "standard: GE06 / BT.419 reference gain at 500 MHz (memory)", "TV aerial gain", ge=-10, le=25)
    aerial_feeder_loss_db: float = _key(
        3.0, "standard: GE06 planning feeder loss at 500 MHz (memory)", "feeder loss of a TV aerial", ge=0, le=30
    )
    aerial_directivity: tuple[tuple[float, float], ...] = ()  # ((degrees off its axis, dB turned away), ...); empty: BT.419-3
    amplifier_gain_db: float = _key(0.0, PRACTICE, "gain of the mast-head amplifier, 0 where there is none", ge=0, le=45)
    amplifier_noise_figure_db: float = _key(2.0, PRACTICE, "noise figure of the mast-head amplifier", ge=0.1, le=15)
    amplifier_most_dbuv: float = _key(100.0, PRACTICE, "highest level that leaves a mast-head amplifier clean", ge=70, le=130)
    mobile_gain_dbi: float = _key(9.0, PRACTICE, "gain of the mobile roof antenna", ge=-5, le=30)
    mobile_feeder_loss_db: float | None = Field(default=None, ge=0, le=30)  # of its cable at any frequency; absent: from cable and length
    mobile_cable: Literal["5 mm foam", "6 mm foam", "7 mm foam", "10 mm foam"] = _key(
        "7 mm foam", PRACTICE, "50 ohm cable of the mobile roof antenna (losses: typical data sheets, within 10 %)"
    )
    mobile_cable_m: float = _key(10.0, PRACTICE, "length of each of its two cables", ge=0, le=200)
    mobile_connectors_db: float = _key(0.5, PRACTICE, "connectors and surge arrester in each cable", ge=0, le=10)
    mobile_beamwidth_deg: float = _key(60.0, PRACTICE, "beam of the mobile roof antenna at -3 dB", ge=5, le=360)
    mobile_front_to_back_db: float = _key(15.0, PRACTICE, "how much less it hears from behind", ge=0, le=40)
    mobile_bands_mhz: tuple[str, ...] = _key(
        ("694-960", "1427-2700", "3300-3800"), PRACTICE, "bands of the mobile roof antenna, MHz from-to"
    )
    outdoor_unit_gain_dbi: float = _key(6.0, PRACTICE, "antenna gain of an outdoor unit on an Ethernet cable", ge=-5, le=30)
    device_gain_dbi: float = _key(0.0, PRACTICE, "antenna gain of a device indoors", ge=-10, le=10)
    device_noise_figure_db: float = _key(7.0, PRACTICE, "noise figure of a mobile device", ge=0, le=15)

    @field_validator("mobile_bands_mhz")
    @classmethod
    def _spans(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        for span in value:
            found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*-\s*(\d+(?:\.\d+)?)\s*", span)
            if found is None or not float(found[1]) < float(found[2]):
                raise ValueError(f"{span!r} is no band; write lowest-highest in MHz, such as \"694-960\"")
        return value


class LimitsTable(_Table):
    """[limits]: what is good enough."""

    clear_sky_margin_db: float = _key(6.0, PRACTICE, "link margin wanted in clear sky over the implemented threshold", ge=0, le=20)
    availability_pct: float = _key(
        99.7, PRACTICE, "share of the average year in which weather must leave a picture (ITU-R P.618: 95 to 99.999)", ge=95, le=99.999
    )
    smallest_elevation_deg: float = _key(5.0, PRACTICE, "satellites lower than this are not promised", ge=0, le=45)
    book_probability: float = _key(0.95, PRACTICE, "book at or above", gt=0.5, lt=1)
    not_feasible_probability: float = _key(0.05, PRACTICE, "not feasible at or below", gt=0, lt=0.5)
    growth_m_per_year: float = _key(0.4, PRACTICE, "how fast growth grows", ge=0, le=3)
    growth_years: float = _key(5.0, PRACTICE, "for how many years a view must stay clear", ge=0, le=50)
    position_error_m: float = _key(5.0, PRACTICE, "least position error of an address, 1 sigma", ge=0, le=1000)
    rsrp_dbm: float = _key(-100.0, PRACTICE, "RSRP wanted at the device", ge=-140, le=-40)
    rsrp_floor_dbm: float = _key(-115.0, PRACTICE, "RSRP below which mobile internet is hopeless", ge=-140, le=-40)
    sinr_db: float = _key(5.0, PRACTICE, "SINR wanted at the device", ge=-10, le=30)
    sinr_floor_db: float = _key(0.0, PRACTICE, "SINR below which mobile internet is hopeless", ge=-20, le=30)
    delta_n: float = _key(
        45.0, "standard: ITU-R P.1812, typical temperate value", "lapse of the radio refractive index, N-units/km", gt=0, le=150
    )
    n0: float = _key(325.0, "standard: ITU-R P.1812, typical temperate value", "sea-level surface refractivity, N-units", ge=200, le=450)
    method_sigma_db: float = _key(6.0, PRACTICE, "error of a predicted median field beyond location variability, 1 sigma", ge=0, le=20)


MethodName = Literal[
    "p1812", "hata_open", "hata_suburban", "hata_urban", "hata_dense_urban", "cost231_urban", "cost231_dense_urban",
    "tr38901_rma", "tr38901_uma", "tr38901_umi",
]  # fmt: skip


class PropagationTable(_Table):
    """[propagation]: by which method the paths of TV and mobile are worked. The statistical ones are for coarse terrain alone."""

    method_tv: MethodName = _key("p1812", "standard: ITU-R P.1812-8", "method for TV paths; siteplan methods tells what each needs")
    method_mobile: MethodName = _key("p1812", "standard: ITU-R P.1812-8", "method for mobile paths")
    statistical_sigma_db: float = _key(
        10.0, PRACTICE, "error of a median by any method but p1812, 1 sigma, where it is more than limits.method_sigma_db", ge=0, le=30
    )
    unknown_clutter: Literal["", "open_rural", "suburban", "urban", "trees_forest", "dense_urban"] = _key(
        "",
        "standard: ITU-R P.2108-1, 3.1",
        "what stands round a house where no height of it is known on the whole path; adds to p1812 alone; empty: nothing is added",
    )


class AreaTable(_Table):
    """[area]: what maps of the area cover, and how finely."""

    bounds: tuple[float, ...] = ()  # west, south, east, north in degrees; absent: the addresses on the finest terrain, and margin_m
    margin_m: float = _key(250.0, PRACTICE, "how far around the addresses an area reaches", ge=0, le=50_000)
    cell_m: float | None = Field(
        default=None, ge=0.25, le=5_000, description="side of a map cell; absent: the finest of 2, 5, 10, ... m with up to 500,000 cells"
    )
    arc_step_deg: float = _key(15.0, PRACTICE, "the whole arc is looked at every so many degrees of orbit; 0 leaves it out", ge=0, le=60)
    radio_paths: int = _key(
        10_000, PRACTICE, "paths over the ground worked for TV, and for mobile, before cells share one", ge=100, le=10_000_000
    )


class OutputsTable(_Table):
    """[outputs]: where results go and which."""

    folder: Path | None = None
    sheets: Literal["auto", "all", "none"] = _key(
        "auto", PRACTICE, "which rows get a sheet; auto: all up to most_sheets, in longer lists those to survey first"
    )
    sheet_states: tuple[Literal["book", "survey first", "not feasible", "not judged"], ...] = ()  # only rows whose job is in these
    sheet_rows: tuple[str | int, ...] = ()  # only these: ids, or numbers of rows
    most_sheets: int = _key(500, PRACTICE, "how many sheets auto writes at most", ge=0, le=1_000_000)
    language: Literal["en", "de", "fr"] = _key(
        "en", PRACTICE, "language of pages, of sentences in files and of what commands say; states, names of columns and keys stay English"
    )
    units: Literal["metres", "feet"] = _key("metres", PRACTICE, "lengths on pages and in sentences; columns (_m) and plans stay in metres")


class MapTable(_Table):
    """[map]: pictures of streets beneath the area map, from a server of the user's choice. Without a URL no page asks for anything."""

    tile_url: str = ""  # "https://host/path/{z}/{x}/{y}.png", Web Mercator tiles
    tile_attribution: str = ""  # whom the pictures come from, as their owner wants it said


class Plan(_Table):
    """One plan. `file` is the plan's own path; date None: nothing in the plan hangs on a date, or run takes today and says so."""

    file: Path
    name: str = ""
    date: Date | None = None
    timezone: str = ""  # as in "Europe/Lisbon": local times on sheets; empty: UTC
    terrain: tuple[TerrainTable, ...] = ()
    addresses: AddressesTable = AddressesTable()
    satellites: SatellitesTable = SatellitesTable()
    transmitters: TransmittersTable = TransmittersTable()
    mobile: MobileTable = MobileTable()
    mount: MountTable = MountTable()
    kit: KitTable = KitTable()
    limits: LimitsTable = LimitsTable()
    propagation: PropagationTable = PropagationTable()
    installation: InstallationTable = InstallationTable()
    profiles: tuple[ProfileTable, ...] = ()
    mobile_profiles: tuple[MobileProfileTable, ...] = ()
    chains: tuple[ChainTable, ...] = ()
    readings: ReadingsTable = ReadingsTable()
    area: AreaTable = AreaTable()
    outputs: OutputsTable = OutputsTable()
    map: MapTable = MapTable()

    @field_validator("timezone")
    @classmethod
    def _known_zone(cls, value: str) -> str:
        from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

        try:
            return value and ZoneInfo(value).key
        except (ZoneInfoNotFoundError, ValueError, OSError):
            raise ValueError(f"{value!r} is no timezone; give one as in \"Europe/Lisbon\", or leave it out for UTC") from None


def tile_host(url: str) -> str:
    """Return "https://host" of a template of map pictures, "" where it is none: a page may ask this host alone, and for pictures alone."""
    found = re.fullmatch(r"(https://[A-Za-z0-9.-]+(?::\d{1,5})?)/[A-Za-z0-9/._~%?&=+{}-]*", url)
    plain = all(url.count("{" + name + "}") == 1 for name in "xyz") and url.count("{") == url.count("}") == 3
    return found.group(1) if found and plain else ""
