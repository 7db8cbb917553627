"""What readings teach, tried on measurements: PYTHONPATH=.:tests python tests/benchmarks/bench_teaching.py

Residual = measured less P.1812. Every figure is out of sample, block of land by block of land; nothing is fitted on the points reported.
The data are in ../shared/standards. Beside it: how many readings lay in their 80 % interval, and the band that the count allows.

Recorded (November 2026), RMSE in dB (inside 80 % interval; band):
KAND, 60 places: plain mean of the fields 5.40; none 21.54 (49; 42-54), bias 5.06 (48), spatial 4.99 (48).
The spatial one switches itself off: it is not a twentieth better.
29 long links: plain mean of the losses 25.67; none 9.21 (24; 19-27), bias 7.23 (24), spatial 7.23 (24). The bias is 2.98 times its own
error by blocks of land and so stays off. On pure noise a correction stayed on in 12 of 400 sets of 10 readings, 8 of 400 of 20, 0 of 100
of 40.
"""

import csv
import math

from measured_links import rows
from shared_data import SHARED

from siteplan.services.shared.teaching import binomial_band, learn


def main():
    folder = SHARED / "standards"
    if not folder.exists():
        raise SystemExit(f"{folder} is not there: the measurements lie in ../shared, beside this checkout")
    show("KAND (60 places, blocks of 500 m)", kand(folder / "measured_dtt.csv"))
    show("Long links (median of time, blocks of 300 km)", links(folder / "measured_paths"))


def kand(file):
    """Places round one TV mast: distance and height alone, as the file holds no profile."""
    from measured_links import tv_field_dbuv_per_m as field

    with open(file, encoding="utf-8", newline="") as open_file:
        found = [row for row in csv.DictReader(open_file) if row["tx_id"] == "KAND"]
    lat0 = float(found[0]["rx_lat_deg"])
    east = [float(row["rx_lon_deg"]) * 111_320.0 * math.cos(math.radians(lat0)) for row in found]
    north = [float(row["rx_lat_deg"]) * 110_570.0 for row in found]
    measured = [float(row["field_strength_dbuvm"]) for row in found]
    residual = [value - field(row, "p1812") for value, row in zip(measured, found, strict=True)]
    return learn(east, north, residual), learn(east, north, measured)


def links(folder):
    """Middles of the long links that carry no quality flag, at 50 % of the time."""
    with open(folder / "paths.csv", encoding="utf-8", newline="") as open_file:
        paths = {row["station"]: row for row in csv.DictReader(open_file)}
    found = [row for row in rows(folder) if row.trusted and row.time_pct == 50.0]
    east, north = [], []
    for row in found:
        path = paths[row.station]
        lat = 0.5 * (float(path["tx_lat_deg"]) + float(path["rx_lat_deg"]))
        lon = 0.5 * (float(path["tx_lon_deg"]) + float(path["rx_lon_deg"]))
        east.append(lon * 111_320.0 * math.cos(math.radians(lat)))
        north.append(lat * 110_570.0)
    residual = [row.ours_db - row.measured_db for row in found]
    return learn(east, north, residual, block_m=300_000.0), learn(east, north, [-row.measured_db for row in found], block_m=300_000.0)


def show(title, lessons):
    lesson, plain = lessons
    mean = next(trial for trial in plain.trials if trial.name == "bias")
    print(f"{title}: plain mean of what was measured, out of sample: RMSE {mean.rmse_db:.2f} dB")
    print(f"  used {lesson.used} {lesson.why}")
    for trial in lesson.trials:
        low, high = binomial_band(trial.count, 0.8)
        print(f"  {trial.name:8} RMSE {trial.rmse_db:5.2f} dB, {trial.inside} of {trial.count} inside 80 % (band {low} to {high})")


if __name__ == "__main__":
    main()
