"""Sentences of `siteplan new`: which raster was taken as what and why, what could not be placed, and what stands in the new plan."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    # --- taken ------------------------------------------------------------------------------------------------------
    "new_ground_of_pair": "{file} taken as ground: of the two rasters of this extent it is the lower one.",
    "new_surface_of_pair": "{file} taken as surface (ground with what stands on it): it is as high as {other} or higher in {not_below:pct} of cells "
    "(half a metre let pass), {middle_m:.1f} m above it in the median and {high_m:.1f} m or more in one cell of twenty.",
    "new_pair_by_name": "{ground} and {file} hold nearly the same heights ({same:pct} within half a metre), so the cells do not tell which is which; "
    "their NAMES say ground and surface, and that was followed. Check it.",
    "new_ground_same": "{file} taken as ground; {others:list} of the same extent holds the same heights.",
    "new_ground_alone": "{file} taken as ground: nothing else of its extent to compare it with, but hardly a step in it is as steep as a wall "
    "({walls:.1%}), as bare ground is.",
    "new_ground_coarse": "{file} taken as ground: nothing else of its extent to compare it with, and cells of {cell_m:.0f} m are too coarse to show "
    "walls and trees. Ask its supplier whether it is bare ground (a terrain model).",
    "new_ground_below_heights": "{file} taken as ground: its values run from {least_m:.0f} to {most_m:.0f} m and do not begin at nothing, unlike the "
    "other rasters of its extent.",
    "new_heights": "{file} taken as heights above ground: {nothing:pct} of it is 0, nothing is below 0, the highest is {most_m:.0f} m, and what stands "
    "begins with a step. It stands on {ground}.",
    "new_surface_on_wider": "{file} taken as surface, on the wider ground {other}: walls show in it, and it lies below that ground (by more than the "
    "{tolerance_m:.0f} m such coarse ground may be wrong) in hardly a cell. A ground of its own extent would make answers firmer.",
    "new_heights_on_wider": "{file} taken as heights above ground, on the wider ground {other}: {nothing:pct} of it is 0, nothing is below 0, and the "
    "highest is {most_m:.0f} m.",
    "new_surface_lacks": "{other} does not show what {file} holds ({unseen:pct} of its cells over 2 m): that surface lacks buildings or trees. Nobody "
    "but its supplier knows which: surface_has is left empty in the plan, fill it in.",
    "new_buildings": "{file} taken as building outlines: {count} of them, {size_m2:.0f} m² in the median, {with_height} with a height.",
    # --- not placed -------------------------------------------------------------------------------------------------
    "new_unreadable": "{complaint}",
    "new_virtual": "{file} points to other rasters; those that lie here were looked at themselves.",
    "new_too_many": "{file} was not looked at: there are more than {most} rasters here; join them into fewer files.",
    "new_second_surface": "{file} is a surface too; {other} was taken, in the ground's own system or in finer cells.",
    "new_same_heights": "{file} holds the same heights as {other}.",
    "new_heights_seen_already": "{file} holds heights above ground that the surface {other} shows already.",
    "new_crossing": "{file} lies above {other} in {above:pct} of cells and below it in {below:pct}: neither is the other's ground. Another datum, another "
    "unit or another time, perhaps.",
    "new_far_above": "{file} lies far above {other} everywhere ({middle_m:.0f} m in the median): another unit or datum, or the other one holds heights above "
    "ground, perhaps.",
    "new_no_cell_in_common": "{file} and {other} cover the same land, but no cell is known in both.",
    "new_surface_alone": "{file} looks like a surface with buildings and trees ({walls:.1%} of its steps are as steep as walls; bare ground has hardly any), and "
    "no ground lies under it. Taken as ground, its trees would pass for hills. Add the terrain model of the same area.",
    "new_surface_alone_by_name": "{file} calls itself a surface, and no ground lies under it to compare it with. Add the terrain model of the same area, or "
    "name it as ground if its name misleads.",
    "new_heights_alone": "{file} looks like heights above ground ({nothing:pct} of it is 0, the highest is {most_m:.0f} m), and no ground lies under it. Add the "
    "terrain model of the same area.",
    "new_heights_alone_by_name": "{file} calls itself a raster of what stands on the ground, and its values do not bear that out. Look at it, then name it in the "
    "plan.",
    "new_outlines_elsewhere": "{file} holds outlines, but they lie on none of the rasters taken.",
    "new_plots": "{file} holds outlines that look like plots of land, not buildings ({count}, {size_m2:.0f} m² in the median, {covered:pct} of their area covered).",
    "new_name_unfit": "{file} has a name that a plan can't hold; rename it.",
    # --- addresses and senders ----------------------------------------------------------------------------------------
    "new_addresses": "{file} taken as address list: {placed} of {read} rows have coordinates{inside}.",
    "new_addresses_chosen": "It is the only table with coordinates in {folder}.",
    "new_addresses_trouble": "{complaint}",
    "new_addresses_several": "Several tables here have coordinates ({files:list}): none was taken as address list. Name one with --addresses.",
    "new_addresses_none": "No address list found. Name one with --addresses, or write it into the plan.",
    "new_senders": "{file} was here already and has {count} rows that can be used: named in the plan.",
    "new_senders_trouble": "{file} was here already and can't be used as it stands: {complaint}",
    # --- said at the end ----------------------------------------------------------------------------------------------
    "new_no_terrain": "No terrain was placed: without ground nothing can be judged. Ask your national mapping agency for a digital terrain model, then name it "
    "under [[terrain]] in the plan.",
    "new_wrote": "Wrote {plan}{tables}.",
    "new_next": "Next: read {plan}, then: siteplan check {quoted}",
    "new_next_fill": "Fill in {tables:list} (one line each so far: the names of the columns) and take the # away before its table in the plan.",
    "new_not_placed": "Not placed: {why}",
}

HEAD = """A plan for siteplan, written by `siteplan new`. Lines that begin with a # and a space are remarks; a line that begins
with a # alone can be used: take the # away (that of the [table] above it too).
Paths are relative to this file. What was understood of it: siteplan check plan.toml. All defaults: siteplan check plan.toml --defaults"""
DATE = "declination, sun and growth hang on this date, never on the clock"
TERRAIN = """The land. Each [[terrain]] is one ground (bare earth) and what is known to stand on it; the finest that covers a place answers for it.
More keys: vertical_unit = "m" ("ft", "us-ft", "cm"), vertical_datum = "...", height_error_m = 0.3, nodata = -9999, crs = "EPSG:25833\""""
NO_TERRAIN = "No raster was placed. Name a terrain model (bare ground) here, and a surface model (with trees and buildings) where you have one:"
UNPLACED = "Not placed; take the # away and put it right if you know better:"
SURFACE_LACKS = 'empty: nobody knows. Write "buildings" or "trees", whichever the surface shows'
HEIGHTS_HAVE = 'what these heights hold together: take the # away and leave what is true; until then neither counts as known'
FLOWN = "the day it was flown, if you know it"
ADDRESSES = """The address list: a spreadsheet, CSV or GeoPackage with coordinates; optional columns id, name, wanted, mount, position_error_m."""
COLUMNS = "If a column was not understood, say which one it is (ours = \"theirs\"). The columns of this list: {columns}"
SATELLITES = """Wanted satellites ("25E", "5W" or degrees) and the table of their transponders, one a row; such a row reads:
{example}
List their neighbours too: sheets then say what tells a wanted satellite from them. With orbits = "orbits.tle" (two-line elements, or orbit
messages as KVN, XML, JSON or CSV; by column catalogue_number or by name) dishes are aimed where each really stands on the date."""
TRANSMITTERS = """TV transmitters: one row for each multiplex; such a row reads:
{example}
pattern is omni, cardioid, directional or a name in patterns = "patterns.csv" (pattern, cut, angle_deg, loss_db); rows of one network name and
frequency are one single-frequency network (delay_us, guard_interval as 1/8, fft_size as 32k). scan_tables = ["Name of transmitter.conf"] takes
open DVB scan tables (version 5) for the multiplexes of a row without channel and frequency."""
MOBILE = """Mobile sites: one row for each carrier of a sector, with frequency_mhz or its channel number (arfcn, uarfcn, earfcn, nr_arfcn):
{example}
An open crowd-sourced cell list (radio, mcc, net, area, cell, ...) may stand here instead: it gives directions, never a promise.
[mobile.operator_names] "262-01" = "name" names its networks; operators_sold = ["name"] says whose signal counts."""
OUTPUTS = """\
Where results go (the folder outputs beside this file where absent) and which rows get a sheet: "auto" (all; in lists of over 500 those to survey
first), "all" or "none". sheet_states = ["survey first"] or sheet_rows = ["an id", 17] narrow it."""
DEFAULTS = "The defaults below hold as they are; take the # away before a table's name and a key to change it."
