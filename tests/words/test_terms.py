"""One term, one word, in German and French too: the short glossary of the trade, held to every text of the catalogues."""

import re

import catalogues
import pytest

pytestmark = pytest.mark.quick
# English term -> German, French: the stems that one of a text's words must have. Names of keys, columns and commands are taken out first.
TERMS = {
    r"dish(?:es)?": (r"[Ss]chüssel", r"[Pp]arabole"),
    r"TV aerials?": (r"Antenne", r"antenne"),
    r"outlets?": (r"[Dd]ose", r"[Pp]rise"),
    r"transmitters?": (r"[Ss]ender", r"[Éé]metteur"),
    r"transponders?": (r"[Tt]ransponder", r"[Tt]ranspondeur"),
    r"carriers?(?! to|-to| phase)": (r"[Tt]räger", r"[Pp]orteuse"),
    r"margin": (r"[Rr]eserve", r"[Mm]arge"),
    r"book": (r"buch", r"planif"),
    r"not feasible": (r"nicht machbar", r"impossible"),
    r"mount height": (r"[Mm]ontagehöhe", r"[Hh]auteurs? de montage"),
    r"amplifiers?": (r"[Vv]erstärker", r"[Aa]mplificateur"),
    r"multiswitch(?:es)?": (r"[Mm]ultischalter", r"[Cc]ommutateurs? multiples?"),
    r"parts list": (r"[Tt]eileliste", r"[Ll]iste de pièces"),
    r"terrain": (r"[Gg]elände", r"[Tt]errain"),
    r"sectors?": (r"[Ss]ektor", r"[Ss]ecteur"),
    r"common practice": (r"übliche Praxis", r"pratique courante"),
    r"readings?(?! Parquet)": (r"[Mm]ess|[Gg]elesen|[Ll]ese", r"[Rr]elev|lue?s?\b|[Mm]esur"),
}
# Texts in which the word means something else, or the sentence is turned round: by their beginning.
EXCEPTIONS = (
    "Each bearing is the middle of a sector", "LNB, seen from behind the dish", "Carrier-to-noise is {cn_db:.0f} dB low",
)  # fmt: skip


def plain(text):
    """Return a text without what is no word of it: places for values, commands, keys, names of columns, things in quotes."""
    return re.sub(r"\{[^}]*\}|siteplan [a-z]+|\"[^\"]*\"|`[^`]*`|\[[^\]]*\]|[a-z]+_[a-z_]+|\b[a-z]+\.[a-z_]+", " ", text)


def astray(language, texts):
    """Return (term, text, translation) where a translation does not use the term's word."""
    side = 0 if language == "de" else 1
    return [
        (term, text, said)
        for term, pair in TERMS.items()
        for text, said in texts.items()
        if re.search(rf"\b(?:{term})\b", plain(text)) and not re.search(pair[side], said) and not text.startswith(EXCEPTIONS)
    ]


@pytest.mark.parametrize("language", ["de", "fr"])
def test_every_text_uses_the_trades_word(language):
    texts = {one.id: one.string for one in catalogues.catalogue(language) if one.id and one.string}
    assert len(texts) > 2900 and astray(language, texts) == []
    assert astray(language, {"Turn the dish": "Antenne drehen"})


def test_french_apostrophes_and_quotes_are_typographic():
    texts = [one.string for one in catalogues.catalogue("fr") if one.id]
    assert [said for said in texts if catalogues.tidy("fr", said) != said] == [], "python tests/catalogues.py puts them right"
