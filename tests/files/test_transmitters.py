"""TV transmitters in depth: modes of every system, patterns, networks, scan tables, and what is said where they are wrong."""

import math

import pytest
from table_makers import plan_with

from siteplan.errors import TableError
from siteplan.files import channels
from siteplan.files.transmitters import read_transmitters
from siteplan.radio.modes import terrestrial_mode

pytestmark = pytest.mark.quick
GOOD = {
    "transmitter": "Hallow Hill", "lat_deg": "47.6", "lon_deg": "11.5", "antenna_height_agl_m": "120", "channel": "24", "erp_kw": "1",
    "polarisation": "h", "mode": "DVB-T2 256QAM 2/3",
}  # fmt: skip
SCAN = """[Coast A]
\tDELIVERY_SYSTEM = DVBT2
\tFREQUENCY = 498000000
\tBANDWIDTH_HZ = 8000000
\tMODULATION = QAM/256
\tCODE_RATE_HP = 2/3
\tTRANSMISSION_MODE = 32K
\tGUARD_INTERVAL = 1/16
\tINVERSION = AUTO
# a remark
[Coast B]
\tDELIVERY_SYSTEM = DVBT
\tFREQUENCY = 506000000
\tBANDWIDTH_HZ = 8000000
\tMODULATION = QAM/AUTO
\tCODE_RATE_HP = AUTO
[Bird]
\tDELIVERY_SYSTEM = DVBS2
\tFREQUENCY = 11739000
"""
PATTERN = "pattern,cut,angle_deg,loss_db\n" + "".join(f"sea side,h,{angle},{0 if angle < 180 else 12}\n" for angle in range(0, 360, 30))


@pytest.fixture
def read(tmp_path):
    """Read changes to the good row (None leaves a column out) as a table of transmitters, beside other files."""

    def reader(*changes, files=(), **keys):
        rows = [{**GOOD, **change} for change in changes]
        names = list(dict.fromkeys(name for row in rows for name in row))
        text = ";".join(names) + "\n" + "".join(";".join(str(row.get(name) or "") for name in names) + "\n" for row in rows)
        (tmp_path / "t.csv").write_text(text, encoding="utf-8")
        for name, content in files:
            (tmp_path / name).write_text(content, encoding="utf-8")
        keys = {key: tuple(tmp_path / one for one in value) if isinstance(value, list) else value for key, value in keys.items()}
        keys = {key: tmp_path / value if key == "patterns" else value for key, value in keys.items()}
        return read_transmitters(plan_with(tmp_path, transmitters={"file": tmp_path / "t.csv", **keys}))

    return reader


@pytest.mark.parametrize(
    ("written", "mode"),
    [
        ("dvb-t2 256 QAM 2/3", "DVB-T2 256QAM 2/3"), ("ATSC", "ATSC 8VSB 2/3"), ("ATSC 1.0 8-VSB", "ATSC 8VSB 2/3"),
        ("ATSC 3.0 256QAM 9/15", "ATSC3 256QAM 9/15"), ("isdb-t 64QAM 3/4", "ISDB-T 64QAM 3/4"), ("DAB+ EEP 3-A", "DAB DQPSK 3A"),
    ],
)  # fmt: skip
def test_modes_of_every_system_are_read_and_have_a_threshold(read, written, mode):
    change = {"mode": written} | ({"channel": "11C"} if "DAB" in written else {"raster": "6 MHz"} if "ATSC" in written else {})
    (found,), rejects = read(change)
    assert rejects == () and found.multiplexes[0].mode == mode
    fixed, indoor = terrestrial_mode(mode), terrestrial_mode(mode, "portable indoor")
    assert indoor.threshold_db > fixed.threshold_db - 1e-9 and fixed.source


def test_every_mode_that_the_reader_takes_has_thresholds():
    for system, modulations in channels.TERRESTRIAL_MODES.items():
        for modulation, rates in modulations.items():
            for rate in rates:
                known = terrestrial_mode(f"{system} {modulation} {rate}")
                assert math.isfinite(known.threshold_db) and known.status in ("published", "derived", "memory")


def test_dab_blocks(read):
    (found,), _ = read({"mode": "DAB 3A", "channel": "12B"})
    multiplex = found.multiplexes[0]
    assert (multiplex.frequency_mhz, multiplex.bandwidth_mhz, multiplex.name) == (225.648, 1.7, "block 12B")
    assert (multiplex.useful_us, multiplex.guard_us) == (1000.0, 246.0)
    _, (reject,) = read({"mode": "DAB 3A", "channel": "14A"})
    assert "5A to 13F" in reject.reason


def test_standard_shapes_and_tilt(read):
    (found,), rejects = read(
        {"pattern": "directional", "pattern_azimuth_deg": "200", "pattern_beamwidth_deg": "70", "electrical_tilt_deg": "0,5",
         "vertical_beamwidth_deg": "4"}
    )  # fmt: skip
    pattern = found.multiplexes[0].pattern
    assert rejects == () and (pattern.shape, pattern.azimuth_deg, pattern.beamwidth_deg) == ("directional", 200.0, 70.0)
    assert (pattern.tilt_deg, pattern.vertical_beamwidth_deg) == (0.5, 4.0)


def test_a_table_of_patterns(read):
    (found,), rejects = read({"pattern": "Sea side"}, files=[("p.csv", PATTERN)], patterns="p.csv")
    assert rejects == () and found.multiplexes[0].pattern.shape == "table"
    assert found.multiplexes[0].pattern.losses[7] == (210.0, 12.0)


def test_a_pattern_with_a_gap_costs_the_rows_that_use_it(read):
    holed = "\n".join(line for line in PATTERN.splitlines() if ",120," not in line and ",150," not in line) + "\n"
    found, (reject,) = read(
        {"pattern": "sea side"}, {"transmitter": "Other"}, files=[("p.csv", holed)], patterns="p.csv"
    )
    assert [one.name for one in found] == ["Other"]
    assert (reject.row, reject.field) == (2, "pattern") and "between bearings 90 and 180" in reject.reason


def test_a_bad_row_of_the_pattern_table_is_told(read):
    found, rejects = read({"pattern": "sea side"}, files=[("p.csv", PATTERN + "sea side,h,400,1\n")], patterns="p.csv")
    assert len(found) == 1 and [(one.file, one.row, one.field) for one in rejects] == [("p.csv", 14, "angle_deg")]


def test_a_network_with_guard_interval(read):
    (found,), rejects = read({"network": "Coast net", "delay_us": "12", "guard_interval": "1/16", "fft_size": "32k"})
    multiplex = found.multiplexes[0]
    # 32 x 1024 x 7/64 us = 3584 us useful; a sixteenth is 224 us (EN 302 755)
    assert rejects == () and (multiplex.network, multiplex.delay_us) == ("Coast net", 12.0)
    assert (multiplex.useful_us, multiplex.guard_us) == (3584.0, 224.0)


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [
        ({"guard_interval": "1/5", "fft_size": "32k"}, "guard_interval", "1/128, 1/32, 1/16, 19/256, 1/8, 19/128"),
        ({"guard_interval": "1/4", "fft_size": "32k"}, "guard_interval", "with 32k has no such guard interval"),
        ({"guard_interval": "1/8"}, "fft_size", "needs the size"),
        ({"fft_size": "64k"}, "fft_size", "write one of 1k"),
        ({"mode": "ATSC", "raster": "6", "guard_interval": "1/8"}, "guard_interval", "leave it empty"),
        ({"mode": "ATSC"}, "mode", "not sent in channels of 8 MHz"),
        ({"channel": "55"}, "channel", "above the top of the TV band, 694 MHz"),
        ({"channel": "24", "raster": "7 MHz"}, "channel", "no channel of the 7 MHz raster"),
        ({"polarisation": "q"}, "polarisation", "write h or v, m (mixed) or s (slant)"),
        ({"pattern": "cardioid"}, "pattern_azimuth_deg", "bearing of its greatest power"),
        ({"pattern": "directional", "pattern_azimuth_deg": "20"}, "pattern_beamwidth_deg", "width at half power"),
        ({"pattern": "starfish"}, "pattern", "no pattern that is known"),
        ({"pattern": "cardioid", "pattern_azimuth_deg": "361"}, "pattern_azimuth_deg", "0 to 360"),
        ({"erp_kw": "1 kW"}, "erp_kw", "the column's name says its unit (kw), so write the number alone"),
        ({"erp_kw": "500 W"}, "erp_kw", "the column's name says its unit (kw)"),
        ({"delay_us": "1e9"}, "delay_us", "-2000 to 2000"),
    ],
)
def test_bad_rows_are_told_and_the_rest_goes_on(read, change, field, says):
    found, (reject,) = read(change, {"transmitter": "Other"})
    assert [one.name for one in found] == ["Other"]
    assert (reject.file, reject.row, reject.field) == ("t.csv", 2, field) and says in reject.reason


def test_the_top_of_the_band_and_the_raster_are_keys(read):
    (found,), rejects = read({"channel": "55"}, top_mhz=790.0)
    assert rejects == () and found.multiplexes[0].frequency_mhz == 746.0
    (found,), rejects = read({"channel": "28"}, raster="7 MHz")
    assert rejects == () and found.multiplexes[0].frequency_mhz == 529.5


def test_a_scan_table_joins_the_transmitter_of_its_name(read):
    row = {"channel": "", "mode": "DVB-T 64QAM 2/3"}
    (found,), rejects = read(row, files=[("Hallow Hill.conf", SCAN)], scan_tables=["Hallow Hill.conf"])
    first, second = found.multiplexes
    assert (first.name, first.frequency_mhz, first.mode, first.erp_dbw) == ("Coast A", 498.0, "DVB-T2 256QAM 2/3", 30.0)
    assert (first.useful_us, first.guard_us) == (3584.0, 224.0)
    assert (second.name, second.mode) == ("Coast B", "DVB-T 64QAM 2/3")  # AUTO: the row's own mode
    assert [(one.file, one.row, one.field, one.value) for one in rejects] == [("Hallow Hill.conf", 17, "DELIVERY_SYSTEM", "DVBS2")]


def test_a_scan_table_without_a_transmitter_or_a_mode_is_told(read):
    _, rejects = read({}, files=[("Elsewhere.conf", SCAN)], scan_tables=["Elsewhere.conf"])
    assert [one.value for one in rejects if "called as this scan table" in one.reason] == ["Elsewhere"]
    (found,), rejects = read({"channel": "", "mode": ""}, files=[("Hallow Hill.conf", SCAN)], scan_tables=["Hallow Hill.conf"])
    assert [one.name for one in found.multiplexes] == ["Coast A"]
    assert any("leaves modulation or code rate open" in one.reason and one.row == 11 for one in rejects)
    with pytest.raises(TableError, match="neither"):
        read({}, files=[("x.conf", "T 498000000 8MHz 2/3\n")], scan_tables=["x.conf"])
