"""Mobile senders at 3.5 GHz and a dish for the band beside: by hand, and silence where the dish takes another band."""

from dataclasses import replace

import numpy as np
import pytest
from hand_ground import GROUND_M, LAT, LON, ON, SIZE, layer, plan, satellite

from siteplan.geodesy.projection import geod_forward
from siteplan.records.emitters import Sector
from siteplan.records.ground import Surface
from siteplan.records.places import Address
from siteplan.services.satellite.judge import judge
from siteplan.services.shared.mobile_levels import carrier_eirp_dbm
from siteplan.services.shared.site import Land, site_of
from siteplan.terrain.view import prepare
from siteplan.words import sentence

pytestmark = pytest.mark.quick


def mast(re_eirp_dbm=20.0, mhz=3550.0, away_m=150.0):
    lat, lon = geod_forward(lat_deg=LAT, lon_deg=LON, azimuth_deg=180.0, distance_m=away_m)
    return Sector("Plover", "Mill", "1", float(lat), float(lon), 25.0, "NR", "3500", mhz, re_eirp_dbm, vertical_beamwidth_deg=90.0,
                  resource_blocks=100)  # fmt: skip


def said(sat, *sectors):
    ground = np.full((SIZE, SIZE), GROUND_M)
    surface = Surface((layer(ground, ground.copy(), np.ones(ground.shape, dtype=np.uint8)),))
    land, made = Land(surface, prepare(surface), ON), plan()
    address = Address(2, "a", "Middle", LAT, LON, 1.0, True, (), "ground")
    verdict, _ = judge(site_of(address, land, made.mount), land, (sat,), made, pictures=False, sectors=sectors)
    return [reason for reason in verdict.reasons if reason.code == "sat_mobile_filter"]


def band(mhz):
    made = satellite()
    return replace(made, transponders=(replace(made.transponders[0], frequency_mhz=mhz),))


def test_a_near_mast_overdrives_a_dish_for_its_own_band():
    """20 + 10 log 1200 = 50.8 dBm; free space 150 m at 3550 MHz 87.0 dB; the dish stands 35 deg up, 27 off: 32 - 25 log 27 = -4 dBi."""
    (found,) = said(band(3800.0), mast())
    assert found.values["over_db"] == pytest.approx(50.8 - 87.0 - 4.0 + 60.0, abs=2.5)
    assert "Plover" in sentence(found) and "filter" in sentence(found)


@pytest.mark.parametrize(("sat", "sectors"), [(band(11_000.0), (mast(),)), (band(3800.0), (mast(mhz=1842.0),)), (band(3800.0), ()),
                                              (band(3800.0), (mast(re_eirp_dbm=-25.0),))])  # fmt: skip
def test_it_is_silent_where_nothing_is_overdriven(sat, sectors):
    assert said(sat, *sectors) == []


def test_the_power_of_a_whole_carrier():
    assert carrier_eirp_dbm(mast()) == pytest.approx(20.0 + 30.79, abs=0.01)
    # 100 MHz at 30 kHz: 0.9 of it filled, 3000 elements
    assert carrier_eirp_dbm(replace(mast(), resource_blocks=0, spacing_khz=30.0)) == pytest.approx(20.0 + 34.77, abs=0.01)
    assert carrier_eirp_dbm(replace(mast(), technology="GSM")) == 20.0 and carrier_eirp_dbm(replace(mast(), technology="UMTS")) == 30.0
