"""Senders that can't be: told by file, row, column and value; the good ones and every address are judged all the same."""

import json

import pytest
from small_job import ADDRESSES, SATELLITES, SECTORS, TABLES, TRANSMITTERS, at, place

X, Y = at(900, 100)
GOOD_TV = f"Hill,{X},{Y},,60,M,24,1,h,DVB-T2 256QAM 2/3\n"
GOOD_MOBILE = f"Corvid,Mast,1,{X},{Y},30,LTE,800,806,20,200\n"


@pytest.fixture
def senders(job):
    """A job with one good sender of each kind, and a way to give other rows."""

    def give(*, satellites=SATELLITES, tv=GOOD_TV, mobile=GOOD_MOBILE, tables=TABLES):
        job.write("satellites.csv", satellites)
        job.write("transmitters.csv", TRANSMITTERS + tv)
        job.write("sectors.csv", SECTORS + mobile)
        job.plan(tables)
        return job

    return give


def test_good_senders_are_all_judged(senders):
    job = senders()
    done = job.tables("--strict")
    assert done.code == 0, done.err
    for row in job.verdicts():
        assert "not judged" not in (row["satellite_verdict"], row["terrestrial_verdict"], row["mobile_verdict"])


@pytest.mark.parametrize(
    ("table", "row", "field", "value", "reason"),
    [
        ("tv", f"Low,{X},{Y},,-5,M,25,1,h,DVB-T2 256QAM 2/3\n", "antenna_height_agl_m", "-5", "at or under the ground"),
        ("tv", f"Sink,{X},{Y},,60,M,25,-1,h,DVB-T2 256QAM 2/3\n", "erp_kw", "-1", "a power can't be negative"),
        ("tv", f"None,{X},{Y},,60,M,25,0,h,DVB-T2 256QAM 2/3\n", "erp_kw", "0", "a power must be above 0"),
        ("tv", f"Off,{X},{Y},,60,M,999,1,h,DVB-T2 256QAM 2/3\n", "channel", "999", "is no channel of the 8 MHz raster"),
        ("tv", f"Way,{X},{Y},,60,M,25,1,h,DVB-T9 256QAM 2/3\n", "mode", "DVB-T9 256QAM 2/3", ""),
        ("tv", "Nowhere,,,,60,M,25,1,h,DVB-T2 256QAM 2/3\n", "x", "", "empty"),
        ("mobile", f"Corvid,Mast,2,{X},{Y},30,LTE,800,806,2000,200\n", "re_eirp_dbm", "", "out of range"),
        ("mobile", f"Corvid,Mast,2,{X},{Y},30,LTE,800,806,20,north\n", "azimuth_deg", "north", "is not a number"),
        ("mobile", f"Corvid,Mast,2,{X},{Y},30,LTA,900,940,20,200\n", "technology", "LTA", "write GSM, UMTS, LTE or NR"),
    ],
)  # fmt: skip
def test_a_bad_row_is_named_and_the_rest_is_done(senders, table, row, field, value, reason):
    job = senders(**{table: {"tv": GOOD_TV, "mobile": GOOD_MOBILE}[table] + row})
    done = job.check("--json")
    assert done.code == 0, done.err
    (reject,) = json.loads(done.out)["transmitters" if table == "tv" else "mobile"]["rejects"]
    assert (reject["row"], reject["field"]) == (3, field) and reject["value"].startswith(value) and reason in reject["reason"]
    assert f"row 3, column {field}" in job.check().out


def test_bad_rows_are_counted_in_the_last_line_and_listed(senders):
    job = senders(tv=GOOD_TV + f"Sink,{X},{Y},,60,M,25,-1,h,DVB-T2 256QAM 2/3\n")
    done = job.tables()
    assert done.code == 0 and "(1 line of other tables rejected: see" in done.out.splitlines()[-1]
    assert job.rejects() == [
        {"file": "transmitters.csv", "row": "3", "field": "erp_kw", "value": "'-1" if job.rejects()[0]["value"][0] == "'" else "-1",
         "reason": "a power can't be negative"}
    ]  # fmt: skip
    assert {row["terrestrial_transmitter"] for row in job.verdicts()} == {"Hill"}
    assert job.tables("--strict").code == 6


def test_a_transmitter_under_the_ground_of_this_plan_is_left_out_and_said(senders):
    job = senders(tv=GOOD_TV + f"Mole,{X},{Y},100,60,M,25,1000,h,DVB-T2 256QAM 2/3\n")
    done = job.run()
    assert done.code == 0, done.err
    assert {row["terrestrial_transmitter"] for row in job.verdicts()} == {"Hill"}
    assert "Mole would stand under the ground of this plan (160 m against" in (job.out / "index.html").read_text(encoding="utf-8")
    assert "Mole would stand under the ground" in done.out and "Mole would stand under the ground" in job.check().out


def test_a_transmitter_off_the_land_is_left_out_and_said(senders):
    lat, lon = place(30_000, 500)
    x, y = at(30_000, 500)
    job = senders(tv=GOOD_TV + f"Afar,{x},{y},,60,M,25,1000,h,DVB-T2 256QAM 2/3\n")
    done = job.run()
    assert done.code == 0, done.err
    assert {row["terrestrial_transmitter"] for row in job.verdicts()} == {"Hill"}
    for text in (done.out, job.check().out, (job.out / "index.html").read_text(encoding="utf-8")):
        assert "The ground under Afar is not known: left out." in text


POOR = TABLES + "[kit]\naerial_gain_dbd = -10\naerial_feeder_loss_db = 30\n[limits]\nrsrp_dbm = -45\nrsrp_floor_dbm = -45\n"


def test_not_feasible_is_not_said_where_a_sender_in_reach_was_left_out(senders):
    x, y = at(30_000, 500)
    weak = {"tv": GOOD_TV.replace(",24,1,", ",24,0.000002,"), "mobile": GOOD_MOBILE.replace(",806,20,", ",806,-29,")}
    job = senders(**weak, tables=POOR)
    assert job.tables().code == 0
    assert {row[f"{one}_verdict"] for row in job.verdicts() for one in ("terrestrial", "mobile")} == {"not feasible"}
    far = {
        "tv": weak["tv"] + f"Afar,{x},{y},,60,M,25,1000,h,DVB-T2 256QAM 2/3\n",
        "mobile": f"Corvid,Far,1,{x},{y},30,LTE,800,806,20,200\n",
    }
    job = senders(**far, tables=POOR)
    assert job.tables().code == 0
    for row in job.verdicts():
        assert row["terrestrial_verdict"] == row["mobile_verdict"] == "survey first"
        assert row["terrestrial_reasons"].startswith("The ground under Afar is not known: left out.")
        assert row["mobile_reasons"] == "The ground under Far is not known: left out."
    job = senders(**far, tables=POOR.replace('.csv"\n', '.csv"\ngreatest_distance_km = 20\n').replace("greatest_distance_km = 20\n", "", 1))
    assert job.tables().code == 0
    assert {row[f"{one}_verdict"] for row in job.verdicts() for one in ("terrestrial", "mobile")} == {"not feasible"}


def test_a_table_of_which_every_row_is_rejected_lists_none(senders):
    job = senders(tv=GOOD_TV.replace(",24,1,", ",24,-1,"))
    assert job.tables().code == 0
    for row in job.verdicts():
        assert (row["terrestrial_verdict"], row["terrestrial_reasons"]) == ("not judged", "This plan lists no terrestrial transmitter.")


def test_a_sender_at_the_address_itself(senders):
    x, y = at(700, 700)
    job = senders(
        tv=f"Here,{x},{y},,60,M,24,1,h,DVB-T2 256QAM 2/3\n" + GOOD_TV, mobile=f"Corvid,Here,1,{x},{y},30,LTE,800,806,20,200\n" + GOOD_MOBILE
    )
    done = job.run()
    assert done.code == 0, done.err
    last = job.verdicts()[2]
    assert last["terrestrial_transmitter"] == "Hill" and last["mobile_site"] == "Mast"
    assert job.verdicts()[0]["terrestrial_transmitter"] in ("Here", "Hill")
    sheet = (job.out / last["sheet"]).read_text(encoding="utf-8")
    assert "Here stands at this very address: left out." in last["terrestrial_reasons"] + last["mobile_reasons"] + sheet


def test_a_sender_only_at_the_address(senders):
    x, y = at(700, 700)
    job = senders(tv=f"Here,{x},{y},,60,M,24,1,h,DVB-T2 256QAM 2/3\n")
    done = job.tables()
    assert done.code == 0, done.err
    assert "Here stands at this very address: left out." in job.verdicts()[2]["terrestrial_reasons"]


def test_a_satellite_below_the_horizon_is_not_feasible_and_said(senders):
    job = senders(satellites=SATELLITES + SATELLITES.splitlines()[1].replace("Heron,10E", "Auk,160W") + "\n",
                  tables=TABLES.replace('["10E"]', '["10E", "160W"]'))  # fmt: skip
    done = job.run()
    assert done.code == 0, done.err
    for row in job.verdicts():
        assert row["satellite_160w_verdict"] == "not feasible" and row["satellite_verdict"] == "not feasible"
        assert row["satellite_reasons"].startswith("Auk never rises here.") and row["satellite_10e_verdict"] != "not feasible"


def test_names_of_senders_are_data_too(senders):
    evil = '<script>alert("x")</script>'
    tv = GOOD_TV.replace("Hill", '"' + evil.replace('"', '""') + '"').replace(",M,", ",=1+1,")
    mobile = GOOD_MOBILE.replace("Corvid", "=cmd|' /C calc'!A0").replace("Mast", "../../x")
    job = senders(tv=tv, mobile=mobile, satellites=SATELLITES.replace("Heron", "</script><b>Heron"))
    done = job.run()
    assert done.code == 0, done.err
    for row in job.verdicts():
        assert not any(value.startswith(("=", "+", "@")) for value in (*row.values(), *row))
        assert row["terrestrial_transmitter"] == evil
    for page in [job.out / "index.html", job.out / "map.html", *(job.out / "sheets").iterdir()]:
        html = page.read_text(encoding="utf-8")
        assert '<script>alert("x")' not in html and "<b>Heron" not in html, page.name
    names = [path.relative_to(job.out).as_posix() for path in (job.out / "profiles").iterdir()]
    assert names and all(name.count("/") == 1 and ".." not in name for name in names)


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("transmitters.csv", TRANSMITTERS.replace("erp_kw", "erp"), "does not say its unit in its name"),
        ("transmitters.csv", TRANSMITTERS.replace("polarisation", "polarization"), "did you mean polarisation?"),
        ("sectors.csv", "operator,site\nA,B\n", "column antenna_height_agl_m is missing"),
        ("satellites.csv", "", "this file is empty (0 bytes)"),
    ],
    ids=["no unit", "nearly right", "columns missing", "empty"],
)
def test_a_table_of_no_use_is_one_message(senders, name, content, says):
    job = senders()
    job.write(name, content)
    done = job.tables()
    assert done.code == 3 and says in done.err and name in done.err and not (job.out / "verdicts.csv").exists()


def test_tables_with_a_heading_alone_list_none(senders):
    job = senders(satellites=SATELLITES.splitlines()[0] + "\n", tv="", mobile="", tables=TABLES.replace('wanted = ["10E"]\n', ""))
    done = job.tables()
    assert done.code == 0, done.err
    for row in job.verdicts():
        assert {row[f"{one}_verdict"] for one in ("satellite", "terrestrial", "mobile")} == {"not judged"}
    assert job.check().out.count("this plan lists none") == 3


def test_a_plan_of_terrain_and_addresses_alone(job):
    job.plan(date="")
    done = job.run()
    assert done.code == 0, done.err
    assert "The plan names no date:" in done.err and "was taken" in done.err
    for row in job.verdicts():
        assert (row["satellite_verdict"], row["terrestrial_verdict"], row["mobile_verdict"]) == ("not judged",) * 3
        assert row["terrestrial_reasons"] == "This plan lists no terrestrial transmitter."
        assert row["mobile_reasons"] == "This plan lists no mobile site."
        assert row["satellite_reasons"].startswith("This plan names no satellite. From here the sky is open towards satellites from 54W to")
        assert row["visible_arc"].startswith("54W to")
    assert ADDRESSES.count("\n") - 1 == len(job.verdicts())


TV_COLUMNS = TRANSMITTERS.strip() + ",pattern,pattern_azimuth_deg,network,guard_interval,fft_size\n"
PATTERN = "pattern,angle_deg,loss_db\n" + "".join(f"coast,{angle},0\n" for angle in (*range(0, 100, 20), *range(200, 360, 20)))
SCAN = """[Coast A]
DELIVERY_SYSTEM = DVBT2
FREQUENCY = 498000000
BANDWIDTH_HZ = 8000000
MODULATION = QAM/256
CODE_RATE_HP = 2/3
[Coast B]
DELIVERY_SYSTEM = DVBT2
FREQUENCY = 754000000
MODULATION = QAM/256
CODE_RATE_HP = 2/3
"""


def test_patterns_networks_and_scan_tables_are_told_by_row_and_the_rest_is_done(senders):
    job = senders(tables=TABLES.replace(
        'file = "transmitters.csv"', 'file = "transmitters.csv"\npatterns = "patterns.csv"\nscan_tables = ["Scanned.conf"]'
    ))  # fmt: skip
    job.write("patterns.csv", PATTERN)
    job.write("Scanned.conf", SCAN)
    rows = (
        f"Hill,{X},{Y},,60,M,24,1,h,DVB-T2 256QAM 2/3,,,net,1/16,32k\n"
        f"Holed,{X},{Y},,60,M,25,1,h,DVB-T2 256QAM 2/3,coast,,,,\n"
        f"Guarded,{X},{Y},,60,M,26,1,h,DVB-T2 256QAM 2/3,,,net,1/5,32k\n"
        f"Scanned,{X},{Y},,60,,,1,v,DVB-T2 64QAM 2/3,,,,,\n"
        f"High,{X},{Y},,60,M,55,1,h,DVB-T2 256QAM 2/3,,,,,\n"
    )
    job.write("transmitters.csv", TV_COLUMNS + rows)
    told = json.loads(job.check("--json").out)["transmitters"]
    assert told["names"] == ["Hill", "Scanned"] and told["multiplexes"] == 2
    assert [(one["row"], one["field"]) for one in told["rejects"]] == [(3, "pattern"), (4, "guard_interval"), (6, "channel")]
    assert "between bearings 80 and 200" in told["rejects"][0]["reason"]
    assert [table["file"] for table in told["beside"]] == ["patterns.csv", "Scanned.conf"]
    (reject,) = told["beside"][1]["rejects"]
    assert (reject["row"], reject["field"]) == (7, "frequency_mhz") and "above the top of the TV band" in reject["reason"]
    assert "Scanned.conf" in job.check().out
    done = job.tables()
    assert done.code == 0 and {row["terrestrial_transmitter"] for row in job.verdicts()} <= {"Hill", "Scanned"}
