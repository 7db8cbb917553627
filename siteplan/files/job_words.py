"""What an address list says about the job itself, in several languages: the services ordered and where the antenna goes."""

from __future__ import annotations

import re

from siteplan.files.tables import squash
from siteplan.records.verdict import SERVICES

SATELLITE, TERRESTRIAL, MOBILE = SERVICES
_SERVICE_WORDS = {
    SATELLITE: (
        "satellite", "sat", "satellit", "satelite", "satélite", "satelit", "satelita", "satellitare", "satelitarna", "satelliet",
        "satelitní", "dish", "schüssel", "parabola", "parabole", "antena satelitarna", "schotel", "dvbs", "dvbs2", "sattv",
    ),
    TERRESTRIAL: (
        "terrestrial", "tv", "dtt", "aerial", "antenna", "antenne", "terrestrisch", "terrestre", "tnt", "tdt", "ddt", "dvbt", "dvbt2",
        "fernsehen", "télévision", "television", "televisión", "televisione", "telewizja", "televisie", "televize", "naziemna",
        "dachantenne", "zimmerantenne",
    ),
    MOBILE: (
        "mobile", "mobil", "mobiel", "mobilfunk", "internet", "lte", "4g", "5g", "nr", "cellular", "móvil", "movil", "móvel", "mobilny",
        "komórkowy", "mobilní", "data", "broadband", "breitband", "handy", "gsm", "phone",
    ),
}  # fmt: skip
_ALL = (
    "all", "alle", "alles", "everything", "tout", "tous", "toutes", "todo", "todos", "todas", "tutti", "tutto", "wszystko",
    "wszystkie", "tudo", "vše", "both", "beide", "any",
)  # fmt: skip
_NOTHING = (
    "", "none", "no", "nein", "keine", "kein", "rien", "nada", "niente", "brak", "geen", "open", "offen", "na", "tbd",
)  # fmt: skip
_JOINING = (
    "and", "und", "et", "y", "e", "en", "i", "a", "plus", "with", "mit", "service", "services", "anlage", "only", "nur", "digital",
)  # fmt: skip
_SERVICE = {squash(word): service for service, words in _SERVICE_WORDS.items() for word in words}
_WORDS = re.compile(r"[^\W_]+(?:-?[^\W_]+)*")
_MOUNT = {
    squash(word): kind
    for kind, words in {
        "ground": (
            "ground", "garden", "pole", "boden", "garten", "mast im garten", "erdboden", "sol", "jardin", "suelo", "jardín", "terra",
            "giardino", "chão", "grond", "tuin", "ziemia", "ogród", "zem", "zahrada",
        ),
        "wall": (
            "wall", "facade", "façade", "wand", "hauswand", "fassade", "balkon", "balcony", "mur", "balcon", "pared", "fachada", "muro",
            "parete", "facciata", "parede", "muur", "gevel", "ściana", "zeď", "stěna",
        ),
        "roof": (
            "roof", "rooftop", "dach", "dachsparren", "flachdach", "toit", "toiture", "tejado", "techo", "tetto", "telhado", "dak", "dachu",
            "střecha",
        ),
        "chimney": (
            "chimney", "schornstein", "kamin", "cheminée", "chimenea", "camino", "comignolo", "chaminé", "schoorsteen", "komin", "komín",
        ),
    }.items()
    for word in words
}  # fmt: skip


def services_wanted(text: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the services a cell orders, in the fixed order, and the words in it that mean no service.

    "satellite tv mobile", "Sat + TV", "all", "LTE/Sat". Nothing ordered, or nothing understood: empty, so every service stands alone.
    """
    if squash(text) in _NOTHING:
        return (), ()
    wanted: set[str] = set()
    strange: list[str] = []
    for word in _WORDS.findall(text):
        key = squash(word)
        if key in _ALL:
            wanted.update(SERVICES)
        elif key in _SERVICE:
            wanted.add(_SERVICE[key])
        elif key not in _JOINING:
            parts = [squash(part) for part in word.split("-")]
            known = [_SERVICE[part] for part in parts if part in _SERVICE]
            wanted.update(known)
            if not known:
                strange.append(word)
    return tuple(service for service in SERVICES if service in wanted), tuple(strange)


def mount_wanted(text: str) -> str | None:
    """Return "ground", "wall", "roof" or "chimney"; "" for an empty cell, None where the word is not known."""
    key = squash(text)
    return "" if key in (*_NOTHING, "auto") else _MOUNT.get(key)
