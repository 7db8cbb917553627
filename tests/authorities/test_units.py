"""Conversions of levels, fields and powers against published constants and independently computed tables."""

import csv
import math

import pytest
from authorities.authority_rows import number, rows_of
from shared_data import need_shared

from siteplan import units

pytestmark = pytest.mark.quick


@pytest.mark.parametrize("row", rows_of("dbuv_dbm.csv"), ids=lambda row: f"{row['impedance_ohm']}-{row['dbuv']}")
def test_dbuv_and_dbm(row):
    ohm, dbuv, dbm = (number(row[name]) for name in ("impedance_ohm", "dbuv", "dbm"))
    assert units.dbuv_to_dbm(dbuv, ohm) == pytest.approx(dbm, abs=5e-5)
    assert units.dbm_to_dbuv(dbm, ohm) == pytest.approx(dbuv, abs=5e-5)


def test_free_space_constants():
    """Rec. ITU-R P.525-4: 32.4 + 20 log f_MHz + 20 log d_km (rounded there; 92.45 in GHz and km in P.618 and P.452)."""
    assert units.free_space_loss_db(1000.0, 1.0) == pytest.approx(32.45, abs=0.005)
    assert units.free_space_loss_db(1000.0, 1000.0) == pytest.approx(92.45, abs=0.005)
    # geostationary downlink at 12 GHz over 38 000 km: 205.63 dB by 92.45 + 20 log 12 + 20 log 38000
    assert units.free_space_loss_db(38_000e3, 12_000.0) == pytest.approx(92.45 + 20 * math.log10(12 * 38_000), abs=0.005)


def test_field_for_one_kilowatt():
    """In free space 1 kW ERP gives 106.9 dBuV/m at 1 km (P.370, BT.1368 and P.1546: 106.9 - 20 log d)."""
    for f_mhz in (95.3, 500.0, 3000.0):
        loss = units.free_space_loss_db(1000.0, f_mhz)
        assert units.field_strength_dbuv_per_m(loss, f_mhz) == pytest.approx(106.9, abs=0.02)
        assert units.loss_from_field_db(units.field_strength_dbuv_per_m(loss, f_mhz, 5.0), f_mhz, 5.0) == pytest.approx(loss, abs=1e-9)


def test_p1812_published_fields():
    """Eq. (70) of P.1812 on the reference implementation's own losses: 1 kW and the stated power."""
    with open(need_shared("standards/p1812_cases.csv"), encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            loss, f_mhz = float(row["lb_db"]), 1000.0 * float(row["f_ghz"])
            assert units.field_strength_dbuv_per_m(loss, f_mhz) == pytest.approx(float(row["e_dbuvm_1kw_erp"]), abs=1e-4)
            power = float(row["ptx_erp_kw"])
            assert units.field_strength_dbuv_per_m(loss, f_mhz, power) == pytest.approx(float(row["e_dbuvm_at_ptx"]), abs=1e-4)


def test_one_p1812_case_from_paper():
    """Case b2iseac_0: 95.3 MHz, loss 129.0969126 dB, 49.84494546 dBuV/m for 1 kW ERP."""
    assert units.field_strength_dbuv_per_m(129.0969126, 95.3) == pytest.approx(49.84494546, abs=1e-6)


def test_flux_constant():
    """Rec. ITU-R P.525-4: power flux density = E - 145.8 (rounded), 145.76 to two places."""
    assert units.power_flux_dbw_per_m2(0.0) == pytest.approx(-145.76, abs=0.005)
    assert units.field_from_flux_dbuv_per_m(units.power_flux_dbw_per_m2(47.3)) == pytest.approx(47.3, abs=1e-12)


def test_terminal_level_by_first_principles():
    """A half-wave dipole in a field E delivers (E lambda / pi)^2 / (4 x 73.13 ohm) to a matched load (Balanis, eq. 4-106 and 4-93)."""
    field_v_per_m, f_mhz = 1e-3, 600.0
    length = units.wavelength_m(f_mhz) / math.pi
    power_w = (field_v_per_m * length) ** 2 / (4.0 * 73.13)
    level = 20 * math.log10(math.sqrt(power_w * 75.0) * 1e6)
    assert units.field_strength_to_terminal_dbuv(60.0, f_mhz, units.dbd_to_dbi(0.0)) == pytest.approx(level, abs=0.01)


def test_terminal_level_constant():
    """The rule of thumb E - 20 log f + 31.5 + G_dBi at 75 ohm; the exact constant is 31.532."""
    assert units.field_strength_to_terminal_dbuv(60.0, 500.0, 12.0, 3.0) == pytest.approx(
        60 - 20 * math.log10(500) + 31.532 + 12 - 3, abs=0.001
    )
    assert units.terminal_dbuv_to_field_strength(40.0, 500.0, 12.0, 3.0) == pytest.approx(40 + 20 * math.log10(500) - 31.532 - 9, abs=0.001)


def test_planning_fields_of_fixed_reception():
    """Aperture, flux and field of the GE06 calculation: 54 rows worked apart from this program (they count a dipole as 10 log 1.64)."""
    with open(need_shared("standards/dtt_min_field_fixed.csv"), encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            gain_dbi, f_mhz = units.dbd_to_dbi(float(row["antenna_gain_dbd"])), float(row["f_mhz"])
            assert units.effective_area_dbm2(gain_dbi, f_mhz) == pytest.approx(float(row["aperture_dbm2"]), abs=0.01)
            assert units.field_from_flux_dbuv_per_m(float(row["pfd_min_dbw_m2"])) == pytest.approx(float(row["e_min_dbuv_m"]), abs=0.05)
            level = units.dbm_to_dbuv(units.dbw_to_dbm(float(row["ps_min_dbw"])))
            found = units.field_strength_to_terminal_dbuv(float(row["e_min_dbuv_m"]), f_mhz, gain_dbi, float(row["feeder_loss_db"]))
            assert found == pytest.approx(level, abs=0.05)
