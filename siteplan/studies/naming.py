"""Names of the files that a run writes for one address, and the command that gives a path's loss again."""

from __future__ import annotations

import math
from dataclasses import replace

from siteplan.files.folder import sheet_name, slug
from siteplan.records.findings import AddressFinding, Aim, Findings, SectorLine
from siteplan.records.plan import Plan
from siteplan.records.results import Profile
from siteplan.services.shared.paths import adds_unknown_clutter, coasts_m


def name_files(findings: Findings) -> Findings:
    """Return the same findings with sheet and profile file names set: a page links only to what the run will write."""
    return replace(findings, rows=tuple(_name_row(row, findings.plan) for row in findings.rows))


def _name_row(row: AddressFinding, plan: Plan) -> AddressFinding:
    address = row.row.address
    if address is None:
        return row
    stem = sheet_name(address.row, address.name or address.id).removeprefix("sheets/").removesuffix(".html")
    judged = any(part is not None for part in (row.satellite, row.terrestrial, row.mobile))
    changes: dict[str, object] = {"sheet_file": f"sheets/{stem}.html" if judged else ""}
    if row.terrestrial is not None:
        aims = tuple(
            _name_aim(aim, f"{stem}-tv-{number}-{slug(aim.transmitter.name)}", plan) for number, aim in enumerate(row.terrestrial.aims, 1)
        )
        changes["terrestrial"] = replace(row.terrestrial, aims=aims)
    if row.mobile is not None:
        lines = tuple(
            _name_line(line, f"{stem}-mobile-{number}-{slug(line.sector.site)}", plan) for number, line in enumerate(row.mobile.lines, 1)
        )
        changes["mobile"] = replace(row.mobile, lines=lines)
    return replace(row, **changes)


def _name_aim(aim: Aim, stem: str, plan: Plan) -> Aim:
    if aim.profile is None or not aim.lines:
        return aim
    line = min(aim.lines, key=lambda line: line.margin_db)
    weakest, towards_dbw = line.multiplex, line.erp_towards_dbw if math.isfinite(line.erp_towards_dbw) else line.multiplex.erp_dbw
    file = f"profiles/{stem}.csv"
    heights = (aim.tx_height_agl_m, aim.rx_height_agl_m)
    command = path_command(
        file, aim.profile, plan, frequency_mhz=weakest.frequency_mhz, heights_m=heights,
        polarisation="v" if weakest.polarisation == "v" else "h", method=plan.propagation.method_tv,
    )  # fmt: skip
    return replace(aim, profile_file=file, path_command=f"{command} --erp-kw={10 ** (towards_dbw / 10 - 3):.6g}")


def _name_line(line: SectorLine, stem: str, plan: Plan) -> SectorLine:
    if line.profile is None:
        return line
    file = f"profiles/{stem}.csv"
    heights = (line.tx_height_agl_m, line.rx_height_agl_m)
    command = path_command(
        file, line.profile, plan, frequency_mhz=line.sector.frequency_mhz, heights_m=heights, polarisation="v",
        method=plan.propagation.method_mobile,
    )  # fmt: skip
    return replace(line, profile_file=file, path_command=command)


def path_command(
    file: str, profile: Profile, plan: Plan, *, frequency_mhz: float, heights_m: tuple[float, float], polarisation: str, method: str
) -> str:
    """Return the calculator's command line that gives the same loss again from the profile file; heights of sender and receiver."""
    clutter = plan.propagation.unknown_clutter
    more = f" --method={method}" if method != "p1812" else ""
    if adds_unknown_clutter(profile, method, clutter):
        more += f" --unknown-clutter={clutter}"
    return (
        f"siteplan path {file} --frequency-mhz={frequency_mhz:.6g} "
        f"--tx-height-agl-m={heights_m[0]:.2f} --rx-height-agl-m={heights_m[1]:.2f} "
        f"--lat-deg={profile.lat_mid_deg:.4f} --polarisation={polarisation} --delta-n={plan.limits.delta_n:g} --n0={plan.limits.n0:g}"
        + "".join(
            f" --{end}-coast-km={coast_m / 1000:.6g}"
            for end, coast_m in zip(("tx", "rx"), coasts_m(profile), strict=True)
            if coast_m < 500_000
        )
        + more
    )
