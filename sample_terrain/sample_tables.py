"""The tables of the sample: addresses, satellites, transmitters and mobile sectors, all invented. Called by make_sample.py."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from sample_land import SEED, House, lon_lat, town_place, write_csv

ADDRESS_COLUMNS = ("id", "name", "lat_deg", "lon_deg", "position_error_m", "wanted", "mount", "day", "outlets")
OUTLETS = {5: 4, 12: 2, 21: 6, 33: 12, 40: 3, 48: 20}  # by the number of an address in its id; of all others the list says nothing
DAYS = ("Mon 15 June", "Tue 16 June", "Wed 17 June", "Thu 18 June", "Fri 19 June")

# name, orbit, offset, network, then carriers: name, MHz, polarisation, kBd, system, modulation, code rate, dBW, who says so, programmes,
# transport stream, roll-off, encrypted. Some carriers of neighbours lie where a wanted one has its own: the sample's tuning cards say so.
SATELLITES = (
    ("Oriel 25E", 25.0, 0.0, 4025, (
        ("O1", 10_847.0, "V", 27_500, "DVB-S2", "8PSK", "3/4", 52.0, "stated", "Harbour One; Harbour Two", 101, 0.2, "no"),
        ("O2", 11_223.0, "H", 23_000, "DVB-S2", "8PSK", "2/3", 51.5, "stated", "Tide News", 102, 0.2, "no"),
        ("O3", 12_604.0, "H", 27_500, "DVB-S", "QPSK", "3/4", 51.0, "stated", "Old Reel", 103, 0.35, "no"),
        ("O4", 11_641.0, "H", 29_500, "DVB-S2", "8PSK", "2/3", 51.5, "stated", "Harbour Sport", 104, 0.2, "yes"),
        ("O5", 12_090.0, "V", 29_500, "DVB-S2", "8PSK", "2/3", 52.0, "stated", "Gull Film", 105, 0.2, "yes"),
    )),
    ("Tern 16E", 16.0, 0.0, 4016, (
        ("T1", 10_850.0, "V", 27_500, "DVB-S2", "8PSK", "3/4", 50.0, "stated", "Fell Radio", 201, 0.2, "no"),
        ("T2", 11_222.0, "V", 23_000, "DVB-S2", "8PSK", "2/3", 50.0, "stated", "Fell News", 202, 0.2, "no"),
        ("T3", 12_092.0, "V", 22_000, "DVB-S2", "QPSK", "3/4", 50.0, "stated", "Fell Shop", 203, 0.2, "no"),
    )),
    ("Sula 10E", 10.0, 0.0, 4010, (
        ("S1", 11_054.0, "H", 30_000, "DVB-S2", "8PSK", "3/4", 49.0, "assumed", "Moor Sport", 301, "", ""),
        ("S2", 11_637.0, "V", 27_500, "DVB-S2", "8PSK", "5/6", "", "assumed", "Moor Film", 302, "", ""),
        ("S3", 12_604.0, "H", 27_500, "DVB-S", "QPSK", "3/4", "", "assumed", "Moor Song", 303, "", ""),
    )),
    ("Petrel 5W", -5.0, 0.0, 4105, (
        ("P1", 11_470.0, "V", 29_950, "DVB-S2", "8PSK", "2/3", 52.5, "stated", "Fjell Ett; Fjell To", 401, 0.2, "no"),
        ("P2", 12_564.0, "H", 29_950, "DVB-S2", "8PSK", "3/4", 52.0, "measured", "Fjell Sang", 402, 0.2, "no"),
    )),
    ("Smew 8W", -8.0, 0.0, 4108, (
        ("W1", 11_473.0, "V", 29_950, "DVB-S2", "8PSK", "2/3", 51.0, "stated", "Dune Uno", 501, 0.2, "no"),
        ("W2", 12_561.0, "V", 29_950, "DVB-S2", "8PSK", "3/4", 51.0, "stated", "Dune Dos", 502, 0.2, "no"),
    )),
    ("Auk 30W", -30.0, 4.5, 4130, (
        ("A1", 11_262.0, "L", 27_500, "DVB-S2", "8PSK", "3/4", 49.5, "stated", "Isla Uno", 601, 0.25, "no"),
        ("A2", 12_380.0, "R", 27_500, "DVB-S2", "QPSK", "5/6", 48.5, "stated", "Isla Dos; Isla Radio", 602, 0.25, "no"),
    )),
)  # fmt: skip

# Two-line elements of the wanted satellites two days before the plan's date: kept in small boxes, a hair beside their places.
ORBITS = (
    "ORIEL 25E",
    "1 99025U 26001A   26160.50000000  .00000000  00000-0  00000-0 0  9994",
    "2 99025   0.0400  92.0000 0001000  40.0000 330.9001  1.00270308    15",
    "PETREL 5W",
    "1 99105U 26001A   26160.50000000  .00000000  00000-0  00000-0 0  9993",
    "2 99105   0.0600  92.0000 0002000  40.0000 300.8701  1.00270307    19",
    "AUK 30W",
    "1 99130U 26001A   26160.50000000  .00000000  00000-0  00000-0 0  9991",
    "2 99130   0.0900  92.0000 0003000  40.0000 275.9101  1.00270306    16",
)

# name, easting, northing, antenna above ground, stated ground, region, then multiplexes:
# (name, channel, ERP kW, polarisation, mode, programmes), and where it is not omnidirectional its pattern.
T2, T2_TOUGH, T2_LIGHT = "DVB-T2 256QAM 2/3", "DVB-T2 64QAM 2/3", "DVB-T2 256QAM 3/4"
TRANSMITTERS = (
    ("Gorse Pike", 468_500, 5_271_500, 165.0, "", "North Coast", (
        ("Coast A", 22, 2.0, "h", T2, "Harbour One; Tide News"), ("Coast B", 25, 2.0, "h", T2, "Moor Film; Old Reel"),
        ("Coast C", 28, 2.0, "h", T2_LIGHT, "Fjell Ett"), ("Coast D", 45, 0.02, "h", T2_LIGHT, "Town Hall"))),
    ("Brant Beacon", 460_000, 5_249_800, 120.0, "", "South Coast", (
        ("South A", 31, 0.05, "h", T2, "Harbour One; Tide News"), ("South B", 34, 0.05, "h", T2, "Moor Film; Old Reel"),
        ("South C", 37, 0.05, "h", T2_LIGHT, "Fjell Ett"))),
    ("Long Down", 472_500, 5_250_500, 90.0, "", "South Coast", (
        ("South A", 40, 0.004, "v", T2_TOUGH, "Harbour One; Tide News"), ("South B", 43, 0.004, "v", T2_TOUGH, "Moor Film; Old Reel"))),
    ("Kirk Hill Relay", 456_300, 5_263_900, 30.0, "", "North Coast", (
        ("Coast A", 41, 0.002, "v", T2, "Harbour One; Tide News"), ("Coast B", 44, 0.002, "v", T2, "Moor Film; Old Reel"),
        ("Coast C", 47, 0.002, "v", T2, "Fjell Ett"))),
    ("Skerry Light", 442_300, 5_262_300, 60.0, "", "Islands", (
        ("Isles A", 24, 0.002, "h", T2_TOUGH, "Harbour One; Isla Uno"), ("Isles B", 27, 0.002, "h", T2_TOUGH, "Isla Dos"))),
    # too far to be aimed at, but on the same channel as Long Down's South B: it disturbs where an aerial looks its way
    ("Tarn Top", 463_600, 5_277_500, 60.0, "", "North Coast", (
        ("Coast E", 43, 0.5, "v", T2_TOUGH, "Fjell Sang", ("directional", 155.0, 90.0)),)),
    # two faults of real lists: an antenna that would stand under the hill, and a power with a minus
    ("Whin Relay", 466_200, 5_263_300, 20.0, 12.0, "North Coast", (("Coast A", 33, 0.01, "v", T2, "Harbour One"),)),
    ("Harbour Relay", 456_330, 5_261_250, 24.0, "", "North Coast", (("Coast A", 36, -0.01, "v", T2, "Harbour One"),)),
)  # fmt: skip

# site, easting, northing, antenna above ground, then (operator, bands, azimuths).
# band: technology, MHz wide, EIRP of one resource element in dBm, then operator: downlink MHz and its channel number.
BANDS = {
    "800": ("LTE", 10.0, 22.0, {"Corvid": (796.0, 6200), "Plover Mobile": (806.0, 6300), "Redstart": (816.0, 6400)}),
    "1800": ("LTE", 20.0, 25.0, {"Corvid": (1815.0, 1300), "Plover Mobile": (1842.5, 1575), "Redstart": (1870.0, 1850)}),
    "2100": ("LTE", 20.0, 25.0, {"Corvid": (2120.0, 100), "Plover Mobile": (2140.0, 300), "Redstart": (2160.0, 500)}),
    "3500": ("NR", 100.0, 30.0, {"Plover Mobile": (3549.99, 636_666), "Redstart": (3650.01, 643_334)}),
    "900": ("GSM", 0.2, 55.0, {"Corvid": (947.4, 62)}),
}
THREE = (30.0, 150.0, 270.0)
SITES = (
    ("Church Tower", 456_792, 5_261_060, 32.0, ("Corvid", ("800", "1800", "2100", "900"), THREE)),
    ("Mast Court", 457_195, 5_261_346, 27.0, ("Plover Mobile", ("800", "1800", "3500"), (0.0, 120.0, 240.0))),
    ("Harbour Crane", 456_330, 5_261_250, 24.0, ("Redstart", ("1800", "2100", "3500"), (60.0, 180.0, 300.0))),
    ("Kirk Hill", 456_250, 5_263_850, 25.0, ("Corvid", ("800", "1800"), (90.0, 200.0, 320.0))),
    ("Brant Ridge West", 456_800, 5_256_950, 30.0, ("Plover Mobile", ("800", "2100"), (0.0, 90.0, 180.0))),
    ("Upper Sall", 461_400, 5_262_550, 25.0, ("Corvid", ("800", "1800"), THREE)),
    ("Gorse Pike", 468_450, 5_271_450, 25.0, ("Corvid", ("800",), (0.0, 140.0, 230.0))),
    ("Gorse Pike", 468_450, 5_271_450, 30.0, ("Redstart", ("800", "1800"), (20.0, 150.0, 260.0))),
    ("Long Down", 472_450, 5_250_450, 35.0, ("Plover Mobile", ("800", "1800"), THREE)),
    ("Brant Beacon", 460_040, 5_249_850, 30.0, ("Redstart", ("800", "2100"), (10.0, 130.0, 250.0))),
    ("South Strand", 457_300, 5_245_800, 20.0, ("Corvid", ("800", "2100"), (40.0, 160.0, 280.0))),
    ("North Quay", 455_600, 5_275_900, 20.0, ("Plover Mobile", ("800", "3500"), (20.0, 140.0, 260.0))),
    ("Skerry", 442_280, 5_262_280, 15.0, ("Redstart", ("800",), (90.0,))),
)  # fmt: skip

# Beyond the town: name, easting, northing, wanted, mount. Ground is known there, trees and buildings are not.
COUNTRY = (
    ("Hollin Gorge 1, Ferryman", 465_700, 5_264_300, "satellite; terrestrial", ""),
    ("Hollin Gorge 2, Weir Cottage", 466_050, 5_264_312, "", ""),
    ("Hollin Gorge 3, Old Powerhouse", 466_400, 5_264_330, "terrestrial; mobile", ""),
    ("Brant Foot 4", 457_300, 5_258_450, "terrestrial", ""),
    ("Brant Foot 9", 458_900, 5_258_300, "terrestrial; mobile", ""),
    ("Brant Foot 15", 460_600, 5_258_350, "satellite; terrestrial", ""),
    ("Whinmoor 1", 470_800, 5_268_300, "", ""),
    ("Whinmoor 2", 472_300, 5_267_000, "satellite; mobile", ""),
    ("Sall Head Mill", 462_700, 5_262_300, "satellite; mobile", ""),
    ("Last Cottage, South March", 468_300, 5_241_045, "mobile", "ground"),
    ("Pike End 1", 467_100, 5_270_200, "satellite; terrestrial; mobile", ""),
    ("Pike End 2", 469_900, 5_272_700, "satellite; terrestrial; mobile", ""),
    ("Skerry 1, Lighthouse", 442_380, 5_262_120, "satellite; terrestrial; mobile", ""),
    ("Skerry 2, Landing", 442_100, 5_261_800, "satellite; mobile", ""),
    ("South Strand 5", 457_000, 5_246_000, "mobile", ""),
    ("South Strand 12", 457_600, 5_246_500, "", ""),
    ("Long Down Farm", 471_200, 5_252_800, "satellite; terrestrial", ""),
    ("Eastmost", 475_900, 5_247_100, "satellite; terrestrial; mobile", ""),
    ("Backwater 1", 475_800, 5_279_300, "mobile", ""),
    ("Backwater 2", 473_600, 5_278_700, "terrestrial; mobile", ""),
    ("North Quay 2", 455_900, 5_276_300, "", ""),
    ("North Quay 17", 456_500, 5_275_500, "satellite; mobile", ""),
    ("Tarn Head", 463_300, 5_276_000, "terrestrial; mobile", ""),
    ("Redwater Sluice", 476_300, 5_263_600, "terrestrial; mobile", ""),
    ("Deep Cut, Weir House", 475_300, 5_243_800, "terrestrial", ""),
    ("Gorse Pike, mast keeper", 468_500, 5_271_500, "terrestrial", ""),
    ("Brant Dell 1", 458_600, 5_255_700, "terrestrial; mobile", ""),
    ("Brant Dell 2", 456_200, 5_255_900, "terrestrial", ""),
    ("Pike Dell", 470_700, 5_273_900, "terrestrial; mobile", ""),
)

# Addresses of the town that teach something: street, number, what is ordered, mount, position error, metres to move the point.
TAUGHT = (
    ("Upper Sall Road", 15, "satellite; terrestrial; mobile", "roof", "2", (0, 0)),
    ("Fir Steep", 7, "satellite", "ground", "3", (0, 0)),
    ("Fir Steep", 8, "satellite", "roof", "3", (0, 0)),
    ("Fir Steep", 10, "satellite", "ground", "3", (0, 0)),
    ("Fir Steep", 6, "satellite", "chimney", "3", (0, 0)),
    ("Quarry Foot", 2, "satellite; mobile", "", "", (0, 0)),
    ("Quarry Foot", 10, "satellite", "", "2", (0, 0)),
    ("Quarry Foot", 5, "satellite", "roof", "2", (0, 0)),
    ("Withy Close", 4, "satellite", "wall", "3", (0, 0)),
    ("Withy Close", 6, "satellite", "ground", "3", (0, 0)),
    ("Withy Close", 7, "satellite; terrestrial", "roof", "3", (0, 0)),
    ("Kittiwake Lane", 2, "satellite", "ground", "3", (0, 0)),
    ("Kittiwake Lane", 6, "satellite", "roof", "3", (0, 0)),
    ("South Parade", 3, "satellite", "", "", (0, 0)),
    ("South Parade", 4, "satellite", "wall", "2", (0, 0)),
    ("Brine Street", 21, "satellite", "wall", "2", (0, 0)),
    ("Brine Street", 30, "satellite; terrestrial", "chimney", "2", (0, 0)),
    ("Cooper's Hythe", 9, "", "", "150", (0, 0)),
    ("Lantern Walk", 8, "satellite", "", "", (9, 0)),
    ("Mast Court", 2, "satellite; terrestrial; mobile", "roof", "2", (0, 0)),
    ("Slant Row", 3, "satellite", "wall", "2", (0, 0)),
    ("Upper Sall", 9, "satellite; mobile", "roof", "", (0, 0)),
    ("Upper Sall", 10, "satellite", "ground", "", (0, 0)),
    ("Upper Sall", 17, "", "", "40", (0, 0)),
)
LEFT_OUT = ("Harbour sheds", "Church", "Upper Sall", "Upper Sall Barn")


def write_tables(folder: Path, houses: list[House]) -> None:
    """Write satellites.csv, transmitters.csv, sectors.csv and addresses.csv."""
    write_csv(
        folder / "satellites.csv",
        ("satellite", "orbit_deg", "polarisation_offset_deg", "transponder", "frequency_mhz", "polarisation", "symbol_rate_kbaud", "system",
         "modulation", "code_rate", "eirp_dbw", "eirp_source", "programmes", "transport_stream_id", "roll_off", "encrypted", "network_id"),
        [(name, orbit, offset, *carrier, network) for name, orbit, offset, network, carriers in SATELLITES for carrier in carriers],
    )  # fmt: skip
    (folder / "orbits.tle").write_text("".join(f"{line}\n" for line in ORBITS), encoding="utf-8", newline="\n")
    rows: list[tuple[object, ...]] = []
    for name, x, y, height, ground, region, multiplexes in TRANSMITTERS:
        lon, lat = lon_lat(x, y)
        for mux, channel, erp_kw, polarisation, mode, programmes, *pattern in multiplexes:
            frequency = 474.0 + 8.0 * (channel - 21)
            place = (f"{lat:.6f}", f"{lon:.6f}", ground, height)
            shape = pattern[0] if pattern else ("", "", "")
            rows.append((name, *place, mux, channel, frequency, 8.0, erp_kw, polarisation, mode, region, programmes, *shape))
    write_csv(
        folder / "transmitters.csv",
        ("transmitter", "lat_deg", "lon_deg", "ground_amsl_m", "antenna_height_agl_m", "multiplex", "channel", "frequency_mhz",
         "bandwidth_mhz", "erp_kw", "polarisation", "mode", "region", "programmes", "pattern", "pattern_azimuth_deg",
         "pattern_beamwidth_deg"),
        rows,
    )  # fmt: skip
    rows = []
    for planned, (site, x, y, height, (operator, bands, azimuths)) in enumerate(SITES):
        lon, lat = lon_lat(x, y)
        for band in bands:
            technology, wide, eirp_dbm, carriers = BANDS[band]
            frequency, channel = carriers[operator]
            element = technology in ("LTE", "NR")
            numbers = [channel if key == technology else "" for key in ("GSM", "LTE", "NR")]
            for number, azimuth in enumerate(azimuths, start=1):
                name = f"{site} {band}-{number}"
                place = (f"{lat:.6f}", f"{lon:.6f}", height)
                power = (eirp_dbm if element else "", "" if element else eirp_dbm)
                carrier = (technology, band, *numbers, frequency, wide)
                pci = 3 * planned + number - 1 if element else ""
                rows.append((operator, site, name, *place, *carrier, *power, azimuth, 7.0, 65.0, 9.0, pci))
    write_csv(
        folder / "sectors.csv",
        ("operator", "site", "sector", "lat_deg", "lon_deg", "antenna_height_agl_m", "technology", "band", "arfcn", "earfcn", "nr_arfcn",
         "frequency_mhz", "bandwidth_mhz", "re_eirp_dbm", "eirp_dbm", "azimuth_deg", "downtilt_deg", "beamwidth_deg",
         "vertical_beamwidth_deg", "pci"),
        rows,
    )  # fmt: skip
    write_csv(folder / "addresses.csv", ADDRESS_COLUMNS, _addresses(houses))


def _addresses(houses: list[House]) -> list[tuple[object, ...]]:
    dice = np.random.Generator(np.random.Philox(key=[SEED, 900]))
    by_name = {(house.street, house.number): house for house in houses}
    rows: list[tuple[object, ...]] = []

    def add(name: str, x: float, y: float, *, error: str = "", wanted: str = "", mount: str = "") -> None:
        lon, lat = lon_lat(x, y)
        number = len(rows) + 1
        order = wanted, mount, DAYS[number % len(DAYS)], OUTLETS.get(number, "")
        rows.append((f"S-{1000 + number}", name, f"{lat:.6f}", f"{lon:.6f}", error, *order))

    for street, number, wanted, mount, error, (east, north) in TAUGHT:
        house = by_name[street, number]
        add(f"{street} {number}", house.x + east, house.y + north, error=error, wanted=wanted, mount=mount)
    taught = {(street, number) for street, number, *_ in TAUGHT}
    plain = [house for house in houses if (house.street, house.number) not in taught and house.street not in LEFT_OUT]
    orders = ("satellite", "satellite; terrestrial", "satellite; terrestrial; mobile", "terrestrial", "mobile", "")
    for pick in sorted(dice.choice(len(plain), size=48, replace=False).tolist()):
        house = plain[pick]
        mount = str(dice.choice(("", "", "roof", "ground", "wall", "chimney")))
        wanted = orders[int(dice.integers(len(orders)))]
        # some points lie in the street before the house, as a geocoder puts them
        step = 8.0 if dice.uniform() < 0.2 else 0.0
        add(f"{house.street} {house.number}", house.x + step * 0.3, house.y - step, wanted=wanted, mount=mount)
    for name, x, y, wanted, mount in COUNTRY:
        add(name, x, y, wanted=wanted, mount=mount)
    add("Garden pavilion in the wood", *town_place(1435, 360), wanted="satellite", mount="ground")
    add("Allotments gate, Hazel Bank", *town_place(520, 1188), wanted="satellite", mount="ground")
    add("Lookout hut, west end", *town_place(12, 300), wanted="satellite", mount="ground")
    add("Far Holm 1, beyond the maps", 520_000, 5_262_000, wanted="satellite; mobile")
    add("Far Holm 2, beyond the maps", 520_300, 5_262_100)
    return _with_faults(rows)


def _with_faults(rows: list[tuple[object, ...]]) -> list[tuple[object, ...]]:
    """Put the mistakes of real lists among the rows: what siteplan must name and not guess at."""
    one, two = rows[24], rows[30]
    faults = (
        (20, ("S-2001", "Brine Street 99 (not yet surveyed)", "", "", "", "satellite", "", DAYS[0], "")),
        (33, ("S-2002", "Sallow Row 77 (numbers swapped)", one[3], one[2], "", "satellite", "", DAYS[1], "")),
        (46, (two[0], "Tern Terrace 4b (same id again)", two[2], two[3], "", "terrestrial", "", DAYS[2], "")),
        (58, ("S-2003", "Lantern Walk 3a", "ask the office", one[3], "", "mobile", "", DAYS[3], "")),
        (71, ("S-2004", "Café Möwe, Cooper's Hythe", f"{float(str(one[2])) * 1e6:.0f}", one[3], "", "satellite", "", DAYS[4], "")),
    )  # fmt: skip
    out = list(rows)
    for place, row in faults:
        out.insert(place, row)
    return out
