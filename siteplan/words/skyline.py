"""The sentences of `siteplan skyline`."""

from __future__ import annotations

from siteplan.errors import told
from siteplan.words import kind_word


def place(lat_deg: float, lon_deg: float) -> str:
    """Return a place as people read it: "45.12300 N 6.45600 E"."""
    return f"{abs(lat_deg):.5f} {'S' if lat_deg < 0 else 'N'} {abs(lon_deg):.5f} {'W' if lon_deg < 0 else 'E'}"


def place_and_ground(lat_deg: float, lon_deg: float, ground_amsl_m: float) -> str:
    """Return a place and its ground: "45.12300 N 6.45600 E, ground 612.0 m"."""
    return told("{place}, ground {ground_m:.1f} m", place=place(lat_deg, lon_deg), ground_m=ground_amsl_m)


def covers(extent: str) -> str:
    """Return what the terrain covers."""
    return told("The plan's terrain covers {extent}.", extent=extent)


def outside(x: float, y: float, crs: str, lat_deg: float, lon_deg: float, extent: str, swapped: bool) -> str:
    """Return why a point can't be looked from, and what to do."""
    point = f"{x:.10g},{y:.10g}" + (f" ({crs})" if crs else "")
    point += f" ({place(lat_deg, lon_deg)})" if lat_deg == lat_deg and lon_deg == lon_deg else ""
    if swapped:
        turned = f"--at={y:.10g},{x:.10g}"
        if crs:
            return told(
                "The point {point} lies outside the terrain; turned round it lies inside. Write x,y: {turned}", point=point, turned=turned
            )
        return told(
            "The point {point} lies outside the terrain; turned round it lies inside. Write longitude,latitude: {turned}",
            point=point, turned=turned,
        )  # fmt: skip
    said = told("The point {point} lies outside the terrain. {covers}", point=point, covers=covers(extent))
    if crs:
        return said
    return f"{said} " + told("If these are not longitude and latitude in degrees, name their system with --crs=EPSG:...")


def inside(stands_m: float, height_agl_m: float) -> str:
    """Return the caution for an antenna inside what stands at its own place."""
    return told(
        "The antenna, {height_m:g} m above ground, lies inside what stands at this point ({stands_m:.1f} m high): "
        "give the height of an antenna on top of it, or a point beside it.",
        height_m=height_agl_m, stands_m=stands_m,
    )  # fmt: skip


def grouped(group_deg: float, count: int) -> str:
    """Return what the rows of a sector table are."""
    return told("The highest of each {group_deg:g}°; --json gives all {count} sectors.", group_deg=group_deg, count=count)


def what(kind: str, data_ended: bool, known_to_m: float | None) -> str:
    """Return what stands there, and whether the data end with it."""
    if known_to_m is None or (kind == "unknown" and not known_to_m):
        return told("no data that way")
    return kind_word(kind) + (told("; the data end at {known_m:.0f} m", known_m=known_to_m) if data_ended else "")


def columns() -> tuple[str, str, str, str, str]:
    """Return the headings of the table of sectors."""
    return told("azimuth"), told("elevation"), told("distance"), told("top"), told("what")
