"""Sentences about terrain files: what was read, mended or doubted."""

from __future__ import annotations

SENTENCES = {
    "surface_below_ground": "{file}: the surface lies below the ground in {cells:,} of {of:,} cells ({over_half_metre:,} by more than {m_0_5:len}, "
    "at worst {worst_m:height}); the ground was taken there.",
    "surface_shifted": "{file}: the surface seems shifted against the ground {ground}: they fit best with the surface moved {west_cells:+d} cells "
    "along its columns and {north_cells:+d} along its rows ({across_m:height}) and {down_m:shift} in height. Nothing was moved: check the files.",
    "surface_without_trees": "{file}: outside the building outlines next to nothing stands on the ground ({cells:,} of {of:,} cells), so its "
    "trees were probably taken out: trees count as unknown, and nothing is booked on it. If the land is really without trees, write "
    'surface_has = ["buildings", "trees"] in the plan.',
    "height_below_zero": "{file}: {cells:,} heights above ground are below zero (at worst {worst_m:height}); zero was taken.",
    "heights_not_told": "{file}: nothing says whether these heights above ground hold buildings, trees or both, so neither counts as known. "
    "Write height_above_ground_has in the plan, or name the file as building_height or canopy_height.",
    "heights_mostly_void": "{file}: {share:.0%} of it is void and no cell is zero. If nothing stands in the voids, write height_void_is_zero = true "
    "in the plan; until then trees and buildings count as unknown there.",
    "footprints_repaired": "{file}: {count} of {of} outlines cross themselves and were repaired.",
    "footprints_skipped": "{file}: {count} of {of} outlines have no area and were left out.",
    "footprint_heights_from_levels": "{file}: the heights of {count} buildings come from their number of levels, {metres_per_level:len} each.",
    "footprint_cells_coarse": "{file}: the footprints cover so much land that they were drawn in cells of {cell_m:height}; buildings count as unknown.",
    "terrain_coarsened": "{file}: too large to read whole, and nothing says where to look: read {factor} times as coarse, the highest of each block.",
    "terrain_window_narrowed": "{file}: the places lie too far apart to read all around them at full resolution; {share:.0%} of the distance was.",
    "terrain_out_of_reach": "{file}: lies near none of the places; not read.",
    "layers_disagree": "{fine} lies {median_m:shift} above {coarse} in the median where both are known: different datums, perhaps.",
}
