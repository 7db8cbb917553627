"""The methods page: this run's methods first, every method and source, and nothing that a name could break."""

from dataclasses import replace

import pytest
import ready_findings as ready

from siteplan.records.methods import SourceNote
from siteplan.records.plan import PropagationTable
from siteplan.report import methods_page
from siteplan.services.shared.method_notes import method_notes

pytestmark = pytest.mark.quick
SOURCES = (
    SourceNote("radio/tin.py", "", "Loss of <b>tin</b>"),
    SourceNote("radio/tin.py", "tin_db", "EN 12345", ("tests/radio/test_tin.py",)),
)


def drawn(**chosen):
    run = ready.findings()
    plan = run.plan.model_copy(update={"propagation": PropagationTable(**chosen)})
    return methods_page.page(replace(run, plan=plan), method_notes(), SOURCES)


def test_what_this_run_used():
    usual = drawn()
    assert "Terrestrial TV paths: ITU-R P.1812-8." in usual
    assert "nothing is added for them" in usual
    other = drawn(method_tv="hata_open", method_mobile="tr38901_rma", unknown_clutter="suburban")
    assert "Terrestrial TV paths: Okumura-Hata, open country." in other
    assert "Mobile paths: 3GPP TR 38.901 RMa." in other
    assert "suburban, by ITU-R P.2108-1, 3.1" in other


def test_every_method_and_source_is_there_and_escaped():
    page = drawn()
    for note in method_notes():
        assert f"<code>{note.name}</code>" in page
    assert "Loss of &lt;b&gt;tin&lt;/b&gt;" in page
    assert "<summary>radio/tin.py</summary>" in page
    assert "tests/radio/test_tin.py" in page
    assert page.count("Okumura&#x27;s curves") == 2
    assert "<script" not in page
