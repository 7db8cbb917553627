"""Whatever happens to a file of readings on the way, it is read or refused in words: bytes changed, put in, taken out, cut off."""

import io
import json
import random

import openpyxl
import pytest
from three_homes import NOW, good

from siteplan.errors import SiteplanError
from siteplan.files.readings import read_readings

JUNK = [
    b"\x00", b"\xff\xfe", b"1e999", b"nan", b"-", b'"', b";", b",,", b"\r", b"\xe2\x80\xae", b"9" * 400, b"=cmd()", b"{", b"[[", b"0x1F",
    b"\xc2\xb5", b"9999-99-99", b"0000-01-01", b"2026-06-01T25:00",
]  # fmt: skip


def workbook():
    book = openpyxl.Workbook()
    for line in good("A-1").splitlines():
        book.active.append(line.split(","))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def whole(kind):
    readings = [{"carrier": "O1", "level_dbuv": 65, "cn_db": 16, "taken_at": "2026-06-01"}, {"carrier": "O2", "mer": 15}]
    made = {"csv": good("A-1").encode(), "json": json.dumps({"id": "A-1", "readings": readings}).encode()}
    return workbook() if kind == "xlsx" else made[kind]


@pytest.mark.parametrize("kind", ["csv", "json", "xlsx"])
def test_a_file_damaged_at_random_is_read_or_refused_in_words(tmp_path, kind):
    dice, file, before = random.Random(kind), tmp_path / f"a.{kind}", whole(kind)
    for _ in range(200):
        made = bytearray(before)
        for _ in range(dice.randint(1, 6)):
            place, act = dice.randrange(len(made)) if made else 0, dice.random()
            if act < 0.4 and made:
                made[place] = dice.randrange(256)
            elif act < 0.7:
                made[place:place] = dice.choice(JUNK)
            elif act < 0.9:
                del made[place : place + dice.randint(1, 30)]
            else:
                del made[place:]
        file.write_bytes(bytes(made))
        try:
            readings, rejects = read_readings(file, now=NOW)
        except SiteplanError as refused:
            assert file.name in str(refused)
            continue
        assert all(one.taken_at == "" or one.moment.year >= 1 for one in readings) and all(bad.reason for bad in rejects)
