"""Two-line elements and messages of invented satellites, with right checksums."""

from siteplan.records.orbit import MeanElements


def signed(line: str) -> str:
    """Return a line of 68 characters with its checksum."""
    return line + str(sum(int(c) if c.isdigit() else c == "-" for c in line) % 10)


def exponent(value: float) -> str:
    """Return 0.12345e-4 as " 12345-4"."""
    if value == 0.0:
        return " 00000-0"
    digits, power = f"{abs(value):.4e}".split("e")
    return f"{'-' if value < 0 else ' '}{digits.replace('.', '')}{int(power) + 1:+d}"


def tle(one: MeanElements, *, name: bool = True) -> str:
    """Return the two lines (after the name) of one set."""
    start = one.epoch.replace(month=1, day=1, hour=0, minute=0, second=0, microsecond=0)
    day = (one.epoch - start).total_seconds() / 86_400.0 + 1.0
    first = f"{one.half_first_derivative:+.8f}".replace("+", " ").replace("0.", ".", 1)
    line1 = f"1 {one.number:05d}U 26001A   {one.epoch:%y}{day:012.8f} {first} "
    line1 += f"{exponent(one.sixth_second_derivative)} {exponent(one.bstar)} 0  999"
    line2 = (
        f"2 {one.number:05d} {one.inclination_deg:8.4f} {one.node_deg:8.4f} {round(one.eccentricity * 1e7):07d} {one.perigee_deg:8.4f} "
        f"{one.anomaly_deg:8.4f} {one.mean_motion:11.8f}    1"
    )
    return (f"{one.name}\n" if name else "") + f"{signed(line1)}\n{signed(line2)}\n"


def message(one: MeanElements) -> dict[str, str]:
    """Return the fields of an orbit mean-elements message."""
    return {
        "OBJECT_NAME": one.name, "OBJECT_ID": "2026-001A", "CENTER_NAME": "EARTH", "REF_FRAME": "TEME", "TIME_SYSTEM": "UTC",
        "MEAN_ELEMENT_THEORY": "SGP4", "EPOCH": one.epoch.isoformat(timespec="microseconds"), "MEAN_MOTION": repr(one.mean_motion),
        "ECCENTRICITY": repr(one.eccentricity), "INCLINATION": repr(one.inclination_deg), "RA_OF_ASC_NODE": repr(one.node_deg),
        "ARG_OF_PERICENTER": repr(one.perigee_deg), "MEAN_ANOMALY": repr(one.anomaly_deg), "EPHEMERIS_TYPE": "0",
        "CLASSIFICATION_TYPE": "U", "NORAD_CAT_ID": str(one.number), "ELEMENT_SET_NO": "999", "REV_AT_EPOCH": "1", "BSTAR": repr(one.bstar),
        "MEAN_MOTION_DOT": repr(one.half_first_derivative), "MEAN_MOTION_DDOT": repr(one.sixth_second_derivative),
    }  # fmt: skip
