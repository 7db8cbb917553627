"""One word, one thing: a whole run in each language keeps off each page the words that its reader has no use for."""

import re

import pytest
from page_texts import left, visible
from small_job import SATELLITES, SECTORS, TABLES, TRANSMITTERS, at

from siteplan.cli.table import COMMANDS
from siteplan.words.language import speak

X, Y = at(900, 100)
# Trade words kept off the pages of a dispatcher, a planner and a seller, in the three languages.
DISPATCHER = (
    r"\b(?:CRS|EPSG|[Rr]aster|[Nn]odata|DTM|DSM|COG|ERP|EIRP|PIRE|PAR|dBµV|RSRP|SINR|C/N|[Aa]zimuts?|[Aa]zimuths?|[Aa]zimute?|[Mm]ultiplexe?s?|"
    r"[Tt]ransponders?|[Tt]ranspondeurs?|[Ss]kew|amsl)\b|σ"
)
# Kept off the installer's sheet.
INSTALLER = r"Fresnel|\bamsl\b|[Pp]ercentage of locations|[Gg]overning edge|\b[Cc]ellular\b|\b[Pp]rograms?\b|\b(?:TV|power) sockets?\b"
STAY = (r"siteplan [a-z]+ [^|]*", r"--[a-z][\w-]*=\S+")  # commands, as they are typed


@pytest.mark.parametrize("language", ["en", "de", "fr"])
def test_pages_keep_off_words_of_other_trades(job, language):
    job.write("satellites.csv", SATELLITES)
    job.write("transmitters.csv", f"{TRANSMITTERS}Hill,{X},{Y},,60,M,24,1,h,DVB-T2 256QAM 2/3\n")
    job.write("sectors.csv", f"{SECTORS}Corvid,Mast,1,{X},{Y},30,LTE,800,806,20,200\n")
    job.plan(TABLES + f'[outputs]\nlanguage = "{language}"\nsheets = "all"\n')
    done = job.run()
    speak()
    assert done.code == 0, done.err
    found = {}
    for name in ("index.html", "list.html", "map.html"):
        found[name] = left(visible((job.out / name).read_text(encoding="utf-8")), DISPATCHER, STAY)
    for sheet in sorted((job.out / "sheets").glob("*.html")):
        found[sheet.name] = left(visible(sheet.read_text(encoding="utf-8")), INSTALLER, STAY)
    assert len(found) >= 6 and {name: one for name, one in found.items() if one} == {}
    files = " ".join(path.name for path in job.out.rglob("*"))
    assert not re.search(r"socket|cellular|program\b|azimuth|dsm|dtm", files)


@pytest.mark.quick
def test_commands_keep_to_the_glossary():
    said = " ".join((*COMMANDS, *(text for _, text in COMMANDS.values())))
    assert not re.search(r"socket|cellular|\bprograms?\b|raster|\bDTM\b|\bDSM\b|Fresnel|amsl|horizon\b", said)
    assert left("a cellular antenna at the first Fresnel zone", INSTALLER, STAY) and left("EIRP of the transponder", DISPATCHER, STAY)
