"""A plan whose last run expected three carriers at each of three homes, and readings of it."""

import csv
from datetime import datetime

from siteplan.files.expected import EXPECTED_COLUMNS
from siteplan.records.readings import Expected

NOW = datetime(2026, 7, 1, 12, 0)
HOMES = (
    ("A-1", 2, "Mill Row 3", 47.5000, -9.5000, "book"),
    ("A-2", 3, "Mill Row 5", 47.5010, -9.5000, "book"),
    ("A-3", 4, "Fen End 9", 47.6, -9.5, "survey first"),
)
CARRIERS = (("O1", "VL", 10847.0, 1097.0), ("O2", "HL", 11223.0, 1473.0), ("O3", "HH", 12604.0, 2004.0))


def write_plan(tmp_path):
    """Return the plan file, its expected.csv in the folder out beside it."""
    path = tmp_path / "plan.toml"
    path.write_text('[addresses]\nfile = "a.csv"\n[outputs]\nfolder = "out"\n', encoding="utf-8")
    (tmp_path / "a.csv").write_text("id,lat_deg,lon_deg\n", encoding="utf-8")
    out = tmp_path / "out"
    out.mkdir(exist_ok=True)
    with (out / "expected.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(EXPECTED_COLUMNS)
        for id, row, name, lat, lon, job in HOMES:
            for carrier, line, rf, if_mhz in CARRIERS:
                one = Expected(
                    id, row, name, lat, lon, "satellite", "Oriel 25E", "outlet 1", carrier, line, rf, if_mhz, 27.5, "DVB-S2 8PSK 3/4",
                    65.0, 3.2, 16.0, 1.0, 9.0, 47.0, 77.0, "EN 60728-1", job, "North",
                )  # fmt: skip
                writer.writerow([getattr(one, column) for column in EXPECTED_COLUMNS])
    return path


def put(plan, name, text):
    (plan.parent / "in").mkdir(exist_ok=True)
    (plan.parent / "in" / name).write_text(text, encoding="utf-8")


def good(id, level=65.0, noise=16.0, who="Ada Fenn", day=12):
    rows = [f"{id},outlet 1,Oriel 25E,{name},{level},{noise},2026-06-{day} 10:00,{who}" for name, *_ in CARRIERS]
    return "id,outlet,source,carrier,level_dbuv,cn_db,taken_at,installer\n" + "\n".join(rows) + "\n"
