"""What the columns of an address list are called, in the languages lists come in; compared as files.tables.squash makes them."""

from __future__ import annotations

import re
from functools import cache

from siteplan.files.tables import squash

LAT, LON, X, Y, BOTH, CRS = "lat_deg", "lon_deg", "x", "y", "coordinates", "crs"
ID, NAME, WANTED, MOUNT, ERROR = "id", "name", "wanted", "mount", "position_error_m"

# role -> names, the surest first: where two columns fit one role, the earlier name wins
NAMES: dict[str, tuple[str, ...]] = {
    LAT: (
        "lat_deg", "latitude_deg", "latitude", "lat", "latdd", "latdec", "decimallatitude", "latwgs84", "ycoordlat", "breitengrad",
        "breite", "geographische breite", "geografische breite", "geogr breite", "geobreite", "latitud", "latitudine", "latitude nord",
        "breedtegraad", "breedte", "szerokość geograficzna", "szerokość", "szer", "szer geogr", "breddegrad", "bredde", "breddgrad",
        "bredd", "latitudi", "leveysaste", "leveyspiiri", "zeměpisná šířka", "šířka", "zemepisná šírka", "szélességi fok", "szélesség",
        "geografska širina", "širina", "latitudine nord", "enlem", "широта", "γεωγραφικό πλάτος", "πλάτος",
    ),
    LON: (
        "lon_deg", "longitude_deg", "longitude", "lon", "long", "lng", "londd", "londec", "decimallongitude", "lonwgs84", "xcoordlon",
        "längengrad", "laengengrad", "länge", "laenge", "geographische länge", "geografische länge", "geogr länge", "geolänge",
        "longitud", "longitudine", "longitude est", "lengtegraad", "lengte", "długość geograficzna", "długość", "dług", "dług geogr",
        "længdegrad", "længde", "lengdegrad", "lengde", "longitud öst", "längdgrad", "pituusaste", "pituuspiiri", "zeměpisná délka",
        "délka", "zemepisná dĺžka", "hosszúsági fok", "hosszúság", "geografska dužina", "dužina", "longitudine est", "boylam", "долгота",
        "γεωγραφικό μήκος", "μήκος",
    ),
    X: (
        "x", "x_m", "easting", "east", "eastings", "rechtswert", "ostwert", "rw", "x koordinate", "koordinate x", "koordx", "x coord",
        "coord x", "xcoordinate", "coordx", "coordonnée x", "coordenada x", "coordinata x", "x utm", "utm x", "utm e", "utm east",
        "utm easting", "utm ost", "este", "est", "e", "e_lv95", "ostkoordinate", "współrzędna x", "x coördinaat", "xkoord", "x gk",
        "x lv95", "ost",
    ),
    Y: (
        "y", "y_m", "northing", "north", "northings", "hochwert", "nordwert", "hw", "y koordinate", "koordinate y", "koordy", "y coord",
        "coord y", "ycoordinate", "coordy", "coordonnée y", "coordenada y", "coordinata y", "y utm", "utm y", "utm n", "utm north",
        "utm northing", "utm nord", "norte", "nord", "n", "n_lv95", "nordkoordinate", "współrzędna y", "y coördinaat", "ykoord", "y gk",
        "y lv95",
    ),
    BOTH: (
        "coordinates", "coordinate", "coords", "coord", "latlon", "lat lon", "latlng", "lat lng", "latlong", "lat long",
        "latitude longitude", "gps", "gps coordinates", "gps koordinaten", "gpskoordinaten", "koordinaten", "koordinate",
        "geokoordinaten", "coordonnées", "coordonnées gps", "coordenadas", "coordenadas gps", "coordinate gps", "coördinaten",
        "gps coördinaten", "współrzędne", "współrzędne gps", "souřadnice", "koordinater", "position", "location gps", "geo", "geopoint",
        "geo point", "geopunkt", "point", "wkt", "breite länge", "posizione gps", "posición gps", "posição gps",
    ),
    CRS: ("crs", "epsg", "srid", "coordinate system", "koordinatensystem", "bezugssystem"),
    ID: (
        "id", "address id", "adress id", "site id", "job id", "jobid", "job", "job no", "job nr", "job number", "jobnumber", "work order",
        "order", "order id", "order no", "order number", "ticket", "auftrag", "auftrags id", "auftragsnummer", "auftragsnr", "auftrag nr",
        "objekt id", "objektnummer", "kunden id", "kundennummer", "kundennr", "kunden nr", "customer id", "customer no",
        "customer number", "client id", "numéro client", "numéro de commande", "commande", "n commande", "pedido", "número de pedido",
        "ordine", "numero ordine", "bestelnummer", "ordernummer", "opdracht", "opdrachtnummer", "zlecenie", "nr zlecenia",
        "numer zlecenia", "numer klienta", "encomenda", "zakázka", "číslo zakázky", "identifier", "identifiant", "identificador",
        "identificativo", "kennung", "key", "ref", "reference", "referenz", "référence", "referencia", "riferimento", "referentie",
        "uuid", "number", "nummer", "numéro", "numero", "número", "numer", "no", "nr", "num", "lfd nr", "laufende nummer", "číslo",
        "code", "codigo", "código", "codice", "kod",
    ),
    NAME: (
        "name", "customer", "customer name", "client", "kunde", "kundenname", "kundin", "nombre", "cliente", "nom", "nom du client",
        "naam", "klant", "nazwa", "klient", "nome", "jméno", "zákazník", "navn", "namn", "address", "street address", "adresse",
        "anschrift", "dirección", "direccion", "indirizzo", "endereço", "morada", "adres", "adresa", "adress", "osoite", "street",
        "straße", "strasse", "str", "straße hausnummer", "straße nr", "rue", "calle", "via", "rua", "straat", "ulica", "ulice", "gata",
        "title", "titel", "label", "bezeichnung", "objekt", "site", "site name", "standort", "property", "ort", "place", "location",
    ),
    WANTED: (
        "wanted", "services", "service", "wanted services", "services wanted", "ordered", "products", "product", "dienste", "dienst",
        "gewünscht", "leistung", "leistungen", "produkt", "produkte", "bestellt", "services demandés", "prestation", "prestations",
        "servicio", "servicios", "servizi", "servizio", "serviços", "serviço", "diensten", "gewenst", "usługi", "usługa", "služby",
        "služba", "tjeneste", "tjenester", "tjänst", "tjänster",
    ),
    MOUNT: (
        "mount", "mounting", "mount kind", "mounted on", "antenna mount", "montage", "montageort", "montageart", "befestigung",
        "halterung", "support", "fixation", "montaje", "soporte", "montaggio", "supporto", "montagem", "suporte", "bevestiging", "montaż",
        "mocowanie",
    ),
    ERROR: (
        "position_error_m", "position error", "error m", "accuracy_m", "accuracy", "position accuracy", "horizontal accuracy",
        "gps accuracy", "uncertainty_m", "genauigkeit_m", "genauigkeit", "lagegenauigkeit", "ungenauigkeit", "précision_m", "précision",
        "precisión", "precisione", "accuratezza", "precisão", "nauwkeurigheid", "dokładność", "přesnost",
    ),
}  # fmt: skip
# id names that may also be a house number: taken for ids only where they differ from row to row
_WEAK = ("number", "nummer", "numéro", "numero", "número", "numer", "no", "nr", "num", "číslo", "code", "kod")
_STREET = ("street", "straße", "strasse", "str", "rue", "calle", "via", "rua", "straat", "ulica", "ulice", "gata")
WEAK_IDS, STREET_NAMES = frozenset(map(squash, _WEAK)), frozenset(map(squash, _STREET))
LON_FIRST = frozenset(map(squash, ("lonlat", "lon lat", "lnglat", "lng lat", "longlat", "longitude latitude", "länge breite", "xy")))
_UNIT = re.compile(r"[\(\[].*?[\)\]]")
_LOOSE = ("wgs84", "gps", "geo", "deg", "degrees", "grad", "dezimal", "decimal", "dd", "etrs89", "n", "e")


@cache
def _table() -> dict[str, tuple[str, int]]:
    found: dict[str, tuple[str, int]] = {}
    for role, names in NAMES.items():
        for rank, name in enumerate(names):
            found.setdefault(squash(name), (role, rank))
    for name in LON_FIRST:
        found[name] = (BOTH, 99)
    return found


def recognise(name: str) -> tuple[str, int] | None:
    """Return (role, rank) of a column's name, None for a name of no role; a unit in brackets and words such as GPS are set aside."""
    table = _table()
    for text in (name, _UNIT.sub("", name), _shorn(_UNIT.sub("", name))):
        if (key := squash(text)) in table:
            return table[key]
    return None


def _shorn(name: str) -> str:
    words = re.split(r"[\s_\-./]+", name.strip())
    kept = [word for word in words if squash(word) not in _LOOSE]
    return " ".join(kept)


def is_known(name: str) -> bool:
    """Return whether a column's name has a role."""
    return recognise(name) is not None


def roles_of(columns: tuple[str, ...]) -> dict[str, str]:
    """Return role -> column: for each role the column with the surest name, the leftmost of equals."""
    best: dict[str, tuple[int, int]] = {}
    for place, column in enumerate(columns):
        found = recognise(column)
        if found is not None and (found[1], place) < best.get(found[0], (10_000, 0)):
            best[found[0]] = (found[1], place)
    return {role: columns[place] for role, (_, place) in best.items()}
