"""How strongly each carrier of a satellite is sent towards a place: by footprint, else as its row says; and what readings say."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from siteplan.geodesy.earth import earth_distance_m
from siteplan.radio.footprint import beam_eirp_dbw
from siteplan.records.beams import Beam
from siteplan.records.emitters import Satellite, Transponder

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Where an EIRP comes from, by number.
FROM = ("none", "table", "footprint", "outside", "readings")
NONE, TABLE, FOOTPRINT, OUTSIDE, READINGS = range(5)
# Readings farther off than this say nothing (common practice, no source: contours of a decibel lie some 100 km apart).
READING_REACH_M = 50_000.0


def beam_of(satellite: Satellite, carrier: Transponder) -> Beam | None:
    """Return the beam that carries a carrier: the one it names, else the one without a name, else the only one there is."""
    named = [beam for beam in satellite.beams if beam.name.casefold() == carrier.beam.casefold()]
    if named:
        return named[0]
    if carrier.beam:
        return None  # it names a beam that nobody drew
    return satellite.beams[0] if len(satellite.beams) == 1 else None


def eirp_at(
    satellite: Satellite, carriers: Sequence[Transponder], lat_deg: NDArray, lon_deg: NDArray
) -> tuple[NDArray, NDArray, NDArray]:
    """Return EIRP (places, carriers) in dBW, where it comes from (places, carriers; FROM), and which carriers' can be trusted (carriers,).

    A measured EIRP of the row counts before a footprint, a footprint before what the row states, that before readings of installations
    nearby, those before what the row assumes. NaN outside a footprint, and where nobody says anything. Only an assumed EIRP can't be
    trusted; over many places readings are trusted only where they reach all of them.
    """
    eirp = np.empty((lat_deg.size, len(carriers)))
    origin = np.empty(eirp.shape, dtype=np.uint8)
    trusted = np.empty(len(carriers), dtype=bool)
    worked: dict[int, NDArray] = {}
    for n, carrier in enumerate(carriers):
        measured = carrier.eirp_source == "measured" and np.isfinite(carrier.eirp_dbw)
        beam = None if measured else beam_of(satellite, carrier)
        if beam is None:
            eirp[:, n] = carrier.eirp_dbw
            origin[:, n] = TABLE if np.isfinite(carrier.eirp_dbw) else NONE
            trusted[n] = np.isfinite(carrier.eirp_dbw) and carrier.eirp_source != "assumed"
            if not trusted[n] and carrier.readings:
                read = np.array([_read_at(carrier, float(lat), float(lon)) for lat, lon in zip(lat_deg, lon_deg, strict=True)])
                near = np.isfinite(read)
                eirp[near, n], origin[near, n] = read[near], READINGS
                trusted[n] = bool(near.all())
            continue
        if id(beam) not in worked:
            worked[id(beam)] = beam_eirp_dbw(beam, lat_deg=lat_deg, lon_deg=lon_deg, orbit_deg=satellite.orbit_deg)
        eirp[:, n] = worked[id(beam)]
        origin[:, n] = np.where(np.isnan(eirp[:, n]), OUTSIDE, FOOTPRINT)
        trusted[n] = True
    return eirp, origin, trusted


def _read_at(carrier: Transponder, lat_deg: float, lon_deg: float) -> float:
    near = [
        EirpReading(one.eirp_dbw, one.error_db, _apart_m(one.lat_deg, one.lon_deg, lat_deg, lon_deg)) for one in carrier.readings
    ]
    return eirp_from_readings(near)[0]


def _apart_m(lat1_deg: float, lon1_deg: float, lat2_deg: float, lon2_deg: float) -> float:
    return float(earth_distance_m(lat1_deg=lat1_deg, lon1_deg=lon1_deg, lat2_deg=lat2_deg, lon2_deg=lon2_deg))


class EirpReading(NamedTuple):
    """One reading turned into an EIRP: what was read less what the budget gives for 0 dBW; error 1 sigma; how far off it was taken."""

    eirp_dbw: float
    error_db: float
    distance_m: float


def eirp_from_readings(readings: Sequence[EirpReading]) -> tuple[float, float]:
    """Return EIRP and its error (1 sigma) from readings of one carrier taken nearby; NaN where none lies within READING_REACH_M.

    Source: mean weighted by 1 / (error^2 + (1 dB per 100 km)^2), common practice, no source. The store of readings calls it.
    """
    near = [one for one in readings if one.distance_m <= READING_REACH_M and np.isfinite(one.eirp_dbw)]
    if not near:
        return float("nan"), float("nan")
    weight = np.array([1.0 / (one.error_db**2 + (one.distance_m / 100_000.0) ** 2) for one in near])
    mean = float(np.average([one.eirp_dbw for one in near], weights=weight))
    return mean, float(1.0 / np.sqrt(weight.sum()))
