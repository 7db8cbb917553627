"""The store: nothing twice, nothing lost, two processes at once, old stores brought up to date, and a GeoPackage to others."""

import hashlib
import json
import sqlite3
import subprocess
import sys
from dataclasses import asdict

import pytest

from siteplan.errors import InputError
from siteplan.records.readings import Reading
from siteplan.records.verdict import Reason
from siteplan.store import schema
from siteplan.store.readings_store import open_store

HOME = {"id": "A-1", "name": "Mill Row 3", "row": 7, "lat_deg": 47.5, "lon_deg": -9.5}


def reading(number, **more):
    values = {"taken_at": f"2026-06-1{number} 10:00", "level_dbuv": 60.0 + number} | more
    return Reading("a.csv", number, "A-1", "Oriel 25E", "O1", "outlet 1", **values)


def test_readings_come_back_as_they_went_in(tmp_path):
    note = Reason("read_taken_as", {"value": -58.0, "unit": "dBµV", "taken": "dBm"})
    with open_store(tmp_path / "s.gpkg") as store:
        assert store.add(**HOME, readings=[reading(2), reading(1, notes=(note,), locked=False, level_dbuv=float("nan"))]) == (2, 0)
        back = store.readings_of("A-1")
    assert [one.file_row for one in back] == [1, 2]  # by the time they were taken
    assert back[0].notes == (note,) and not back[0].locked and back[0].level_dbuv != back[0].level_dbuv
    assert back[1] == reading(2) or repr(back[1]) == repr(reading(2))


def test_the_same_rows_again_are_known(tmp_path):
    with open_store(tmp_path / "s.gpkg") as store:
        store.add(**HOME, readings=[reading(1)])
        assert store.add(**HOME, readings=[reading(1), reading(2)]) == (1, 1)
        assert store.ids() == ("A-1",) and store.places() == {"A-1": (47.5, -9.5)}


def test_signing_and_a_change_after_it(tmp_path):
    with open_store(tmp_path / "s.gpkg") as store:
        store.add(**HOME, readings=[reading(1)])
        assert store.signature_of("A-1") is None
        digest = store.sign("A-1", "2026-06-12T10:00")
        assert store.signature_of("A-1") == ("2026-06-12T10:00", digest, "") and store.digest_of("A-1") == digest
        store.sign("A-1", "2026-06-12T11:00", expected="cd" * 32)
        assert store.signature_of("A-1")[2] == "cd" * 32
        store.add(**HOME, readings=[reading(2)])
        assert store.digest_of("A-1") != digest
        signed = store.sign("A-1", "2026-06-13T10:00")
        store.add_pictures("A-1", [("dish.jpg", "ab" * 32, b"x")])
        assert store.digest_of("A-1") != signed and store.pictures_of("A-1") == (("dish.jpg", "ab" * 32),)


def test_a_store_of_the_first_version_is_brought_up_to_date(tmp_path):
    path = tmp_path / "old.gpkg"
    db = sqlite3.connect(path, isolation_level=None)
    db.execute(f"PRAGMA application_id = {schema.APPLICATION_ID}")
    schema.migrate(db, up_to=1)
    db.execute("INSERT INTO installations (geom, id, name, row) VALUES (NULL, 'A-1', 'x', 1)")
    db.close()
    with open_store(path) as store:
        assert store.pictures_of("A-1") == ()
    assert schema.version_of(sqlite3.connect(path)) == schema.VERSION


def test_a_signed_store_from_before_mobile_cells_keeps_its_readings_and_takes_cells(tmp_path):
    """As version 2 wrote it: a body without any field of a cell. The signature holds, the same row is known, a cell comes back whole."""
    path = tmp_path / "old.gpkg"
    old = reading(1)
    first = list(asdict(old))[:22]  # the fields that version 2 knew, notes the last of them
    data = {key: asdict(old)[key] for key in first}
    assert first[-1] == "notes"
    body = json.dumps({key: None if value != value else value for key, value in data.items()}, sort_keys=True)
    digest = hashlib.sha256(f"A-1\n{body}".encode()).hexdigest()
    db = sqlite3.connect(path, isolation_level=None)
    db.execute(f"PRAGMA application_id = {schema.APPLICATION_ID}")
    schema.migrate(db, up_to=2)
    db.execute("INSERT INTO installations (geom, id, name, row) VALUES (NULL, 'A-1', 'x', 1)")
    values = ("A-1", "a.csv", 1, digest, old.taken_at, body)
    db.execute("INSERT INTO readings (id, file, file_row, digest, taken_at, body) VALUES (?, ?, ?, ?, ?, ?)", values)
    signed = hashlib.sha256(f"{digest}\n--".encode()).hexdigest()
    db.execute("INSERT INTO signatures (id, signed_at, digest) VALUES ('A-1', '2026-06-12T10:00', ?)", (signed,))
    db.close()
    cell = Reading(
        "b.csv", 2, "A-1", "Corvid", "Tower, LTE 800", "router", rsrp_dbm=-91.0, sinr_db=12.0, rsrp_a_dbm=-91.0, rsrp_b_dbm=-97.0, pci="37",
        technology="LTE", band="20", cell_id="26112", taken_at="2026-06-12 11:00",
    )  # fmt: skip
    with open_store(path) as store:
        back = store.readings_of("A-1")
        assert repr(back) == repr((old,)) and not back[0].of_cell
        assert store.digest_of("A-1") == signed
        assert store.add(**HOME, readings=[old, cell]) == (1, 1)
        assert repr(store.readings_of("A-1")[1]) == repr(cell) and store.readings_of("A-1")[1].of_cell
        assert store.digest_of("A-1") != signed
    assert schema.version_of(sqlite3.connect(path)) == schema.VERSION


def test_strangers_and_newer_stores_are_left_alone(tmp_path):
    other = tmp_path / "other.db"
    db = sqlite3.connect(other)
    db.execute("CREATE TABLE t (x)")
    db.commit()
    db.close()
    with pytest.raises(InputError, match="something else"), open_store(other):
        pass
    text = tmp_path / "text.gpkg"
    text.write_text("not a database at all, but long enough to be looked at" * 20)
    with pytest.raises(InputError, match="no store of readings"), open_store(text):
        pass
    with open_store(tmp_path / "new.gpkg"):
        pass
    db = sqlite3.connect(tmp_path / "new.gpkg")
    db.execute("UPDATE store_info SET value = '99'")
    db.commit()
    db.close()
    with pytest.raises(InputError, match="newer siteplan"), open_store(tmp_path / "new.gpkg"):
        pass
    with pytest.raises(InputError, match="no reading was taken in"), open_store(tmp_path / "none.gpkg", must_exist=True):
        pass


_WRITER = """
import sys
from siteplan.records.readings import Reading
from siteplan.store.readings_store import open_store
for n in range(25):
    with open_store(__import__('pathlib').Path(sys.argv[1])) as store:
        made = Reading('f.csv', n, 'A-1', 'Oriel', sys.argv[2], 'outlet 1', level_dbuv=float(n))
        store.add(id='A-1', name='x', row=1, lat_deg=1.0, lon_deg=2.0, readings=[made])
"""


def test_two_processes_at_once_lose_nothing(tmp_path):
    """Both make the store and write 25 readings each, one at a time."""
    path = tmp_path / "both.gpkg"
    both = [subprocess.Popen([sys.executable, "-c", _WRITER, str(path), name], stderr=subprocess.PIPE) for name in ("O1", "O2")]
    said = [one.communicate(timeout=120)[1].decode() for one in both]
    assert [one.returncode for one in both] == [0, 0], said
    with open_store(path) as store:
        assert len(store.readings_of("A-1")) == 50


def test_other_programs_read_it_as_a_geopackage(tmp_path):
    from siteplan.files.vectors import read_point_rows

    with open_store(tmp_path / "s.gpkg") as store:
        store.add(**HOME, readings=[reading(1)])
    there = read_point_rows(tmp_path / "s.gpkg", "installations")
    assert "Mill Row 3" in repr(there) and "47.5" in repr(there)


def change(path, *statement):
    db = sqlite3.connect(path)
    with db:
        db.execute(*statement)
    db.close()


@pytest.mark.parametrize("body", ["{", "[]", '{"file": 3}', "null"])
def test_a_damaged_reading_is_counted_and_the_rest_goes_on(tmp_path, body):
    with open_store(tmp_path / "s.gpkg") as store:
        store.add(**HOME, readings=[reading(1), reading(2)])
        signed = store.sign("A-1", "2026-06-12T10:00")
    change(tmp_path / "s.gpkg", "UPDATE readings SET body = ? WHERE file_row = 1", (body,))
    change(tmp_path / "s.gpkg", "UPDATE installations SET geom = NULL")
    with open_store(tmp_path / "s.gpkg") as store:
        assert [one.file_row for one in store.readings_of("A-1")] == [2] and store.damaged_of("A-1") == 1
        assert store.digest_of("A-1") != signed and store.places() == {}


def test_what_a_reading_says_is_signed_not_what_the_store_says_of_it(tmp_path):
    with open_store(tmp_path / "s.gpkg") as store:
        store.add(**HOME, readings=[reading(1)])
        signed = store.sign("A-1", "2026-06-12T10:00")
    change(tmp_path / "s.gpkg", "UPDATE readings SET body = replace(body, '61.0', '71.0')")
    with open_store(tmp_path / "s.gpkg") as store:
        assert store.readings_of("A-1")[0].level_dbuv == 71.0 and store.digest_of("A-1") != signed


def test_a_half_file_a_wrong_version_and_a_lock_are_told_in_words(tmp_path, monkeypatch):
    from siteplan.errors import OutputError
    from siteplan.store import readings_store

    path = tmp_path / "s.gpkg"
    with open_store(path) as store:
        store.add(**HOME, readings=[reading(n) for n in range(9)])
    (tmp_path / "half.gpkg").write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with pytest.raises(InputError, match="damaged"), open_store(tmp_path / "half.gpkg") as store:
        store.readings_of("A-1")
    monkeypatch.setattr(readings_store, "WAIT_S", 0.1)
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("BEGIN EXCLUSIVE")
    with pytest.raises(OutputError, match="another program has held the store"), open_store(path):
        pass
    holder.execute("ROLLBACK")
    holder.execute("PRAGMA query_only = ON")
    holder.close()
    change(path, "UPDATE store_info SET value = 'abc'")
    with pytest.raises(InputError, match="its version is 'abc'"), open_store(path):
        pass


@pytest.mark.parametrize("version", [1, 2, 3])
def test_each_older_store_keeps_its_readings_and_its_signature(tmp_path, version):
    import hashlib

    from siteplan.store import readings_store

    path, body = tmp_path / "old.gpkg", readings_store._body(reading(1))
    digest = hashlib.sha256(f"A-1\n{body}".encode()).hexdigest()
    pictures = ["ab" * 32] if version > 1 else []
    db = sqlite3.connect(path, isolation_level=None)
    db.execute(f"PRAGMA application_id = {schema.APPLICATION_ID}")
    schema.migrate(db, up_to=version)
    db.execute("INSERT INTO installations (geom, id, name, row) VALUES (NULL, 'A-1', 'x', 1)")
    db.execute("INSERT INTO readings (id, file, file_row, digest, taken_at, body) VALUES ('A-1', 'a.csv', 1, ?, '', ?)", (digest, body))
    for picture in pictures:
        db.execute("INSERT INTO pictures (id, name, digest) VALUES ('A-1', 'p.jpg', ?)", (picture,))
    signed = hashlib.sha256("\n".join([digest, "--", *pictures]).encode()).hexdigest()
    db.execute("INSERT INTO signatures (id, signed_at, digest) VALUES ('A-1', '2026-06-12T10:00', ?)", (signed,))
    db.close()
    with open_store(path) as store:
        assert store.signature_of("A-1")[1] == store.digest_of("A-1") and len(store.readings_of("A-1")) == 1
        assert store.add(**HOME, readings=[reading(1)]) == (0, 1)  # known again


_KILLED = """
import sys
from pathlib import Path
from siteplan.records.readings import Reading
from siteplan.store.readings_store import open_store
for n in range(10_000):
    made = [Reading('f.csv', k, 'A-1', str(k), str(n), 'outlet 1') for k in range(200)]
    with open_store(Path(sys.argv[1])) as store:
        store.add(id='A-1', name='x', row=1, lat_deg=1.0, lon_deg=2.0, readings=made)
    print('stored', flush=True)
"""


def test_a_process_killed_in_the_middle_leaves_whole_batches(tmp_path):
    path = tmp_path / "s.gpkg"
    for times in (1, 2):
        one = subprocess.Popen([sys.executable, "-c", _KILLED, str(path)], stdout=subprocess.PIPE)
        for _ in range(times):
            one.stdout.readline()
        one.kill()
        one.communicate()
    db = sqlite3.connect(path)
    assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    count = db.execute("SELECT count(*) FROM readings").fetchone()[0]
    db.close()
    assert count >= 400 and count % 200 == 0


def test_it_is_a_geopackage_that_a_vector_library_opens(tmp_path):
    import pyogrio

    with open_store(tmp_path / "s.gpkg") as store:
        store.add(**HOME, readings=[reading(1)])
    layers = dict(pyogrio.list_layers(tmp_path / "s.gpkg").tolist())
    assert layers["installations"] == "Point" and set(layers) >= {"readings", "signatures", "pictures", "reports"}
    there = pyogrio.read_dataframe(tmp_path / "s.gpkg", layer="installations")
    assert there.crs.to_epsg() == 4326 and (there.geometry[0].x, there.geometry[0].y) == (-9.5, 47.5)
