"""Thresholds of the terrestrial TV service that are not keys of the plan; each with its source."""

# Error added to a predicted field, 1 sigma, where trees and buildings at the house are unknown (common practice, no source).
CLUTTER_UNKNOWN_SIGMA_DB = 8.0

# A transmitter nearer than this stands "at the address" and can't be a path (common practice, no source).
AT_THE_ADDRESS_M = 30.0

# Time and place at which fields are compared with minimum median values: 50 % of time and 50 % of locations
# (ITU-R BT.1368-13, Annex 2: minimum median field strength).
TIME_PCT, LOCATION_PCT = 50.0, 50.0
