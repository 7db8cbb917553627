"""What the columns of a readings file are called, by standard terms and units, and numbers as meters and people write them in a cell."""

from __future__ import annotations

import re

from siteplan.files.tables import squash

# our name -> what else people call the column (compared without case, accents and marks; units in brackets are part of the name)
NAMES: dict[str, tuple[str, ...]] = {
    "id": ("id", "address id", "job", "job id", "kunde", "auftrag"),
    "lat_deg": ("lat_deg", "lat", "latitude", "breite"),
    "lon_deg": ("lon_deg", "lon", "lng", "longitude", "laenge", "länge"),
    "outlet": ("outlet", "socket", "dose", "antennendose", "prise", "point", "measured at", "messort", "messpunkt", "point de mesure"),
    "source": ("source", "satellite", "transmitter", "operator", "satellit", "sender", "emetteur", "betreiber", "operateur"),
    "carrier": ("carrier", "transponder", "multiplex", "mux", "cell", "channel", "name", "zelle", "cellule"),
    "polarisation": ("polarisation", "polarization", "pol", "polarisierung"),
    "frequency_mhz": ("frequency_mhz", "frequency (mhz)", "f_mhz", "mhz"),
    "frequency_ghz": ("frequency_ghz", "frequency (ghz)", "f_ghz", "ghz"),
    "frequency_khz": ("frequency_khz", "frequency (khz)", "f_khz", "khz"),
    "level_dbuv": ("level_dbuv", "level (dbµv)", "level (dbμv)", "level (dbuv)", "pegel (dbµv)", "power_dbuv", "dbuv", "dbµv"),
    "level_dbmv": ("level_dbmv", "level (dbmv)", "power_dbmv", "dbmv"),
    "level_dbm": ("level_dbm", "level (dbm)", "power_dbm", "dbm"),
    "cn_db": ("cn_db", "c/n (db)", "c/n", "cn", "cnr", "carrier to noise", "carrier to noise ratio", "snr", "snr (db)"),
    "mer_db": ("mer_db", "mer (db)", "mer", "modulation error ratio"),
    "margin_db": ("margin_db", "link margin (db)", "link margin", "noise margin", "margin (db)", "margin", "reserve", "marge"),
    "pre_ber": ("pre_ber", "pre-ber", "ber before", "ber pre", "pre-fec ber", "pre-viterbi ber", "cber"),
    "post_ber": ("post_ber", "post-ber", "ber after", "ber post", "post-fec ber", "post-viterbi ber", "vber", "lber"),
    "rsrp_dbm": ("rsrp_dbm", "rsrp (dbm)", "rsrp", "ss-rsrp", "ss-rsrp (dbm)", "rscp_dbm", "rscp (dbm)", "rscp"),
    "rsrq_db": ("rsrq_db", "rsrq (db)", "rsrq", "ss-rsrq", "ss-rsrq (db)"),
    "sinr_db": ("sinr_db", "sinr (db)", "sinr", "ss-sinr", "ss-sinr (db)", "rs-sinr", "ec/n0 (db)", "ec/n0", "ec/io", "c/i", "c/i (db)"),
    "rssi_dbm": ("rssi_dbm", "rssi (dbm)", "rssi"),
    "rsrp_a_dbm": ("rsrp_a_dbm", "rsrp a (dbm)", "rsrp first lead", "rsrp_main", "rsrp_0", "rsrp[0]"),
    "rsrp_b_dbm": ("rsrp_b_dbm", "rsrp b (dbm)", "rsrp second lead", "rsrp_diversity", "rsrp_1", "rsrp[1]"),
    "pci": ("pci", "physical cell id", "physical cell identity", "psc"),
    "technology": ("technology", "rat", "radio", "technik", "technologie"),
    "band": ("band", "bande", "frequency band", "frequenzband"),
    "cell_id": ("cell_id", "cell id", "cell identity", "cid", "eci", "nci", "zellkennung"),
    "earfcn": ("earfcn",),
    "nr_arfcn": ("nr_arfcn", "nr-arfcn", "nrarfcn"),
    "uarfcn": ("uarfcn",),
    "arfcn": ("arfcn",),
    "locked": ("locked", "lock", "signal"),
    "taken_at": ("taken_at", "time", "date", "datetime", "zeit", "datum"),
    "installer": ("installer", "monteur", "technician"),
    "meter": ("meter", "instrument"),
    "kit": ("kit", "dish", "antenna"),
    "note": ("note", "notes", "remark", "bemerkung"),
}

LEVEL = "level"  # a level whose column says no unit: each cell must say it
_OURS = {squash(other): name for name, others in NAMES.items() for other in others}
_LEVELS = {
    squash(name)
    for name in (
        "level", "power", "pegel", "signal level", "signalpegel", "rf level", "input level", "channel power", "channel level", "kanalpegel",
        "kanalleistung", "leistung", "niveau", "niveau du signal", "puissance", "eingangspegel",
    )
}  # fmt: skip
_FREQUENCIES = {
    squash(name)
    for name in (
        "frequency", "freq", "f", "frequenz", "fréquence", "centre frequency", "center frequency", "mittenfrequenz", "rf", "if",
        "rf frequency", "if frequency", "downlink frequency", "empfangsfrequenz",
    )
}  # fmt: skip
# a unit at the end of a name, in brackets or after a space or mark; what goes on with "/m" is a field strength and no level
_UNIT = re.compile(r"[\s_(\[,/]*\b(dbuv|dbmv|dbm|db|mhz|ghz|khz)[)\]]*\s*$")
_CELL_UNIT = re.compile(r"(.*?)\s*(dbuv|dbmv|dbm|db|mhz|ghz|khz)\s*$", re.IGNORECASE)
_POWER_OF_TEN = re.compile(r"\s*[x×·*]\s*10\s*\^?\s*\(?([+-]?\d+)\)?$")
_MICRO = str.maketrans({"µ": "u", "μ": "u", "−": "-"})


def column_of(name: str) -> str:
    """Return which of our columns a heading means, LEVEL for a level without a unit, "" for one that is none of ours.

    "C/N [dB]" -> cn_db, "Signal level dBµV" -> level_dbuv, "Frequenz (GHz)" -> frequency_ghz; "dBµV/m" is no level.
    """
    known = _OURS.get(squash(name), "")
    if known:
        return known
    plain = name.translate(_MICRO).strip().lower().replace("_", " ")
    found = _UNIT.search(plain)
    base, unit = (squash(plain[: found.start()]), found[1]) if found else (squash(plain), "")
    if base in _LEVELS:
        return f"level_{unit}" if unit in ("dbuv", "dbmv", "dbm") else LEVEL if not unit else ""
    if base in _FREQUENCIES:
        return f"frequency_{unit}" if unit.endswith("hz") else ""
    ours = _OURS.get(base, "")
    return ours if unit == "db" and ours.endswith("_db") else ""


def split_unit(text: str) -> tuple[str, str]:
    """Return a cell's number as text and the unit that it says after it, in small letters: "65,5 dBµV" -> ("65,5", "dbuv")."""
    found = _CELL_UNIT.fullmatch(text.translate(_MICRO).strip())
    return (found[1], found[2].lower()) if found else (text, "")


def plain_number(text: str) -> str:
    """Return a number without the marks of a bound and with its power of ten as a computer writes it: "< 2·10^-6" -> "2e-6"."""
    bare = text.translate(_MICRO).strip().lstrip("<>≤≥~≈").strip()
    found = _POWER_OF_TEN.search(bare)
    return f"{bare[: found.start()]}e{found[1]}" if found else bare


def printable(text: str) -> str:
    """Return a text without signs that steer a terminal or turn the direction of writing round."""
    return "".join(sign if sign.isprintable() else "\ufffd" for sign in text)
