"""Judge every address of a plan: a coverage whose receivers are the addresses. Batches in, one Findings out, in the input's order."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from datetime import date as Date

import numpy as np

from siteplan.errors import InputError, told
from siteplan.files.run_record import versions
from siteplan.geodesy import projection
from siteplan.records.emitters import Sector, Transmitter
from siteplan.records.findings import AddressFinding, Findings
from siteplan.records.ground import Surface
from siteplan.records.places import Address
from siteplan.records.plan import Plan
from siteplan.records.verdict import SERVICES, HowSure, Reason, State, Verdict
from siteplan.services.shared.chance import job_state
from siteplan.services.shared.site import Land, declination_at, site_of
from siteplan.services.table import SERVICE_TABLE
from siteplan.studies.inputs import Inputs, hashes_of, read_inputs, sender_name, stand
from siteplan.studies.naming import name_files
from siteplan.studies.outlets import with_outlets
from siteplan.studies.outlines import outlines_of
from siteplan.studies.surfaces import describe_terrain, load_surface
from siteplan.studies.tiles import Batch, batches, workers
from siteplan.terrain.hillshade import backdrop
from siteplan.terrain.view import prepare

NEAR_ADDRESS_M, NEAR_EMITTER_M = 2_500.0, 1_000.0

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True)
class Senders:
    """The emitters of one plan that stand where they can: what the judges get.

    left_out  service -> emitters in reach that can't stand where they are said to, each with its reason
    unlisted  services whose table holds no row that could be taken: nothing can be said of them
    hearsay   services whose senders come from an open list of what phones heard: it proves nothing, for or against
    """

    satellites: tuple
    transmitters: tuple[Transmitter, ...]
    sectors: tuple[Sector, ...]
    left_out: Mapping[str, tuple[tuple[Transmitter | Sector, Reason], ...]] = field(default_factory=dict)
    unlisted: frozenset[str] = frozenset()
    hearsay: frozenset[str] = frozenset()


def judge_addresses(
    plan: Plan, *, on_date: Date, pictures: bool = True, only: str | None = None, progress: Progress | None = None
) -> Findings:
    """Return the findings of one plan.

    on_date    the plan's date, or the day the caller took where the plan has none
    pictures   also make what only pages need: skylines, profiles, hillshade
    only       the id (or row number) of the one address to judge; the other rows come back not judged and unlisted
    Raises InputError where nothing can be judged at all.
    """
    inputs = read_inputs(plan, on_date)
    placed = [(place, row.address) for place, row in enumerate(inputs.addresses.rows) if row.address is not None]
    if only is not None:
        placed = pick(placed, only)
    found: dict[int, AddressFinding] = {}
    notes: list[Reason] = []
    left_out: dict[str, Reason] = {}
    surfaces: list[Surface] = []
    for batch in batches(placed):
        land, senders, unfit = land_for(plan, batch, inputs, on_date)
        left_out |= unfit
        surfaces = [land.surface] if batch.number == 0 else []  # one batch's land serves the picture too
        notes.extend(note for note in land.surface.notes if note not in notes)
        _work(batch, land, senders, plan, inputs, pictures, found, progress, len(placed))
    rows = tuple(found.get(place) or _unjudged(row) for place, row in enumerate(inputs.addresses.rows))
    if only is not None:
        rows = tuple(found[place] for place, _ in placed)
    findings = Findings(
        plan=plan,
        addresses=inputs.addresses,
        rows=rows,
        satellites=inputs.satellites,
        transmitters=inputs.transmitters,
        sectors=inputs.sectors,
        rejects=inputs.rejects,
        notes=tuple(inputs.notes) + tuple(notes) + tuple(left_out[name] for name in sorted(left_out)),
        terrain=describe_terrain(plan),
        made_with=_made_with(plan, on_date),
    )
    if pictures and only is None:  # a single sheet shows no map
        backdrops, outlines = _land(plan, placed, inputs, surfaces)
        findings = replace(findings, backdrops=backdrops, outlines=outlines)
    return name_files(with_outlets(findings, whole=only is None) if pictures else findings)


def _made_with(plan: Plan, on_date: Date) -> dict[str, object]:
    """Return what the run rests on: the date it hangs on, versions of what computes, hashes of what was read."""
    return {"date": on_date.isoformat(), "versions": versions(), "inputs": hashes_of(plan)}


def pick(placed: list[tuple[int, Address]], only: str) -> list[tuple[int, Address]]:
    """Return the one address (with its place in the list) that an id or a row number names; InputError where none does."""
    chosen = [(place, address) for place, address in placed if address.id == only]
    chosen = chosen or [(place, address) for place, address in placed if str(address.row) == only]
    if not chosen:
        some = ", ".join(address.id for _, address in placed[:5])
        raise InputError(told("no address with id or row {only!r} was placed; the first ids are {some}", only=only, some=some))
    return chosen[:1]


def land_for(plan: Plan, batch: Batch, inputs: Inputs, on_date: Date) -> tuple[Land, Senders, dict[str, Reason]]:
    """Read the land that one batch needs and leave out emitters that can't stand on it."""
    around = [(address.lat_deg, address.lon_deg, NEAR_ADDRESS_M) for address in batch.addresses]
    transmitters = _within(batch, inputs.transmitters, max(plan.transmitters.greatest_distance_km, plan.transmitters.interference_km))
    sectors = _within(batch, inputs.sectors, plan.mobile.greatest_distance_km)
    sites = sorted({(site.lat_deg, site.lon_deg) for site in (*transmitters, *sectors)})
    around += [(lat, lon, NEAR_EMITTER_M) for lat, lon in sites]
    surface = load_surface(plan, around=around)
    kept_transmitters, unfit = stand(surface, transmitters)
    kept_sectors, more = stand(surface, sectors)
    left_out = {"terrestrial": _lost(transmitters, kept_transmitters, unfit), "mobile": _lost(sectors, kept_sectors, more)}
    tables = (("terrestrial", plan.transmitters.file, inputs.transmitters), ("mobile", plan.mobile.file, inputs.sectors))
    unlisted = frozenset(service for service, file, rows in tables if file is not None and not rows)
    hearsay = frozenset({"mobile"} if any(one.origin == "cell list" for one in inputs.sectors) else ())
    senders = Senders(inputs.satellites, kept_transmitters, kept_sectors, left_out, unlisted, hearsay)
    return Land(surface, prepare(surface), on_date, inputs.plots), senders, unfit | more


def _within(batch: Batch, emitters: Sequence, greatest_km: float) -> tuple:
    """Return emitters that any address of the batch may be in range of (a box is enough: the judges measure)."""
    lats = [address.lat_deg for address in batch.addresses]
    lons = [address.lon_deg for address in batch.addresses]
    pad_lat = greatest_km / 110.0
    pad_lon = pad_lat / max(0.05, float(np.cos(np.radians(min(89.0, max(abs(min(lats)), abs(max(lats))))))))
    return tuple(
        e
        for e in emitters
        if min(lats) - pad_lat <= e.lat_deg <= max(lats) + pad_lat and min(lons) - pad_lon <= e.lon_deg <= max(lons) + pad_lon
    )


def _lost(emitters: Sequence, kept: Sequence, unfit: Mapping[str, Reason]) -> tuple[tuple[Transmitter | Sector, Reason], ...]:
    stands = {id(one) for one in kept}
    return tuple((one, unfit[sender_name(one)]) for one in emitters if id(one) not in stands)


def _work(
    batch: Batch,
    land: Land,
    senders: Senders,
    plan: Plan,
    inputs: Inputs,
    pictures: bool,
    found: dict,
    progress: Progress | None,
    total: int,
) -> None:
    """Judge one batch on a few threads; kernels let go of the interpreter. Results land by place, so order never matters."""

    def one(place: int, address: Address) -> tuple[int, AddressFinding]:
        return place, judge_one(address, inputs.addresses.rows[place], land, senders, plan, pictures)

    with ThreadPoolExecutor(workers()) as pool:
        jobs = [pool.submit(one, place, address) for place, address in zip(batch.index, batch.addresses, strict=True)]
        try:
            for job in jobs:
                place, finding = job.result()
                found[place] = finding
                if progress is not None:
                    progress(told("judging"), len(found), total)
        except BaseException:
            for job in jobs:
                job.cancel()
            raise


def judge_one(address: Address, row: object, land: Land, senders: Senders, plan: Plan, pictures: bool) -> AddressFinding:
    """Return one address judged for every service that it orders."""
    site = site_of(address, land, plan.mount)
    verdicts: dict[str, Verdict] = {}
    details: dict[str, object] = {}
    for service in SERVICES:
        entry = SERVICE_TABLE[service]
        if address.wanted and service not in address.wanted:
            verdicts[service] = Verdict(service, State.NOT_JUDGED, (Reason("not_ordered"),))
        elif not site.known:
            verdicts[service] = Verdict(service, State.NOT_JUDGED, (Reason("uncovered"),))
        elif service in senders.unlisted:
            verdicts[service] = Verdict(service, State.NOT_JUDGED, (Reason(f"none_listed_{service}"),))
        else:
            beside = {entry.beside: getattr(senders, entry.beside)} if entry.beside else {}
            verdict, details[entry.finding] = entry.judge(site, land, getattr(senders, entry.emitters), plan, pictures=pictures, **beside)
            verdict = _unproved(verdict, address, senders.left_out.get(service, ()), plan)
            if verdict.state is State.NOT_FEASIBLE and service in senders.hearsay:
                verdict = replace(verdict, state=State.SURVEY_FIRST, reasons=(Reason("mobile_list_silent"), *verdict.reasons))
            verdicts[service] = verdict
    return AddressFinding(
        row=row,  # type: ignore[arg-type]
        verdicts=verdicts,
        job=job_state(verdicts, address.wanted),
        ground_amsl_m=site.ground_amsl_m,
        surface_amsl_m=site.surface_amsl_m,
        declination_deg=declination_at(address.lat_deg, address.lon_deg, land.on_date),
        **details,  # type: ignore[arg-type]
    )


def _unproved(verdict: Verdict, address: Address, left_out: Sequence[tuple[Transmitter | Sector, Reason]], plan: Plan) -> Verdict:
    """Return "survey first" for a "not feasible" that leaves out a sender in reach because the ground under it is unknown.

    Nobody knows what that one would have given. A sender said to stand under the ground is a faulty row, as a rejected one is: the run
    names it, and it proves nothing either way.
    """
    left_out = [(one, reason) for one, reason in left_out if reason.code == "emitter_unknown_ground"]
    if verdict.state is not State.NOT_FEASIBLE or not left_out:
        return verdict
    reach_km = plan.mobile.greatest_distance_km if verdict.service == "mobile" else plan.transmitters.greatest_distance_km
    _, _, away_m = projection.geod_inverse(
        lat1_deg=np.full(len(left_out), address.lat_deg),
        lon1_deg=np.full(len(left_out), address.lon_deg),
        lat2_deg=np.array([one.lat_deg for one, _ in left_out]),
        lon2_deg=np.array([one.lon_deg for one, _ in left_out]),
    )
    why: list[Reason] = []
    for (_, reason), away in zip(left_out, away_m.tolist(), strict=True):
        if away <= 1000.0 * reach_km and reason not in why:
            why.append(reason)
    if not why:
        return verdict
    others = tuple(reason for reason in verdict.reasons if not reason.code.endswith("_too_far"))
    return replace(verdict, state=State.SURVEY_FIRST, reasons=(*why, *others))


def _unjudged(row: object) -> AddressFinding:
    reject = row.reject  # type: ignore[attr-defined]
    why = Reason("rejected", {"reason": reject.reason if reject is not None else "left out", "field": reject.field if reject else ""})
    verdicts = {service: Verdict(service, State.NOT_JUDGED, (why,), HowSure("low")) for service in SERVICES}
    return AddressFinding(row=row, verdicts=verdicts, job=State.NOT_JUDGED)  # type: ignore[arg-type]


def _land(plan: Plan, placed: list[tuple[int, Address]], inputs: Inputs, surfaces: list[Surface]) -> tuple[tuple, tuple]:
    """Return what the map shows of the land: grey pictures, and outlines of buildings."""
    if not placed:
        return (), ()
    around = [(address.lat_deg, address.lon_deg, NEAR_ADDRESS_M) for _, address in placed]
    sites = sorted({(site.lat_deg, site.lon_deg) for site in (*inputs.transmitters, *inputs.sectors)})
    lats = [a[0] for a in around] + [lat for lat, _ in sites]
    lons = [a[1] for a in around] + [lon for _, lon in sites]
    pad = 0.02
    bounds = (min(lons) - pad, min(lats) - pad, max(lons) + pad, max(lats) + pad)
    surface = surfaces[0] if surfaces else load_surface(plan, around=around)
    return backdrop(surface, bounds=bounds), outlines_of(surface, bounds)
