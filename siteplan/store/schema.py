"""Tables of the store and how an older store becomes a newer one. A store is an SQLite file that is a GeoPackage (OGC 12-128r18, 1.3)."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable

APPLICATION_ID = 0x47504B47  # "GPKG", OGC 12-128r18, requirement 2
USER_VERSION = 10300
VERSION = 4
_WGS84 = (
    'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]'
)

_FIRST = """
CREATE TABLE gpkg_spatial_ref_sys (srs_name TEXT NOT NULL, srs_id INTEGER PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
  description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')), min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE,
  srs_id INTEGER REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (table_name TEXT NOT NULL PRIMARY KEY REFERENCES gpkg_contents(table_name), column_name TEXT NOT NULL,
  geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL REFERENCES gpkg_spatial_ref_sys(srs_id), z TINYINT NOT NULL,
  m TINYINT NOT NULL);
CREATE TABLE store_info (key TEXT PRIMARY KEY, value TEXT NOT NULL);
CREATE TABLE installations (fid INTEGER PRIMARY KEY AUTOINCREMENT, geom BLOB, id TEXT NOT NULL UNIQUE, name TEXT NOT NULL,
  row INTEGER NOT NULL);
CREATE TABLE readings (fid INTEGER PRIMARY KEY AUTOINCREMENT, id TEXT NOT NULL REFERENCES installations(id), file TEXT NOT NULL,
  file_row INTEGER NOT NULL, digest TEXT NOT NULL UNIQUE, taken_at TEXT NOT NULL, body TEXT NOT NULL);
CREATE INDEX readings_by_id ON readings(id);
CREATE TABLE signatures (fid INTEGER PRIMARY KEY AUTOINCREMENT, id TEXT NOT NULL REFERENCES installations(id), signed_at TEXT NOT NULL,
  digest TEXT NOT NULL);
"""
# 2: pictures that belong to an installation, by name and hash
_SECOND = """
CREATE TABLE pictures (fid INTEGER PRIMARY KEY AUTOINCREMENT, id TEXT NOT NULL REFERENCES installations(id), name TEXT NOT NULL,
  digest TEXT NOT NULL, UNIQUE (id, digest));
"""
# 3: what was expected when an installation was signed, as a hash; "" for signatures from before
_THIRD = "ALTER TABLE signatures ADD COLUMN expected TEXT NOT NULL DEFAULT ''"

# 4: the pictures themselves, as reports show them; and every report as it was written, by its hash
_FOURTH = """
ALTER TABLE pictures ADD COLUMN image BLOB;
CREATE TABLE reports (fid INTEGER PRIMARY KEY AUTOINCREMENT, id TEXT NOT NULL REFERENCES installations(id), name TEXT NOT NULL,
  digest TEXT NOT NULL, written_at TEXT NOT NULL, UNIQUE (id, name, digest));
"""


def _first(db: sqlite3.Connection) -> None:
    _script(db, _FIRST)
    db.executemany(
        "INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, ?)",
        [
            ("Undefined cartesian", -1, "NONE", -1, "undefined", "undefined Cartesian coordinate reference system"),
            ("Undefined geographic", 0, "NONE", 0, "undefined", "undefined geographic coordinate reference system"),
            ("WGS 84", 4326, "EPSG", 4326, _WGS84, "longitude and latitude"),
        ],
    )
    db.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, srs_id) VALUES ('installations', 'features', 'installations', 4326)"
    )
    db.execute("INSERT INTO gpkg_geometry_columns VALUES ('installations', 'geom', 'POINT', 4326, 0, 0)")
    for table in ("readings", "signatures", "store_info"):
        db.execute("INSERT INTO gpkg_contents (table_name, data_type, identifier) VALUES (?, 'attributes', ?)", (table, table))


def _second(db: sqlite3.Connection) -> None:
    _script(db, _SECOND)
    db.execute("INSERT INTO gpkg_contents (table_name, data_type, identifier) VALUES ('pictures', 'attributes', 'pictures')")


def _third(db: sqlite3.Connection) -> None:
    _script(db, _THIRD)


def _fourth(db: sqlite3.Connection) -> None:
    _script(db, _FOURTH)
    db.execute("INSERT INTO gpkg_contents (table_name, data_type, identifier) VALUES ('reports', 'attributes', 'reports')")


# version that a step leads to -> what it does
STEPS: dict[int, Callable[[sqlite3.Connection], None]] = {1: _first, 2: _second, 3: _third, 4: _fourth}


def _script(db: sqlite3.Connection, text: str) -> None:
    """Run statements one by one: executescript would end the transaction."""
    for statement in text.split(";"):
        if statement.strip():
            db.execute(statement)


def version_of(db: sqlite3.Connection) -> int:
    """Return the version of a store, 0 for an empty file."""
    there = db.execute("SELECT count(*) FROM sqlite_master WHERE name = 'store_info'").fetchone()[0]
    if not there:
        return 0
    row = db.execute("SELECT value FROM store_info WHERE key = 'version'").fetchone()
    if row and not str(row[0]).isdigit():
        raise sqlite3.DatabaseError(f"its version is {str(row[0])[:20]!r}")
    return int(row[0]) if row else 0


def migrate(db: sqlite3.Connection, *, up_to: int = VERSION) -> None:
    """Bring a store up to a version, all in one transaction: whole or not at all, and only once where two processes try."""
    db.execute("BEGIN IMMEDIATE")
    try:
        have = version_of(db)
        for step in range(have + 1, up_to + 1):
            STEPS[step](db)
        if have < up_to:
            db.execute("INSERT INTO store_info VALUES ('version', ?) ON CONFLICT(key) DO UPDATE SET value = excluded.value", (str(up_to),))
        db.execute("COMMIT")
    except BaseException:
        db.execute("ROLLBACK")
        raise
