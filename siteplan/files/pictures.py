"""Pictures of an installation: the Pillow door. Each is made anew: upright, as large as a report needs, without what a camera adds."""

from __future__ import annotations

import base64
import hashlib
import warnings
from io import BytesIO
from pathlib import Path

from siteplan.errors import told
from siteplan.files.reading_columns import printable
from siteplan.records.places import Reject
from siteplan.records.proof import Picture

LARGEST_PICTURE_BYTES = 60_000_000
MOST_PIXELS = 120_000_000  # a small file may unfold to any size
SHOWN_PIXELS, QUALITY = 1200, 78
_KINDS = ("PNG", "JPEG", "MPO", "WEBP")


def picture_files(place: Path) -> tuple[Path, ...]:
    """Return the file, or what lies in a folder, in order; hidden files are left out."""
    if place.is_file():
        return (place,)
    return tuple(sorted(one for one in place.iterdir() if not one.name.startswith(".") and not one.is_dir()))


def read_pictures(files: tuple[Path, ...]) -> tuple[tuple[Picture, ...], tuple[Reject, ...]]:
    """Return pictures made anew, and the files that are none; digest is of the file as it came, so it can be held against the original.

    Nothing of the file but what is seen goes on: no place, no time, no name of camera or owner, nothing hidden behind the picture.
    """
    made, rejects = [], []
    for file in files:
        name = printable(file.name)[:120]
        if not file.is_file():
            rejects.append(Reject(name, 0, "", "", told("{name} is no file that can be read", name=name)))
        elif file.stat().st_size > LARGEST_PICTURE_BYTES:
            megabytes = file.stat().st_size / 1e6
            most = LARGEST_PICTURE_BYTES / 1e6
            told_why = told("{name} has {megabytes:.0f} MB; up to {most:.0f} MB is taken", name=name, megabytes=megabytes, most=most)
            rejects.append(Reject(name, 0, "", "", told_why))
        else:
            raw = file.read_bytes()
            image = _anew(raw)
            if image:
                made.append(Picture(name, hashlib.sha256(raw).hexdigest(), data_url(image), image))
            else:
                why = told("{name} is no PNG or JPEG picture, or is damaged or far too large; save it as JPEG", name=name)
                rejects.append(Reject(name, 0, "", "", why))
    return tuple(made), tuple(rejects)


def data_url(image: bytes) -> str:
    """Return a JPEG as a text that stands in a page."""
    return "data:image/jpeg;base64," + base64.b64encode(image).decode() if image else ""


def _anew(raw: bytes) -> bytes:
    """Return a picture as a JPEG of its own, b"" where the file is none."""
    from PIL import Image, ImageFile, ImageOps

    forgiving, ImageFile.LOAD_TRUNCATED_IMAGES = ImageFile.LOAD_TRUNCATED_IMAGES, False  # the PDF library turns it on for all
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of damaged camera notes, which are dropped, and of size, held to MOST_PIXELS here
            with Image.open(BytesIO(raw), formats=_KINDS) as opened:
                if opened.width * opened.height > MOST_PIXELS:
                    return b""
                opened.draft("RGB", (SHOWN_PIXELS, SHOWN_PIXELS))
                upright = ImageOps.exif_transpose(opened)
                if upright.mode in ("RGBA", "LA", "PA", "P"):
                    clear = upright.convert("RGBA")
                    white = Image.new("RGB", clear.size, "white")
                    white.paste(clear, mask=clear.getchannel("A"))
                    upright = white
                plain = upright.convert("RGB")
    except (OSError, ValueError, SyntaxError, EOFError, MemoryError, KeyError, TypeError, Image.DecompressionBombError):
        return b""
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = forgiving
    plain.thumbnail((SHOWN_PIXELS, SHOWN_PIXELS))
    out = BytesIO()
    plain.info.clear()
    plain.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()
