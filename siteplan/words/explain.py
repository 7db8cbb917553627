"""The words of an explanation: a heading for each section, a label for each number. For people who check, so trade terms are at home here."""

from __future__ import annotations

import math

from siteplan.words import terrestrial

HEADINGS: dict[str, str] = {
    "place": "The address",
    "spot_dish": "Where the dish stands",
    "spot_aerial": "Where the TV aerial stands",
    "spot_mobile": "Where the mobile antenna stands",
    "look_angles": "Look angles",
    "clearance": "Clearance of the ray at its tightest place",
    "places": "Likely places and errors",
    "odds": "Odds of a clear view",
    "link": "Link budget in clear sky",
    "tuning": "Tune first, as proof",
    "view": "What came out for this satellite",
    "path": "Path",
    "multiplex": "Multiplex",
    "other_aim": "Other transmitter",
    "sector": "Mobile sector",
    "other_sector": "Other sector",
    "verdict": "Verdict",
}

LABELS: dict[str, str] = {
    # --- the address and its spots -----------------------------------------------------------------------------------------
    "latitude": "latitude",
    "longitude": "longitude",
    "position_error": "position error",
    "ground": "ground",
    "surface": "surface",
    "layer": "terrain layer",
    "cell": "cell size",
    "height_error": "height error of the layer",
    "knows_buildings": "buildings known",
    "knows_trees": "trees known",
    "flown_on": "flown on",
    "declination": "magnetic declination",
    "spot_kind": "mount",
    "spot_latitude": "latitude of the spot",
    "spot_longitude": "longitude of the spot",
    "spot_ground": "ground at the spot",
    "spot_roof": "roof or surface at the spot",
    "spot_height": "antenna centre",
    "spot_centre": "antenna centre above sea level",
    "own_support": "own support left out",
    "facade": "wall faces",
    "snapped": "moved to the building by",
    "highest": "highest mount tried",
    # --- satellite -----------------------------------------------------------------------------------------------------------
    "orbit": "orbital longitude",
    "azimuth": "azimuth",
    "magnetic_azimuth": "compass bearing",
    "elevation": "elevation, geometric",
    "refraction": "refraction",
    "apparent_elevation": "elevation, apparent",
    "range": "slant range",
    "skew": "skew",
    "polarisation_offset": "satellite's own polarisation offset",
    "clearance_height": "looked at from",
    "clearance_ground_only": "bare ground alone",
    "dish": "dish",
    "frequency": "frequency",
    "wavelength": "wavelength",
    "clearance_state": "clearance is",
    "obstacle_distance": "tightest place, distance",
    "obstacle_bearing": "tightest place, bearing",
    "obstacle_amsl": "tightest place, top",
    "obstacle_agl": "tightest place, height",
    "obstacle_kind": "what stands there",
    "needed_clearance": "clearance needed",
    "clearance": "clearance there is",
    "spare": "spare elevation",
    "centre_spare": "spare elevation, centre ray",
    "obstacle_loss": "loss by what stands there",
    "foliage_figure": "if it is leaves, looking through",
    "known_to": "terrain known to",
    "places": "likely places of the antenna",
    "places_farthest": "farthest likely place",
    "places_looked_at": "equally likely places these are worth",
    "places_roof_error": "error of the roof's height from its shape",
    "mount_error": "height error of the mount",
    "growth_today": "growth since the flight",
    "growth_later": "growth by the end of the wanted years",
    "odds_height": "mount height",
    "odds_dish": "dish",
    "odds_ground_only": "bare ground alone",
    "odds_growth": "growth added",
    "odds_error": "height error held against it",
    "odds_places_clear": "places with a clear ray",
    "odds_clear": "chance of the whole clearance",
    "odds_centre": "chance of the centre ray",
    "odds_possible": "chance that can not be ruled out",
    "link_frequency": "frequency",
    "link_mode": "mode",
    "eirp_source": "EIRP is",
    "term_eirp_dbw": "EIRP",
    "term_free_space_loss_db": "free-space loss",
    "term_obstruction_loss_db": "loss by what stands in the ray",
    "term_dish_gain_dbi": "dish gain",
    "term_noise_temperature_db_k": "noise temperature",
    "term_boltzmann_db": "Boltzmann's constant",
    "term_bandwidth_db_hz": "bandwidth",
    "cn": "C/N",
    "threshold": "threshold of the mode",
    "link_margin": "margin",
    "wanted_margin": "margin wanted",
    "needs_eirp": "EIRP that would do",
    "left_out": "left out",
    "lnb": "LNB",
    "switch_position": "input of the switch (DiSEqC)",
    "oscillator": "oscillator",
    "if": "frequency on the cable",
    "sub_band": "sub-band",
    "supply": "voltage from the receiver",
    "tone": "22 kHz",
    "occupied": "occupied bandwidth",
    "relative_level": "level against the strongest",
    "disturbed": "other services on that frequency",
    "false_friends": "may be taken for",
    "least_elevation": "smallest elevation promised",
    "view_probability": "probability",
    "view_mount": "mount height",
    "view_dish": "smallest dish",
    "view_state": "state",
    "view_reason": "deciding reason",
    # --- paths over the ground -------------------------------------------------------------------------------------------------
    "path_km": "path length",
    "bearing": "bearing from the house",
    "tx_ground": "ground at the sender",
    "tx_height": "sender's antenna",
    "rx_ground": "ground at the house",
    "rx_height": "antenna at the house",
    "profile_points": "profile points",
    "surface_known": "surface known",
    "lat_mid": "latitude of the middle",
    "delta_n": "refractive lapse",
    "n0": "sea-level refractivity",
    "path_frequency": "frequency",
    "path_polarisation": "polarisation",
    "time_pct": "share of time",
    "location_pct": "share of locations",
    "method": "method",
    "direct_ray_at_tx_mrad": "direct ray at the sender",
    "theta_t_mrad": "horizon angle of the sender",
    "theta_r_mrad": "horizon angle of the house",
    "theta_mrad": "angular distance",
    "tx_horizon_km": "horizon of the sender",
    "rx_horizon_km": "horizon of the house",
    "effective_radius_km": "effective Earth radius",
    "effective_height_tx_m": "effective height of the sender",
    "effective_height_rx_m": "effective height of the house",
    "roughness_m": "terrain roughness",
    "sea_fraction": "share over sea",
    "beta0_pct": "ducting time share",
    "edge_nu": "nu of the dominant edge",
    "free_space_db": "free space",
    "line_of_sight_p_db": "line of sight with multipath",
    "bullington_actual_50_db": "Bullington loss, actual profile",
    "bullington_smooth_50_db": "Bullington loss, smooth profile",
    "spherical_earth_50_db": "spherical-Earth loss",
    "diffraction_50_db": "diffraction, median",
    "diffraction_p_db": "diffraction at this share of time",
    "basic_diffraction_p_db": "free space and diffraction",
    "troposcatter_db": "troposcatter",
    "ducting_db": "ducting and layer reflection",
    "diffraction_or_ducting_db": "diffraction or ducting",
    "modified_diffraction_db": "diffraction with ducting blended in",
    "combined_db": "all mechanisms together",
    "location_db": "location variability",
    "over_mean_ground_m": "sender over the mean ground",
    "in_sight_db": "loss in sight",
    "out_of_sight_db": "loss out of sight",
    "sight_probability": "odds of sight",
    "statistical_median_db": "statistical median",
    "unknown_clutter_db": "clutter of unknown height",
    "edge_km": "dominant edge",
    "loss": "basic transmission loss",
    "erp": "radiated power",
    "field": "median field strength",
    "mode": "mode",
    "needed_cn": "C/N needed",
    "noise": "receiver noise",
    "minimum_power": "minimum receiver power",
    "aerial_gain": "aerial gain",
    "feeder_loss": "feeder loss",
    "minimum_field": "minimum field strength",
    "location_allowance": "allowance for locations",
    "minimum_median": "minimum median field strength",
    "margin": "margin",
    "level": "level at the aerial",
    "sigma_location": "sigma over locations",
    "sigma_method": "sigma of the method",
    "sigma_clutter": "sigma of unknown clutter",
    "sigma": "sigma, all together",
    "served_probability": "probability",
    "re_eirp": "power per resource element",
    "sector_azimuth": "sector faces",
    "off_axis_up": "elevation of the house from the sender",
    "pattern": "sector pattern",
    "mobile_gain": "antenna gain",
    "mobile_feeder": "antenna cable",
    "rsrp": "RSRP",
    "wanted_rsrp": "RSRP wanted",
    "floor_rsrp": "RSRP below which it is hopeless",
    # --- verdict ---------------------------------------------------------------------------------------------------------------
    "book_at": "book at or above",
    "not_feasible_at": "not feasible at or below",
    "probability": "probability",
    "state": "state",
    "deciding_reason": "deciding reason",
    "how_sure": "how sure",
}

HEADINGS |= terrestrial.HEADINGS
LABELS |= terrestrial.LABELS

TEXTS: dict[str, str] = {
    "title": "{who} (row {row}), {plan}, {date}",
    "answer": "{service}: {state}. {sentences}",
    "sure": "How sure: {words}.",
    "commands": "The same losses again, from the profile files written beside",
    "command": "{subject}: {loss_db:.4f} dB",
    "rejected": "row {row} ({what}) was not placed, so there is nothing to explain: {reason}",
}


def heading(code: str, subject: str = "") -> str:
    """Return the heading of a section."""
    return f"{HEADINGS[code]}: {subject}" if subject else HEADINGS[code]


def label(code: str) -> str:
    """Return what a number is called."""
    return LABELS[code]


def shown(value: float | str | bool | None, unit: str) -> str:
    """Return a value as text: enough digits to check it by hand, "unknown" for NaN and None."""
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return "unknown"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value or "none"
    number = f"{value:.6f}" if unit == "deg" else f"{value:.5g}" if abs(value) < 1.0 and value else f"{value:.3f}"
    number = number.rstrip("0").rstrip(".") if "." in number and "e" not in number else number
    return f"{number} {unit}".strip()


def text(code: str, **values: object) -> str:
    """Return one text with its values put in."""
    return TEXTS[code].format(**values)
