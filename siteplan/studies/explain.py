"""How the verdicts of one address came about, number by number, each with its source; as a record, as text, as plain values."""

from __future__ import annotations

import math
import shlex
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path

from siteplan.errors import InputError
from siteplan.records.explained import Explained, PathCommand, Section, Step
from siteplan.records.findings import AddressFinding, Findings
from siteplan.records.plan import Plan
from siteplan.records.verdict import Reason, Verdict
from siteplan.services.mobile.explain import explain as explain_mobile
from siteplan.services.mobile.explain import loss_of
from siteplan.services.satellite.explain import explain as explain_satellite
from siteplan.services.shared.explain import place_section, verdict_section
from siteplan.services.shared.site import Land, site_of
from siteplan.services.terrestrial.explain import explain as explain_terrestrial
from siteplan.services.terrestrial.explain import losses_of
from siteplan.studies.addresses import Senders, judge_one, land_for, pick
from siteplan.studies.deliver import deliver_profiles
from siteplan.studies.inputs import Inputs, read_inputs
from siteplan.studies.naming import name_files, path_command
from siteplan.studies.speech import open_plan
from siteplan.studies.tiles import batches
from siteplan.words import explain as words
from siteplan.words import how_sure, sentence, sentences, service_word, state_word


def explain_one(
    plan_file: Path, only: str, out: Path | None, *, say: Callable[[str], None] = print, clock: Callable[[], datetime]
) -> Explained:
    """Return one address of a plan explained; its path profiles are written beside the last run's files.

    only  the id of the address, or its row number

    Raises InputError where no placed address is called that (saying why its row was rejected, where it was), OutputError where the
    profiles can't be written.
    """
    started = clock()
    plan = open_plan(plan_file)
    on_date = plan.date or started.date()
    if plan.date is None:
        say(sentence(Reason("date_today", {"date": on_date.isoformat()})))
    inputs = read_inputs(plan, on_date)
    (place, address), *_ = _picked(inputs, only)
    (batch,) = batches([(place, address)])
    land, senders, unfit = land_for(plan, batch, inputs, on_date)
    row = judge_one(address, inputs.addresses.rows[place], land, senders, plan, True)
    findings = name_files(
        Findings(plan, inputs.addresses, (row,), inputs.satellites, inputs.transmitters, inputs.sectors, rejects=inputs.rejects)
    )
    row = findings.rows[0]
    folder = out or plan.outputs.folder or plan.file.parent / "outputs"
    deliver_profiles(findings, folder, started=started, clock=clock)
    return Explained(
        row=address.row,
        id=address.id,
        name=address.name,
        plan=plan.name or plan.file.name,
        date=on_date.isoformat(),
        verdicts=dict(row.verdicts),
        sections=_sections(row, land, senders, plan, inputs),
        commands=tuple(_commands(row, plan, folder)),
        folder=str(folder),
        notes=tuple(sentence(unfit[name]) for name in sorted(unfit)),
    )


def _picked(inputs: Inputs, only: str) -> list:
    placed = [(place, row.address) for place, row in enumerate(inputs.addresses.rows) if row.address is not None]
    try:
        return pick(placed, only)
    except InputError:
        for row in inputs.addresses.rows:
            if row.reject is not None and only in (str(row.row), *(cell.strip() for cell in row.cells.values())):
                what = next((cell for cell in row.cells.values() if cell.strip()), "")
                raise InputError(words.text("rejected", row=row.row, what=what, reason=row.reject.reason)) from None
        raise


def _sections(row: AddressFinding, land: Land, senders: Senders, plan: Plan, inputs: Inputs) -> tuple[Section, ...]:
    address = row.row.address
    site = site_of(address, land, plan.mount)  # type: ignore[arg-type]
    out = [place_section(site, land, inputs.addresses.file)]
    if row.satellite is not None:
        out += explain_satellite(site, land, senders.satellites, plan)
        out.append(verdict_section("satellite", row.verdicts["satellite"], plan))
    if row.terrestrial is not None:
        out += explain_terrestrial(site, row.terrestrial, plan)
        out.append(verdict_section("terrestrial", row.verdicts["terrestrial"], plan))
    if row.mobile is not None:
        out += explain_mobile(site, row.mobile, plan)
        out.append(verdict_section("mobile", row.verdicts["mobile"], plan))
    return tuple(out)


def _commands(row: AddressFinding, plan: Plan, folder: Path) -> list[PathCommand]:
    """Return one command for each multiplex of the aims, and for the sector, whose profile is written."""
    out = []
    for aim in row.terrestrial.aims if row.terrestrial else ():
        if aim.profile is None or not aim.profile_file:
            continue
        heights = (aim.tx_height_agl_m, aim.rx_height_agl_m)
        file = shlex.quote(str(folder / aim.profile_file))
        for line, loss in zip(aim.lines, losses_of(aim, plan), strict=True):
            multiplex = line.multiplex
            command = path_command(
                file, aim.profile, plan, frequency_mhz=multiplex.frequency_mhz, heights_m=heights,
                polarisation="v" if multiplex.polarisation == "v" else "h",
                method=plan.propagation.method_tv,
            )  # fmt: skip
            command += f" --erp-kw={10 ** (line.erp_towards_dbw / 10 - 3):.6g}"
            subject = f"{aim.transmitter.name}, {multiplex.name}"
            out.append(PathCommand(subject, command, loss.loss_db, str(folder / aim.profile_file), "terrestrial"))
    for line in row.mobile.lines if row.mobile else ():
        if line.profile is None or not line.profile_file:
            continue
        heights = (line.tx_height_agl_m, line.rx_height_agl_m)
        file = shlex.quote(str(folder / line.profile_file))
        command = path_command(
            file, line.profile, plan, frequency_mhz=line.sector.frequency_mhz, heights_m=heights, polarisation="v",
            method=plan.propagation.method_mobile,
        )  # fmt: skip
        subject = f"{line.sector.operator}, {line.sector.site}, {line.sector.name}"
        out.append(PathCommand(subject, command, loss_of(line, plan).loss_db, str(folder / line.profile_file), "mobile"))
    return out


def explained_lines(found: Explained) -> list[str]:
    """Return an explanation as lines for people."""
    lines = [words.text("title", who=f"{found.id} {found.name}".strip(), row=found.row, plan=found.plan, date=found.date), ""]
    for service, verdict in found.verdicts.items():
        said = sentences(verdict.reasons)
        lines.append(words.text("answer", service=service_word(service), state=state_word(verdict.state), sentences=said))
        sure = how_sure(verdict.how_sure.level, verdict.how_sure.because)
        lines.append("  " + words.text("sure", words=sure))
    lines += list(found.notes)
    for section in found.sections:
        title = words.heading(section.code, section.subject)
        lines += ["", f"[{service_word(section.service)}] {title}" if section.service else title]
        wide = max((len(words.label(step.code)) for step in section.steps), default=0)
        for step in section.steps:
            value = words.shown(step.value, step.unit)
            lines.append(f"  {words.label(step.code):<{wide}}  {value:<28}  {words.source(step.source)}".rstrip())
    if found.commands:
        lines += ["", words.text("commands")]
        for one in found.commands:
            lines += ["  " + words.text("command", subject=one.subject, loss_db=one.loss_db), "    " + one.command]
    return lines


def explained_values(found: Explained) -> dict[str, object]:
    """Return an explanation as plain values for JSON; None where a number is not known."""
    return {
        "id": found.id,
        "row": found.row,
        "name": found.name,
        "plan": found.plan,
        "date": found.date,
        "verdicts": {service: _verdict_values(verdict) for service, verdict in found.verdicts.items()},
        "sections": [_section_values(section) for section in found.sections],
        "path_commands": [
            {
                "service": one.service, "subject": one.subject, "command": one.command, "loss_db": one.loss_db,
                "profile_file": one.profile_file,
            }
            for one in found.commands
        ],
        "notes": list(found.notes),
    }  # fmt: skip


def _verdict_values(verdict: Verdict) -> dict[str, object]:
    return {
        "state": str(verdict.state),
        "probability": _plain(verdict.probability),
        "how_sure": verdict.how_sure.level,
        "because": [sentence(reason) for reason in verdict.how_sure.because],
        "reasons": [
            {"code": reason.code, "sentence": sentence(reason), "values": _plain_values(reason.values)} for reason in verdict.reasons
        ],
    }


def _section_values(section: Section) -> dict[str, object]:
    return {
        "section": section.code,
        "title": words.heading(section.code, section.subject),
        "service": section.service or None,
        "subject": section.subject or None,
        "steps": [_step_values(step) for step in section.steps],
    }


def _step_values(step: Step) -> dict[str, object]:
    return {"name": step.code, "label": words.label(step.code), "value": _plain(step.value), "unit": step.unit, "source": step.source}


def _plain(value: object) -> object:
    return None if isinstance(value, float) and not math.isfinite(value) else value


def _plain_values(values: Mapping[str, object]) -> dict[str, object]:
    return {name: _plain(value if isinstance(value, bool | int | float | str) else str(value)) for name, value in values.items()}
