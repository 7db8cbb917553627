"""Orbit files: each form read alike, and each fault told with its line."""

import csv
import io
import json
from dataclasses import replace
from datetime import datetime

import pytest
from orbit_makers import message, signed, tle

from siteplan.errors import TableError
from siteplan.files.orbit_elements import read_orbits
from siteplan.records.orbit import MeanElements

pytestmark = pytest.mark.quick
ONE = MeanElements(
    "PETREL 5W", 99002, datetime(2026, 6, 10, 6), 0.0512, 87.25, 0.0001234, 12.5, 340.125, 1.00273791, -0.00000123, 0.0, 1e-4
)
TWO = replace(ONE, name="Auk", number=99003, inclination_deg=1.5)


def read(tmp_path, text, name="orbits.tle"):
    (tmp_path / name).write_text(text, encoding="utf-8")
    return read_orbits(tmp_path / name)


def as_csv(*sets):
    out = io.StringIO()
    writer = csv.DictWriter(out, list(message(ONE)))
    writer.writeheader()
    writer.writerows(map(message, sets))
    return out.getvalue()


def as_kvn(*sets):
    unit = {"INCLINATION": " [deg]"}
    texts = ("".join(f"{k} = {v}{unit.get(k, '')}\n" for k, v in message(one).items()) for one in sets)
    return "".join(f"CCSDS_OMM_VERS = 2.0\nCOMMENT invented\n{text}" for text in texts)


def as_xml(*sets):
    texts = ("".join(f"<{k}>{v}</{k}>" for k, v in message(one).items()) for one in sets)
    bodies = "".join(f"<omm><body><segment><metadata>{text}</metadata></segment></body></omm>" for text in texts)
    return f'<?xml version="1.0"?><ndm>{bodies}</ndm>'


@pytest.mark.parametrize(
    "text",
    [
        tle(ONE) + tle(TWO), "\n\n" + tle(ONE).replace("PETREL", "0 PETREL") + "\n" + tle(TWO), json.dumps([message(ONE), message(TWO)]),
        as_csv(ONE, TWO), as_kvn(ONE, TWO), as_xml(ONE, TWO),
    ],
    ids=["TLE", "TLE with 0 and gaps", "JSON", "CSV", "KVN", "XML"],
)  # fmt: skip
def test_every_form_is_read_alike(tmp_path, text):
    found, rejects = read(tmp_path, text)
    assert rejects == () and found == (ONE, TWO)


def test_as_the_library_of_the_method_reads_it(tmp_path):
    from sgp4.api import Satrec

    lines = tle(ONE, name=False).splitlines()
    theirs = Satrec.twoline2rv(*lines)
    (ours,), _ = read(tmp_path, "\n".join(lines))
    assert (ours.name, ours.number) == ("", theirs.satnum)
    assert ours.bstar == theirs.bstar and ours.eccentricity == theirs.ecco
    days = (ours.epoch - datetime(1949, 12, 31)).total_seconds() / 86400
    assert days == pytest.approx(theirs.jdsatepoch + theirs.jdsatepochF - 2433281.5, abs=1e-8)


def test_the_numbers_beyond_99999(tmp_path):
    lines = [signed(line.replace("99002", "A0001")[:68]) for line in tle(ONE, name=False).splitlines()]
    assert read(tmp_path, "\n".join(lines))[0][0].number == 100_001


def spoilt(line, old, new, *, sign=True):
    rows = tle(ONE).splitlines()
    rows[line] = rows[line].replace(old, new, 1)
    if sign:
        rows[line] = signed(rows[line][:68])
    return "\n".join(rows) + "\n"


@pytest.mark.parametrize(
    ("text", "row", "field", "said"),
    [
        (spoilt(1, "26001A", "26002A", sign=False), 2, "line 1", "wrong checksum"),
        (spoilt(2, "87.2500", "87.2600", sign=False), 3, "line 2", "wrong checksum: the line adds up to"),
        (spoilt(2, "99002", "99004"), 3, "line 2", "belongs to another satellite than line 1 (99002)"),
        (spoilt(2, "  0.0512", "  O.0512"), 3, "inclination", "is not a number"),
        (spoilt(2, "1.00273791", "0.00273791"), 3, "mean motion", "out of range"),
        (spoilt(1, "26161.", "26461."), 2, "epoch day", "out of range"),
        (tle(ONE).replace("1 99002U", "1 99002U ", 1), 2, "line 1", "has 70 characters"),
        ("\n".join(tle(ONE).splitlines()[:2]) + "\n", 2, "line 1", "line 2 of this set is missing"),
        ("\n".join([*tle(ONE).splitlines()[::2], ""]), 2, "line 2", "line 1 of this set is missing"),
    ],
)
def test_a_bad_set_of_lines_goes_the_next_stays(tmp_path, text, row, field, said):
    found, (reject,) = read(tmp_path, text + tle(TWO))
    assert found == (TWO,) and (reject.row, reject.field) == (row, field) and said in reject.reason


@pytest.mark.parametrize(
    ("change", "field", "said"),
    [
        ({"MEAN_MOTION": ""}, "MEAN_MOTION", "is missing"), ({"ECCENTRICITY": "1.2"}, "ECCENTRICITY", "out of range"),
        ({"EPOCH": "yesterday"}, "EPOCH", "no moment"), ({"REF_FRAME": "EME2000"}, "REF_FRAME", "only TEME"),
        ({"INCLINATION": "x"}, "INCLINATION", "not a number"), ({"MEAN_ELEMENT_THEORY": "DSST"}, "MEAN_ELEMENT_THEORY", "only SGP4"),
    ],
)  # fmt: skip
def test_a_bad_message_goes_the_next_stays(tmp_path, change, field, said):
    found, (reject,) = read(tmp_path, json.dumps([message(ONE) | change, message(TWO)]), "o.json")
    assert found == (TWO,) and (reject.row, reject.field) == (1, field) and said in reject.reason


@pytest.mark.parametrize("text", ["", "hello\nworld\n", "[]", "{]", "<a>", "<a/>", '{"x": 1', "\x00\x01\x02"])
def test_no_orbits_at_all(tmp_path, text):
    with pytest.raises(TableError, match="orbit"):
        read(tmp_path, text)
