"""The sentences about a satellite's orbit: what the orbit file says of it, and when it wanders out of a dish's beam."""

SENTENCES: dict[str, str] = {
    "orbit_undated": "The orbit file is not used: without a date in the plan nobody knows for when. A run takes its own day.",
    "orbit_none": "{satellite}: the orbit file names no such satellite, by catalogue number or by name; taken to stand at {orbit_deg:orbit}.",
    "orbit_old": "{satellite}: its orbit of {epoch} lies {age_days:.0f} days from the date, more than 30, and satellites are steered more often; not used, taken "
    "to stand at {orbit_deg:orbit}. Fetch a newer one.",
    "orbit_not_stationary": "{satellite}: its orbit ({mean_motion:.3f} turns a day, up to {lat_deg:deg} from the equator) is not geostationary; not used, taken to "
    "stand at {orbit_deg:orbit}.",
    "orbit_elsewhere": "{satellite}: the orbit file puts it at {found_deg:orbit}, the table at {orbit_deg:orbit}; that is another satellite, or the table is wrong. "
    "Not used.",
    "orbit_moved": "{satellite}: by its orbit it stands at {found_deg:orbit}, not {orbit_deg:orbit}; dishes are aimed there.",
    "orbit_drifts": "{satellite}: it drifts {drift_deg:.2f}° a day to the {way}; aim again after some days.",
    "sat_box_wide": "{satellite} wanders {box_deg:deg} over a day, more than the {beam_deg:deg} that a {dish_m:dish} dish takes in: the picture comes and goes "
    "unless the dish follows.",
}  # fmt: skip
