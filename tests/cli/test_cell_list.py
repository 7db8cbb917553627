"""A plan whose mobile table is an open cell list: read as one, judged with low trust, never booked, bad rows told."""

import json

from small_job import TABLES, TRANSMITTERS, place

HEAD = "radio,mcc,net,area,cell,unit,lon,lat,range,samples,changeable,created,updated,averageSignal\n"
GOOD_TV = "Hill,500900,5299900,,60,M,24,1,h,DVB-T2 256QAM 2/3\n"


def cells(*rows):
    """Return a list of cells: (cell, metres east, metres south)."""
    out = HEAD
    for cell, east, south in rows:
        lat, lon = place(east, south)
        out += f"LTE,901,7,12,{cell},1,{lon},{lat},1500,40,1,1700000000,1700000000,0\n"
    return out


def given(job, text, more=""):
    job.write("satellites.csv", "satellite,orbit_deg,frequency_mhz\n")
    job.write("transmitters.csv", TRANSMITTERS + GOOD_TV)
    job.write("sectors.csv", text)
    job.plan(TABLES.replace('wanted = ["10E"]\n', "") + more)
    return job


def test_a_cell_list_gives_directions_and_no_promise(job):
    text = cells((25600, 850, 100), (25601, 950, 100), (25602, 900, 190)) + "LTE,901,7,12,25603,1,,,1500,40,1,0,0,0\n"
    job = given(job, text, '[mobile.operator_names]\n"901-07" = "Corvid"\n')
    done = job.run()
    assert done.code == 0, done.err
    for row in job.verdicts():
        assert row["mobile_verdict"] == "survey first" and row["mobile_how_sure"].startswith("low, because")
        assert row["mobile_reasons"].startswith("Corvid, LTE 100: known only from a list of where phones measured")
        assert row["mobile_operator"] == "Corvid" and row["mobile_sinr_db"] == ""
    assert [(line["file"], line["row"], line["field"]) for line in job.rejects()] == [("sectors.csv", "5", "lat")]
    sheet = (job.out / job.verdicts()[0]["sheet"]).read_text(encoding="utf-8")
    assert "Each bearing is the middle of a sector of directions" in sheet
    told = json.loads(job.check("--json").out)["mobile"]
    assert (told["accepted"], told["operators"], len(told["rejects"])) == (1, ["Corvid"], 1)


def test_a_network_name_that_is_none_is_told(job):
    job = given(job, cells((25600, 850, 100)), '[mobile.operator_names]\n"9017" = "Corvid"\n')
    done = job.tables()
    assert done.code == 3 and "is no network" in done.err and "mobile.operator_names" in done.err


def test_where_a_cell_list_is_silent_nothing_is_ruled_out(job):
    tables = TABLES.replace('file = "sectors.csv"', 'file = "sectors.csv"\ngreatest_distance_km = 0.1')
    job = given(job, cells((25600, 850, 100)))
    job.plan(tables.replace('wanted = ["10E"]\n', ""))
    assert job.tables().code == 0
    for row in job.verdicts():
        assert row["mobile_verdict"] == "survey first"
        assert row["mobile_reasons"].startswith("A list of where phones measured does not prove that there is nothing")
