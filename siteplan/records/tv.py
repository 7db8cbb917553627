"""What the TV service finds besides fields and margins: who disturbs, which aerial, amplifier and filter, which aims are open."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Disturbance:
    """One unwanted sender on one wanted multiplex, at 1 % of time.

    relation              "same channel", "overlap", "next channel" or "own network" (arrives outside the guard interval)
    field_dbuv_per_m      at the house, median over locations; discrimination_db what the aerial turns away of it, 0 or more
    protection_db         ratio that the wanted needs over it; weight_db what of it counts (own network), 0 or less
    nuisance_dbuv_per_m   field that the wanted must reach because of it: field - discrimination + protection + weight
    free_space            the field is only bounded by free space: the ground on the way is not known
    """

    transmitter: str
    multiplex: str
    relation: str
    frequency_mhz: float
    bearing_deg: float
    distance_m: float
    field_dbuv_per_m: float
    discrimination_db: float
    protection_db: float
    nuisance_dbuv_per_m: float
    weight_db: float = 0.0
    free_space: bool = False


@dataclass(frozen=True, slots=True)
class MobileAtAerial:
    """Mobile senders at the TV aerial's terminals, the strongest named; levels over 75 ohm.

    advice      "none", "filter", "filter_first" (before the amplifier), "amplifier_harmful"
    why         "overload", "ratio" (stronger than the weakest wanted channel bears) or ""
    after_amplifier_dbuv  NaN where there is no amplifier
    uplink      the highest channel aimed at lies beside the 703 MHz uplink of a band that is used here
    """

    operator: str
    site: str
    frequency_mhz: float
    level_dbuv: float
    total_dbuv: float
    advice: str
    why: str = ""
    after_amplifier_dbuv: float = float("nan")
    uplink: bool = False
    uplink_dbuv: float = float("nan")


@dataclass(frozen=True, slots=True)
class AerialChoice:
    """What to put up for the best aim, and what stays open.

    group, from_mhz, to_mhz    aerial group for the channels aimed at (of both aims where two stay open), and the frequencies it must take
    plane                      "h" or "v": how the elements lie; slant True where 45 degrees would take 3 dB more
    amplifier                  "none", "masthead", "attenuator" or "apart" (levels too far apart for either)
    weakest_dbuv, strongest_dbuv   at the receiver's input after the planned feeder
    helps_db                   what a mast-head amplifier adds to the margin
    open_with                  name of the second aim that can't be told apart from the first, "" where it can
    difference_db, difference_sigma_db   of the margins of the two over the programmes they share
    second                     transmitter whose aerial would add programmes ("" none); adds: those; filter_fits: channels lie apart
    mobile                     None where no mobile sender matters
    """

    group: str
    from_mhz: float
    to_mhz: float
    plane: str
    amplifier: str = "none"
    attenuator_db: float = 0.0
    weakest_dbuv: float = float("nan")
    strongest_dbuv: float = float("nan")
    helps_db: float = 0.0
    slant: bool = False
    open_with: str = ""
    difference_db: float = float("nan")
    difference_sigma_db: float = float("nan")
    second: str = ""
    adds: tuple[str, ...] = ()
    filter_fits: bool = True
    mobile: MobileAtAerial | None = None
