"""What was noticed while terrain was read: one sentence for each code."""

SENTENCES: dict[str, str] = {
    "height_below_zero": "{file}: {cells} heights above ground are below zero (down to {worst_m:.1f} m) and were taken as zero.",
    "surface_below_ground": "{file}: the surface lies under the ground in {cells} of {of} cells, at worst by {worst_m:.1f} m; taken as ground there.",
    "terrain_out_of_reach": "{file} lies too far from every address to matter; it was not read.",
    "footprints_repaired": "{file}: {count} of {of} building outlines cross themselves and were mended.",
    "footprints_skipped": "{file}: {count} of {of} building outlines could not be used and were left out.",
    "footprint_heights_from_levels": "{file}: {count} of {of} buildings state storeys and no height; {metres_per_level:.0f} m a storey were taken.",
}
