"""Front page, map and sheet from a hand-made run: the right words, only links that lead somewhere, no markup from data."""

import importlib
import json
import re
import subprocess
import sys
import time
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser

import pytest
import ready_findings as ready

from siteplan.records.plan import OutputsTable
from siteplan.records.verdict import SERVICES, State
from siteplan.report import index_page, map_data, map_page, sheet_page
from siteplan.report.table import PAGES
from siteplan.words import sentence, sentences
from siteplan.words.pages import TEXTS

RUN = ready.findings()
SHEETS = {row.row.row: sheet_page.page(RUN, row) for row in RUN.rows}
FRONT = index_page.page(RUN, ready.all_files(RUN))
MAP = map_page.page(RUN)
EVERY = {"front": FRONT, "map": MAP, **{f"sheet {row}": made for row, made in SHEETS.items()}}

VOID = {"meta", "link", "input", "br", "img", "hr", "use", "path", "circle", "rect"}


class Reader(HTMLParser):
    """Text, links, ids and scripts of a page; fails where an element is not closed."""

    def __init__(self, made):
        super().__init__(convert_charrefs=True)
        self.open, self.links, self.ids, self.scripts, self.words, self.events = [], [], [], 0, [], []
        self.feed(made)
        self.close()

    def handle_starttag(self, tag, attrs):
        facts = dict(attrs)
        links = [facts[k] for k in ("href", "src", "action", "srcset") if facts.get(k)]
        self.links += [link if link.startswith("#") else link.split("#")[0] for link in links]
        self.events += [k for k in facts if k.startswith("on")]
        if "id" in facts:
            self.ids.append(facts["id"])
        self.scripts += tag == "script"
        if tag not in VOID and not self.get_starttag_text().endswith("/>"):
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)

    def handle_endtag(self, tag):
        while self.open and self.open[-1] != tag and self.open[-1] in {"td", "tr", "th", "thead"}:
            self.open.pop()  # rows of the table for readers without scripts are not closed
        assert self.open and self.open[-1] == tag, (tag, self.open[-5:])
        self.open.pop()

    def handle_data(self, data):
        if not self.open or self.open[-1] not in {"script", "style"}:
            self.words.append(data)

    @property
    def text(self):
        return " ".join("".join(self.words).split())


@pytest.mark.quick
@pytest.mark.parametrize("name", EVERY)
def test_pages_are_whole_and_ask_for_nothing(name):
    made = EVERY[name]
    read = Reader(made)
    assert read.open == []
    assert len(read.ids) == len(set(read.ids))
    assert read.events == []
    assert read.scripts == {"map": 3}.get(name, 0)
    for link in read.links:
        assert link.startswith(("#", "data:")) or re.fullmatch(r"[\w%.-]+(/[\w%.-]+)?", link), link
    styles = "".join(re.findall(r"<style>(.*?)</style>", made, re.S))
    assert "url(" not in styles and "@import" not in styles
    assert '<html lang="en"' in made and "<title>" in made
    assert "nan" not in re.sub(r"[^ ]*Gannet[^ ]*", "", read.text).split()


@pytest.mark.quick
@pytest.mark.parametrize("name", EVERY)
def test_no_markup_from_data(name):
    made = EVERY[name]
    # no element of the name survives, as markup or inside a script
    assert "<script>alert" not in made and "</script> &" not in made
    assert made.count("<script") == {"map": 3}.get(name, 0)


@pytest.mark.quick
def test_same_run_same_bytes():
    again = ready.findings()
    assert index_page.page(again, ready.all_files(again)) == FRONT
    assert map_page.page(again) == MAP
    assert [sheet_page.page(again, row) for row in again.rows] == list(SHEETS.values())


@pytest.mark.quick
def test_pages_hang_on_no_clock_and_no_chance():
    program = (
        "import sys, hashlib; sys.path.insert(0, 'tests'); import ready_findings as r;"
        "from siteplan.report import map_page, sheet_page, index_page; f = r.findings();"
        "t = map_page.page(f) + sheet_page.page(f, f.rows[0]) + index_page.page(f, r.all_files(f));"
        "heavy = ('folium', 'branca', 'matplotlib', 'numba', 'rasterio', 'pandas', 'pyproj', 'shapely');"
        "print(hashlib.sha256(t.encode()).hexdigest(), [m for m in heavy if m in sys.modules])"
    )
    from pathlib import Path

    root = Path(__file__).resolve().parents[2]
    out = {
        subprocess.run(
            [sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=root, env={"PYTHONHASHSEED": seed, "TZ": zone}
        ).stdout
        for seed, zone in (("1", "UTC"), ("2", "Pacific/Apia"))
    }
    assert len(out) == 1
    assert out.pop().strip().endswith("[]")


# ---- front page ------------------------------------------------------------------------------------------------------------


@pytest.mark.quick
def test_front_page_counts_add_up_to_the_rows_read():
    tables = re.findall(r"<tr><th scope=\"row\">.*?</tr>", FRONT)
    assert len(tables) == 3
    for line, service in zip(tables, SERVICES, strict=True):
        *count, rows = [int(n.replace(",", "")) for n in re.findall(r"<td[^>]*>([\d,]+)</td>", line)]
        states = Counter(row.verdicts[service].state for row in RUN.rows)
        assert count == [states[state] for state in State] and sum(count) == rows == len(RUN.rows)
    tiles = [int(n) for n in re.findall(r'class="count number">(\d+)<', FRONT)]
    assert tiles == [Counter(row.job for row in RUN.rows)[state] for state in State]


@pytest.mark.quick
def test_front_page_says_what_waits_what_failed_and_why():
    text = Reader(FRONT).text
    for row in RUN.rows:
        if row.job is State.SURVEY_FIRST:
            for verdict in row.verdicts.values():
                if verdict.state is State.SURVEY_FIRST:
                    assert sentence(verdict.reasons[0]) in text
                    assert verdict.ask is None or sentence(verdict.ask) in text
    assert "No ground data reach this address. row 7" in text
    assert "latitude is empty row 8" in text
    assert "transmitters.csv, row 4, erp_dbw: a power can't be negative" in text
    for note in RUN.notes:
        assert sentence(note) in text


@pytest.mark.quick
def test_front_page_links_only_what_was_written():
    files = ready.all_files(RUN)
    links = [link for link in Reader(FRONT).links if not link.startswith(("#", "data:"))]
    assert links and set(links) <= set(files)
    assert [link for link in Reader(index_page.page(RUN, ())).links if not link.startswith(("#", "data:"))] == []
    few = index_page.page(RUN, {"verdicts.csv": 2_400_000})
    assert [link for link in Reader(few).links if not link.startswith(("#", "data:"))] == ["verdicts.csv"]
    assert "2.4 MB" in few
    every = Reader(index_page.page(RUN, files)).text
    for name in ("map.html", "verdicts.xlsx", "verdicts.csv", "verdicts.gpkg", "verdicts.geojson", "rejects.csv", "run.json"):
        assert TEXTS[f"file_{name}"] in every


@pytest.mark.quick
def test_empty_states_speak():
    run = ready.empty_findings()
    text = Reader(index_page.page(run, ())).text
    assert TEXTS["front_next_none"] in text and "latitude is empty row 2" in text and TEXTS["front_terrain_none"] in text
    assert Reader(map_page.page(run)).text.count(TEXTS["map_land_none"]) == 1


# ---- map -------------------------------------------------------------------------------------------------------------------


def data_of(made):
    return json.loads(re.search(r'<script type="application/json" id="data">(.*?)</script>', made, re.S).group(1))


@pytest.mark.quick
def test_sentences_come_back_whole_from_the_table():
    data, table = data_of(MAP), map_data.Sentences()
    table.patterns = {pattern: k for k, pattern in enumerate(data["patterns"])}
    for packed, row in zip(data["rows"], RUN.rows, strict=True):
        whys = packed[7] if len(packed[7]) == 3 else packed[7] * 3
        assert [table.get(why) for why in whys] == [sentences(row.verdicts[service].reasons) for service in SERVICES]
        asks = packed[8] or ["", "", ""] if len(packed) > 8 else ["", "", ""]
        for ask, service in zip(asks, SERVICES, strict=True):
            question = row.verdicts[service].ask
            assert (table.get(ask) if ask else "") == (sentence(question) if question else "")


@pytest.mark.quick
@pytest.mark.parametrize("words", ["", "no number", "1 2,5 3.75", "ends with 9", "# and 7", "25E, 30W: 2.1° (62 %)"])
def test_any_sentence_survives_the_table(words):
    table = map_data.Sentences()
    table.put("another one 1")
    packed = table.put(words)
    assert (table.get(packed) if packed else "") == words.replace("#", "\u266f")


@pytest.mark.quick
def test_map_states_follow_each_question():
    data = data_of(MAP)
    assert data["questions"] == ["job", "satellite", "satellite-1", "satellite-2", "terrestrial", "mobile"]
    order = list(State)
    for packed, row in zip(data["rows"], RUN.rows, strict=True):
        shown = [order[int(c)] for c in packed[5]]
        assert shown[0] == row.job
        assert [shown[1], shown[4], shown[5]] == [row.verdicts[service].state for service in SERVICES]
        views = {view.satellite.name: view.state for view in (row.satellite.views if row.satellite else ())}
        assert shown[2:4] == [views.get(name, State.NOT_JUDGED) for name in ("Oriel 25E", "Gannet 12W")]


@pytest.mark.quick
def test_map_pictures_lie_on_their_bounds():
    for picture, backdrop in zip(data_of(MAP)["pictures"], RUN.backdrops, strict=True):
        assert picture["bounds"] == [[backdrop.south_deg, backdrop.west_deg], [backdrop.north_deg, backdrop.east_deg]]


@pytest.mark.quick
def test_map_links_a_sheet_only_where_the_run_writes_it():
    assert [row[10] for row in data_of(MAP)["rows"] if len(row) > 10 and row[10]] == [row.sheet_file for row in RUN.rows if row.sheet_file]
    without = replace(RUN, plan=ready.plan(outputs=OutputsTable(sheets="none")))
    assert not any(len(row) > 10 and row[10] for row in data_of(map_page.page(without))["rows"])
    assert all(
        link not in Reader(index_page.page(without, ("map.html",))).links for link in [row.sheet_file for row in RUN.rows if row.sheet_file]
    )


@pytest.mark.quick
def test_map_keeps_leaflets_licence_and_fetches_no_picture_of_it():
    assert "BSD 2-Clause License" in MAP and "Vladimir Agafonkin" in MAP
    assert "sourceMappingURL" not in MAP


@pytest.mark.quick
def test_map_reads_with_scripts_off():
    off = re.search(r"<noscript>(.*?)</noscript>", MAP, re.S).group(1)
    assert off.count("<tr><td>") == len(RUN.rows)
    assert "Growth about 9.1 m high" in off


def test_ten_thousand_rows_stay_light():
    run = ready.many_findings()
    start = time.perf_counter()
    made = map_page.page(run)
    seconds = time.perf_counter() - start
    assert len(made.encode()) < 4_200_000  # 4 MB and the small pictures of the land
    assert len(data_of(made)["patterns"]) < 200
    assert seconds < 20  # about 1 s alone on one core; the rest is room for a busy machine
    assert len(index_page.page(run, ready.all_files(run)).encode()) < 200_000


# ---- sheet -----------------------------------------------------------------------------------------------------------------


@pytest.mark.quick
def test_sheet_gives_states_sentences_and_the_order_of_the_hands():
    made = SHEETS[2]
    text = Reader(made).text
    for verdict in RUN.rows[0].verdicts.values():
        assert sentences(verdict.reasons) in text and str(verdict.state) in text
    dish = made[made.index("<h3>Dish</h3>") : made.index("<h3>TV aerial</h3>")]
    places = [dish.index(f"<dt>{name}</dt>") for name in ("Stand", "Height", "Aim", "Read")]
    assert places == sorted(places)
    assert (
        made.index("survey first")
        < made.index("<h3>Dish</h3>")
        < made.index("Skyline from the spot")
        < made.index("Where the numbers come from")
    )
    look = RUN.rows[0].satellite.views[0].look
    for figure in (f"{look.azimuth_deg:.1f}°", f"{look.magnetic_azimuth_deg:.1f}°", f"{look.elevation_deg:.1f}°", "5.1 m"):
        assert figure in text
    assert "standing behind the dish, facing the satellite, turn the LNB clockwise 17°" in text
    assert "clockwise 17°, then clockwise 4° for this satellite’s own tilt" in text
    assert "circular: no turn" in text
    assert made.count('class="box"') == 4 + 3  # transponders of both satellites, multiplexes; no mobile: nothing to mount


@pytest.mark.quick
def test_sheet_prints_the_command_that_gives_the_loss_again():
    text = Reader(SHEETS[2]).text
    for way in (RUN.rows[0].terrestrial.aims[0], RUN.rows[0].mobile.lines[0]):
        assert way.path_command in text


@pytest.mark.quick
def test_sheet_of_a_row_without_verdict_says_why():
    assert "latitude is empty" in Reader(SHEETS[8]).text
    assert "<h2>Do this</h2>" not in SHEETS[7] and "Local codes" not in SHEETS[7]


@pytest.mark.quick
def test_cautions_stand_beside_the_act():
    roof, ground = SHEETS[3], SHEETS[2]
    assert TEXTS["caution_roof"] in roof and TEXTS["beware_roof"] in Reader(roof).text
    assert TEXTS["caution_roof"] not in ground and TEXTS["beware_roof"] not in Reader(ground).text
    for made in (roof, ground):
        for name in ("beware_first", "beware_ladder", "beware_power", "beware_lightning", "beware_mains"):
            assert TEXTS[name] in Reader(made).text


@pytest.mark.quick
def test_sheet_is_light_and_quick():
    assert max(len(made.encode()) for made in SHEETS.values()) <= 300_000
    row = RUN.rows[0]
    sheet_page.page(RUN, row)
    times = []
    for _ in range(10):
        start = time.perf_counter()
        sheet_page.page(RUN, row)
        times.append(time.perf_counter() - start)
    assert min(times) < 0.060


@pytest.mark.quick
def test_levels_below_any_meter_are_not_printed_as_numbers():
    row = RUN.rows[0]
    views = tuple(replace(view, links=tuple(replace(line, cn_db=-44.0) for line in view.links)) for view in row.satellite.views)
    text = Reader(sheet_page.page(RUN, replace(row, satellite=replace(row.satellite, views=views)))).text
    assert "44 dB" not in text and TEXTS["nothing_yet"] in text


# ---- words -----------------------------------------------------------------------------------------------------------------


@pytest.mark.quick
def test_every_text_a_page_asks_for_exists_and_every_text_is_used():
    from pathlib import Path

    import siteplan
    from siteplan.words import pages

    folder = Path(siteplan.__file__).parent / "report"
    sources = [file.read_text(encoding="utf-8") for pattern in ("*.py", "assets/*.js") for file in sorted(folder.glob(pattern))]
    # each page file takes its texts from one words file: "from siteplan.words.<name> import ... text"
    codes: dict[str, str] = {"pages": ""}
    for source in sources:
        name = re.search(r"from siteplan\.words\.(\w+) import [^\n]*\btext\b", source)
        codes[name[1] if name else "pages"] = codes.get(name[1] if name else "pages", "") + source
    total = 0
    for name, code in codes.items():
        texts = importlib.import_module(f"siteplan.words.{name}").TEXTS
        asked = set(re.findall(r'\btext\(\s*"(\w+)"', code)) | set(re.findall(r"\btext\('(\w+)'", code))
        total += len(asked)
        assert asked <= set(texts), (name, sorted(asked - set(texts)))
        unused = [
            key
            for key in texts
            if not re.search(rf"""["'.]{re.escape(key)}\b""", code) and not key.startswith(("file_", "service_", "map_l_"))
        ]
        parts = ("lnb_", "elements_", "stand_", "sheet_", "map_", "front_", "list_", "access_", "plot_a", "cn_most")
        built = {key for key in texts if key.startswith(parts)}
        assert set(unused) <= built, (name, sorted(set(unused) - built))
    assert total > 80 and pages.TEXTS is TEXTS


@pytest.mark.quick
def test_words_kept_off_the_dispatchers_pages():
    kept_off = (
        "CRS", "EPSG", "raster", "nodata", "DTM", "DSM", "COG", "ERP", "EIRP", "dBµV", "RSRP", "C/N", "azimuth", "multiplex", "transponder",
        "skew", "amsl", "σ", "cellular", "socket",
    )  # fmt: skip
    for name, words in TEXTS.items():
        if name.startswith(("map_", "front_", "service_", "file_")):
            for word in kept_off:
                assert not re.search(rf"\b{re.escape(word)}\b", words), (name, word)
    for name, words in TEXTS.items():
        assert "amsl" not in words and "governing" not in words, name


@pytest.mark.quick
def test_the_table_of_pages_draws_them_all():
    assert set(PAGES) == {"front", "list", "map", "methods", "sheet"}
    assert PAGES["front"].draw(RUN, ()) and PAGES["map"].draw(RUN) and PAGES["sheet"].draw(RUN, RUN.rows[1])
