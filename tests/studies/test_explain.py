"""An explanation holds the numbers of the verdict itself, each with a source, and its losses come again from the command it prints."""

import json
import math
import re
import shlex
from datetime import UTC, datetime
from pathlib import Path

import pytest
from area_makers import village

import siteplan
from siteplan.errors import InputError
from siteplan.files.plan_file import read_plan
from siteplan.studies.addresses import judge_addresses
from siteplan.studies.calc_path import path_answer
from siteplan.studies.explain import explain_one, explained_lines, explained_values
from siteplan.studies.job import do_job
from siteplan.words import explain as words


def clock():
    return datetime(2026, 6, 11, 9, tzinfo=UTC)


def explain(plan, only, out=None):
    return explain_one(plan, only, out, clock=clock, say=lambda text: None)


@pytest.fixture(scope="module")
def village_plan(tmp_path_factory):
    return village(tmp_path_factory.mktemp("village"))


@pytest.fixture(scope="module")
def findings(village_plan):
    plan = read_plan(village_plan)
    return judge_addresses(plan, on_date=plan.date, pictures=False)


@pytest.fixture(scope="module")
def found(village_plan):
    return {name: explain(village_plan, name, village_plan.parent / name) for name in ("roof", "garden", "behind")}


def sections(explained, code, service=None):
    return [one for one in explained.sections if one.code == code and service in (None, one.service)]


def row_of(findings, name):
    return next(row for row in findings.rows if row.row.address is not None and row.row.address.id == name)


@pytest.mark.parametrize("name", ["roof", "garden", "behind"])
def test_the_satellite_numbers_are_the_verdicts(found, findings, name):
    finding = row_of(findings, name).satellite
    for view, look, end in zip(finding.views, sections(found[name], "look_angles"), sections(found[name], "view"), strict=True):
        assert look.value("azimuth") == view.look.azimuth_deg and look.value("elevation") == view.look.elevation_deg
        assert look.value("apparent_elevation") == pytest.approx(view.look.elevation_deg + view.look.refraction_deg)
        assert end.value("view_state") == str(view.state) and end.value("view_reason") == view.reasons[0].code
        assert end.value("view_probability") == view.probability
        odds = [one for one in sections(found[name], "odds") if one.subject == view.satellite.name]
        all_odds = [one.value(key) for one in odds for key in ("odds_clear", "odds_centre")]
        assert view.probability in all_odds  # the probability is one of the odds that are shown


@pytest.mark.parametrize("name", ["roof", "garden", "behind"])
def test_the_clearance_fits_together(found, findings, name):
    finding = row_of(findings, name).satellite
    for view, one in zip(finding.views, sections(found[name], "clearance"), strict=True):
        assert one.value("clearance") == view.clearance.clearance_m and one.value("clearance_state") == view.clearance.state
        assert math.isfinite(one.value("clearance_height"))  # the question that gives it again was found
        along = one.value("obstacle_distance") / math.cos(math.radians(view.look.elevation_deg + view.look.refraction_deg))
        needed = one.value("dish") / 2 + 0.6 * math.sqrt(one.value("wavelength") * along)
        assert one.value("needed_clearance") == pytest.approx(needed, rel=0.01)
        assert one.value("wavelength") * one.value("frequency") == pytest.approx(299.792458)


def test_the_link_adds_up(found, findings):
    finding = row_of(findings, "garden").satellite
    lines = [line for view in finding.views for line in view.links]
    for line, one in zip(lines, sections(found["garden"], "link"), strict=True):
        terms = [step.value for step in one.steps if step.code.startswith("term_")]
        assert math.fsum(terms) == pytest.approx(one.value("cn"), abs=1e-9) and one.value("cn") == line.cn_db
        assert one.value("cn") - one.value("threshold") == pytest.approx(one.value("link_margin"), abs=1e-9)
        assert one.value("needs_eirp") == line.needs_eirp_dbw


@pytest.mark.parametrize("name", ["roof", "garden", "behind"])
def test_the_tv_numbers_are_the_verdicts(found, findings, name):
    finding = row_of(findings, name).terrestrial
    shown = {one.subject: one for one in sections(found[name], "multiplex")}
    lines = [(f"{aim.transmitter.name}, {line.multiplex.name}", line) for aim in finding.aims for line in aim.lines]
    assert len(shown) == len(lines) == 3
    for subject, line in lines:
        one = shown[subject]
        assert one.value("loss") == line.loss_db and one.value("field") == line.field_strength_dbuv_per_m
        assert one.value("minimum_median") == line.minimum_median_dbuv_per_m
        assert one.value("minimum_field") + one.value("location_allowance") == pytest.approx(one.value("minimum_median"))
        assert one.value("field") - one.value("minimum_median") == pytest.approx(one.value("margin")) == line.margin_db
        parts = [one.value(key) for key in ("sigma_location", "sigma_method", "sigma_clutter")]
        assert math.hypot(*parts) == pytest.approx(one.value("sigma")) == line.sigma_db
        erp_db, f_ghz = one.value("erp") - 30.0, one.value("path_frequency") / 1000.0
        assert one.value("field") == pytest.approx(199.36 + 20 * math.log10(f_ghz) - one.value("loss") + erp_db, abs=1e-6)
        z = (one.value("field") - one.value("minimum_field")) / one.value("sigma")
        assert one.value("served_probability") == pytest.approx(0.5 * (1 + math.erf(z / math.sqrt(2))))
        if one.value("method") == "ITU-R P.1812-8":
            assert one.value("free_space_db") < one.value("loss") + 1e-9


def test_the_mobile_numbers_are_the_verdicts(found, findings):
    best = row_of(findings, "garden").mobile.lines[0]
    (one,) = sections(found["garden"], "sector")
    assert one.value("rsrp") == best.rsrp_dbm and one.value("loss") == best.loss_db
    level = one.value("re_eirp") + one.value("pattern") - one.value("loss")
    (unit,), (roof,) = (sections(found["garden"], f"way_{way}") for way in ("outdoor_unit", "roof_antenna"))
    assert unit.value("rsrp") == pytest.approx(level + unit.value("mobile_gain"))
    assert roof.value("rsrp") == pytest.approx(level + roof.value("mobile_gain") - roof.value("mobile_feeder"))
    assert best.way == "outdoor unit" and unit.value("rsrp") == best.rsrp_dbm
    (window,) = sections(found["garden"], "way_window")
    assert window.value("entry_loss") > 0 and window.value("rsrp") == best.ways[1].rsrp_dbm
    for section in (unit, roof, window):
        assert all(step.source for step in section.steps)
        noise = 10 ** (0.1 * section.value("interference")) + 10 ** (0.1 * section.value("receiver_noise"))
        assert section.value("sinr") == pytest.approx(section.value("rsrp") - 10 * math.log10(noise))


@pytest.mark.parametrize("name", ["roof", "garden", "behind"])
def test_the_loss_comes_again_from_the_command_it_prints(found, name):
    """The printed command line, taken apart as the shell would, run on the profile file that was written."""
    assert len(found[name].commands) == 4  # three multiplexes and a sector
    for one in found[name].commands:
        program, command, file, *flags = shlex.split(one.command)
        assert (program, command, file) == ("siteplan", "path", one.profile_file) and Path(file).is_file()
        asked = dict(flag.removeprefix("--").split("=") for flag in flags)
        numbers = {key.replace("-", "_"): value if key == "polarisation" else float(value) for key, value in asked.items()}
        again = path_answer(Path(file), **numbers)
        # the command has the latitude to four decimals and the frequency to six figures
        assert again["loss_db"] == pytest.approx(one.loss_db, abs=1e-4)
        section = next(s for s in found[name].sections if s.subject == one.subject and s.code in ("multiplex", "sector"))
        assert section.value("loss") == one.loss_db


def test_every_number_has_a_label_a_source_and_a_heading(found):
    for explained in found.values():
        for section in explained.sections:
            assert words.heading(section.code, section.subject)
            for step in section.steps:
                assert words.label(step.code), step.code
                assert step.source.strip(), step.code


@pytest.mark.quick
def test_every_code_in_the_code_has_its_words():
    package = Path(siteplan.__file__).parent
    text = "\n".join(file.read_text(encoding="utf-8") for file in package.glob("services/*/explain*.py"))
    assert set(re.findall(r'Step\(\s*"(\w+)"', text)) <= set(words.LABELS) and len(re.findall(r'Step\("', text)) > 80
    assert set(re.findall(r'Section\(\s*"(\w+)"', text)) <= set(words.HEADINGS)


def test_text_and_values_say_the_same(found):
    explained = found["roof"]
    values = explained_values(explained)
    json.dumps(values, allow_nan=False)
    lines = explained_lines(explained)
    assert lines[0] == "roof (row 2), Village (invented), 2026-06-11"
    text = "\n".join(lines)
    for section in values["sections"]:
        assert section["title"] in text
    assert all(one["command"] in text for one in values["path_commands"])
    assert {name: verdict["state"] for name, verdict in values["verdicts"].items()} == {
        name: str(verdict.state) for name, verdict in explained.verdicts.items()
    }
    assert not re.search(r"\bnan\b", text.lower())


def test_sources_tell_what_the_plan_states_from_a_default(tmp_path):
    plan = village(tmp_path, more="[limits]\nbook_probability = 0.9\n")
    explained = explain(plan, "garden")
    (verdict,) = sections(explained, "verdict", "satellite")
    sources = {step.code: step.source for step in verdict.steps}
    assert sources["book_at"] == "plan, limits.book_probability" and verdict.value("book_at") == 0.9
    assert sources["not_feasible_at"] == "default of limits.not_feasible_probability: common practice, no source"


@pytest.mark.quick
def test_a_rejected_row_says_why_it_was_rejected(tmp_path):
    plan = village(tmp_path)
    with pytest.raises(InputError, match="row 5 .*lost.* was not placed"):
        explain(plan, "lost")
    with pytest.raises(InputError, match="no address with id or row 'nobody'"):
        explain(plan, "nobody")
    assert not (tmp_path / "outputs").exists()


def test_what_a_run_wrote_stays_and_is_still_listed(tmp_path):
    plan = village(tmp_path)
    do_job(plan, None, clock=clock, say=lambda text: None, tables_only=True)
    before = (tmp_path / "outputs" / "verdicts.csv").read_bytes()
    explained = explain(plan, "3")  # by its row number
    assert explained.id == "garden" and (tmp_path / "outputs" / "verdicts.csv").read_bytes() == before
    listed = {line["file"] for line in json.loads((tmp_path / "outputs" / "run.json").read_bytes())["files"]}
    assert "verdicts.csv" in listed and any(name.startswith("profiles/0003") for name in listed)


def test_leaves_in_the_ray_are_a_figure_and_not_a_loss():
    """Growth before the dish: a figure for 5 m of leaves, which the obstruction loss does not hold; a house or a clear ray has none."""
    from dataclasses import replace

    from siteplan.radio.vegetation import foliage_figure_db
    from siteplan.records.results import Clearance
    from siteplan.services.satellite.explain import _leaves

    seen = Clearance("blocked", -2.0, -1.5, -1.0, 0.5, 30.0, 120.0, 18.0, 180.0, "growth", 20.0, 900.0)
    (step,) = _leaves(seen, 11_000.0, 30.0)
    assert step.value == foliage_figure_db(11_000.0, 5.0, 30.0) == pytest.approx(16.7, abs=0.1)
    assert "figure alone" in step.source
    for other in (replace(seen, state="clear"), replace(seen, kind="building"), replace(seen, kind="ground")):
        assert _leaves(other, 11_000.0, 30.0) == ()
    assert _leaves(seen, 11_000.0, -3.0) == ()


def test_losses_of_named_methods_come_again_too(tmp_path):
    """Hata for TV and TR 38.901 for mobile: every step has its source, and the printed commands name the method."""
    plan = village(tmp_path)
    named = '\n[propagation]\nmethod_tv = "hata_open"\nmethod_mobile = "tr38901_rma"\n'
    plan.write_text(plan.read_text(encoding="utf-8") + named, encoding="utf-8")
    told = explain(plan, "garden", tmp_path / "out")
    assert told.commands
    for one in told.commands:
        _, _, file, *flags = shlex.split(one.command)
        asked = dict(flag.removeprefix("--").split("=") for flag in flags)
        assert asked["method"] == ("hata_open" if one.service == "terrestrial" else "tr38901_rma")
        words_of = ("polarisation", "method")
        numbers = {key.replace("-", "_"): value if key in words_of else float(value) for key, value in asked.items()}
        again = path_answer(Path(file), **numbers)
        assert again["loss_db"] == pytest.approx(one.loss_db, abs=1e-3)
        section = next(s for s in told.sections if s.subject == one.subject and s.code in ("multiplex", "sector"))
        (source,) = (step.source for step in section.steps if step.code == "loss")
        assert source == section.value("method")
        assert section.value("sigma_method") == 10.0
