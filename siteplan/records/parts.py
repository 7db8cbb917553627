"""What lies in the van, and how it is joined: parts of the catalogue, a chain from antenna to outlet, and what arrives there."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.records.verdict import Reason

PART_KINDS = (
    "lnb", "aerial", "cable", "amplifier", "mast_head", "filter", "attenuator", "equaliser", "switch", "combiner", "splitter", "tap",
    "multiswitch", "single_cable", "outlet", "receiver", "connector", "mount",
)  # fmt: skip
SUB_BANDS = ("VL", "HL", "VH", "HH")  # vertical or horizontal (right or left), low or high band
TERRESTRIAL = "TV"  # the line of a terrestrial aerial, beside the sub-bands of a satellite


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the catalogue: generic, of a standard class.

    kind            one of PART_KINDS
    gain_points     (MHz, dB) from input to through (trunk) or only output, losses negative; a cable: attenuation in dB per 100 m, positive
    tap_points      (MHz, dB) from input to a subscriber's port of a tap or multiswitch; () where all outputs are alike
    inputs, outputs how many; outputs counts subscriber ports
    low_mhz, high_mhz  where the data hold; beyond it nothing is known
    fixed_lines     an LNB whose outputs are fixed sub-bands (for multiswitches alone); False: each output is switched by the receiver
    wideband        an LNB or a part for the wideband system (300-2350 MHz on the cable)
    max_output_dbuv two-carrier rating of an amplifying part at 35 dB intermodulation distance (EN 60728-5)
    output_dbuv     level that a gain-controlled output holds; NaN where not gain controlled
    current_ma      what it draws over the cable; supply_ma what it can feed upstream (0: nothing)
    passes_dc       lets the receiver's supply through to what is before it
    diode_isolated  a splitter whose ports can't feed each other (needed on single-cable systems)
    user_bands_mhz  centre frequencies of a single-cable part; standard "EN 50494" or "EN 50607"
    sigma_db        1 sigma of its gain from one piece to the next
    """

    name: str
    kind: str
    low_mhz: float = 0.0
    high_mhz: float = float("inf")
    gain_points: tuple[tuple[float, float], ...] = ()
    tap_points: tuple[tuple[float, float], ...] = ()
    inputs: int = 1
    outputs: int = 1
    fixed_lines: bool = False
    wideband: bool = False
    noise_figure_db: float = float("nan")
    max_output_dbuv: float = float("nan")
    output_dbuv: float = float("nan")
    isolation_db: float = float("nan")
    current_ma: float = 0.0
    supply_ma: float = 0.0
    passes_dc: bool = True
    diode_isolated: bool = False
    loop_ohm_per_100m: float = float("nan")
    impedance_ohm: float = 75.0
    user_bands_mhz: tuple[float, ...] = ()
    standard: str = ""
    sigma_db: float = 0.0
    price: float = float("nan")
    note: str = ""


@dataclass(frozen=True, slots=True)
class Item:
    """One part in its place. fed_from: ids of what feeds it, or "id:port" ("ms:trunk", "tap:through", "lnb:VL", "lnb:2").

    serves      of an LNB or aerial: the satellite's name, or "TV"
    length_m    of a cable
    user_bands  of a receiver on a single-cable system: the user band of each tuner, from 1
    """

    id: str
    part: Part
    fed_from: tuple[str, ...] = ()
    length_m: float = 0.0
    serves: str = ""
    user_bands: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Chain:
    """From antennas to outlets: a tree of items; outlets and receivers are its ends."""

    name: str
    items: tuple[Item, ...]
    system: str = ""


@dataclass(frozen=True, slots=True)
class Carrier:
    """One transponder or multiplex as it leaves its LNB or aerial.

    source           the satellite's name, or "TV": what an Item serves
    line             one of SUB_BANDS, or TERRESTRIAL
    frequency_mhz    on the cable: IF of a transponder, channel centre of a multiplex
    bandwidth_mhz    in which the level is its channel power
    level_dbuv, level_sigma_db   at the LNB's output or the aerial's terminals, 75 ohm
    cn_db            there, the LNB's noise counted; cn_sigma_db
    threshold_db     C/N at which it just works, implementation loss counted
    modulation       as profiles name it: "DVB-S2", "DVB-T 64QAM 2/3", ...
    on_line          carriers on its line, those of unknown strength counted: they load amplifiers too; 0: as many as are listed
    most_over_db     of a signal that nobody wants (a mobile sender's): how far over the weakest wanted one it may be; NaN: it is wanted
    """

    name: str
    source: str
    line: str
    frequency_mhz: float
    bandwidth_mhz: float
    level_dbuv: float
    cn_db: float
    threshold_db: float
    modulation: str
    level_sigma_db: float = 5.0
    cn_sigma_db: float = 1.5
    rf_mhz: float = float("nan")  # in the air
    most_over_db: float = float("nan")
    on_line: int = 0


@dataclass(frozen=True, slots=True)
class Window:
    """What a profile wants at the outlet for one modulation: level window in dBuV, C/N over the carrier's threshold in dB."""

    modulation: str
    min_dbuv: float
    max_dbuv: float
    source: str
    cn_over_threshold_db: float = 0.0


@dataclass(frozen=True, slots=True)
class LevelProfile:
    """A named set of limits at the outlet.

    slope_db        greatest difference between the levels of one band
    isolation_db    least isolation between two outlets of one home; isolation_flats_db of two homes
    headroom_db     least intermodulation headroom at an amplifying part
    """

    name: str
    windows: tuple[Window, ...]
    slope_db: float
    isolation_db: float
    headroom_db: float
    source: str
    isolation_flats_db: float = 0.0


@dataclass(frozen=True, slots=True)
class Step:
    """What one item does to one carrier: gain, and level and C/N after it. headroom_db NaN where nothing amplifies."""

    item: str
    part: str
    gain_db: float
    level_dbuv: float
    cn_db: float
    headroom_db: float = float("nan")


@dataclass(frozen=True, slots=True)
class OutletReading:
    """One carrier at one outlet, as a meter should read it.

    margin_db     C/N over its threshold there
    min_dbuv, max_dbuv   the profile's window
    passes        C/N decides; level must lie within its window
    frequency_mhz what the receiver's cable carries there: the user band on a single-cable system
    """

    outlet: str
    carrier: Carrier
    frequency_mhz: float
    level_dbuv: float
    level_sigma_db: float
    cn_db: float
    margin_db: float
    min_dbuv: float
    max_dbuv: float
    passes: bool
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class OutletState:
    """One outlet: slope of each band, isolation to its nearest neighbour, direct current to each LNB that it feeds.

    isolation_db  from this outlet's end to the nearest other outlet's, both ways between counted; infinity where it stands alone
    nearest       that other outlet
    slopes        (band, dB): level of the highest less that of the lowest frequency the chain passes, carriers of equal level assumed
    volts         (source, volts at its LNB on 18 V, current in mA) for each LNB fed from here
    """

    outlet: str
    readings: tuple[OutletReading, ...]
    slopes: tuple[tuple[str, float], ...] = ()
    isolation_db: float = float("nan")
    volts: tuple[tuple[str, float, float], ...] = ()
    reasons: tuple[Reason, ...] = ()
    nearest: str = ""
    user_bands: tuple[tuple[int, float], ...] = ()  # on a single-cable system (user band from 1, MHz) of each tuner

    @property
    def passes(self) -> bool:
        """Return whether every reading passes and nothing else is wrong here."""
        return not self.reasons and all(reading.passes for reading in self.readings)


@dataclass(frozen=True, slots=True)
class Change:
    """One change that makes a failing chain pass: what (a reason with its values), what it costs, and the chain with what it gives.

    lowest_dbuv, highest_dbuv, margin_db   over all carriers and outlets then
    dishes        (satellites, diameter) of each dish that it makes larger
    """

    what: tuple[Reason, ...]
    price: float
    chain: Chain
    outlets: tuple[OutletState, ...]
    lowest_dbuv: float = float("nan")
    highest_dbuv: float = float("nan")
    margin_db: float = float("nan")
    dishes: tuple[tuple[tuple[str, ...], float], ...] = ()


@dataclass(frozen=True, slots=True)
class KitLine:
    """One line of the van's list. quantity in unit ("m" for cable, else "")."""

    part: str
    quantity: float
    unit: str = ""
    spare: float = 0.0


@dataclass(frozen=True, slots=True)
class DishUse:
    """One dish that goes up: diameter (NaN: not known), and (satellite, dB that its LNB loses beside the focus) for each LNB on it."""

    dish_m: float
    satellites: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class OutletFinding:
    """The way from antennas to outlets at one address: chain, levels, what to change where it fails, and the kit."""

    chain: Chain | None
    profile: LevelProfile | None
    outlets: tuple[OutletState, ...] = ()
    changes: tuple[Change, ...] = ()
    past_help: tuple[str, ...] = ()  # carriers whose C/N is short at the antenna already: no part behind it mends that
    kit: tuple[KitLine, ...] = ()
    reasons: tuple[Reason, ...] = ()
    access: str = ""  # what is brought to reach the highest mount: a code of words/outlets, or the plan's own words
    minutes: float = float("nan")  # time for the job, travel not counted
    learned: tuple[Reason, ...] = ()  # what readings nearby say about these figures, shown apart
    if_clear: tuple[str, ...] = ()  # satellites whose view is not clear yet: their levels hold once it is
    dishes: tuple[DishUse, ...] = ()
    positions: tuple[tuple[str, int], ...] = ()  # satellite, its position from 0 in a single-cable receiver's commands
