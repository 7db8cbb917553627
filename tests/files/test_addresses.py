"""Address lists as people bring them: which column is what, where each row lies, and why a row can't be placed."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from table_makers import plan_with, points_file, write_book

from siteplan.errors import InputError, PlanError, SiteplanError, TableError
from siteplan.files.addresses import list_addresses, read_addresses
from siteplan.files.column_names import NAMES, recognise
from siteplan.files.job_words import mount_wanted, services_wanted
from siteplan.files.numbers import split_pair

pytestmark = pytest.mark.quick
SEEDED = settings(derandomize=True, deadline=None, max_examples=150)
HERE = (47.0, 48.0, 11.0, 12.0)
UTM = "EPSG:25832"


@pytest.fixture
def addresses(tmp_path):
    """Read text as the address list of a plan."""

    def read(text: str | bytes, *, name: str = "list.csv", ground=None, covered=HERE, reader=read_addresses, **keys):
        (tmp_path / name).write_bytes(text if isinstance(text, bytes) else text.encode())
        return reader(plan_with(tmp_path, addresses={"file": tmp_path / name, **keys}), ground, covered)

    return read


def codes(found):
    return {note.code: dict(note.values) for note in found.notes}


def spots(found):
    return [(row.address.lat_deg, row.address.lon_deg) for row in found.rows if row.address is not None]


def reasons(found):
    return {row.row: (row.reject.field, row.reject.value, row.reject.reason) for row in found.rows if row.reject is not None}


# ---- columns --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lat", "lon"),
    [
        ("lat_deg", "lon_deg"),
        ("Latitude", "Longitude"),
        ("LAT", "LNG"),
        ("Breite", "Länge"),
        ("Breitengrad", "Laengengrad"),
        ("Geogr. Breite", "Geogr. Länge"),
        ("Latitud", "Longitud"),
        ("latitudine", "longitudine"),
        ("Breedtegraad", "Lengtegraad"),
        ("szerokość", "długość"),
        ("Szerokość geograficzna", "Długość geograficzna"),
        ("zeměpisná šířka", "zeměpisná délka"),
        ("breddegrad", "længdegrad"),
        ("leveysaste", "pituusaste"),
        ("широта", "долгота"),
        ("Γεωγραφικό πλάτος", "Γεωγραφικό μήκος"),
        ("Lat (°)", "Lon [deg]"),
        ("GPS_Latitude", "GPS_Longitude"),
        ("lat wgs84", "lon wgs84"),
        ("Breite (WGS84)", "Länge (WGS84)"),
    ],
)
def test_languages(addresses, lat, lon):
    found = addresses(f"Kunde;{lon};{lat}\na;11,25;47,5\n")
    assert spots(found) == [(47.5, 11.25)] and found.rows[0].address.name == "a"


def test_no_name_stands_for_two_roles():
    for role, names in NAMES.items():
        for name in names:
            assert recognise(name)[0] == role, name


def test_the_surest_name_wins_and_is_said(addresses):
    found = addresses("name;street;id;Nr;lat;Breite;lon\nAnn;Mill Lane;J7;12;47,5;1;11,2\n")
    address = found.rows[0].address
    assert (address.id, address.name, address.lat_deg) == ("J7", "Ann", 47.5)
    assert codes(found)["columns_taken"]["pairs"] == ["lat as latitude", "lon as longitude"]


def test_house_numbers_are_no_ids(addresses):
    found = addresses("Straße;Nr;Breite;Länge\nMill Lane;3;47.5;11.2\nHill Road;3;47.6;11.3\n")
    assert [row.address.id for row in found.rows] == ["2", "3"]
    assert addresses("Nr;Breite;Länge\n3;47.5;11.2\n4;47.6;11.3\n").rows[1].address.id == "4"


def test_the_plan_names_columns(addresses):
    found = addresses("A;B;C;D\n1;47,5;11,2;J\n", columns={"lat_deg": "B", "lon": "c", "id": "D"})
    assert spots(found) == [(47.5, 11.2)] and found.rows[0].address.id == "J"
    with pytest.raises(PlanError, match="no such column.*says Q.*Allowed: A, B") as caught:
        addresses("A;B\n1;2\n", columns={"lat_deg": "Q"})
    assert caught.value.key == "addresses.columns.lat_deg"
    with pytest.raises(PlanError, match="unknown key.*Allowed: lat_deg"):
        addresses("A;B\n1;2\n", columns={"colour": "A"})


def test_cells_are_kept_as_given(addresses):
    found = addresses('id,name,lat,lon,Notes\n007,<script>x</script>,47.50000,11.20000,"=1+1\nnext"\n7,../../etc,47.6,11.3,\n')
    assert found.columns == ("id", "name", "lat", "lon", "Notes")
    assert dict(found.rows[0].cells) == {
        "id": "007",
        "name": "<script>x</script>",
        "lat": "47.50000",
        "lon": "11.20000",
        "Notes": "=1+1\nnext",
    }
    assert [row.address.id for row in found.rows] == ["007", "7"] and found.rows[1].address.name == "../../etc"


# ---- one row --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "47.51, 11.25",
        "47.51,11.25",
        "47,51; 11,25",
        "47,51 11,25",
        "47,51, 11,25",
        "47,51,11,25",
        "(47.51/11.25)",
        "47.51 N, 11.25 E",
        "N47.51 E11.25",
        "47.51N11.25E",
        "E 11.25, N 47.51",
        "POINT (11.25 47.51)",
        "geo:47.51,11.25",
        "47.51\n11.25",
        "47°30.6'N 11°15'E",
        "47 30 36 N 11 15 0 E",
    ],
)
def test_both_in_one_cell(addresses, text):
    found = addresses(f'id;GPS\n1;"{text}"\n')
    assert np.allclose(spots(found), [(47.51, 11.25)], atol=1e-9)


def test_both_in_one_cell_other_ways(addresses):
    assert spots(addresses("coords\n47.51, 11.25\n47.52 11.26\n")) == [(47.51, 11.25), (47.52, 11.26)]
    assert spots(addresses('lonlat\n"11.25, 47.51"\n')) == [(47.51, 11.25)]
    assert spots(addresses('lat;lon\n"47.51, 11.25";\n47.52;11.26\n')) == [(47.51, 11.25), (47.52, 11.26)]
    assert split_pair("47.51") is None and split_pair("somewhere, else") is None and split_pair("") is None


def test_every_reason_names_its_column_and_value(addresses):
    found = addresses(
        "id;lat;lon\n1;47,5;11,2\n2;;11,2\n3;;\n4;47,5;x\n5;95;11,2\n6;47,5;200\n7;0;0\n8;nan;11\n9;2026-11-02;11\n"
        "10;#REF!;11\n11;47,5;11 O\n12;47 E;11 N\n"
    )
    assert reasons(found) == {
        3: ("lat", "", "latitude is empty"),
        4: ("lat", "", "latitude and longitude are empty"),
        5: ("lon", "x", "longitude is not a number"),
        6: ("lat", "95", "latitude is out of range; -90 to 90 degrees is allowed"),
        7: ("lon", "200", "longitude is out of range; -180 to 180 degrees is allowed"),
        8: ("lat", "0, 0", "0, 0 is a place in the sea that stands for an unknown position"),
        9: ("lat", "nan", "latitude is not a number"),
        10: ("lat", "2026-11-02", "latitude was turned into a date by a spreadsheet; format the column as text and enter it again"),
        11: ("lat", "#REF!", "latitude is an error of the spreadsheet's formula"),
        12: ("lon", "11 O", "longitude has the letter O, which is east in some languages and west in others; write E or W"),
        13: ("lat", "47 E, 11 N", "looks like latitude and longitude swapped: not changed, not judged"),
    }
    assert [row.row for row in found.rows] == list(range(2, 14))


def test_swapped_rows_are_found_by_the_terrain(addresses):
    text = "lat,lon\n47.5,11.2\n11.2,47.5\n10.0,10.0\n100.5,11.0\n"
    found = addresses(text)
    assert reasons(found)[3] == ("lat", "11.2, 47.5", "looks like latitude and longitude swapped: not changed, not judged")
    assert found.rows[2].address is not None, "outside and not better swapped: left to the ground data"
    assert codes(found)["looks_swapped"] == {"rows": "row 3", "count": 1, "what": "latitude and longitude"}
    assert 3 not in reasons(addresses(text, covered=None)), "nothing is known of the terrain, nothing is held against the row"
    with pytest.raises(InputError, match="names are the wrong way round"):
        addresses("lat,lon\n11.2,47.5\n11.3,47.6\n")


def test_duplicate_ids(addresses):
    found = addresses(
        "id,lat,lon\nA,47.5,11.2\na,47.5,11.2\n007,47.5,11.2\n7,47.5,11.2\nA,47.6,11.3\n,47.5,11.2\n" + "x" * 300 + ",47.5,11.2\n"
    )
    assert reasons(found) == {6: ("id", "A", "the id A is already taken by row 2; give this row another")}
    assert [row.address.id for row in found.rows if row.address] == ["A", "a", "007", "7", "row 7", "x" * 300]


def test_an_unplaced_row_takes_no_id(addresses):
    found = addresses("id,lat,lon\nA,,\nA,47.6,11.3\n")
    assert reasons(found) == {2: ("lat", "", "latitude and longitude are empty")} and found.rows[1].address.id == "A"


def test_the_total_row_is_kept_and_said(addresses):
    found = addresses("id,lat,lon\n1,47.5,11.2\nTotal,,1\n")
    assert codes(found)["total_row"] == {"row": 3} and "looks like a total" in reasons(found)[3][2] and len(found.rows) == 2
    assert "total_row" not in codes(addresses("id,lat,lon\n1,47.5,11.2\nTotal,47.6,11.3\n")), "a row with a place is an address"


def test_postcodes_that_lost_a_zero_stay_as_given_and_are_said(addresses):
    found = addresses("id,PLZ,lat,lon\n1,01234,47.5,11.2\n2,1235,47.6,11.3\n3,80331,47.5,11.3\n")
    assert codes(found)["postcode_zero_lost"] == {"column": "PLZ", "rows": "row 3", "count": 1}
    assert [row.cells["PLZ"] for row in found.rows] == ["01234", "1235", "80331"] and all(row.address for row in found.rows)
    for column, first in (("PLZ", "11235"), ("floor", "1235")):  # nothing lost; no column of postcodes
        assert "postcode_zero_lost" not in codes(addresses(f"id,{column},lat,lon\n1,01234,47.5,11.2\n2,{first},47.6,11.3\n"))


# ---- position error -------------------------------------------------------------------------------------------------


def errors(found):
    return [round(row.address.position_error_m, 2) for row in found.rows]


def test_error_from_a_column_else_from_the_decimals(addresses):
    found = addresses(
        "lat;lon;accuracy\n47,51234;11,2;2\n47,51234;11,2;±25 m\n47,5123;11,2;\n47,512;11,21;\n"
        "47°30'18\"N;11°12'00\"E;\n47,5123456;11,2;bad\n"
    )
    assert errors(found) == [5.0, 25.0, 11.13, 111.32, 30.92, 5.0]
    assert [row.address.position_error_known for row in found.rows] == [True, True, False, False, False, False]
    assert codes(found)["position_error_not_understood"] == {"rows": "row 7", "count": 1, "words": ["bad"]}
    assert codes(found)["coarse_positions"]["rows"] == "row 5"


def test_map_metres_are_known_to_the_metre(addresses):
    assert errors(addresses("x,y\n680000,5264000\n", crs=UTM)) == [5.0]


def test_the_plans_least_error(tmp_path):
    (tmp_path / "a.csv").write_text("lat,lon\n47.51234567,11.2\n")
    plan = plan_with(tmp_path, addresses={"file": tmp_path / "a.csv"}, limits={"position_error_m": 12})
    assert read_addresses(plan).rows[0].address.position_error_m == 12.0


def test_many_rows_on_one_point_are_a_postcode(addresses):
    rows = "".join(f"{n},47.512345,11.212345,\n" for n in range(6))
    found = addresses("id,lat,lon,accuracy\n" + rows + "z,47.6123456,11.3,\ny,47.512345,11.212345,4\n")
    assert errors(found) == [150.0] * 6 + [5.0, 5.0]
    assert codes(found)["shared_point"] == {"count": 7, "error_m": 150.0, "rows": "rows 2-7, 9"}
    five = addresses("id,lat,lon\n" + "".join(f"{n},47.512345,11.212345\n" for n in range(5)))
    assert errors(five) == [5.0] * 5 and "shared_point" not in codes(five)


# ---- map coordinates ------------------------------------------------------------------------------------------------


def test_map_coordinates_with_a_system(addresses):
    found = addresses("Rechtswert;Hochwert\n680.000,00;5.264.000,00\n", crs=UTM)
    assert np.allclose(spots(found), [(47.50450876, 11.39027638)], atol=1e-7)
    assert np.allclose(
        spots(addresses("x,y,crs\n680000,5264000,EPSG:25832\n680000,5264000,25832\n", covered=None)), [(47.50450876, 11.39027638)] * 2
    )


def test_map_coordinates_in_the_grounds_system(addresses):
    found = addresses("x,y\n680000,5264000\n5264000,680000\n900000,5264000\n", ground=("EPSG:4326", UTM))
    assert codes(found)["ground_crs_taken"]["count"] == 1 and "25832" in codes(found)["ground_crs_taken"]["crs"]
    assert reasons(found)[3][2] == "looks like x and y swapped: not changed, not judged" and found.rows[2].address is not None
    degrees = addresses("x,y\n11.5,47.5\n", ground=UTM)
    assert spots(degrees) == [(47.5, 11.5)] and "4326" in codes(degrees)["ground_crs_taken"]["crs"]
    with pytest.raises(InputError, match="name no coordinate system; write it in the plan"):
        addresses("x,y\n680000,5264000\n", ground="EPSG:32610")


def test_wrong_systems(addresses):
    with pytest.raises(PlanError, match="not a coordinate system") as caught:
        addresses("x,y\n680000,5264000\n", crs="EPSG:1")
    assert caught.value.key == "addresses.crs"
    found = addresses("lat,lon\n47.5,11.2\n", crs=UTM)
    assert spots(found) == [(47.5, 11.2)] and "crs_not_used" in codes(found)
    found = addresses("id,x,y,crs\n1,680000,5264000,nonsense\n2,680000,5264000,EPSG:25832\n", covered=None)
    assert reasons(found)[2] == ("crs", "nonsense", "is no coordinate system; write it as EPSG:25832")


def test_points_of_a_geopackage(tmp_path):
    path = points_file(tmp_path / "a.gpkg", [(680000.0, 5264000.0), None], {"Auftrag": ["007", "8"], "lat": ["1", "2"]}, crs=UTM)
    found = read_addresses(plan_with(tmp_path, addresses={"file": path}), None, HERE)
    assert found.rows[0].address.id == "007" and np.allclose(spots(found), [(47.50450876, 11.39027638)], atol=1e-7)
    assert reasons(found) == {3: ("geometry", "", "has no point")} and "crs_taken" in codes(found)
    assert found.rows[0].address.position_error_m == 5.0


def test_a_workbook(tmp_path):
    rows = [["Jobs"], ["id", "lat", "lon"], [1, 47.51234, 11.2], [2, "47,6", "11,3"], ["Summe", None, None]]
    path = write_book(tmp_path / "a.xlsx", {"A": rows}, hidden=(4,))
    found = read_addresses(plan_with(tmp_path, addresses={"file": path}), None, HERE)
    assert spots(found) == [(47.51234, 11.2), (47.6, 11.3)]
    assert {"title_rows_skipped", "hidden_rows_read", "total_row"} <= set(codes(found))


# ---- the job --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "services"),
    [
        ("", ""),
        ("-", ""),
        ("none", ""),
        ("satellite tv mobile", "s t m"),
        ("Sat+TV", "s t"),
        ("all", "s t m"),
        ("alle", "s t m"),
        ("Mobilfunk", "m"),
        ("LTE/Sat", "s m"),
        ("internet; telewizja", "t m"),
        ("satélite y móvil", "s m"),
        ("Satellit und Fernsehen", "s t"),
        ("5G", "m"),
        ("DVB-T2", "t"),
        ("tout", "s t m"),
        ("dish only", "s"),
        ("SAT-TV", "s"),
    ],
)
def test_services(text, services):
    names = {"s": "satellite", "t": "terrestrial", "m": "mobile"}
    assert services_wanted(text) == (tuple(names[letter] for letter in services.split()), ())


def test_unknown_words_are_noted_and_the_row_stands(addresses):
    found = addresses("lat,lon,wanted,mount\n47.5,11.2,fax,roof\n47.5,11.2,sat fax,Wand\n47.5,11.2,tv,moon\n47.5,11.2,,\n")
    assert [row.address.wanted for row in found.rows] == [(), ("satellite",), ("terrestrial",), ()]
    assert [row.address.mount for row in found.rows] == ["roof", "wall", "", ""]
    assert codes(found)["wanted_not_understood"] == {"rows": "rows 2-3", "count": 2, "words": ["fax"]}
    assert codes(found)["mount_not_understood"] == {"rows": "row 4", "count": 1, "words": ["moon"]}
    assert mount_wanted("Schornstein") == "chimney" and mount_wanted("jardín") == "ground" and mount_wanted("auto") == ""


# ---- nothing to judge -----------------------------------------------------------------------------------------------


def test_one_message_where_there_is_nothing(addresses, tmp_path):
    with pytest.raises(TableError, match="no column is recognised.*columns: name, town.*works offline.*add two columns"):
        addresses("name,town\na,b\n" + "c,d\n" * 200)
    with pytest.raises(TableError, match="the first row holds numbers where the names"):
        addresses("47.5,11.2\n47.6,11.3\n")
    with pytest.raises(TableError, match="no row below the heading"):
        addresses("lat,lon\n")
    with pytest.raises(
        InputError, match=r"none of 200 rows can be placed \(200 of 200: latitude and longitude are empty \(first in row 2\)\)"
    ):
        addresses("id,lat,lon\n" + "".join(f"{n},,\n" for n in range(200)))
    with pytest.raises(PlanError, match="names no addresses"):
        read_addresses(plan_with(tmp_path))


LATS = st.one_of(st.floats(-100, 100).map(str), st.sampled_from(["", "47.5", "47,5", "47°30'N", "x", "nan", "0"]))


@SEEDED
@given(
    rows=st.lists(st.tuples(st.sampled_from(["a", "b", "", "A"]), LATS, LATS, st.text("sat v,;\"'é", max_size=6)), min_size=1, max_size=8)
)
def test_every_row_is_placed_or_rejected(tmp_path_factory, rows):
    import csv

    folder = tmp_path_factory.mktemp("fuzz")
    with (folder / "a.csv").open("w", newline="", encoding="utf-8") as out:
        csv.writer(out).writerows([("id", "lat", "lon", "wanted"), *rows])
    try:
        found = list_addresses(plan_with(folder, addresses={"file": folder / "a.csv"}), None, HERE)
    except SiteplanError:
        assert not any(cell.strip() for row in rows for cell in row)
        return
    kept = [row for row in rows if any(cell.strip() for cell in row)]
    assert len(found.rows) == len(kept) and all((row.address is None) != (row.reject is None) for row in found.rows)
    assert [list(row.cells.values()) for row in found.rows] == [list(row) for row in kept]
    ids = [row.address.id for row in found.rows if row.address is not None]
    assert len(ids) == len(set(ids))
