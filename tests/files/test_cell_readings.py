"""Readings of mobile cells: columns, channel numbers, units, and what is refused."""

from __future__ import annotations

import math

import pytest

from siteplan.files.readings import read_readings

pytestmark = pytest.mark.quick


def put(tmp_path, text):
    file = tmp_path / "r.csv"
    file.write_text(text, encoding="utf-8")
    return read_readings(file)


def test_a_row_of_a_cell(tmp_path):
    made, rejects = put(tmp_path, "id,Operator,Cell,RSRP (dBm),RSRQ (dB),SINR,RSSI (dBm),PCI,EARFCN\n1,Corvid,,-91,-9.5,14,-62,37,6200\n")
    assert not rejects
    one = made[0]
    assert (one.source, one.frequency_mhz, one.rsrp_dbm, one.pci) == ("Corvid", 796, -91, "37")
    assert (one.rsrq_db, one.sinr_db, one.rssi_dbm) == (-9.5, 14, -62)
    assert one.of_cell and math.isnan(one.level_dbuv)


@pytest.mark.parametrize("column, number, mhz", [("nr_arfcn", 643334, 3650.01), ("earfcn", 1850, 1870.0), ("frequency_mhz", 806, 806.0)])
def test_a_channel_number_stands_for_its_frequency(tmp_path, column, number, mhz):
    """3GPP TS 38.104, 5.4.2.1: 3000 + 0.015 (643334 - 600000) = 3650.01 MHz; TS 36.101, 5.7.3: band 3, 1805 + 0.1 (1850 - 1200)."""
    made, _ = put(tmp_path, f"operator,{column},rsrp_dbm\nCorvid,{number},-90\n")
    assert made[0].frequency_mhz == pytest.approx(mhz)


def test_a_lost_minus_is_put_back_and_told(tmp_path):
    made, _ = put(tmp_path, "operator,earfcn,rsrp_dbm,rsrq_db,sinr_db\nCorvid,6200,91,9,14\n")
    assert (made[0].rsrp_dbm, made[0].rsrq_db, made[0].sinr_db) == (-91, -9, 14)
    assert [note.code for note in made[0].notes] == ["read_minus_missing", "read_minus_missing"]


def test_two_leads_give_the_better(tmp_path):
    made, _ = put(tmp_path, "operator,earfcn,rsrp_a_dbm,rsrp_b_dbm\nCorvid,6200,-90,-99\n")
    assert made[0].rsrp_dbm == -90


@pytest.mark.parametrize(
    "row, field",
    [
        ("Corvid,6200,-170,5,3", "rsrp_dbm"), ("Corvid,6200,-90,70,3", "sinr_db"), ("Corvid,6200,-90,5,2000", "pci"),
        ("Corvid,68999,-90,5,3", "earfcn"), ("Corvid,6200.5,-90,5,3", "earfcn"), ("Corvid,6200,-90,5,-1", "pci"),
        ("Corvid,6200,,,", "level_dbuv"), ("Corvid,6200,strong,5,3", "rsrp_dbm"), ("Corvid,,-90,5,", "carrier"),
    ],
)  # fmt: skip
def test_what_is_refused_names_its_field_and_the_rest_goes_on(tmp_path, row, field):
    made, rejects = put(tmp_path, f"operator,earfcn,rsrp_dbm,sinr_db,pci\n{row}\nCorvid,6200,-90,5,3\n")
    assert [bad.field for bad in rejects] == [field] and len(made) == 1


def test_a_cell_named_by_band_technology_and_identities(tmp_path):
    made, rejects = put(tmp_path, "operator,technology,band,cell id,pci,SS-RSRP (dBm),SS-SINR\nCorvid,5G,n78,26112,41,-90,12\n")
    assert not rejects
    one = made[0]
    assert (one.technology, one.band, one.cell_id, one.pci, one.rsrp_dbm, one.sinr_db) == ("NR", "n78", "26112", "41", -90, 12)


def test_the_channel_column_tells_the_technology(tmp_path):
    made, _ = put(tmp_path, "operator,nr_arfcn,rsrp_dbm\nCorvid,643334,-90\n")
    assert made[0].technology == "NR"


def test_more_rsrp_than_rssi_is_turned_round_and_told(tmp_path):
    made, _ = put(tmp_path, "operator,earfcn,rsrp_dbm,rssi_dbm\nCorvid,6200,-62,-91\n")
    assert (made[0].rsrp_dbm, made[0].rssi_dbm) == (-91, -62)
    assert [note.code for note in made[0].notes] == ["read_rssi_swapped"]


@pytest.mark.parametrize(
    "head, row, field, says",
    [
        ("earfcn", "24200", "earfcn", "uplink number of band 20"), ("technology,band", "6G,20", "technology", "GSM, UMTS, LTE or NR"),
        ("technology,earfcn", "NR,6200", "earfcn", "belongs to LTE"),
    ],
)  # fmt: skip
def test_numbers_that_contradict_are_refused(tmp_path, head, row, field, says):
    made, rejects = put(tmp_path, f"operator,rsrp_dbm,{head}\nCorvid,-90,{row}\n")
    assert not made and rejects[0].field == field and says in rejects[0].reason
