"""Readings in and out of the store. Safe for two processes at once: every change is one transaction, waited for up to half a minute."""

from __future__ import annotations

import hashlib
import json
import math
import sqlite3
import struct
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import fields, replace
from pathlib import Path

from siteplan.errors import InputError, OutputError, told
from siteplan.records.readings import Reading
from siteplan.records.verdict import Reason
from siteplan.store.schema import APPLICATION_ID, USER_VERSION, VERSION, migrate, version_of

WAIT_S = 30.0
_FIELDS = tuple(field.name for field in fields(Reading))
# Fields that came after stores were in use: written where they hold something, so that a reading stored before them is known again.
_LATER = frozenset((
    "rsrp_dbm", "rsrq_db", "sinr_db", "rssi_dbm", "rsrp_a_dbm", "rsrp_b_dbm", "pci", "polarisation", "technology", "band", "cell_id",
))  # fmt: skip


@contextmanager
def open_store(path: Path, *, must_exist: bool = False) -> Iterator[Store]:
    """Open a store, made or brought up to date where needed.

    Raises OutputError where it can't be written, InputError where the file is something else or made by a newer siteplan.
    """
    if must_exist and not path.exists():
        raise InputError(told("{path} is not there: no reading was taken in yet (siteplan readings)", path=path))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        db = sqlite3.connect(path, timeout=WAIT_S, isolation_level=None)
    except (OSError, sqlite3.Error) as wrong:
        raise OutputError(told("{path}: the store of readings can't be opened ({wrong})", path=path, wrong=wrong)) from None
    try:
        db.execute(f"PRAGMA busy_timeout = {int(WAIT_S * 1000)}")
        have = db.execute("PRAGMA application_id").fetchone()[0]
        tables = db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
        if tables and (have != APPLICATION_ID or version_of(db) == 0):
            raise InputError(told("{path} is a database of something else; name another file under [readings] store", path=path))
        if version_of(db) > VERSION:
            raise InputError(
                told(
                    "{path} was written by a newer siteplan (store version {version_of}; this one knows {version})",
                    path=path,
                    version_of=version_of(db),
                    version=VERSION,
                )
            )
        if version_of(db) < VERSION:
            db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            db.execute(f"PRAGMA user_version = {USER_VERSION}")
            migrate(db)
        db.execute("PRAGMA foreign_keys = ON")
        yield Store(db)
    except sqlite3.DatabaseError as wrong:
        raise _told(path, wrong) from None
    finally:
        db.close()


def _told(path: Path, wrong: sqlite3.DatabaseError) -> Exception:
    if "locked" in str(wrong) or "busy" in str(wrong):
        return OutputError(told("{path}: another program has held the store for half a minute; try again", path=path))
    if "readonly" in str(wrong) or "unable to open" in str(wrong):
        return OutputError(told("{path}: the store of readings can't be written ({wrong})", path=path, wrong=wrong))
    return InputError(told("{path} is no store of readings, or is damaged ({wrong})", path=path, wrong=wrong))


class Store:
    """One open store."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db

    @contextmanager
    def together(self) -> Iterator[None]:
        """Make several changes one: all of them or none."""
        with self._change():
            yield

    @contextmanager
    def _change(self) -> Iterator[None]:
        if self._db.in_transaction:  # part of a greater change
            yield
            return
        self._db.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._db.execute("COMMIT")
        except BaseException:
            self._db.execute("ROLLBACK")
            raise

    def add(self, *, id: str, name: str, row: int, lat_deg: float, lon_deg: float, readings: Sequence[Reading]) -> tuple[int, int]:
        """Store readings of one installation; return how many are new and how many were stored before.

        What a reading says makes it the same, not the file it came in: a copied or renamed file counts once.
        """
        new = 0
        with self._change():
            self._db.execute(
                "INSERT INTO installations (geom, id, name, row) VALUES (?, ?, ?, ?) "
                "ON CONFLICT(id) DO UPDATE SET geom = excluded.geom, name = excluded.name, row = excluded.row",
                (_point(lat_deg, lon_deg), id, name, row),
            )
            for reading in readings:
                body = _body(reading)
                digest = _digest(id, _body(replace(reading, file="", file_row=0)))
                earlier = self._db.execute("SELECT 1 FROM readings WHERE digest = ?", (_digest(id, body),))  # as stores once named it
                if earlier.fetchone():
                    continue
                done = self._db.execute(
                    "INSERT INTO readings (id, file, file_row, digest, taken_at, body) VALUES (?, ?, ?, ?, ?, ?) "
                    "ON CONFLICT(digest) DO NOTHING",
                    (id, reading.file, reading.file_row, digest, reading.taken_at, body),
                )
                new += done.rowcount
        return new, len(readings) - new

    def ids(self) -> tuple[str, ...]:
        """Return the ids of all installations that have readings, in order."""
        return tuple(row[0] for row in self._db.execute("SELECT DISTINCT id FROM readings ORDER BY id"))

    def readings_of(self, id: str) -> tuple[Reading, ...]:
        """Return the readings of one installation, oldest first; those without a time by the order in which they came."""
        rows = self._db.execute("SELECT body FROM readings WHERE id = ? ORDER BY fid", (id,))
        whole = [made for row in rows if (made := _reading(row[0])) is not None]
        return tuple(sorted(whole, key=lambda one: one.moment))

    def damaged_of(self, id: str) -> int:
        """Return how many readings of one installation are there but can't be read any more."""
        return sum(_reading(row[0]) is None for row in self._db.execute("SELECT body FROM readings WHERE id = ?", (id,)))

    def places(self) -> dict[str, tuple[float, float]]:
        """Return (lat_deg, lon_deg) of each installation."""
        made = {}
        for name, blob in self._db.execute("SELECT id, geom FROM installations ORDER BY id"):
            if isinstance(blob, bytes) and len(blob) >= 16:
                lon, lat = struct.unpack("<dd", blob[-16:])
                made[name] = (lat, lon)
        return made

    def digest_of(self, id: str) -> str:
        """Return a hash over everything stored of one installation: over the readings themselves, not over what the store says of them."""
        rows = sorted(_digest(id, row[0]) for row in self._db.execute("SELECT body FROM readings WHERE id = ?", (id,)))
        found = self._db.execute("SELECT digest, image FROM pictures WHERE id = ? ORDER BY digest", (id,))
        pictures = [digest if image is None else f"{digest} {hashlib.sha256(image).hexdigest()}" for digest, image in found]
        return hashlib.sha256("\n".join([*rows, "--", *pictures]).encode()).hexdigest()

    def content(self) -> tuple[int, str]:
        """Return how many readings are stored, and a hash over them and the places they were taken at: all that a run can rest on.

        Signatures and pictures are not in it, nor in what order the readings came.
        """
        found = self._db.execute("SELECT readings.id, hex(installations.geom), readings.body FROM readings JOIN installations USING (id)")
        rows = sorted((id, place, _digest(id, body)) for id, place, body in found)
        text = json.dumps(rows, ensure_ascii=False)
        return len(rows), hashlib.sha256(text.encode()).hexdigest()

    def sign(self, id: str, signed_at: str, expected: str = "") -> str:
        """Store that an installation is signed as it is now; return its hash. expected: a hash of what was expected of it then."""
        with self._change():
            digest = self.digest_of(id)
            values = (id, signed_at, digest, expected)
            self._db.execute("INSERT INTO signatures (id, signed_at, digest, expected) VALUES (?, ?, ?, ?)", values)
        return digest

    def signature_of(self, id: str) -> tuple[str, str, str] | None:
        """Return (signed at, hash then, hash of what was expected then or "") of the latest signature, None where there is none."""
        asked = "SELECT signed_at, digest, expected FROM signatures WHERE id = ? ORDER BY fid DESC LIMIT 1"
        row = self._db.execute(asked, (id,)).fetchone()
        return (row[0], row[1], row[2]) if row else None

    def add_pictures(self, id: str, pictures: Iterable[tuple[str, str, bytes]]) -> tuple[str, ...]:
        """Store pictures (name, hash of the file, bytes as shown) of an installation; return names under which another one lay before."""
        others = []
        with self._change():
            for name, digest, image in pictures:
                before = self._db.execute("SELECT count(*) FROM pictures WHERE id = ? AND name = ? AND digest <> ?", (id, name, digest))
                if before.fetchone()[0]:
                    others.append(name)
                self._db.execute(
                    "INSERT INTO pictures (id, name, digest, image) VALUES (?, ?, ?, ?) ON CONFLICT (id, digest) DO UPDATE SET image = "
                    "coalesce(image, excluded.image)", (id, name, digest, image),
                )  # fmt: skip
        return tuple(others)

    def images_of(self, id: str) -> tuple[tuple[str, str, bytes], ...]:
        """Return (name, hash of the file, bytes as shown) of the pictures of one installation; bytes b"" where an older store has none."""
        rows = self._db.execute("SELECT name, digest, image FROM pictures WHERE id = ? ORDER BY name, digest", (id,))
        return tuple((name, digest, image or b"") for name, digest, image in rows)

    def add_reports(self, id: str, reports: Iterable[tuple[str, str]], written_at: str) -> None:
        """Store (name, hash) of each file of a report as it was written."""
        with self._change():
            self._db.executemany(
                "INSERT OR IGNORE INTO reports (id, name, digest, written_at) VALUES (?, ?, ?, ?)",
                [(id, name, digest, written_at) for name, digest in reports],
            )

    def reports_of(self, id: str) -> dict[str, frozenset[str]]:
        """Return name -> every hash under which a file of a report was written."""
        found: dict[str, set[str]] = {}
        for name, digest in self._db.execute("SELECT name, digest FROM reports WHERE id = ? ORDER BY name, fid", (id,)):
            found.setdefault(name, set()).add(digest)
        return {name: frozenset(digests) for name, digests in found.items()}

    def pictures_of(self, id: str) -> tuple[tuple[str, str], ...]:
        """Return (name, hash) of the pictures of one installation."""
        return tuple(self._db.execute("SELECT name, digest FROM pictures WHERE id = ? ORDER BY name, digest", (id,)))


def _point(lat_deg: float, lon_deg: float) -> bytes:
    """Return a GeoPackage point (OGC 12-128r18, 2.1.3): header "GP", version 0, little endian without envelope, EPSG:4326, then WKB."""
    return b"GP\x00\x01" + struct.pack("<i", 4326) + b"\x01\x01\x00\x00\x00" + struct.pack("<dd", lon_deg, lat_deg)


def _digest(id: str, body: str) -> str:
    return hashlib.sha256(f"{id}\n{body}".encode()).hexdigest()


def _values(reading: Reading) -> dict[str, object]:
    return {name: getattr(reading, name) for name in _FIELDS}


def _body(reading: Reading) -> str:
    data = {key: value for key, value in _values(reading).items() if key not in _LATER or value == value and value != ""}
    data["notes"] = [[note.code, dict(note.values)] for note in reading.notes]
    return json.dumps(
        {key: None if isinstance(value, float) and math.isnan(value) else value for key, value in data.items()}, sort_keys=True
    )


def _reading(body: str) -> Reading | None:
    """Return a reading as it was stored, None where what is there is none any more."""
    known = {field.name: field for field in fields(Reading)}
    try:
        data = json.loads(body)
        values = {key: math.nan if value is None else value for key, value in data.items() if key in known and key != "notes"}
        notes = tuple(Reason(code, values_) for code, values_ in data.get("notes", ()))
        made = Reading(**values, notes=notes)
        numbers = (getattr(made, name) for name, field in known.items() if field.type == "float")
        return made if all(isinstance(one, (int, float)) for one in numbers) and isinstance(made.taken_at, str) else None
    except (ValueError, TypeError, AttributeError):
        return None
