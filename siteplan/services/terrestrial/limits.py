"""Thresholds of the terrestrial TV service that are not keys of the plan; each with its source."""

# Error added to a predicted field, 1 sigma, where trees and buildings at the house are unknown (common practice, no source).
CLUTTER_UNKNOWN_SIGMA_DB = 8.0

# A transmitter nearer than this stands "at the address" and can't be a path (common practice, no source).
AT_THE_ADDRESS_M = 30.0

# A set in a room: what stands this near is the house around it, whose loss is counted as such (common practice, no source).
OWN_HOUSE_M = 15.0

# Time and place at which fields are compared with minimum median values: 50 % of time and 50 % of locations
# (ITU-R BT.1368-13, Annex 2: minimum median field strength).
TIME_PCT, LOCATION_PCT = 50.0, 50.0

# Interference is counted at the field it exceeds for 1 % of time (ITU-R BT.1368 and GE06: tropospheric interference; memory).
RARE_TIME_PCT = 1.0

# Interference is not worked where even free space, and this much over it (P.1812 line of sight at 1 % adds up to 4.4 dB), leaves what it
# asks for this far under the minimum field: it would move that by less than 0.14 dB (common practice, no source).
OVER_FREE_SPACE_DB = 6.0
NEGLIGIBLE_DB = 15.0

# Aims whose margins differ by less than this many sigmas of their difference can't be told apart from here (the rule of this service).
OPEN_SIGMAS = 1.0

# Level at a receiver: raw C/N + 25.5 dB is within 1.3 dB of the least levels of the national table for DVB-T2 (dvbt2_outlet_levels) and
# within 2.5 dB of EN 60728-1 for DVB-T; the most is EN 60728-1's 74 dBuV.
OUTLET_OVER_CN_DB = 25.5
OUTLET_MOST_DBUV = 74.0
ATTENUATED_TO_DBUV = 70.0
# The mast-head amplifier that advice speaks of (common practice, no source).
ADVISED_GAIN_DB, ADVISED_FIGURE_DB = 15.0, 2.0
# Two aerials on one cable need a filter between channels that lie at least this far apart (common practice, no source).
FILTER_GAP_MHZ = 8.0

# Mobile senders at a TV aerial. Overload of a receiver's input from -15 dBm on (94 dBuV; Report ITU-R BT.2215, Rec. ITU-R BT.2033; memory
# of the 90 % receivers); how far over a wanted channel stands in services/shared/mobile_levels.py.
MOBILE_FROM_MHZ, MOBILE_TO_MHZ = 450.0, 960.0
OVERLOAD_DBUV = 94.0
FILTER_DB = 30.0  # what a filter takes off mobile bands that lie 10 MHz and more above the TV band (common practice, no source)
# The uplink of the 700 MHz band begins at 703 MHz (3GPP TS 36.101 band 28, CEPT Report 53): 9 MHz over channel 48. A phone of 23 dBm
# (3GPP TS 36.101, power class 3) this far from the aerial (common practice, no source) is counted.
UPLINK_MHZ, UPLINK_TO_MHZ, UPLINK_NEAR_MHZ, PHONE_DBM, PHONE_M = 703.0, 733.0, 678.0, 23.0, 10.0
# Levels below this at the aerial's terminals can't matter to any channel that can be received (common practice, no source).
MOBILE_MATTERS_DBUV = 65.0
