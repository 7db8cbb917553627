"""The way from antenna to outlet for every address of a run, and the van's list of the day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from siteplan.errors import InputError, told
from siteplan.files.equipment import read_parts
from siteplan.files.expected import EXPECTED_FILE, area_of, expected_csv, parse_expected, read_expected
from siteplan.files.numbers import parse_number
from siteplan.files.tables import squash
from siteplan.records.findings import AddressFinding, Findings
from siteplan.records.parts import TERRESTRIAL, Chain, KitLine, Part
from siteplan.records.plan import Plan
from siteplan.records.readings import Expected
from siteplan.records.verdict import Reason, State
from siteplan.services.outlets.cell_limits import PRACTICE, cell_limits
from siteplan.services.outlets.compare import compare
from siteplan.services.outlets.expectation import expected_of
from siteplan.services.outlets.judge import SYSTEM_NAMES, faults, limits_named, overdrawn_parts, own_chain, van_list, work
from siteplan.services.outlets.learned import Taught, teach
from siteplan.store.readings_store import open_store
from siteplan.studies.inputs import store_of
from siteplan.words import sentence

MOST_OUTLETS = 64
# how the code of a fault begins -> the field of the item that it lies in; of all others: part
_FIELDS = (
    ("chain_id_twice", "id"), ("chain_ends_nowhere", "id"), ("chain_user_band", "user_bands"), ("chain_serves", "serves"),
    ("chain_no_length", "length_m"), ("chain_loop", "fed_from"), ("chain_no_source", "fed_from"), ("chain_source_fed", "fed_from"),
    ("chain_unknown_feed", "fed_from"), ("chain_two_on", "fed_from"), ("chain_too_many_inputs", "fed_from"),
    ("chain_lnbs_combined", "fed_from"), ("chain_positions", "fed_from"),
)  # fmt: skip


def with_outlets(findings: Findings, *, whole: bool = True) -> Findings:
    """Return the findings with each address's way to the outlets filled in; bad rows of the parts list go to the rejects.

    whole  the findings hold every address: stored readings are held against what is expected now. False: against the last run's.
    """
    parts, rejects = read_parts(findings.plan.installation.parts)
    notes: list[Reason] = []
    rows = tuple(_row(row, findings.plan, parts, notes) for row in findings.rows)
    made = replace(findings, rows=rows, rejects=(*findings.rejects, *rejects), notes=(*findings.notes, *notes))
    if not store_of(findings.plan).exists():
        return made
    taught = lessons_of(findings.plan, parse_expected(expected_csv(made).decode()) if whole else None)
    return replace(made, rows=tuple(_taught(row, taught) for row in rows))


def _row(row: AddressFinding, plan: Plan, parts: Mapping[str, Part], notes: list[Reason]) -> AddressFinding:
    if row.row.address is None:
        return row
    count, odd = outlets_of(row.row.cells, plan)
    if odd:
        notes.append(Reason("outlets_not_understood", {"row": row.row.row, "value": odd, "taken": count, "most": MOST_OUTLETS}))
    worked = replace(row, outlets=work(row, plan, parts, outlet_count=count))
    try:
        return replace(worked, expected=expected_of(worked, area_of(row.row.cells), plan))
    except InputError as fault:
        wrong = Reason("cells_no_limits", {"why": str(fault)})
        notes += [] if wrong in notes else [wrong]
        own = plan.model_copy(update={"installation": plan.installation.model_copy(update={"mobile_profile": PRACTICE})})
        return replace(worked, expected=expected_of(worked, area_of(row.row.cells), own))


def _taught(row: AddressFinding, taught: Taught | None) -> AddressFinding:
    """Return a row with what readings nearby say of its figures."""
    if taught is None or row.outlets is None or row.row.address is None:
        return row
    sources = dict.fromkeys(TERRESTRIAL if one.service == "terrestrial" else one.source for one in row.expected)
    address = row.row.address
    said = [taught.said(source, lat_deg=address.lat_deg, lon_deg=address.lon_deg) for source in sources]
    return replace(row, outlets=replace(row.outlets, learned=tuple(reason for reason in said if reason is not None)))


def lessons_of(plan: Plan, lines: Sequence[Expected] | None = None) -> Taught | None:
    """Return what the plan's stored readings teach; None where there are none, or nothing to hold them against.

    lines  what is expected of every address; None: what the last run wrote down
    """
    store, written = store_of(plan), (plan.outputs.folder or plan.file.parent / "outputs") / EXPECTED_FILE
    if not store.exists() or lines is None and not written.exists():
        return None
    lines = read_expected(written) if lines is None else lines
    with open_store(store) as opened:
        readings = {id: opened.readings_of(id) for id in opened.ids()}
    compared = [one for id, own in readings.items() for one in compare(own, [line for line in lines if line.id == id])[0]]
    return teach(compared)


def outlets_of(cells: Mapping[str, str], plan: Plan) -> tuple[int, str]:
    """Return how many outlets a row asks for, and its cell where that could not be understood ("" else)."""
    wanted = squash(plan.installation.outlets_column)
    for column, text in cells.items():
        if squash(column) == wanted and text.strip():
            value = parse_number(text)
            if value == int(value if value == value else 0) and 1 <= value <= MOST_OUTLETS:
                return int(value), ""
            return plan.installation.outlets, text.strip()
    return plan.installation.outlets, ""


def day_kits(findings: Findings) -> dict[str, tuple[KitLine, ...]]:
    """Return the van's list of each day's round, spares counted, over the addresses whose job goes ahead; "all" where none names one."""
    days = days_of(findings)
    rounds: dict[str, list[AddressFinding]] = {}
    for row in findings.rows:
        if row.outlets is not None and row.outlets.kit and row.job in (State.BOOK, State.SURVEY_FIRST):
            rounds.setdefault(days.get(row.row.row, "") or (told("no day") if days else "all"), []).append(row)
    parts, made = parts_of(findings.plan), {}
    for day, going in rounds.items():
        made[day] = van_list([row.outlets.kit for row in going if row.outlets is not None], parts, findings.plan)
    return made


def days_of(findings: Findings) -> dict[int, str]:
    """Return what each row of the address list says under the day's column; {} where it has none."""
    wanted = squash(findings.plan.installation.day_column)
    found = {row.row.row: text.strip() for row in findings.rows for column, text in row.row.cells.items() if squash(column) == wanted}
    return {row: day for row, day in found.items() if day}


def faults_of(plan: Plan, parts: Mapping[str, Part]) -> list[str]:
    """Return what is wrong with the chains and limits that a plan writes out, as sentences: file, chain, item, field and value each."""
    said = []
    names = [table.name for table in plan.chains]
    for name in dict.fromkeys(names):
        where = {"file": plan.file.name, "chain": name}
        if names.count(name) > 1:
            said.append(sentence(Reason("chain_faulty", where | {"why": sentence(Reason("chain_named_twice"))})))
        try:
            chain = own_chain(name, plan, parts)
        except InputError as fault:
            said.append(sentence(Reason("chain_faulty", where | {"why": str(fault)})))
            continue
        wrong = faults(chain) or overdrawn_parts(chain)
        said += [sentence(_placed(one, chain, where)) for one in wrong]
    for named in (limits_named, cell_limits):
        try:
            named(plan)
        except InputError as fault:
            said.append(str(fault))
    return said + _unknown_names(plan, parts)


def _unknown_names(plan: Plan, parts: Mapping[str, Part]) -> list[str]:
    """Return a sentence for each key of [installation] that names what there is not."""
    wiring, own = plan.installation, [table.name for table in plan.chains]
    cables, aerials = ([name for name, part in parts.items() if part.kind == kind] for kind in ("cable", "aerial"))
    asked = [("system", wiring.system, ["auto", *SYSTEM_NAMES, *own])]
    asked += [("cable", wiring.cable, cables), ("tv_aerial", wiring.tv_aerial, aerials)]
    asked += [
        (told("rules, entry {number}, system", number=number), rule.system, list(SYSTEM_NAMES))
        for number, rule in enumerate(wiring.rules, 1)
    ]
    return [
        sentence(Reason("wiring_unknown", {"file": plan.file.name, "key": key, "value": value, "allowed": ", ".join(allowed)}))
        for key, value, allowed in asked
        if value not in allowed
    ]


def _placed(wrong: Reason, chain: Chain, where: Mapping[str, object]) -> Reason:
    """Return a fault with the item, field and value that it lies in, where it lies in one."""
    name, why = str(wrong.values.get("item", "")), sentence(wrong)
    found = [(number, item) for number, item in enumerate(chain.items, 1) if item.id == name]
    if not found:
        return Reason("chain_faulty", {**where, "why": why})
    number, item = found[-1]
    field = next((field for start, field in _FIELDS if wrong.code.startswith(start)), "part")
    value = item.part.name if field == "part" else getattr(item, field)
    shown = ", ".join(map(str, value)) if isinstance(value, tuple) else f"{value:g}" if isinstance(value, float) else value
    return Reason("chain_faulty_item", {**where, "number": number, "item": name, "field": field, "value": shown or "-", "why": why})


def parts_of(plan: Plan) -> dict[str, Part]:
    """Return the parts list of a plan. Raises InputError where no row of it can be used."""
    parts, rejects = read_parts(plan.installation.parts)
    if not parts:
        why = rejects[0].reason if rejects else told("the list is empty")
        raise InputError(told("no row of the parts list could be used; the first fault: {why}", why=why))
    return parts
