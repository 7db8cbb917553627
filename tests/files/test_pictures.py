"""Pictures of an installation: upright, small, nothing of the camera's left, and what is none is refused in words."""

import io
import struct
import zlib

import PIL.Image
import pytest

from siteplan.files.pictures import SHOWN_PIXELS, picture_files, read_pictures


def shown(picture):
    return PIL.Image.open(io.BytesIO(picture.image))


def test_what_a_camera_adds_is_gone_and_the_picture_stands_upright(tmp_path):
    image = PIL.Image.new("RGB", (300, 200), "blue")
    image.paste("red", (0, 0, 60, 40))  # upper left as it is seen
    exif = image.getexif()
    exif[0x0112], exif[0x010F], exif[0x0132] = 6, "SecretCam", "2026:06:12 10:00:00"
    where = exif.get_ifd(0x8825)
    where[1], where[2], where[3], where[4] = "N", (47.0, 30.0, 18.0), "W", (9.0, 34.0, 43.0)
    file = tmp_path / '"><img src=x onerror=alert(1)>\n.jpg'
    image.rotate(90, expand=True).save(file, exif=exif, comment=b"for Mrs Quay")  # lies on its side, and says so
    assert b"SecretCam" in file.read_bytes() and b"Mrs Quay" in file.read_bytes()
    (made,), rejects = read_pictures(picture_files(tmp_path))
    seen = shown(made)
    assert not rejects and seen.size == (300, 200) and seen.getpixel((20, 20))[0] > 200 and seen.getpixel((200, 100))[2] > 200
    assert not seen.getexif() and b"SecretCam" not in made.image and b"Mrs Quay" not in made.image and "\n" not in made.name


def test_large_pictures_become_small_and_clear_ones_white(tmp_path):
    PIL.Image.new("RGB", (6000, 4000), "green").save(tmp_path / "a.jpg")
    PIL.Image.new("RGBA", (40, 30), (0, 0, 0, 0)).save(tmp_path / "b.png")
    (large, clear), rejects = read_pictures(picture_files(tmp_path))
    assert max(shown(large).size) == SHOWN_PIXELS and len(large.image) < 300_000 and not rejects
    assert shown(clear).getpixel((5, 5)) == (255, 255, 255)


def chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


@pytest.mark.parametrize("name", ["drawing.jpg", "cut.jpg", "page.jpg", "bomb.png", "empty.png"])
def test_what_is_no_picture_is_told_and_the_rest_goes_on(tmp_path, name):
    whole = io.BytesIO()
    PIL.Image.effect_noise((400, 300), 80).convert("RGB").save(whole, "JPEG")
    head = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", 30000, 30000, 1, 0, 0, 0, 0))
    bad = {
        "drawing.jpg": b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
        "cut.jpg": whole.getvalue()[: len(whole.getvalue()) // 2],
        "page.jpg": b"\xff\xd8\xff<html><script>alert(1)</script>",
        "bomb.png": head + chunk(b"IDAT", zlib.compress(b"\0" * 11_253_000)) + chunk(b"IEND", b""),
        "empty.png": b"",
    }[name]
    (tmp_path / name).write_bytes(bad)
    (tmp_path / "good.jpg").write_bytes(whole.getvalue())
    made, rejects = read_pictures(picture_files(tmp_path))
    assert [one.name for one in made] == ["good.jpg"] and name in rejects[0].reason
