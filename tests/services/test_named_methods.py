"""A plan names another method, or what stands round houses of which nothing is known: what is added, what is left out, what is said."""

from dataclasses import replace
from typing import get_args

import numpy as np
import pytest
from radio.radio_paths import profile
from services.test_over_the_ground import PLAN, land, sector, site, transmitter

from siteplan.errors import InputError, MethodRangeError
from siteplan.radio.clutter_loss import CLUTTER, height_gain_loss_db
from siteplan.radio.methods.table import NAMES
from siteplan.records.plan import MethodName, PropagationTable
from siteplan.records.verdict import State
from siteplan.services.mobile.judge import judge as judge_mobile
from siteplan.services.shared.paths import work_path
from siteplan.services.terrestrial.explain import losses_of
from siteplan.services.terrestrial.judge import judge as judge_tv
from siteplan.studies.naming import path_command
from siteplan.words import sentence

HEIGHTS = {"tx_height_agl_m": 40.0, "rx_height_agl_m": 6.0}


def flat(**more):
    return profile(np.linspace(0.0, 5000.0, 51), 10.0, **more)


def planned(**keys):
    return PLAN.model_copy(update={"propagation": PropagationTable(**keys)})


@pytest.mark.quick
def test_the_plan_names_exactly_the_methods_there_are():
    assert get_args(MethodName) == NAMES
    for kind in (*CLUTTER, ""):
        if kind != "water":  # nobody lives there
            assert PropagationTable(unknown_clutter=kind).unknown_clutter == kind
    with pytest.raises(InputError, match="'okumura'.*hata_open"):
        work_path(flat(), frequencies_mhz=[800.0], **HEIGHTS, method="okumura")


@pytest.mark.quick
def test_clutter_of_unknown_height_is_added_once_and_only_where_nothing_is_known():
    more = height_gain_loss_db(800.0, 6.0, clutter="suburban")
    assert more > 3.0
    (bare,) = work_path(flat(), frequencies_mhz=[800.0], **HEIGHTS)
    (added,) = work_path(flat(), frequencies_mhz=[800.0], **HEIGHTS, unknown_clutter="suburban")
    assert added.loss_db - bare.loss_db == pytest.approx(more)
    assert bare.field_strength_dbuv_per_m - added.field_strength_dbuv_per_m == pytest.approx(more)
    assert added.intermediates["unknown_clutter_db"] == pytest.approx(more)
    # never on top of clutter that P.1812 has in its profile, nor where the surface is known to be bare, nor of a method that counts towns
    cover = np.zeros(51)
    cover[40] = 9.0
    for known in (flat(clutter_m=cover), replace(flat(), surface_known=1.0), replace(flat(), surface_known=0.1)):
        with_it, without = (work_path(known, frequencies_mhz=[800.0], **HEIGHTS, unknown_clutter=kind)[0] for kind in ("urban", ""))
        assert with_it.loss_db == without.loss_db
        assert "unknown_clutter_db" not in with_it.intermediates
    for name in ("hata_suburban", "tr38901_rma"):
        with_it, without = (
            work_path(flat(), frequencies_mhz=[800.0], **HEIGHTS, method=name, unknown_clutter=kind)[0] for kind in ("urban", "")
        )
        assert with_it.loss_db == without.loss_db
    # above the roofs nothing is lost; above 3 GHz P.2108, 3.1 says nothing, and neither do we
    (high,) = work_path(flat(), frequencies_mhz=[800.0], tx_height_agl_m=40.0, rx_height_agl_m=11.0, unknown_clutter="suburban")
    assert high.intermediates["unknown_clutter_db"] == 0.0
    with pytest.raises(MethodRangeError, match="30 to 3000"):
        work_path(flat(), frequencies_mhz=[3500.0], **HEIGHTS, unknown_clutter="suburban")


def test_tv_by_a_named_method():
    """10 km, 150 m mast, aerial 10 m: Hata in open country; the verdict says that it is a statistical figure."""
    ground = land()
    usual, by_hata = (judge_tv(site(ground), ground, (transmitter(),), made) for made in (PLAN, planned(method_tv="hata_open")))
    assert "path_statistical" not in [reason.code for reason in usual[0].reasons]
    assert "path_statistical" in [reason.code for reason in by_hata[0].reasons]
    assert by_hata[1].aims[0].lines[0].probability > 0.95
    assert (usual[0].state, by_hata[0].state) == (State.BOOK, State.SURVEY_FIRST)  # no look at the ground is no proof
    assert by_hata[0].how_sure.level == "low"
    aim = by_hata[1].aims[0]
    (again,) = losses_of(aim, planned(method_tv="hata_open"))
    assert aim.lines[0].loss_db == again.loss_db
    assert again.method == "Okumura-Hata, open country"
    assert again.loss_db > usual[1].aims[0].lines[0].loss_db
    heights = (aim.tx_height_agl_m, aim.rx_height_agl_m)
    asked = {"frequency_mhz": 498.0, "heights_m": heights, "polarisation": "h"}
    assert "--method=hata_open" in path_command("p.csv", aim.profile, planned(), **asked, method="hata_open")
    assert "--method" not in path_command("p.csv", aim.profile, planned(), **asked, method="p1812")
    command = path_command("p.csv", aim.profile, planned(unknown_clutter="urban"), **asked, method="p1812")
    assert command.endswith(" --unknown-clutter=urban")


def test_out_of_a_methods_range_is_said():
    ground = land()
    verdict, finding = judge_tv(site(ground), ground, (transmitter(height_m=400.0),), planned(method_tv="hata_open"))
    (reason,) = (reason for reason in verdict.reasons if reason.code == "path_out_of_method")
    assert not finding.aims
    assert "400.0 m over the mean ground" in sentence(reason)
    assert "30 to 200 m" in sentence(reason)
    verdict, finding = judge_mobile(site(ground), ground, (sector(),), planned(method_mobile="tr38901_uma"))
    assert not finding.lines
    assert "at 25 m above ground alone" in sentence(verdict.reasons[0])


def test_a_statistical_figure_is_less_sure():
    """Its median is taken to be 10 dB off, p1812's 6 dB, so that the same margin gives worse odds; a plan may say otherwise."""
    ground = land(known=True)
    lines = {
        name: judge_tv(site(ground), ground, (transmitter(),), planned(method_tv=name, **keys))[1].aims[0].lines[0]
        for name, keys in (("p1812", {}), ("hata_open", {}), ("hata_suburban", {"statistical_sigma_db": 0.0}))
    }
    assert lines["p1812"].sigma_db == pytest.approx(lines["hata_suburban"].sigma_db)
    assert lines["hata_open"].sigma_db**2 - lines["p1812"].sigma_db**2 == pytest.approx(10.0**2 - 6.0**2)


def test_mobile_by_a_named_method():
    ground = land()
    made = planned(method_mobile="tr38901_rma")
    verdict, finding = judge_mobile(site(ground), ground, (sector(),), made)
    assert finding.lines[0].loss_db > judge_mobile(site(ground), ground, (sector(),), PLAN)[1].lines[0].loss_db
    assert "path_statistical" in [reason.code for reason in verdict.reasons]
    assert (verdict.state, verdict.how_sure.level) == (State.SURVEY_FIRST, "low")
