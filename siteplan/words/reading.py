"""Sentences about tables that were read: what was understood, what was passed over, and what `siteplan check` prints."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    # --- how a file was read --------------------------------------------------------------------------------------
    "encoding_taken": "{file}: the text is not UTF-8; {encoding} was taken. If letters with accents look wrong, save it as UTF-8.",
    "title_rows_skipped": "Title rows above the heading (row {heading_row}) skipped: {count}.",
    "formula_without_value": "Rows with a formula whose result was never stored, that cell read as empty: {count} ({rows}). "
    "An empty id becomes the row number. Open the workbook, let it calculate, and save it.",
    "empty_rows_skipped": "Empty rows skipped: {count} (they count in the row numbers).",
    "hidden_rows_read": "Hidden or filtered rows were read too: {rows}.",
    "columns_renamed": "Columns without a name, or with one that was there already, are called {names} here.",
    "sheet_taken": 'Sheet "{sheet}" was read; other sheets: {others}.',
    "layer_taken": 'Layer "{layer}" was read; other layers: {others}.',
    # --- what was understood ----------------------------------------------------------------------------------------
    "columns_taken": "Columns: {pairs:list}.",
    "crs_taken": "Positions are in {crs}.",
    "crs_not_used": "The plan names {crs} for the addresses, but they come as latitude and longitude: taken as WGS84.",
    "ground_crs_taken": "x and y name no coordinate system: taken in {crs}, in which {count} of {of} rows lie where the ground does.",
    "shared_point": "{count} rows share one point ({rows}): probably the centre of a postcode or village, taken as good to "
    "{error_m:dist} only, unless the row states its own error.",
    "looks_swapped": "It seems that {what} are swapped: {rows}. Not changed, not judged.",
    "postcode_zero_lost": "Column {column}: {rows} hold one digit less than the others. If they are of one country, a spreadsheet took away the zero "
    "they start with; kept as given, and nothing depends on it.",
    "total_row": "The last row ({row}) looks like a total, not an address.",
    "wanted_not_understood": "Services wanted: not understood, {words:list} ({rows}). What else such a row orders counts; where it orders nothing "
    "else, every service is judged.",
    "mount_not_understood": "Mount: not understood, {words:list} ({rows}). The plan's own mount counts there.",
    "position_error_not_understood": "Position error: not a number of metres, {words:list} ({rows}). Taken from the decimals of the coordinates there.",
    "coarse_positions": "Coordinates with so few decimals, or so large a stated error, that they are good to {least_m:dist} or worse: {rows}.",
    # --- what check says ------------------------------------------------------------------------------------------------
    "check_rows": "{file}: rows read: {read}. Placed: {accepted}. Not placed: {rejected}.",
    "check_reject": "{where}{rows}{field}{value}: {reason}",
    "check_more_rejects": "... and more rows: {count}. --json lists them all.",
    "check_satellites": "Satellites: {count} ({names:list}), {parts} transponders.",
    "check_transmitters": "Terrestrial transmitters: {count} ({names:list}), {parts} multiplexes.",
    "check_sectors": "Mobile sectors: {count} on {sites} sites, of {operators:list}.",
    "check_none": "{what}: this plan lists none.",
    "check_terrain": "{files:list}: cells of {cell_m:len}, {knows}; {flown}. {crs}, heights in {unit}; vertical datum: {datum}.",
}
