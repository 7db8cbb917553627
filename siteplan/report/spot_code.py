"""The spot as a square code that a phone's camera reads: a geo URI (RFC 5870), drawn as one SVG path. The only door to segno."""

from __future__ import annotations

import segno

from siteplan.records.findings import AddressFinding
from siteplan.report.html import esc, place_words
from siteplan.words.pages import text

_QUIET = 4  # empty squares around a code: ISO/IEC 18004:2015, 6.3.8


def geo_uri(*, lat_deg: float, lon_deg: float) -> str:
    """Return "geo:47.51770,-9.48070": RFC 5870, 3.4.2; WGS84 where no system is named, five decimals are a metre."""
    return f"geo:{lat_deg:.5f},{lon_deg:.5f}"


def block(row: AddressFinding) -> str:
    """Return the code of an address's spot with its place in words: the dish's spot, else another antenna's, else the address's own."""
    spots = [part.spot for part in (row.satellite, row.terrestrial, row.mobile) if part is not None and part.spot is not None]
    where = spots[0] if spots else row.row.address
    if where is None:
        return ""
    place = place_words(lat_deg=where.lat_deg, lon_deg=where.lon_deg)
    drawing = _drawing(geo_uri(lat_deg=where.lat_deg, lon_deg=where.lon_deg), text("spot_code_title", place=place))
    return f'<div class="spot-code">{drawing}<p class="small soft number">{esc(text("spot_code", place=place))}</p></div>'


def _drawing(uri: str, title: str) -> str:
    # error correction M (15 %): a sheet gets wet and folded
    squares = [list(row) for row in segno.make(uri, micro=False, error="m", boost_error=False).matrix]
    runs = []
    for y, line in enumerate(squares):
        x = 0
        while x < len(line):
            end = x
            while end < len(line) and line[end]:
                end += 1
            if end > x:
                runs.append(f"M{x + _QUIET} {y + _QUIET}h{end - x}v1h-{end - x}z")
            x = end + 1
    size = len(squares) + 2 * _QUIET
    return (
        f'<svg class="code" viewBox="0 0 {size} {size}" role="img" aria-labelledby="code-t" shape-rendering="crispEdges">'
        f'<title id="code-t">{esc(title)}</title><rect width="{size}" height="{size}" fill="#fff"/><path d="{"".join(runs)}"/></svg>'
    )
