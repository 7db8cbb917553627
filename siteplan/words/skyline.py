"""The sentences of `siteplan skyline`."""

from __future__ import annotations

from siteplan.words import kind_word


def place(lat_deg: float, lon_deg: float) -> str:
    """Return a place as people read it: "45.12300 N 6.45600 E"."""
    return f"{abs(lat_deg):.5f} {'S' if lat_deg < 0 else 'N'} {abs(lon_deg):.5f} {'W' if lon_deg < 0 else 'E'}"


def place_and_ground(lat_deg: float, lon_deg: float, ground_amsl_m: float) -> str:
    """Return a place and its ground: "45.12300 N 6.45600 E, ground 612.0 m"."""
    return f"{place(lat_deg, lon_deg)}, ground {ground_amsl_m:.1f} m"


def covers(extent: str) -> str:
    """Return what the terrain covers."""
    return f"The plan's terrain covers {extent}."


def outside(x: float, y: float, crs: str, lat_deg: float, lon_deg: float, extent: str, swapped: bool) -> str:
    """Return why a point can't be looked from, and what to do."""
    given = f"{x:.10g},{y:.10g}" + (f" in {crs}" if crs else "")
    read = f" ({place(lat_deg, lon_deg)})" if lat_deg == lat_deg and lon_deg == lon_deg else ""
    if swapped:
        order = "x,y" if crs else "longitude,latitude"
        return f"The point {given}{read} lies outside the terrain; turned round it lies inside. Write {order}: --at={y:.10g},{x:.10g}"
    ask = "" if crs else " If these are not longitude and latitude in degrees, name their system with --crs=EPSG:..."
    return f"The point {given}{read} lies outside the terrain. {covers(extent)}{ask}"


def inside(stands_m: float, height_agl_m: float) -> str:
    """Return the caution for an antenna inside what stands at its own place."""
    return (
        f"The antenna, {height_agl_m:g} m above ground, lies inside what stands at this point ({stands_m:.1f} m high): "
        "give the height of an antenna on top of it, or a point beside it."
    )


def grouped(group_deg: float, count: int) -> str:
    """Return what the rows of a sector table are."""
    return f"The highest of each {group_deg:g}°; --json gives all {count} sectors."


def what(kind: str, data_ended: bool, known_to_m: float | None) -> str:
    """Return what stands there, and whether the data end with it."""
    if known_to_m is None or (kind == "unknown" and not known_to_m):
        return "no data that way"
    return kind_word(kind) + (f"; the data end at {known_to_m:.0f} m" if data_ended else "")
