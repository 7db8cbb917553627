"""Grey pictures as PNG, by hand: small, and the same bytes each time with the same zlib."""

from __future__ import annotations

import base64
import struct
import zlib

import numpy as np

_COLOUR_GREY, _COLOUR_GREY_ALPHA, _FILTER_NONE, _FILTER_UP = 0, 4, 0, 2


def grey_alpha_png(shade: np.ndarray, alpha: np.ndarray) -> bytes:
    """Return a PNG of 8-bit grey with alpha.

    shade, alpha  (rows, cols) uint8, row 0 on top. Grey is set to 0 where alpha is 0: what can't be seen costs no bytes.

    Source: PNG (Third Edition), W3C 2025, sections 5 and 9. Every row is filtered by the one above, which suits land.
    """
    rows, cols = shade.shape
    pixels = np.stack([np.where(alpha == 0, 0, shade), alpha], axis=-1).astype(np.uint8).reshape(rows, cols * 2)
    filtered = np.empty((rows, cols * 2 + 1), dtype=np.uint8)
    filtered[:, 0] = _FILTER_UP
    filtered[0, 1:] = pixels[0]
    filtered[1:, 1:] = pixels[1:] - pixels[:-1]
    return _png(filtered, rows, cols, _COLOUR_GREY_ALPHA)


def grey_png(codes: np.ndarray, *, smooth: bool) -> bytes:
    """Return a PNG of 8-bit grey whose greys are codes that a page's script reads back, (rows, cols) uint8, row 0 on top.

    smooth  neighbours differ little (a quantity): each row is filtered by the one above; classes are kept as they are
    Source: PNG (Third Edition), W3C 2025, sections 5 and 9.
    """
    rows, cols = codes.shape
    filtered = np.empty((rows, cols + 1), dtype=np.uint8)
    filtered[:, 0] = _FILTER_UP if smooth else _FILTER_NONE
    filtered[:, 1:] = codes
    if smooth:
        filtered[1:, 1:] = codes[1:] - codes[:-1]
    return _png(filtered, rows, cols, _COLOUR_GREY)


def _png(filtered: np.ndarray, rows: int, cols: int, colour: int) -> bytes:
    head = struct.pack(">IIBBBBB", cols, rows, 8, colour, 0, 0, 0)
    parts = [(b"IHDR", head), (b"IDAT", zlib.compress(filtered.tobytes(), 7)), (b"IEND", b"")]
    chunks = [struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data)) for kind, data in parts]
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


def data_uri(png: bytes) -> str:
    """Return a picture as text that stands in a page."""
    return "data:image/png;base64," + base64.b64encode(png).decode()
