"""Thresholds of the satellite service that are not keys of the plan; each with its source."""

# Ground that clears by this much leaves room for a house or a grown tree a street's width away: "easily" (common practice, no source).
GROUND_EASILY_DEG = 5.0

# Nothing that grows or stands on the ground is taken to be higher than this, where the surface is unknown (common practice, no source:
# the tallest ordinary trees and small blocks of flats).
TALLEST_THING_M = 40.0

# Mount heights are tried to this step.
MOUNT_STEP_M = 0.1

# Error of a height nobody states anything of, 1 sigma (common practice, no source).
UNKNOWN_ERROR_M = 10.0

# How steep the tops of things are taken to be: a roof of 35 degrees. A cell says one height for all of it, so a top may be off by
# this much of a cell, evenly spread, whatever the height error of the data (common practice, no source; crowns are steeper).
PITCH = 0.7

# A surface too coarse to tell trees and buildings spreads them over their neighbourhood: this many of its cells round the antenna
# prove nothing. A cell that holds the highest of its block fills all of it however little of it is built on, bilinear heights reach
# one cell more, and the antenna may stand at the far side of its own (common practice, no source: with 2 cells, 5 of 173 "not feasible"
# were wrong where 5 m cells hold the highest, with 3 it was 1 of 141; none of 132 where they hold the mean).
SMEARED_CELLS = 3.0

# How far off an edge may lie in such a surface, 1 sigma in cells: a tree narrower than a cell is spread over two, so a whole cell to
# either side, evenly (common practice, no source).
COARSE_EDGE_CELLS = 1.0 / 3.0**0.5

# Coarser surfaces than this prove nothing at all: one height then stands for a block in which most rays pass beside what has it (common
# practice, no source; tests/benchmarks/bench_proof.py shows what 5 and 10 m cells do).
COARSEST_PROOF_M = 5.0 * 1.01

# A mount height is chosen, not suffered: the lowest that is clear with these odds is recommended where one is. A height taken at the
# booking limit itself would fail as often as that limit allows, at every raised mount (common practice, no source).
RAISED_PROBABILITY = 0.99

# Frequency that clearances are worked at where a satellite has no transponder listed: the lower end of the 10.7-12.75 GHz band of
# broadcasting-satellite reception, where the Fresnel zone is widest (ITU Radio Regulations, Article 5).
DEFAULT_FREQUENCY_MHZ = 10_700.0

# A building nearer to a roof mount than this is called its own roof in sentences (common practice, no source).
OWN_ROOF_M = 6.0

# What stands nearer than this and is not ground hangs over the dish rather than before it (common practice, no source).
OVERHEAD_M = 1.0

# A satellite that far along the orbit to either side may be caught by mistake when a dish is swung over the arc.
NEIGHBOUR_DEG = 15.0

# Nearer than this two satellites stand in one beam: the dish sees both, and neither is the wrong one (70 wavelengths / D of a 2 m dish).
SAME_PLACE_DEG = 0.5

# How far an LNB's oscillator may stand off its frequency, MHz (common practice, no source: ordinary LNBs drift by up to some MHz).
LNB_DRIFT_MHZ = 5.0

# Symbol rates that differ by a larger share are clearly others: no meter locks to one when set to the other (common practice, no source).
CLEARLY_OTHER_RATE = 0.05

# How many carriers prove a satellite: one may be told wrong in a table, three hardly.
PROOFS = 3
# Error of a link's margin, 1 sigma: a stated EIRP, the dish's efficiency and aim, and the receiver (common practice, no source).
LINK_ERROR_DB = 1.5

# The search for a spot (services.satellite.spot_search): side of its grid; how far from the address a plot is looked at; how far off the
# outlines of buildings are kept for the drawing.
STEP_M, PLOT_REACH_M, OUTLINES_WITHIN_M = 1.0, 60.0, 60.0

# Round a long block only the ground this near to the address may be its own (common practice, no source).
GROUND_REACH_M = 25.0

# Of the spots found so many are asked as any spot is, best first; a roof mount stays so far from the edge (common practice, no source).
SPOTS_VERIFIED, ROOF_EDGE_M = 2, 1.0

# A spot on open ground is paced out from the point given or the house, 1 sigma (common practice, no source).
PACED_ERROR_M = 2.0

# What is sighted against: nothing nearer than this (a step aside would turn it by degrees), nothing farther aside, no shorter wall, and of
# the skyline only what rises this far over both its sides within this width (common practice, no source).
LANDMARK_FROM_M, LANDMARK_ASIDE_DEG, SIGHTING_WALL_M = 12.0, 45.0, 3.0
PEAK_OVER_DEG, PEAK_WIDTH_DEG, OFF_WALL_DEG = 1.0, 2.5, 60.0

# A mast stands on open ground: nothing taller than this grows there; and so far from the own wall (common practice, no source).
OPEN_GROUND_M, OFF_WALL_M = 0.5, 0.5

# A dish on a wall stays so far from the corner, and the roof's height over the wall is read so far inside (common practice, no source).
CORNER_M, INSIDE_WALL_M = 0.5, 1.0

# A spot that beats this many sigmas is not told from a better one: nearer cable wins. Plan B is of another kind, or so far away.
ENOUGH_SIGMAS, PLAN_B_M = 4.0, 3.0

# The kind of mount that the plan (or the row) takes first is kept unless another is better by this much (common practice, no source).
SAME_KIND_SIGMAS = 1.0
