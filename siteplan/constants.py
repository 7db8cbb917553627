"""Physical constants and the fixed numbers of published standards; each with where it comes from."""

SPEED_OF_LIGHT_M_PER_S = 299_792_458.0  # exact, SI (2019)
BOLTZMANN_J_PER_K = 1.380649e-23  # exact, SI (2019)

# Mean Earth radius of ITU-R P.1812 and P.452 (value used there: 6371 km).
EARTH_RADIUS_M = 6_371_000.0

# WGS84 ellipsoid (NGA.STND.0036, 2014).
WGS84_SEMI_MAJOR_M = 6_378_137.0
WGS84_FLATTENING = 1.0 / 298.257223563

# Radius of the geostationary orbit as used by the check values of ../shared/standards (a = 42,164.0 km).
GEOSTATIONARY_RADIUS_M = 42_164_000.0

# Free-space impedance relation E -> power density uses 120 pi ohm (ITU-R P.525-4, section 2).
REFERENCE_TEMPERATURE_K = 290.0  # IEEE / ITU-R noise reference
