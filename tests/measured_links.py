"""Measurements worked by our methods: the long links of ../shared/standards/measured_paths, and one TV site."""

import csv
import math
from dataclasses import dataclass

import numpy as np

from siteplan.records.results import Profile
from siteplan.services.shared.paths import work_path

BANDS = ((30, 300), (300, 1000), (1000, 3000), (3000, 6000))
TIMES = (1.0, 3.0, 10.0, 30.0, 50.0)


@dataclass(frozen=True)
class Row:
    """One link at one time percentage: our loss, the reference implementation's, and what was measured, dB."""

    station: str
    group: str
    frequency_mhz: float
    time_pct: float
    kind: str
    flags: frozenset
    ours_db: float
    reference_db: float
    measured_db: float

    @property
    def trusted(self):
        return not self.flags - {"sea_length"}


def rows(folder):
    """Every row that has a reference value; folder is measured_paths."""
    paths = {row["station"]: row for row in _table(folder / "paths.csv")}
    profiles = {}
    out = []
    for row in _table(folder / "measured.csv"):
        if not row["p1812_reference_loss_db"]:
            continue
        path = paths[row["station"]]
        if row["station"] not in profiles:
            profiles[row["station"]] = _profile(folder, path)
        (found,) = work_path(
            profiles[row["station"]],
            tx_height_agl_m=float(path["tx_antenna_agl_m"]),
            rx_height_agl_m=float(path["rx_antenna_agl_m"]),
            frequencies_mhz=[float(path["frequency_mhz"])],
            polarisations="v",
            time_pct=float(row["time_pct"]),
            delta_n=float(path["dn_used"]),
            n0=float(path["n0_used"]),
            tx_coast_m=1000.0 * float(path["dct_used_km"]),
            rx_coast_m=1000.0 * float(path["dcr_used_km"]),
        )
        out.append(
            Row(
                row["station"], path["path_group"], float(path["frequency_mhz"]), float(row["time_pct"]), path["path_kind"],
                frozenset(filter(None, path["quality_flags"].split(";"))), found.loss_db, float(row["p1812_reference_loss_db"]),
                float(row["measured_loss_db"]),
            )
        )  # fmt: skip
    return out


def tv_field_dbuv_per_m(row, method):
    """The field at one place of measured_dtt_kand.csv over straight ground from mast to aerial: no profile came with the data."""
    metres = float(row["distance_m"])
    ground = np.linspace(float(row["tx_ground_m"]), float(row["rx_ground_m"]), 101)
    made = Profile(np.linspace(0.0, metres, 101), ground, np.zeros(101), np.full(101, 4, np.uint8), 0.0, float(row["rx_lat_deg"]))
    (loss,) = work_path(
        made,
        tx_height_agl_m=float(row["tx_antenna_agl_m"]),
        rx_height_agl_m=float(row["rx_antenna_agl_m"]),
        frequencies_mhz=[float(row["frequency_mhz"])],
        erps_kw=float(row["erp_w"]) / 1000.0,
        method=method,
    )
    return loss.field_strength_dbuv_per_m


def bias_sigma_rmse(errors_db):
    """(count, mean, sample standard deviation, root mean square) of errors; NaN where there are too few."""
    errors = np.asarray(errors_db, dtype=float)
    if not errors.size:
        return 0, math.nan, math.nan, math.nan
    spread = float(np.std(errors, ddof=1)) if errors.size > 1 else math.nan
    return errors.size, float(np.mean(errors)), spread, float(np.sqrt(np.mean(errors**2)))


def _table(file):
    with open(file, encoding="utf-8", newline="") as open_file:
        return list(csv.DictReader(open_file))


def _profile(folder, path):
    points = np.array([[float(cell) for cell in point.values()] for point in _table(folder / "profiles" / f"{path['station']}.csv")])
    nothing = np.zeros(len(points))
    return Profile(points[:, 0] * 1000.0, points[:, 1], nothing, points[:, 2].astype(np.uint8), math.nan, _middle_lat_deg(path))


def _middle_lat_deg(path):
    """Latitude half way along the great circle."""
    ends = []
    for end in ("tx", "rx"):
        lat, lon = math.radians(float(path[f"{end}_lat_deg"])), math.radians(float(path[f"{end}_lon_deg"]))
        ends.append(np.array([math.cos(lat) * math.cos(lon), math.cos(lat) * math.sin(lon), math.sin(lat)]))
    middle = ends[0] + ends[1]
    return math.degrees(math.asin(middle[2] / np.linalg.norm(middle)))
