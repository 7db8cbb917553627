"""The keys of a plan that tell the way from antenna to outlet: the house's wiring, a company's own limits, chains written out."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

PRACTICE = "common practice, no source"


def _key(default: object, source: str, what: str, **limits: object) -> object:
    return Field(default=default, description=what, json_schema_extra={"source": source}, **limits)  # type: ignore[call-overload]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


class RuleTable(_Table):
    """One line of the rules from outlets to system: up to so many outlets, this system."""

    up_to: int = Field(ge=1, le=999)
    system: str
    satellites: int = Field(default=64, ge=1, le=64)  # only up to so many satellites


class LadderTable(_Table):
    """One class of access: up to this mount height above ground, this is brought."""

    up_to_m: float = Field(ge=0.5, le=200)
    bring: str


class InstallationTable(_Table):
    """[installation]: the wiring from antenna to outlet."""

    outlets: int = _key(1, PRACTICE, "outlets of a house where its row names no number (column outlets)", ge=1, le=64)
    outlets_column: str = _key("outlets", PRACTICE, "column of the address list that holds the number of outlets")
    day_column: str = _key("day", PRACTICE, "column of the address list that names each job's day: the van's list is made day by day")
    system: str = _key("auto", PRACTICE, "auto: by the rules below; else a system's name, or the name of one of the [[chains]]")
    rules: tuple[RuleTable, ...] = ()  # absent: 1-2 direct, 3-4 quad, 5-8 octo (one satellite), to 16 multiswitch, more: cascade
    satellites_on: Literal["auto", "one dish", "dishes"] = _key(
        "auto", PRACTICE, "satellites near one another: one dish, LNBs side by side, where it holds them all (auto), always, or never"
    )
    flats: bool = _key(False, PRACTICE, "flats: cascaded switches whatever the number of outlets")
    one_old_cable: bool = _key(False, PRACTICE, "only one old cable leads to the outlets: single-cable system")
    tuners: int = _key(1, PRACTICE, "tuners at each outlet of a single-cable system", ge=1, le=8)
    to_house_m: float = _key(12.0, PRACTICE, "cable from the antennas to the switch, where no cable run is worked out", ge=0.5, le=500)
    to_outlet_m: float = _key(10.0, PRACTICE, "cable from the switch to each outlet", ge=0.5, le=500)
    cable: str = _key("Cable class A 7 mm", PRACTICE, "the cable that is laid, by its name in the parts list")
    tv_aerial: str = _key("Aerial UHF", PRACTICE, "the TV aerial, by its name in the parts list")
    parts: Path | None = None  # a parts list of your own; absent: siteplan's generic one
    profile: str = _key("EN 60728-1", "standard: EN 60728-1, levels at the system outlet (restated)", "limits at the outlet, by name")
    ladders: tuple[LadderTable, ...] = ()  # absent: up to 3 m a step ladder, 7 m an extension ladder, 12 m a long one, above: a lift
    minutes_satellite: float = _key(90.0, PRACTICE, "time to put up and tune a dish, travel not counted", ge=5, le=2000)
    minutes_more_dish: float = _key(45.0, PRACTICE, "more for each further dish", ge=0, le=2000)
    minutes_more_lnb: float = _key(20.0, PRACTICE, "more for each further LNB on one dish", ge=0, le=2000)
    minutes_terrestrial: float = _key(60.0, PRACTICE, "time to put up and aim a TV aerial", ge=5, le=2000)
    minutes_mobile: float = _key(75.0, PRACTICE, "time to put up and aim a mobile antenna", ge=5, le=2000)
    minutes_outlet: float = _key(20.0, PRACTICE, "time for each outlet, its cable laid along walls", ge=0, le=500)
    minutes_roof: float = _key(30.0, PRACTICE, "more where somebody must go onto a roof", ge=0, le=500)
    mobile_profile: str = _key("mobile, common practice", PRACTICE, "limits of mobile cells at the device, by name")
    lnb_gain_db: float = _key(55.0, PRACTICE, "conversion gain of an LNB; differs by 5 dB from piece to piece", ge=30, le=75)
    lnb_gain_sigma_db: float = _key(3.0, PRACTICE, "1 sigma of an LNB's gain: plus or minus 5 dB is nine pieces of ten", ge=0, le=10)
    meter_sigma_db: float = _key(1.5, PRACTICE, "1 sigma of a meter's level reading", ge=0, le=6)


class ReadingsTable(_Table):
    """[readings]: where measured values are kept, and how a file is matched to a job."""

    store: Path | None = None  # absent: readings.gpkg beside the plan
    match_within_m: float = _key(50.0, PRACTICE, "a file that names only a place is matched to the nearest job within this", ge=1, le=1000)
    device_sigma_db: float = _key(
        3.0, "standard: 3GPP TS 36.133, 9.1.2 (memory): RSRP within 6 dB, taken as 2 sigma", "1 sigma of a device's RSRP", ge=0, le=10
    )
    weak_db: float = _key(1.0, PRACTICE, "a carrier that passes by less than this counts as a weak pass", ge=0, le=6)


class WindowTable(_Table):
    """Limits of one modulation: modulation "" stands for all that are not named."""

    modulation: str = ""
    min_dbuv: float = Field(ge=0, le=130)
    max_dbuv: float = Field(ge=0, le=130)
    cn_over_threshold_db: float = Field(default=0.0, ge=0, le=30)


class ProfileTable(_Table):
    """One [[profiles]] table: a company's own limits at the outlet."""

    name: str
    windows: tuple[WindowTable, ...]
    slope_db: float = Field(default=15.0, ge=0, le=60)
    isolation_db: float = Field(default=22.0, ge=0, le=80)  # between outlets of one home
    isolation_flats_db: float = Field(default=30.0, ge=0, le=80)  # between homes: where the plan says flats
    headroom_db: float = Field(default=0.0, ge=-10, le=30)


class MobileProfileTable(_Table):
    """One [[mobile_profiles]] table: a company's own least values of an LTE or NR cell at the device."""

    name: str
    rsrp_dbm: float = Field(ge=-140, le=-44)
    sinr_db: float = Field(ge=-20, le=40)
    rsrq_db: float = Field(default=-15.0, ge=-43, le=0)


class ItemTable(_Table):
    """One part in its place: id, part (a name of the parts list), fed_from (ids, or "id:port")."""

    id: str
    part: str
    fed_from: tuple[str, ...] = ()
    length_m: float = Field(default=0.0, ge=0, le=2000)
    serves: str = ""
    user_bands: tuple[int, ...] = ()


class ChainTable(_Table):
    """One [[chains]] table: a chain written out item by item."""

    name: str
    items: tuple[ItemTable, ...]
