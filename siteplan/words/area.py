"""The words of area maps: what each band holds, what the map asks, and what is said when they are made."""

from __future__ import annotations

from siteplan.words.formats import SentenceFormatter

_FORMATTER = SentenceFormatter()

CLASS_WORDS = ("nobody knows", "blocked", "partly", "clear")  # in the order of records.view.CLEARANCE_STATES

BANDS: dict[str, str] = {
    # --- band descriptions (they state what a number is, its unit and what stands for unknown) --------------------------
    "band_count": "satellites visible: how many of {count} a dish sees clear; 255 unknown",
    "band_state": "{satellite}: 0 unknown, 1 blocked, 2 partly, 3 clear; 255 no ground known",
    "band_mount_all": "mount height needed for all satellites, metres above ground; NaN none up to the highest, or unknown",
    "band_mount": "mount height needed for {satellite}, metres above ground; NaN none up to the highest, or unknown",
    "band_dish": "smallest dish of the kit that holds reserve and availability for {satellite}, metres; NaN none, not seen, or unknown",
    "band_dish_all": "the largest of those dishes over all satellites, metres; NaN none, not seen, or unknown",
    "band_margin": "{satellite}: least margin at {wanted_pct:g} % of the average year with that dish (the smallest where none holds), dB; NaN not seen, or unknown",
    "band_arc": "share of {count} positions of the geostationary arc that a dish sees clear at the default mount height, %; NaN unknown",
    "band_transmitter": "best transmitter: number in the tag NAMES, counted from 0; 65535 none or unknown",
    "band_field": "median field strength of the best transmitter's weakest multiplex, dBuV/m; NaN unknown",
    "band_tv_margin": "margin of that multiplex over its minimum median field, dB; NaN unknown",
    "band_programmes": "programmes of that transmitter that can be promised; 65535 none known",
    "band_open": "1 where a second transmitter can't be told apart from the best, 0 where it can; 65535 none known",
    "band_sector": "best sector: number in the tag NAMES, counted from 0; 65535 none or unknown",
    "band_rsrp": "RSRP of the best sector, dBm; NaN unknown",
    "band_rsrp_margin": "margin over the plan's wanted RSRP, dB; NaN unknown",
}
WORDS: dict[str, str] = {
    **{f"class_{number}": word for number, word in enumerate(CLASS_WORDS)},
    # --- questions of the map --------------------------------------------------------------------------------------------
    "q_sees": "Where does a dish see {satellite}?",
    "q_count": "How many of the satellites does a dish see?",
    "q_arc": "How much of the arc does a dish see?",
    "q_mount": "How high must the dish stand to see all satellites?",
    "q_mount_one": "How high must the dish stand to see {satellite}?",
    "q_dish": "Which dish does {satellite} need?",
    "q_dish_all": "Which dish do all satellites need?",
    "q_margin": "How much does rain leave of {satellite}?",
    "q_transmitter": "Which TV transmitter is best?",
    "q_field": "How much does the best TV transmitter have to spare?",
    "q_programmes": "How many TV programmes can be promised?",
    "q_open": "Where can two TV transmitters not be told apart?",
    "q_sector": "Which mobile site is best?",
    "q_band": "Which mobile operator and band is best?",
    "q_rsrp": "How strong is mobile internet?",
    "l_sees": "Plain: a dish {dish_height_agl_m:height} up (or {above_roof_m:height} above the roof) sees it. Sparse dots: partly. Dense dots: blocked. "
    "Hatched: nobody knows, trees or buildings are unknown here.{flown}",
    "l_arc": "Of the positions on the arc, every {step_deg:g}°, that stand high enough here: how many of a hundred a dish {dish_height_agl_m:height} up "
    "(or {above_roof_m:height} above the roof) sees. Hatched: nobody knows.{flown}",
    "l_count": "The more satellites are clear, the lighter. Hatched: nobody knows.{flown}",
    "l_mount": "The lowest height, in steps of a tenth of a metre, from which all are clear today. Dense dots: none up to {highest_agl_m:height} "
    "({highest_above_roof_m:height} above a roof) helps. Hatched: nobody knows.{flown}",
    "l_dish": "The smallest dish of the kit that holds the wanted reserve in clear sky and a picture for {wanted_pct:.4g} % of the year, where a dish sees "
    "the satellite from a height that may be used. Dense dots: no dish of the kit, or no view. Hatched: nobody knows.{flown}",
    "l_margin": "What is left over the picture’s limit in the weather of {wanted_pct:.4g} % of the year, with the smallest dish that will do (the smallest "
    "of the kit where none will). Hatched: no view, or nobody knows.{flown}",
    "l_best": "Each pattern is one {what}, named on the map. Hatched: none, or nobody knows.",
    "l_field": "Under 0 dB the signal is too weak. Hatched: nobody knows.{shared}",
    "l_programmes": "Programmes of the best transmitter at each place that can be promised.",
    "l_open": "Where two differ by less than their error, try both aims and keep the better.",
    "open_0": "one is better",
    "open_1": "try both",
    "l_rsrp": "By the best way that is sold. The plan wants {wanted:.0f} dBm. Hatched: nobody knows.{shared}",
    "t_margin": "0 dB: the picture just holds",
    "t_field": "0 dB: just enough",
    "t_rsrp": "{wanted:.0f} dBm is wanted",
    "flown": " Flown {year}.",
    "shared": " Worked every {step} cells; between, {n} cells worked in full lie within {p90_db:.1f} dB in nine of ten.",
    # --- what the command says ---------------------------------------------------------------------------------------------
    "says_grid": "{rows} x {cols} cells of {cell_m:len} in {crs}.",
    "says_part": "The finest terrain holds {count} of {all} placed addresses: their part is mapped. --bounds or [area] bounds chooses another.",
    "says_resume": "Finished tiles are kept: after an interruption the same command goes on where it stopped.",
    "says_clear": "{satellite}: {clear:.0%} of the known area clear, {partly:.0%} partly, {blocked:.0%} blocked, {unknown:.0%} nobody knows.",
    "says_dish": "{satellite}: of the places that can see it, {shares}.",
    "says_dish_one": "a {size:dish} dish will do at {share:.0%}",
    "says_full": "{what}: worked in every cell.",
    "says_shared": "{what}: worked every {step} cells each way and shared out between. {n} cells between, worked in full, differ by {median_db:.1f} dB "
    "(median), {p90_db:.1f} dB (nine of ten), {most_db:.1f} dB (most); the best name is the same in {same_name:.0%}.",
    "says_shared_unchecked": "{what}: worked every {step} cells each way and shared out between.",
    "says_old": "Area maps in {folder} were made from other data or settings and are removed; siteplan area makes them again.",
    "what_terrestrial": "TV",
    "what_mobile": "Mobile",
    "what_transmitter": "transmitter",
    "what_sector": "operator's site",
    "what_band": "operator and band",
}


def area_text(code: str, **values: object) -> str:
    """Return one text of area maps with its values put in."""
    return _FORMATTER.format(WORDS[code], **values)


def band_text(code: str, **values: object) -> str:
    """Return what a band of a raster holds, in English: other programs read it."""
    return BANDS[code].format(**values)
