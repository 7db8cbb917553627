"""Time of a satellite's budget at one address by its carriers and neighbours: python tests/benchmarks/bench_budget.py

The peer is the same interference worked pair by pair, a call for each two carriers that overlap, in the same run. Recorded (2 shared
cores, Python 3.11): the numbers in brackets. Held: the whole budget at least 4 times as fast as the peer's interference alone (96 / 8).
"""

import math
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

from siteplan.radio.satellite_link import off_axis_gain_dbi, overlap_db
from siteplan.records.emitters import Satellite, Transponder
from siteplan.records.plan import Plan
from siteplan.services.satellite.budget import Budgets, budgets, place
from siteplan.services.satellite.links import SatelliteLinks
from siteplan.sky.look_angles import look_angles_array, separation_deg
from siteplan.units import free_space_loss_db

WHERE = (50.0, 10.0, 100.0)


def satellite(name: str, orbit_deg: float, carriers: int, shift_mhz: float = 0.0, letters: str = "HV") -> Satellite:
    """Return a satellite with carriers across the band, polarisations in turn."""
    made = tuple(
        Transponder(
            name=f"{name} {k}", frequency_mhz=10_730.0 + shift_mhz + (k // 2) * 4000.0 / carriers, polarisation=letters[k % len(letters)],
            symbol_rate_kbaud=27_500.0, system="DVB-S2", modulation="8PSK", code_rate="2/3", eirp_dbw=51.0 + k % 3, eirp_source="stated",
        )
        for k in range(carriers)
    )  # fmt: skip
    return Satellite(name=name, orbit_deg=orbit_deg, transponders=made)


def scene(carriers: int, neighbours: int) -> Satellite:
    """Return a satellite between neighbours on both sides, one of them circular."""
    others = tuple(
        satellite(f"N{k}", 19.0 + 2.1 * (k // 2 + 1) * (-1) ** k, carriers, 3.0 * k, "LR" if k == 1 else "HV") for k in range(neighbours)
    )
    return replace(satellite("W", 19.0, carriers), neighbours=others)


def pair_by_pair(wanted: Satellite, found: Budgets, plan: Plan) -> dict[str, np.ndarray]:
    """Return C/I (dishes, carriers) of each neighbour, a call for each pair; the skew turns linear waves, circular ones share half."""
    here = {"lat_deg": WHERE[0], "lon_deg": WHERE[1], "height_ell_m": WHERE[2]}
    own = look_angles_array(**here, orbit_deg=wanted.stands_at_deg)
    names = ("eirp_dbw", "free_space_loss_db", "pointing_db", "polarisation_db", "obstruction_loss_db", "dish_gain_dbi")
    level = np.asarray(sum(term.value for term in found.link.terms if term.name in names))[0]
    made = {}
    for other in wanted.neighbours:
        seen = look_angles_array(**here, orbit_deg=other.stands_at_deg)
        power = np.zeros(level.shape)
        for n, mine in enumerate(found.carriers):
            for theirs in other.transponders:
                apart = theirs.frequency_mhz - mine.frequency_mhz
                share = float(overlap_db(apart_mhz=apart, wanted_kbaud=mine.symbol_rate_kbaud, other_kbaud=theirs.symbol_rate_kbaud))
                if not math.isfinite(share):
                    continue
                like = 0.0 if mine.polarisation == theirs.polarisation else 90.0
                turned = float(seen.skew_deg - own.skew_deg) + like if {mine.polarisation, theirs.polarisation} <= {"H", "V"} else 45.0
                for d, dish_m in enumerate(found.dishes_m):
                    gain = off_axis_gain_dbi(
                        off_axis_deg=separation_deg(own, seen), dish_m=dish_m, frequency_mhz=mine.frequency_mhz,
                        max_gain_dbi=found.link.gain_dbi[d, n] if found.link.gain_dbi.ndim == 2 else found.link.gain_dbi[0, d, n],
                        turned_deg=turned, pattern=plan.kit.off_axis,
                    )  # fmt: skip
                    loss = free_space_loss_db(1e3 * seen.range_km, theirs.frequency_mhz)
                    power[d, n] += 10.0 ** ((theirs.eirp_dbw + share - float(loss) + float(gain)) / 10.0)
        made[other.name] = level - 10.0 * np.log10(power)
    return made


def timed(work, repeats: int = 5) -> float:
    """Return the best time of a few, in ms."""
    best = math.inf
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return 1e3 * best


def main():
    plan = Plan(file=Path("plan.toml"))
    for carriers, neighbours, recorded in ((40, 4, "6 and 14 ms"), (96, 8, "15 and 31 ms")):
        wanted = scene(carriers, neighbours)
        found = budgets(wanted, place(*WHERE), plan)
        budget = timed(lambda wanted=wanted: budgets(wanted, place(*WHERE), plan))
        lines = timed(lambda wanted=wanted: SatelliteLinks(wanted, WHERE, plan).lines(0.8))
        peer = timed(lambda wanted=wanted, found=found: pair_by_pair(wanted, found, plan), 2)
        print(f"{carriers} / {neighbours}: budget {budget:.1f} ms, with lines {lines:.1f} ms ({recorded}); peer {peer:.0f} ms")
        if carriers == 96:
            assert budget * 4.0 < peer, f"the budget takes {budget:.1f} ms, the peer's interference alone {peer:.1f} ms"


if __name__ == "__main__":
    main()
