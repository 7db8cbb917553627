"""What an LNB does not take is named, in check and in a run, and the rest goes on; a quattro before a receiver is refused with words."""

from small_job import SATELLITES, TABLES, Job, write_land

ROWS = SATELLITES + "Heron,10E,2,3900,V,27500,DVB-S2,QPSK,3/4,51,stated\nHeron,10E,3,11300,L,27500,DVB-S2,QPSK,3/4,51,stated\n"
ONLY = '[satellites]\nwanted = ["10E"]\nfile = "satellites.csv"\n[kit]\nlnb = "universal single"\n'


def job(tmp_path, capsys, monkeypatch):
    (tmp_path / "land").mkdir()
    made = Job(tmp_path, write_land(tmp_path / "land"), capsys, monkeypatch)
    made.write("satellites.csv", ROWS)
    return made


def test_left_out_and_named(tmp_path, capsys, monkeypatch):
    made = job(tmp_path, capsys, monkeypatch)
    made.plan(ONLY)
    ended = made.check()
    assert ended.code == 0 and "Satellites: 1 (Heron), 1 transponders." in ended.out
    assert "Heron, 2 (3900 MHz V): outside what the LNB of this plan takes (universal single: 10700-11700, 11700-12750 MHz)" in ended.out
    assert "Heron, 3 (11300 MHz L): the LNB of this plan (universal single) is made for the other kind of polarisation" in ended.out
    assert made.tables().code == 0
    first = made.verdicts()[0]
    assert first["satellite_10e_tune_first"] == "1 11258 H (1508, HL)" and first["satellite_10e_lnb"] == "universal single"


def test_a_quattro_before_a_receiver(tmp_path, capsys, monkeypatch):
    made = job(tmp_path, capsys, monkeypatch)
    made.plan(TABLES + '[kit]\nlnb = "universal quattro"\n')
    ended = made.run()
    assert ended.code == 3 and "key kit.lnb: universal quattro: a quattro gives four fixed sub-bands" in ended.err
