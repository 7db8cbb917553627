"""Thresholds of the mobile service that are not keys of the plan; each with its source."""

# Error added to a predicted level, 1 sigma, where trees and buildings at the house are unknown (common practice, no source).
CLUTTER_UNKNOWN_SIGMA_DB = 8.0

# A site nearer than this stands "at the address" (common practice, no source).
AT_THE_ADDRESS_M = 10.0

TIME_PCT, LOCATION_PCT = 50.0, 50.0
