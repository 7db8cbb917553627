"""The sentences of `siteplan aim`."""

from __future__ import annotations

from siteplan.words.formats import compass, degrees

LINEAR_ONLY = "(linear polarisation; the satellite's own offset not counted)"


def longitude(lon_deg: float) -> str:
    """Return a longitude as people say it: 30 W, 19.2 E, 0 E."""
    text = f"{abs(lon_deg):.4f}".rstrip("0").rstrip(".")
    return text + (" W" if lon_deg < 0 else " E")


def latitude(lat_deg: float) -> str:
    """Return a latitude as people say it: 45.12 N."""
    text = f"{abs(lat_deg):.4f}".rstrip("0").rstrip(".")
    return text + (" S" if lat_deg < 0 else " N")


def skew(skew_deg: float) -> str:
    """Return how to turn the LNB: "standing behind the dish, facing the satellite, turn the LNB clockwise 17°"."""
    turn = round(abs(skew_deg))
    if turn == 0:
        return "no turn of the LNB"
    way = "either way" if turn == 90 else "clockwise" if skew_deg > 0 else "anticlockwise"
    return f"standing behind the dish, facing the satellite, turn the LNB {way} {turn}°"


def below(orbit_deg: float, elevation_deg: float) -> str:
    """Return the sentence for a satellite that never rises."""
    return f"The satellite at {longitude(orbit_deg)} is below the horizon here, by {degrees(-elevation_deg)}: no dish at this place can see it."


def grazing(orbit_deg: float, elevation_deg: float) -> str:
    """Return the sentence for a satellite that only refraction brings into view."""
    return (
        f"The satellite at {longitude(orbit_deg)} is {degrees(-elevation_deg)} below the horizon here; bending in the air may show it over open "
        "sea. Do not count on it."
    )


def other_side(orbit_deg: float) -> str:
    """Return the question after a longitude with a lost sign: "Did you mean 30 W?"."""
    return f"Did you mean {longitude(-orbit_deg)}? That one is above the horizon here."


def normalised(flag: str, given_deg: float, taken_deg: float) -> str:
    """Return how a longitude beyond 180 was read."""
    return f"{flag} {given_deg:g} was read as {longitude(taken_deg)}."


def date_taken(day: str) -> str:
    """Return that no date was given and which was taken."""
    return f"No date was given; the compass bearing is for today, {day}."


def compass_zone(trust: str) -> str:
    """Return the caution near the magnetic poles, "" where a compass is good."""
    return {
        "caution": "Near a magnetic pole a compass is sluggish here: take the true bearing from a map or the sun.",
        "useless": "Close to a magnetic pole a compass is useless here: take the true bearing from a map or the sun.",
    }.get(trust, "")


def overhead() -> str:
    """Return the caution for a satellite straight overhead."""
    return "The satellite stands straight overhead: any azimuth will do, it is given as 0."


def compass_unknown() -> str:
    """Return what is said when the magnetic model does not reach the date."""
    return "Magnetic north is not known for this date: the magnetic model covers 1 January 2025 to the end of 2029."


def azimuth(azimuth_deg: float) -> str:
    """Return what the azimuth row says beside the number."""
    return f"{compass(azimuth_deg)}; clockwise from true north"
