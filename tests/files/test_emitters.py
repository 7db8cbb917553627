"""Tables of senders: good rows become records, bad rows are told one by one, and a power without its unit is refused."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shared_data import need_shared
from table_makers import plan_with

from siteplan.errors import InputError, SiteplanError, TableError
from siteplan.files import channels
from siteplan.files.emitters import orbit_name, read_satellites, read_sectors
from siteplan.files.transmitters import read_transmitters
from siteplan.radio.modes import satellite_mode, terrestrial_mode

pytestmark = pytest.mark.quick
GOOD_SATELLITE = {
    "satellite": "Oriel", "orbit_deg": "25E", "polarisation_offset_deg": "7", "transponder": "T1", "frequency_mhz": "11000",
    "polarisation": "H", "symbol_rate_kbaud": "27500", "system": "DVB-S2", "modulation": "8PSK", "code_rate": "3/4", "eirp_dbw": "50",
    "eirp_source": "stated", "programmes": "News; Films", "roll_off": "", "stream_id": "", "scrambling_code": "", "network_id": "",
    "transport_stream_id": "", "encrypted": "", "beam": "",
}  # fmt: skip
GOOD_TV = {
    "transmitter": "Hallow Hill", "lat_deg": "47.6", "lon_deg": "11.5", "ground_amsl_m": "", "antenna_height_agl_m": "120",
    "multiplex": "Mux A", "channel": "24", "erp_kw": "1", "polarisation": "h", "mode": "DVB-T2 256QAM 2/3", "programmes": "One;Two",
    "region": "North",
}  # fmt: skip
GOOD_CELL = {
    "operator": "Corvid", "site": "Mill", "sector": "1", "lat_deg": "47.5", "lon_deg": "11.4", "antenna_height_agl_m": "25",
    "technology": "LTE", "band": "800", "frequency_mhz": "806", "re_eirp_dbm": "35", "azimuth_deg": "120", "downtilt_deg": "4",
}  # fmt: skip
READERS = {
    "satellites": (read_satellites, GOOD_SATELLITE), "transmitters": (read_transmitters, GOOD_TV), "mobile": (read_sectors, GOOD_CELL),
}  # fmt: skip


@pytest.fixture
def senders(tmp_path):
    """Read rows (changes to the good one, None to leave a column out) as a sender table of a plan."""

    def read(kind: str, *changes: dict, **keys):
        reader, good = READERS[kind]
        rows = [{**good, **change} for change in changes]
        names = [name for name in dict.fromkeys(name for row in rows for name in row) if all(row.get(name, "") is not None for row in rows)]
        text = ";".join(names) + "\n" + "".join(";".join(str(row.get(name, "")).join('""') for name in names) + "\n" for row in rows)
        (tmp_path / "t.csv").write_text(text, encoding="utf-8")
        return reader(plan_with(tmp_path, **{kind: {"file": tmp_path / "t.csv", **keys}}))

    return read


# ---- satellites -----------------------------------------------------------------------------------------------------


def test_a_satellite_with_its_carriers(senders):
    (found,), rejects = senders("satellites", {}, {"transponder": "T2", "polarisation": "v", "frequency_mhz": "11040,5", "eirp_dbw": ""})
    assert (found.name, found.orbit_deg, found.polarisation_offset_deg, rejects) == ("Oriel", 25.0, 7.0, ())
    first, second = found.transponders
    assert (first.frequency_mhz, first.polarisation, first.symbol_rate_kbaud, first.eirp_dbw, first.eirp_source) == (
        11000.0,
        "H",
        27500.0,
        50.0,
        "stated",
    )
    assert (first.system, first.modulation, first.code_rate, first.programmes) == ("DVB-S2", "8PSK", "3/4", ("News", "Films"))
    assert second.frequency_mhz == 11040.5 and second.polarisation == "V" and math.isnan(second.eirp_dbw)


def test_a_wanted_satellite_knows_the_others_of_the_table(senders):
    others = {"satellite": "Sula", "orbit_deg": "10E"}, {"satellite": "Auk", "orbit_deg": "30W"}
    (found,), _ = senders("satellites", {}, *others, wanted=(25.0,))
    assert [(one.name, one.neighbours, len(one.transponders)) for one in found.neighbours] == [("Auk", (), 1), ("Sula", (), 1)]


def test_what_a_carrier_says_of_itself(senders):
    said = {
        "roll_off": "0,2", "stream_id": "12", "scrambling_code": "8", "network_id": "61", "original_network_id": "0x003D",
        "transport_stream_id": "0x044d", "encrypted": "No", "beam": "Isles",
    }  # fmt: skip
    (found,), rejects = senders("satellites", said, {"transponder": "T2", "encrypted": "yes"})
    first, second = found.transponders
    assert rejects == () and first.roll_off == 0.2 and (first.stream_id, first.scrambling_code, first.encrypted) == (12, 8, False)
    assert (first.network_id, first.original_network_id, first.transport_stream_id, first.beam) == (61, 61, 1101, "Isles")
    assert math.isnan(second.roll_off) and second.encrypted is True and second.beam == ""
    assert {second.stream_id, second.scrambling_code, second.network_id, second.transport_stream_id} == {None}
    (old,), _ = senders("satellites", {})
    assert old.transponders[0].encrypted is None and old.beams == ()


def test_streams_of_one_carrier_are_not_the_same_row_twice(senders):
    (found,), rejects = senders("satellites", {"stream_id": "1"}, {"stream_id": "2"}, {"stream_id": "1"})
    assert [one.stream_id for one in found.transponders] == [1, 2] and [reject.row for reject in rejects] == [4]


def test_an_eirp_in_dbm_by_mistake_is_told(senders):
    (found,), (reject,) = senders("satellites", {}, {"transponder": "T2", "eirp_dbw": "82"})
    assert len(found.transponders) == 1 and reject.field == "eirp_dbw" and "call the column eirp_dbm (82 dBm is 52 dBW)" in reject.reason
    (found,), rejects = senders("satellites", {"eirp_dbw": "", "eirp_dbm": "82"})
    assert rejects == () and found.transponders[0].eirp_dbw == 52.0


def test_wanted_satellites_come_in_the_plans_order(senders):
    found, _ = senders("satellites", {}, {"orbit_deg": "30W", "satellite": "Gannet"}, wanted=(-30.0, 5.0, 25.0))
    assert [(one.name, one.orbit_deg, len(one.transponders)) for one in found] == [("Gannet", -30.0, 1), ("5E", 5.0, 0), ("Oriel", 25.0, 1)]
    unnamed, _ = senders("satellites", {}, {"orbit_deg": "-30", "satellite": ""})
    assert [one.name for one in unnamed] == ["30W", "Oriel"]


def test_satellites_without_a_table(tmp_path):
    found, rejects = read_satellites(plan_with(tmp_path, satellites={"wanted": (19.2, -30.0)}))
    assert [one.name for one in found] == ["19.2E", "30W"] and rejects == () and orbit_name(0.0) == "0E"
    assert read_satellites(plan_with(tmp_path)) == ((), ())


def test_a_row_may_name_a_satellite_alone(senders):
    carrier = dict.fromkeys(
        ("transponder", "frequency_mhz", "polarisation", "symbol_rate_kbaud", "system", "modulation", "code_rate", "eirp_dbw"), ""
    )
    (found,), rejects = senders("satellites", carrier)
    assert found.transponders == () and found.polarisation_offset_deg == 7.0 and rejects == ()


# ---- terrestrial TV -------------------------------------------------------------------------------------------------


def test_a_transmitter_with_its_multiplexes(senders):
    found, rejects = senders(
        "transmitters", {}, {"multiplex": "Mux B", "channel": "K45", "erp_kw": "0,1", "polarisation": "vertical"},
        {"transmitter": "Cairn", "channel": "5", "mode": "dvb-t 64 QAM 3/4", "ground_amsl_m": "812.5"},
    )  # fmt: skip
    assert rejects == () and [one.name for one in found] == ["Hallow Hill", "Cairn"]
    first, second = found[0].multiplexes
    assert (first.frequency_mhz, first.bandwidth_mhz, first.channel, first.polarisation, first.mode) == (
        498.0,
        8.0,
        24,
        "h",
        "DVB-T2 256QAM 2/3",
    )
    assert (
        math.isclose(first.erp_dbw, 30.0)
        and math.isclose(second.erp_dbw, 20.0)
        and second.frequency_mhz == 666.0
        and second.polarisation == "v"
    )
    assert math.isnan(found[0].ground_amsl_m) and found[1].ground_amsl_m == 812.5 and first.programmes == ("One", "Two")
    band3 = found[1].multiplexes[0]
    assert (band3.frequency_mhz, band3.bandwidth_mhz, band3.mode) == (177.5, 7.0, "DVB-T 64QAM 3/4")


@pytest.mark.parametrize(
    ("column", "value", "erp_dbw"),
    [
        ("erp_kw", "2", 33.01),
        ("erp_w", "500", 26.99),
        ("erp_dbw", "27", 27.0),
        ("erp_dbm", "57", 27.0),
        ("erp_dbkw", "-3", 27.0),
        ("eirp_dbw", "29.15", 27.0),
        ("eirp_dbm", "59,15", 27.0),
        ("ERP (kW)", "0.5", 26.99),
        ("ERP [dBW]", "27", 27.0),
        ("Erp dBm", "57", 27.0),
    ],
)
def test_powers_with_their_units(senders, column, value, erp_dbw):
    (found,), rejects = senders("transmitters", {"erp_kw": None if column != "erp_kw" else "", column: value})
    assert rejects == () and math.isclose(found.multiplexes[0].erp_dbw, erp_dbw, abs_tol=0.005)


def test_power_and_gain_make_erp(senders):
    (found,), _ = senders("transmitters", {"erp_kw": "", "power_w": "100", "gain_dbd": "7"})
    assert math.isclose(found.multiplexes[0].erp_dbw, 27.0)
    (found,), _ = senders("transmitters", {"erp_kw": "", "power_dbm": "50", "gain_dbi": "9.15"})
    assert math.isclose(found.multiplexes[0].erp_dbw, 27.0)


@pytest.mark.parametrize("column", ["power", "Power", "ERP", "eirp", "Gain", "gain_db", "Antenna gain", "ERP (horizontal)", "tx power"])
@pytest.mark.parametrize("kind", ["transmitters", "mobile"])
def test_a_power_or_gain_without_its_unit_is_refused(senders, kind, column):
    with pytest.raises(TableError, match="does not say its unit.*call it .*_d?B?") as caught:
        senders(kind, {column: "10"})
    assert caught.value.field == column and caught.value.row == 1


def test_rasters(senders):
    (found,), _ = senders("transmitters", {"channel": "28", "raster": "7 MHz"})
    assert (found.multiplexes[0].frequency_mhz, found.multiplexes[0].bandwidth_mhz) == (529.5, 7.0)
    (found,), _ = senders("transmitters", {"channel": "14", "raster": "6"})
    assert (found.multiplexes[0].frequency_mhz, found.multiplexes[0].bandwidth_mhz) == (473.0, 6.0)
    (found,), _ = senders("transmitters", {"channel": "", "frequency_mhz": "498"})
    assert (found.multiplexes[0].name, found.multiplexes[0].channel, found.multiplexes[0].bandwidth_mhz) == ("Mux A", None, 8.0)


def test_channel_rasters_are_the_published_ones():
    import csv

    names = {"UHF_8MHz_region1": "8 MHz", "VHF_III_7MHz": "8 MHz", "US_6MHz": "6 MHz", "AU_7MHz_UHF": "7 MHz"}
    with need_shared("standards/tv_channel_raster.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    assert len(rows) > 80
    for row in rows:
        assert channels.channel_mhz(int(row["channel"]), names[row["plan"]])[0] == float(row["centre_mhz"]), row


def test_modes_are_those_the_sums_know():
    count = 0
    for table, know in (
        (channels.TERRESTRIAL_MODES, lambda *mode: terrestrial_mode(" ".join(mode))),
        (channels.SATELLITE_MODES, satellite_mode),
    ):
        for system, modulations in table.items():
            for modulation, rates in modulations.items():
                for rate in rates:
                    know(system, modulation, rate)
                    count += 1
    assert count > 100


def test_places_by_map_coordinates(senders):
    (found,), rejects = senders("transmitters", {"lat_deg": None, "lon_deg": None, "x": "680000", "y": "5264000", "crs": "EPSG:25832"})
    assert rejects == () and math.isclose(found.lat_deg, 47.5045088, abs_tol=1e-6) and math.isclose(found.lon_deg, 11.3902764, abs_tol=1e-6)


# ---- mobile ---------------------------------------------------------------------------------------------------------


def test_a_sector(senders):
    (found,), rejects = senders("mobile", {})
    assert rejects == () and (found.operator, found.site, found.name, found.technology, found.band) == ("Corvid", "Mill", "1", "LTE", "800")
    assert (found.re_eirp_dbm, found.azimuth_deg, found.downtilt_deg, found.beamwidth_deg, found.vertical_beamwidth_deg) == (
        35.0,
        120.0,
        4.0,
        65.0,
        10.0,
    )
    (omni,), _ = senders("mobile", {"azimuth_deg": "omni", "technology": "5G", "beamwidth_deg": "360"})
    assert math.isnan(omni.azimuth_deg) and omni.technology == "NR"


def test_the_power_of_a_resource_element(senders):
    (found,), _ = senders("mobile", {"re_eirp_dbm": "", "re_power_dbm": "18", "gain_dbi": "17", "feeder_loss_db": "2"})
    assert math.isclose(found.re_eirp_dbm, 33.0)
    (found,), _ = senders("mobile", {"re_eirp_dbm": "", "re_power_dbm": "18", "gain_dbd": "15"})
    assert math.isclose(found.re_eirp_dbm, 35.15)


def test_a_carriers_power_is_shared_by_its_resource_elements(senders):
    """Check values: EPRE = P - 10 log(12 N_RB), resource blocks as in TS 36.104 and TS 38.104."""
    import csv

    with need_shared("standards/rsrp_examples.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    seen = set()
    for row in rows:
        key = (row["system"].split("_")[0].split(" ")[0], row["bandwidth_mhz"], row["n_rb"], row["tx_power_dbm"])
        if key in seen or key[0] not in ("LTE", "NR"):
            continue
        seen.add(key)
        for spacing in ("15", "30", "60"):
            if key[0] == "NR" and channels.NR_BLOCKS[int(spacing)].get(int(float(key[1]))) != int(key[2]):
                continue
            change = {
                "re_eirp_dbm": "",
                "technology": key[0],
                "frequency_mhz": "3500",
                "power_dbm": key[3],
                "gain_dbi": row["antenna_gain_dbi"],
            }
            (found,), rejects = senders(
                "mobile", {**change, "bandwidth_mhz": key[1], "spacing_khz": spacing, "feeder_loss_db": row["feeder_loss_db"]}
            )
            wanted = float(row["epre_dbm"]) + float(row["antenna_gain_dbi"]) - float(row["feeder_loss_db"])
            assert rejects == () and math.isclose(found.re_eirp_dbm, wanted, abs_tol=0.001), key
            break
        else:
            pytest.fail(f"no carrier has these resource blocks: {key}")
    assert len(seen) > 5


# ---- bad rows -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "field", "value", "says"),
    [
        ("satellites", "orbit_deg", "425", "no orbital position"),
        ("satellites", "orbit_deg", "", "is empty"),
        ("satellites", "frequency_mhz", "11.0", "3000 to 31000"),
        ("satellites", "frequency_mhz", "x", "not a number"),
        ("satellites", "polarisation", "X", "write H, V, L or R"),
        ("satellites", "symbol_rate_kbaud", "27.5", "thousands of symbols"),
        ("satellites", "system", "DVB-C", "write one of DVB-S, DVB-S2, DVB-S2X"),
        ("satellites", "modulation", "64QAM", "write one of QPSK, 8PSK"),
        ("satellites", "code_rate", "9/11", "write one of 3/5"),
        ("satellites", "eirp_dbw", "500", "out of range"),
        ("satellites", "eirp_source", "guessed", "stated"),
        ("satellites", "polarisation_offset_deg", "100", "-90 to 90"),
        ("satellites", "polarisation", "", "is empty"),
        ("satellites", "roll_off", "20", "20 % is written 0.2"),
        ("satellites", "stream_id", "256", "from 0 to 255"),
        ("satellites", "scrambling_code", "-1", "from 0 to 262141"),
        ("satellites", "transport_stream_id", "0x1FFFF", "from 0 to 65535"),
        ("satellites", "network_id", "1.5", "no whole number"),
        ("satellites", "encrypted", "perhaps", "neither yes nor no"),
        ("transmitters", "erp_kw", "-5", "a power can't be negative"),
        ("transmitters", "erp_kw", "0", "above 0"),
        ("transmitters", "erp_kw", "", "power is empty"),
        ("transmitters", "erp_kw", "50000", "10 MW"),
        ("transmitters", "erp_kw", "1 kW", "not a number"),
        ("transmitters", "antenna_height_agl_m", "-120", "under the ground"),
        ("transmitters", "antenna_height_agl_m", "5000", "up to 1000"),
        ("transmitters", "antenna_height_agl_m", "", "is empty"),
        ("transmitters", "channel", "99", "5 to 12, 21 to 69"),
        ("transmitters", "channel", "24.5", "no channel"),
        ("transmitters", "channel", "", "one is wanted"),
        ("transmitters", "polarisation", "q", "write h or v"),
        ("transmitters", "mode", "colour", "such as DVB-T2"),
        ("transmitters", "mode", "DVB-T 256QAM 2/3", "write one of QPSK, 16QAM"),
        ("transmitters", "mode", "DVB-T2 64QAM 9/10", "write one of 1/2"),
        ("transmitters", "lat_deg", "97", "latitude is out of range"),
        ("transmitters", "lon_deg", "", "longitude is empty"),
        ("transmitters", "ground_amsl_m", "99999", "-500 to 9000"),
        ("transmitters", "transmitter", "", "is empty"),
        ("transmitters", "frequency_mhz", "506", "does not agree with channel 24"),
        ("transmitters", "bandwidth_mhz", "9", "no TV bandwidth"),
        ("transmitters", "raster", "9 MHz", "write one of 8 MHz"),
        ("mobile", "azimuth_deg", "361", "0 to 360"),
        ("mobile", "azimuth_deg", "-1", "0 to 360"),
        ("mobile", "technology", "fax", "write GSM, UMTS, LTE or NR"),
        ("mobile", "frequency_mhz", "0.8", "300 to 6000"),
        ("mobile", "frequency_mhz", "26000", "300 to 6000"),
        ("mobile", "operator", "", "is empty"),
        ("mobile", "re_eirp_dbm", "200", "out of range"),
        ("mobile", "re_eirp_dbm", "", "power is empty"),
        ("mobile", "downtilt_deg", "100", "-30 to 90"),
        ("mobile", "antenna_height_agl_m", "0", "at or under the ground"),
        ("mobile", "beamwidth_deg", "0", "1 to 360"),
    ],
)
def test_bad_rows_are_told_and_the_rest_goes_on(senders, kind, field, value, says):
    clear = {"satellites": "transponder", "transmitters": "transmitter", "mobile": "site"}[kind]
    bad = {clear: "Other", field: value}
    found, (reject,) = senders(kind, {}, bad, {clear: "Third"})
    assert (reject.file, reject.row, reject.field) == ("t.csv", 3, field) and says in reject.reason
    assert reject.value == value or reject.value == {"50000": "77.0 dBW", "200": "200.0 dBm"}.get(value)
    count = len(found[0].transponders) if kind == "satellites" else len(found)
    assert count == 2


def test_rows_that_say_the_same_or_disagree(senders):
    _, (reject,) = senders("transmitters", {}, {"multiplex": "Copy"})
    assert (reject.row, reject.field) == (3, "channel") and "already sends Mux A" in reject.reason
    _, (reject,) = senders("mobile", {}, {})
    assert reject.row == 3 and "already in an earlier row" in reject.reason
    _, (reject,) = senders("satellites", {}, {})
    assert reject.row == 3 and "already in an earlier row" in reject.reason
    _, (reject,) = senders("transmitters", {"erp_dbw": "10"})
    assert reject.field == "erp_dbw" and "does not agree with erp_kw" in reject.reason
    _, (reject,) = senders("transmitters", {"eirp_dbw": "10"})
    assert "don't agree" in reject.reason
    _, (reject,) = senders("mobile", {"re_eirp_dbm": "", "power_dbm": "46", "bandwidth_mhz": "10"})
    assert reject.field == "gain_dbi" and "gain is empty" in reject.reason
    _, (reject,) = senders("mobile", {"re_eirp_dbm": "", "power_dbm": "46", "bandwidth_mhz": "11", "gain_dbi": "17"})
    assert reject.field == "bandwidth_mhz" and "1.4, 3, 5" in reject.reason


def test_two_places_of_one_name_are_two_transmitters(senders):
    found, _ = senders("transmitters", {}, {"lat_deg": "47.8"})
    assert [one.lat_deg for one in found] == [47.6, 47.8]


@pytest.mark.parametrize(
    ("kind", "column", "says"),
    [
        ("transmitters", "transmitter", "column transmitter is missing"),
        ("transmitters", "lat_deg", "lat_deg and lon_deg .* missing"),
        ("transmitters", "erp_kw", "no column gives the power; write erp_kw"),
        ("mobile", "re_eirp_dbm", "no column gives the power"),
        ("mobile", "technology", "column technology is missing"),
        ("satellites", "orbit_deg", "column orbit_deg is missing"),
    ],
)
def test_missing_columns(senders, kind, column, says):
    with pytest.raises(TableError, match=says):
        senders(kind, {column: None})


def test_a_misspelt_column_is_not_passed_over(senders):
    with pytest.raises(TableError, match="column azimut_deg: this column is not known; did you mean azimuth_deg"):
        senders("mobile", {"azimuth_deg": None, "azimut_deg": "120"})
    _, rejects = senders("mobile", {"Azimuth deg": "10", "azimuth_deg": None, "Remarks": "x"})
    assert rejects == ()


@pytest.mark.parametrize("kind", sorted(READERS))
def test_a_heading_alone_is_an_empty_table(tmp_path, kind):
    reader, good = READERS[kind]
    (tmp_path / "t.csv").write_text(",".join(good) + "\n")
    assert reader(plan_with(tmp_path, **{kind: {"file": tmp_path / "t.csv"}})) == ((), ())
    (tmp_path / "t.csv").write_text("")
    with pytest.raises(TableError, match="empty"):
        reader(plan_with(tmp_path, **{kind: {"file": tmp_path / "t.csv"}}))


@settings(derandomize=True, deadline=None, max_examples=60)
@given(kind=st.sampled_from(sorted(READERS)), data=st.data())
def test_any_cell_is_taken_or_told(tmp_path_factory, kind, data):
    reader, good = READERS[kind]
    field = data.draw(st.sampled_from(sorted(good)))
    value = data.draw(st.one_of(st.text(st.characters(blacklist_categories=("Cs", "Cc")), max_size=8), st.floats().map(str)))
    folder = tmp_path_factory.mktemp("fuzz")
    row = {**good, field: value.replace('"', "'")}
    (folder / "t.csv").write_text(",".join(row) + "\n" + ",".join(f'"{cell}"' for cell in row.values()) + "\n", encoding="utf-8")
    try:
        found, rejects = reader(plan_with(folder, **{kind: {"file": folder / "t.csv"}}))
    except SiteplanError as wrong:
        assert isinstance(wrong, InputError)
        return
    assert len(rejects) <= 1 and (found or rejects)
    assert not rejects or (rejects[0].reason and rejects[0].row == 2)
