"""What `siteplan methods` says of each method: what it gives, its edition, what it was checked against, and where it is known to be weak.

Ranges are not here: they come from the code that checks them. The counts of check values are held to the files by a test, the measured
figures are those that tests/benchmarks/bench_measured.py prints.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from siteplan.records.methods import Bound, MethodNote
from siteplan.words.language import NumberFormatter, figures, say, spoken

_NUMBERS = NumberFormatter()
QUANTITIES = {
    "path": "path length",
    "tx_height": "sender's antenna",
    "tx_over_mean_ground": "sender over the mean ground",
    "rx_height": "receiver's antenna",
    "frequency": "frequency",
    "time": "share of time",
    "locations": "share of locations",
    "elevation": "elevation",
    "probability": "probability",
}
HEADINGS = {
    "gives": "Gives",
    "use": "In a plan",
    "range": "Holds for",
    "edition": "Edition",
    "equations": "Equations",
    "checked": "Checked",
    "measured": "Measured",
    "weak": "Known weaknesses",
}
LINES = {
    "head": "Propagation methods. Outside its range a method refuses and says so; nothing is clamped.",
    "head_losses": "Losses that stand apart",
    "bound": "{what} {least} to {most} {unit}",
    "bound_one": "{what} {least} {unit} alone",
    "bound_from": "{what} from {least} {unit}",
    "measured": "{what}: {count} values, bias {bias_db:+.1f}, spread {sigma_db:.1f}, RMSE {rmse_db:.1f} dB",
    "check": "{what}: {count} values, within {within}{test}",
    "check_shared": "{what}: {count} values, within {within} (data not shipped){test}",
    "sources_hint": "Where every other number comes from: siteplan methods sources ({count} entries). Defaults of a plan: siteplan check PLAN --defaults.",
    "sources_head": "Where the numbers come from, as the code itself says; collected from it, {count} entries.",
    "source": "  {name}: {source}{checked}",
    "unknown": "there is no method {name!r}; write one of {names}, or sources",
}
TEXTS = {
    "module": "(whole file)",
    "left_out": "Not here: ITU-R P.1546. Its curves are large tables that belong to the Recommendation, and no copy was found whose terms let it be "
    "shipped; for coarse terrain there are hata_*, cost231_* and tr38901_*. Its definition of effective height is used by those.",
    "page_title": "Methods and sources",
    "page_lead": "What each method gives, where it holds, what it was checked against, and where it is known to be weak. Outside its range a "
    "method refuses and says so; nothing is clamped.",
    "page_back": "Back to the front page",
    "page_used": "In this run",
    "page_used_tv": "Terrestrial TV paths: {label}.",
    "page_used_mobile": "Mobile paths: {label}.",
    "page_used_clutter": "What stands round a house where nothing of it is known: {kind}, by ITU-R P.2108-1, 3.1.",
    "page_used_no_clutter": "Where nothing is known of trees and buildings, nothing is added for them and the error is widened.",
    "page_sources": "Where the numbers come from",
    "page_sources_lead": "As the code itself says, file by file; {count} entries.",
    "page_date": "for {date}",
    "page_measured": "Prediction less measurement, dB. Nothing was fitted. Loss: below 0 is too little; field: above 0 is too much.",
    "page_against": "Against",
    "page_count": "Values",
    "page_bias": "Mean",
    "page_sigma": "Spread",
    "page_rmse": "RMSE",
}


@dataclass(frozen=True, slots=True)
class Check:
    """One set of check values. data: file in tests/authorities/data whose rows are counted, "" where the set is not shipped."""

    what: str
    count: int
    within: str
    test: str
    data: str = ""


@dataclass(frozen=True, slots=True)
class Measured:
    """Error against measurements, prediction less measurement, dB; nothing is fitted. Held to the data by tests/authorities/test_measured.py."""

    what: str
    count: int
    bias_db: float
    sigma_db: float
    rmse_db: float


@dataclass(frozen=True, slots=True)
class Text:
    """What is said of one method. use "" where a plan can't name it."""

    gives: str
    use: str
    edition: str
    equations: str
    checks: tuple[Check, ...]
    weak: tuple[str, ...]
    measured: tuple[Measured, ...] = ()


# tests/benchmarks/bench_measured.py. Losses of long links (66 to 974 km, all beyond the horizon): first those whose ends agree with the station's
# own record. Then fields round one TV mast, 2 to 6 km.
LINKS = "loss of long links with trusted ends"
MEASURED = (
    Measured(LINKS, 144, -7.7, 8.6, 11.5),
    Measured("1 % of time", 56, -9.6, 10.0, 13.8),
    Measured("3 % of time", 13, -6.5, 7.8, 9.9),
    Measured("10 % of time", 43, -6.7, 7.8, 10.2),
    Measured("30 % of time", 3, -5.1, 2.9, 5.6),
    Measured("50 % of time", 29, -6.1, 7.0, 9.2),
    Measured("30 to 300 MHz", 3, -5.2, 3.7, 6.0),
    Measured("300 to 1000 MHz", 90, -8.2, 8.7, 12.0),
    Measured("1000 to 3000 MHz", 46, -7.4, 8.8, 11.4),
    Measured("3000 to 6000 MHz", 5, -2.0, 4.6, 4.6),
    Measured("land", 52, -9.0, 8.8, 12.5),
    Measured("coastal land", 11, -4.8, 5.2, 6.9),
    Measured("mixed", 58, -7.5, 9.7, 12.1),
    Measured("sea", 23, -6.6, 6.1, 8.9),
    Measured("loss of long links with doubtful ends", 114, 1.6, 17.2, 17.2),
)
NEAR = "field at 538 MHz, 2 to 6 km from one TV mast"
_NAMED = 'propagation.method_tv = "{name}" or propagation.method_mobile = "{name}"; siteplan path --method={name}'
_HATA_CHECK = Check(
    "Computed tables with six published anchors (137.93, 137.88, 128.03, 109.52, 153.52, 150.64 dB), of both methods and all towns", 256,
    "0.0001 dB", "tests/authorities/test_hata.py", "hata_cost231.csv",
)  # fmt: skip
_HATA_WEAK = (
    "The ground enters by the sender's height over it alone: hills and houses in the way are not seen. Where the profile is known, p1812 is better.",
    "Wrong reference values circulate (148.55 and 109.66 dB for 153.52 and 109.52); they are not reproduced here.",
    "Okumura's curves are from Japanese towns of the 1960s; elsewhere 10 dB off is nothing unusual (common practice, no source), and that is the "
    "error a verdict counts (propagation.statistical_sigma_db).",
)
_HATA = Text(
    "Median loss by distance, heights and the kind of town. Proves nothing about one house, so its verdicts are survey first. The name says which town: open, suburban, urban (medium town), dense_urban (large city).",
    _NAMED,
    "M. Hata, IEEE Trans. Veh. Technol. VT-29 (1980), formulas from memory",
    "(10) urban, (11) to (13) height gain, (14) suburban, (16) open; effective height as ITU-R P.1546-6, annex 5, 3.2; never below free space",
    (_HATA_CHECK,),
    (*_HATA_WEAK, "A large city has no formula from 200 to 400 MHz: refused there."),
    (Measured(f"{NEAR}, hata_suburban", 60, 17.7, 5.3, 18.5), Measured(f"{NEAR}, hata_open", 60, 20.9, 5.1, 21.5)),
)
_COST = Text(
    "The same for 1500 to 2000 MHz in towns.",
    _NAMED,
    "COST Action 231, final report (1999), 4.4.1, formula from memory",
    "4.4.1 with 0 dB (medium town) or 3 dB (large city); effective height as ITU-R P.1546-6, annex 5, 3.2; never below free space",
    (_HATA_CHECK,),
    (*_HATA_WEAK, "It does not meet Okumura-Hata at 1500 MHz: 1.3 dB above it in a medium town, 4.3 dB in a large city."),
)
_TR = (
    Check("Loss in and out of sight, table 7.4.1-1, computed, no published values", 100, "0.0001 dB", "tests/authorities/test_tr38901.py",
          "tr38901_pathloss.csv"),
    Check("Odds of sight, table 7.4.2-1, computed, no published values", 26, "0.000001", "tests/authorities/test_tr38901.py", "tr38901_plos.csv"),
)  # fmt: skip
_TR_WEAK = (
    "Made to compare networks, not to predict one house: which house has sight is a matter of odds, so the spread is wide and is stated.",
    "The mix of both distributions by the odds of sight is ours; the report draws one or the other at random.",
    "Steps by less than 0.02 dB at its turning distance: compared along the ground, put in along the ray.",
)


def _tr(what: str, *weak: str, measured: tuple[Measured, ...] = ()) -> Text:
    return Text(
        f"Loss at a share of locations {what}: in sight, out of sight, and the odds of sight; no sight where the ground blocks. "
        "Proves nothing about one house, so its verdicts are survey first.",
        _NAMED,
        "3GPP TR 38.901 v17.0.0, formulas from memory",
        "table 7.4.1-1 (loss and shadowing), 7.4.2-1 (odds of sight); c = 3e8 m/s; h_E 1 m; rural roofs 5 m, streets 20 m",
        _TR,
        (*weak, *_TR_WEAK),
        measured,
    )


METHODS: dict[str, Text] = {
    "p1812": Text(
        "Loss and field strength over the profile of one path: free space, diffraction over hills and what stands on them, troposcatter, "
        "ducting; for a share of time and of locations. Paths under 250 m go to free_space.",
        "the default: propagation.method_tv, propagation.method_mobile; siteplan path",
        "ITU-R P.1812-8 (09/2025); -6 and -7 give the same for every published case",
        "3.6 (2) to (5) beta0; 4.2 free space with multipath; 4.3 delta-Bullington diffraction (P.526-16); 4.4 troposcatter; 4.5 ducting; 4.6 all "
        "together; 4.7 locations; 4.10 (70) field; attachment 1 geometry. Left out: 4.8 building entry (see p2109)",
        (
            Check("Every intermediate of the SG 3 reference implementation's own cases, over land, coast and sea", 27, "0.00001 dB",
                  "tests/authorities/test_p1812.py", "p1812_cases.csv"),
            Check("Reference implementation on measured links, 1 to 50 % of time", 258, "0.0002 dB", "tests/authorities/test_p1812.py"),
            Check("Delta-Bullington examples of SG 3 for P.526", 15, "0.01 dB", "tests/authorities/test_p526.py", "p526_cases.csv"),
            Check("Diffraction of the P.452-18 reference implementation on other terrain", 70, "0.001 dB", "tests/authorities/test_p452_diffraction.py",
                  "p452_cases.csv"),
        ),
        (
            "On long links (66 to 974 km, all beyond the horizon) it gives some 8 dB too little loss in the mean, most at small shares of time and over "
            "land. Interference looks worse than it is by that, and far stations better.",
            "Where ground or horizon at an end differ from the station's own record the error doubles: where an antenna really stands matters more than "
            "the method.",
            "Round the one TV mast only the spread means something (the stated power is doubtful). Free space alone has the same spread there: no "
            "profile came with the data.",
            "None of these shows a path over roofs and trees of a kilometre: there the errors of clutter heights rule, and limits.method_sigma_db "
            "stays common practice.",
            "Under 50 % of time the loss may fall with distance, by the Recommendation's own mix of ducting and diffraction: on flat land at 1 % up "
            "to 16.7 dB between 29 and 34 km for a 30 m mast and an antenna at 1.5 m, under 5 dB for a roof aerial, under 1 dB for masts of 100 m. At "
            "50 % it never does.",
            "It has no shares of time above 50 %: what is said of 99 % of time takes the fall to be as large as the rise (common practice, no source).",
            "Below 300 MHz it was held against three values only: of DAB and band III these measurements say nearly nothing.",
            "Zones count: on sea paths at 1 % all-inland input is 27 dB off. A run takes as sea what lies level at or under 0 m for 500 m; a lake above "
            "sea level is land, a polder may be taken for sea.",
            "Behind deep obstacles near the sender its troposcatter, made for long paths, bounds the loss: from 250 m on it is lower than free_space "
            "says just below.",
            "Clutter is a row of edges: gaps between houses and waves through leaves are not in it.",
        ),
        (*MEASURED, Measured(NEAR, 60, 20.9, 5.1, 21.5)),
    ),
    "free_space": Text(
        "Free-space loss and delta-Bullington diffraction for paths under 250 m, where P.1812 does not hold.",
        "comes with p1812",
        "ITU-R P.525-4 and P.526-16, in the form of P.1812-8, 4.2 and 4.3",
        "P.1812-8 4.2, 4.3; no ducting, no troposcatter",
        (Check("Delta-Bullington examples of SG 3 for P.526", 15, "0.01 dB", "tests/authorities/test_p526.py", "p526_cases.csv"),),
        (
            "Meets P.1812 at 250 m within 0.05 dB where diffraction is under 30 dB at 50 % of time; above that it is the higher one.",
            "Reflections from walls and the ground are not in it; in a street 10 dB either way is common (common practice, no source).",
        ),
    ),
    **{f"hata_{town}": _HATA for town in ("open", "suburban", "urban", "dense_urban")},
    **{f"cost231_{town}": _COST for town in ("urban", "dense_urban")},
    "tr38901_rma": _tr("of a rural macro cell", measured=(Measured(NEAR, 54, 5.2, 5.7, 7.7),)),
    "tr38901_uma": _tr("of an urban macro cell", "Published for base stations of 25 m alone: other heights are refused."),
    "tr38901_umi": _tr("of a street cell", "Published for base stations of 10 m alone: other heights are refused."),
    "p2108_height_gain": Text(
        "What a roof aerial below the clutter around it loses, by the kind of clutter, where no height of it is known.",
        'propagation.unknown_clutter = "suburban" (open_rural, urban, trees_forest, dense_urban); siteplan path --unknown-clutter=suburban. Added to '
        "p1812 alone, and only where no height of anything is known on the whole path",
        "ITU-R P.2108-1 (09/2021)",
        "annex 1, 3.1 (1), (2); default heights of table 3; streets 27 m",
        (Check("Test data of the US government's reference library", 13, "0.05 dB", "tests/authorities/test_p2108.py", "p2108_height_gain.csv"),),
        ("A type of clutter stands for a whole district; the spread is not part of it.", "Not above 3 GHz: refused there."),
    ),
    "p2108_terrestrial": Text(
        "Clutter loss at one end of a terrestrial path, antenna well below the roofs, for a share of locations. A figure for handhelds.",
        "",
        "ITU-R P.2108-1 (09/2021)",
        "annex 1, 3.2 (3) to (5), never more than at 2 km",
        (Check("SG 3 workbook and the US government's library", 35, "0.05 dB", "tests/authorities/test_p2108.py", "p2108_terrestrial_clutter.csv"),),
        ("Cities only; says nothing of roof aerials.",),
    ),
    "p2108_slant": Text(
        "Clutter loss of a path to a satellite for an antenna among buildings, for a share of locations.",
        "",
        "ITU-R P.2108-1 (09/2021)",
        "annex 1, 3.3 (6)",
        (Check("SG 3 workbook and the US government's library", 54, "0.05 dB", "tests/authorities/test_p2108.py", "p2108_slant_clutter.csv"),),
        ("No verdict rests on it: a dish needs a clear view, and whether it has one is worked from the surface.",),
    ),
    "p2109": Text(
        "Loss on the way into a building, traditional or thermally efficient, not exceeded with a probability.",
        'mobile.building = "traditional" (thermally_efficient): a mobile device by the best window at 10 %, anywhere indoors at 50 %',
        "ITU-R P.2109-2 (08/2023); the same numbers as P.2109-1",
        "annex 1, section 3 (1) to (10)",
        (Check("SG 3 workbook, and its formula at TV and mobile frequencies", 117, "0.001 dB", "tests/authorities/test_p2109.py", "p2109.csv"),),
        ("Where in the building, and by which window, is not an input; the spread is some 8 to 15 dB and is stated.",),
    ),
    "p833_woodland": Text(
        "Loss of a path that ends in a wood, by its depth.",
        "",
        "ITU-R P.833-10 (09/2021); measured values of P.833-9",
        "annex 1, 2.1 (1), (2)",
        (
            Check("Measured mixed forest, five frequencies", 15, "0.0001 dB", "tests/authorities/test_p833.py", "p833_9_woodland_measured.csv"),
            Check("Three woods by A1 f^alpha, computed (two pairs from memory)", 54, "0.001 dB", "tests/authorities/test_p833.py", "p833_woodland.csv"),
        ),
        ("Leaves, wet or dry, winter or summer, differ by many dB. Woods in the profile are counted by p1812 as edges, never by this as well.",),
    ),
    "p833_slant": Text(
        "A figure for a satellite's ray through trees.",
        "",
        "ITU-R P.833-10 (09/2021), formula from memory",
        "annex 1, 2.2: 0.25 f^0.39 d^0.25 elevation^0.05, f in MHz, d in m",
        (),
        ("One fit to one pine wood. No verdict rests on it: a ray through leaves counts as blocked. No check values were at hand.",),
    ),
}  # fmt: skip


# Every text of the methods for the catalogues; editions and equations are titles and numbers of standards and stay as they are.
WORDS = tuple(
    dict.fromkeys(
        part
        for said in METHODS.values()
        for part in (said.gives, said.use, *said.weak, *(check.what for check in said.checks), *(found.what for found in said.measured))
        if part
    )
)


def measured_text(found: Measured) -> str:
    """Return one line of a comparison with measurements."""
    return line(
        "measured", what=say(found.what), count=found.count, bias_db=found.bias_db, sigma_db=found.sigma_db, rmse_db=found.rmse_db
    )


def alike(notes: Iterable[MethodNote]) -> list[tuple[MethodNote, ...]]:
    """Return notes in the order of METHODS, those together that differ in nothing but their names."""
    order = list(METHODS)
    ranked = sorted(notes, key=lambda note: order.index(note.name))
    return [tuple(group) for _, group in groupby(ranked, key=lambda note: (id(METHODS[note.name]), note.bounds))]


def bound_text(bound: Bound) -> str:
    """Return one quantity of a range in words: "frequency 30 to 6 000 MHz"."""
    what, least, unit = say(QUANTITIES[bound.code]), _number(bound.least), say(bound.unit)
    if bound.least == bound.most:
        return line("bound_one", what=what, least=least, unit=unit)
    if math.isinf(bound.most):
        return line("bound_from", what=what, least=least, unit=unit)
    return line("bound", what=what, least=least, most=_number(bound.most), unit=unit)


def _number(value: float) -> str:
    return figures(f"{value:,.6g}") if spoken().language != "en" else f"{value:,.6g}".replace(",", " ")


def entries(first: MethodNote) -> list[tuple[str, tuple[str, ...]]]:
    """Return what is said of a method as (heading code, texts), empty ones left out."""
    said = METHODS[first.name]
    checks = tuple(
        line("check" if c.data else "check_shared", what=say(c.what), count=c.count, within=figures(c.within), test=f" [{c.test}]") for c in said.checks
    )
    found: list[tuple[str, tuple[str, ...]]] = [
        ("gives", (say(said.gives),)),
        ("use", (say(said.use).format(name=first.name),) if said.use else ()),
        ("range", ("; ".join(map(bound_text, first.bounds)),)),
        ("edition", (said.edition,)),
        ("equations", (said.equations,)),
        ("checked", checks),
        ("measured", tuple(map(measured_text, said.measured))),
        ("weak", tuple(map(say, said.weak))),
    ]
    return [(code, texts) for code, texts in found if texts]


def line(code: str, **values: object) -> str:
    """Return one line of the command with its values put in."""
    return _NUMBERS.format(say(LINES[code]), **values)


def text(code: str, **values: object) -> str:
    """Return one text of the page with its values put in."""
    return say(TEXTS[code]).format(**values)
