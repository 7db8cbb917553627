"""Thresholds of the mobile service that are not keys of the plan; each with its source."""

from siteplan.records.emitters import Sector
from siteplan.records.plan import LimitsTable

# Error added to a predicted level, 1 sigma, where trees and buildings at the house are unknown (common practice, no source).
CLUTTER_UNKNOWN_SIGMA_DB = 8.0

# A site nearer than this stands "at the address" (common practice, no source).
AT_THE_ADDRESS_M = 10.0

TIME_PCT, LOCATION_PCT = 50.0, 50.0

# Wanted and hopeless strength (dBm) and ratio (dB) of the older technologies: UMTS pilot and Ec/N0, GSM carrier and C/I (common practice,
# no source; GSM's 9 dB of C/I is the reference interference level of 3GPP TS 45.005, 6.3, from memory).
OLDER = {"UMTS": (-95.0, -110.0, -12.0, -16.0), "GSM": (-90.0, -105.0, 12.0, 9.0)}

# The best window is where a building lets through more than at 90 % of places: the loss of ITU-R P.2109 not exceeded at 10 %; how far
# houses differ there is taken as half of P.2109's spread (both common practice, no source).
WINDOW_PCT, WINDOW_SIGMA_SHARE = 10.0, 0.5
INDOORS_PCT = 50.0
# What stands this near on the way counts as the house itself and not as an obstacle before its wall (common practice, no source).
OWN_HOUSE_M = 15.0
# A device stands at least this far under a known roof and above the floor (common practice, no source).
UNDER_ROOF_M, ABOVE_FLOOR_M = 1.0, 1.5

# Error of an assumed power, 1 sigma, where an open cell list tells none (common practice, no source).
ASSUMED_POWER_SIGMA_DB = 6.0
# Of an open cell list so many sites of each operator and technology are looked at, the nearest ones (common practice, no source).
LIST_SITES = 8

# What reflections may add to free space, at most: a site that could not be worked is out of the question only under this (common
# practice, no source: two equal paths in phase).
OVER_FREE_SPACE_DB = 6.0


def wanted(sector: Sector, limits: LimitsTable) -> tuple[float, float, float, float]:
    """Return (wanted dBm, hopeless dBm, wanted ratio dB, hopeless ratio dB) of a sector's technology."""
    return OLDER.get(sector.technology, (limits.rsrp_dbm, limits.rsrp_floor_dbm, limits.sinr_db, limits.sinr_floor_db))
