"""What is changed after signing is said in words: readings, pictures, expectations, the store behind siteplan's back, and the files."""

import sqlite3

import PIL.Image
import pytest
import small_job

from siteplan.files.expected import read_expected

HEAD = "id,outlet,source,carrier,level_dbuv,cn_db,taken_at,installer\n"


@pytest.fixture
def signed(job):
    """A job with one reading and one picture, signed; (job, its id, ask what changed)."""
    job.write("satellites.csv", small_job.SATELLITES)
    job.write("transmitters.csv", small_job.TRANSMITTERS)
    job.write("sectors.csv", small_job.SECTORS)
    job.plan(small_job.TABLES)
    assert job.run("--quiet").code == 0
    one = next(line for line in read_expected(job.out / "expected.csv") if line.service == "satellite" and line.level_dbuv > 0)
    row = f"{one.id},{one.outlet},{one.source},{one.carrier},{one.level_dbuv:.0f},{one.cn_db:.1f},2026-06-12 10:00,Ada\n"
    job.write("read.csv", HEAD + row)
    assert job.call("readings", job.folder / "plan.toml", job.folder / "read.csv").code == 0
    picture(job.folder / "dish.jpg", "blue")
    assert job.call("proof", job.folder / "plan.toml", one.id, "--sign", "--pictures", job.folder / "dish.jpg").code == 0

    def changes():
        return job.call("proof", job.folder / "plan.toml", one.id, "--check").out

    return job, one, changes


def picture(path, colour):
    PIL.Image.new("RGB", (60, 40), colour).save(path)


def store(job, *statement):
    db = sqlite3.connect(job.folder / "readings.gpkg")
    with db:
        db.execute(*statement)
    db.close()


def test_each_change_after_signing_is_told_and_none_where_there_is_none(signed):
    job, one, changes = signed
    assert "Nothing was changed" in changes() and "as siteplan wrote it" in changes()
    page, table = next((job.out / "proof").glob("*.html")), next((job.out / "proof").glob("*.csv"))
    expected = job.out / "expected.csv"
    kept = {file: file.read_bytes() for file in (page, table, expected)}

    for file, old, new in ((table, b",yes,", b",no,"), (page, b"<strong>yes", b"<strong>no")):
        assert old in kept[file]
        file.write_bytes(kept[file].replace(old, new))
        assert f"Changed by hand: proof/{file.name}" in changes(), file.name
        job.call("review", job.folder / "plan.toml")
        assert "report changed by hand" in (job.out / "review.html").read_text(encoding="utf-8")
        file.write_bytes(kept[file])
        assert "Nothing was changed" in changes()

    text = kept[expected].decode()
    assert f",{one.threshold_db:.1f},47.0," in text
    expected.write_text(text.replace(f",{one.threshold_db:.1f},47.0,", ",1.0,47.0,"), encoding="utf-8")
    assert "Changed after signing: what is expected of it" in changes()
    expected.write_bytes(kept[expected])
    assert "Nothing was changed" in changes()

    store(job, "UPDATE readings SET body = replace(body, ?, ?)", ('"installer": "Ada"', '"installer": "Bo"'))
    assert "Changed after signing: the readings or pictures" in changes()
    store(job, "UPDATE readings SET body = replace(body, ?, ?)", ('"installer": "Bo"', '"installer": "Ada"'))
    assert "Nothing was changed" in changes()

    db = sqlite3.connect(job.folder / "readings.gpkg")
    image = db.execute("SELECT image FROM pictures").fetchone()[0]
    db.close()
    store(job, "UPDATE pictures SET image = ?", (image + b"x",))
    assert "Changed after signing: the readings or pictures" in changes()
    store(job, "UPDATE pictures SET image = ?", (image,))
    store(job, "DELETE FROM pictures")
    assert "Changed after signing: the readings or pictures" in changes()


def test_another_picture_under_the_same_name_is_told_and_both_are_kept(signed):
    job, one, changes = signed
    picture(job.folder / "dish.jpg", "red")
    made = job.call("proof", job.folder / "plan.toml", one.id, "--pictures", job.folder / "dish.jpg")
    assert "dish.jpg is another picture than the one stored under that name before; both are kept" in made.out
    assert "Changed after signing" in made.out
    text = next((job.out / "proof").glob("*.html")).read_text(encoding="utf-8")
    assert text.count("data:image/jpeg;base64,") == 2 and "Changed after signing" in text


def test_pictures_stay_with_the_installation_and_go_into_the_pdf(signed):
    pytest.importorskip("weasyprint", reason="extra pdf not installed")
    import pypdfium2

    job, one, _ = signed
    assert job.call("proof", job.folder / "plan.toml", one.id, "--pdf").code == 0  # no --pictures: those stored are shown
    assert "data:image/jpeg;base64," in next((job.out / "proof").glob("*.html")).read_text(encoding="utf-8")
    document = pypdfium2.PdfDocument(next((job.out / "proof").glob("*.pdf")))
    found = [one for page in document for one in page.get_objects() if isinstance(one, pypdfium2.PdfImage)]
    assert len(found) == 1


def test_carriers_that_nobody_read_stand_in_the_report(signed):
    job, one, _ = signed
    expected = job.out / "expected.csv"
    lines = expected.read_text(encoding="utf-8").splitlines()
    mine = next(line for line in lines if line.startswith(f"{one.id},") and f",{one.source},{one.outlet},{one.carrier}," in line)
    twin = mine.replace(f",{one.outlet},{one.carrier},", f",{one.outlet},Q9,")
    expected.write_text("\n".join([*lines, twin]) + "\n", encoding="utf-8")
    made = job.call("proof", job.folder / "plan.toml", one.id)
    text = next((job.out / "proof").glob("*.html")).read_text(encoding="utf-8")
    assert ">Q9<" in text and "<strong>not read</strong>" in text and "nan" not in text.split("</style>")[-1]
    assert "what is expected of it is not what was expected then" in made.out  # and the change of what is expected is told
