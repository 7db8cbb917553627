"""Our own PNG writer against a reader written from the standard."""

import struct
import zlib

import numpy as np
import pytest

from siteplan.report.png import data_uri, grey_alpha_png

pytestmark = pytest.mark.quick


def read_grey_alpha(png):
    """Decode an 8-bit grey and alpha PNG whose rows use filter 0 (none) or 2 (up)."""
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    at, chunks = 8, {}
    while at < len(png):
        (size,) = struct.unpack(">I", png[at : at + 4])
        kind, data = png[at + 4 : at + 8], png[at + 8 : at + 8 + size]
        (crc,) = struct.unpack(">I", png[at + 8 + size : at + 12 + size])
        assert crc == zlib.crc32(kind + data)
        chunks[kind] = data
        at += 12 + size
    cols, rows, depth, colour, *rest = struct.unpack(">IIBBBBB", chunks[b"IHDR"])
    assert (depth, colour, rest) == (8, 4, [0, 0, 0])
    raw = np.frombuffer(zlib.decompress(chunks[b"IDAT"]), np.uint8).reshape(rows, cols * 2 + 1)
    out = np.zeros((rows, cols * 2), np.uint8)
    for r in range(rows):
        above = out[r - 1] if r and raw[r, 0] == 2 else np.zeros(cols * 2, np.uint8)
        assert raw[r, 0] in (0, 2)
        out[r] = raw[r, 1:] + above
    return out.reshape(rows, cols, 2)[..., 0], out.reshape(rows, cols, 2)[..., 1]


def test_pictures_come_back_as_they_were():
    random = np.random.default_rng(11)
    shade = random.integers(0, 256, (37, 53), dtype=np.uint8)
    alpha = np.where(random.random((37, 53)) < 0.3, 0, 255).astype(np.uint8)
    got_shade, got_alpha = read_grey_alpha(grey_alpha_png(shade, alpha))
    assert np.array_equal(got_alpha, alpha)
    assert np.array_equal(got_shade[alpha > 0], shade[alpha > 0])
    assert not got_shade[alpha == 0].any()


def test_the_same_picture_is_the_same_bytes():
    shade = np.arange(256, dtype=np.uint8).reshape(16, 16)
    alpha = np.full((16, 16), 255, np.uint8)
    assert grey_alpha_png(shade, alpha) == grey_alpha_png(shade.copy(), alpha.copy())
    assert data_uri(b"\x00").startswith("data:image/png;base64,")


def test_a_real_reader_agrees():
    pillow = pytest.importorskip("PIL.Image", reason="Pillow is not installed")
    import io

    shade = np.arange(200, dtype=np.uint8).reshape(10, 20)
    alpha = np.full((10, 20), 255, np.uint8)
    picture = pillow.open(io.BytesIO(grey_alpha_png(shade, alpha)))
    assert picture.mode == "LA" and np.array_equal(np.asarray(picture)[..., 0], shade)
