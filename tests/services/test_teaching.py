"""What readings teach: nothing from noise, a bias where there is one, a field of residuals where there is one; never beyond its reach."""

import math

import numpy as np
import pytest

from siteplan.services.shared.teaching import REACH_M, binomial_band, blocks, correction, learn


def places(dice, count, side=4000.0):
    return dice.uniform(0, side, count), dice.uniform(0, side, count)


@pytest.mark.parametrize(("count", "sets", "fooled"), [(10, 60, 5), (20, 3, 1), (40, 2, 0)])
def test_pure_noise_teaches_nothing(count, sets, fooled):
    """Noise about a right prediction: in sets of 10 readings 12 of 400 were fooled, of 20 readings 8 of 400, of 40 none of 100."""
    used = []
    for seed in range(sets):
        dice = np.random.default_rng(1000 * count + seed)
        east, north = places(dice, count)
        lesson = learn(east, north, dice.normal(0.0, 6.0, count))
        used.append(lesson.used)
        assert lesson.used != "none" or lesson.why in ("learn_no_better", "learn_unsure")
    assert used.count("none") >= sets - fooled


def test_neighbours_are_one_witness():
    """Forty readings in three blocks, one of which is 9 dB off: the mean of all is, the land as a whole is not proved to be."""
    dice = np.random.default_rng(4)
    east = np.concatenate([dice.uniform(0, 200, 30), dice.uniform(2000, 2200, 5), dice.uniform(4000, 4200, 5)])
    off = np.concatenate([np.full(30, -9.0), np.full(10, 0.0)]) + dice.normal(0, 1.0, 40)
    lesson = learn(east, dice.uniform(0, 200, 40), off)
    assert lesson.used == "none" and lesson.bias_db < -5.0


def test_a_bias_is_found_and_told_with_its_error():
    dice = np.random.default_rng(12)
    east, north = places(dice, 40)
    lesson = learn(east, north, dice.normal(-3.0, 2.0, 40))
    assert lesson.used in ("bias", "spatial") and lesson.bias_db == pytest.approx(-3.0, abs=1.0)
    off, sigma, near = correction(lesson, 2000.0, 2000.0)
    assert off == pytest.approx(-3.0, abs=1.5) and sigma == pytest.approx(2.0, abs=1.0) and near > 8


def test_a_field_of_residuals_is_found_where_the_library_is():
    pytest.importorskip("sklearn", reason="extra teach not installed")
    dice = np.random.default_rng(13)
    east, north = places(dice, 90)
    truth = 5.0 * np.sin(east / 900.0) * np.cos(north / 900.0)
    lesson = learn(east, north, truth + dice.normal(0.0, 1.0, 90))
    assert lesson.used == "spatial"
    spatial = next(trial for trial in lesson.trials if trial.name == "spatial")
    bias = next(trial for trial in lesson.trials if trial.name == "bias")
    assert spatial.rmse_db < 0.8 * bias.rmse_db and spatial.honest


def test_few_readings_or_one_block_teach_nothing():
    assert learn([], [], []).why == "learn_too_few"
    assert learn([0.0] * 5, [0.0] * 5, [-3.0] * 5).why == "learn_too_few"
    assert learn(list(range(20)), [0.0] * 20, [-3.0] * 20).why == "learn_too_few"  # all in one block


def test_never_beyond_its_reach():
    dice = np.random.default_rng(14)
    east, north = places(dice, 40)
    lesson = learn(east, north, dice.normal(-5.0, 1.0, 40))
    off, sigma, near = correction(lesson, 4000.0 + REACH_M + 4000.0, 0.0)
    assert (off, near) == (0.0, 0) and math.isnan(sigma)


def test_blocks_keep_neighbours_together():
    x = np.array([[0.0, 0.0], [10.0, 10.0], [499.0, 499.0], [600.0, 0.0], [5000.0, 5000.0]])
    folds = blocks(x, 500.0)
    assert folds[0] == folds[1] == folds[2] and folds[4] != folds[0]


def test_binomial_band_by_hand():
    """n = 10, p = 0.8: P(5 or fewer) = 0.0328, P(4 or fewer) = 0.0064, P(10) = 0.107: 5 to 10."""
    assert binomial_band(10, 0.8) == (5, 10)
    assert binomial_band(60, 0.8) == (42, 54)


def test_readings_of_installations_are_shown_apart_in_words():
    """Twenty installations over 4 km read 5 dB low: an address among them is told, one far away is not."""
    from siteplan.records.readings import Compared, Expected, Reading
    from siteplan.services.outlets.learned import teach
    from siteplan.words import sentence

    dice = np.random.default_rng(15)
    compared = []
    for home in range(24):
        lat, lon = 47.5 + dice.uniform(0, 0.03), -9.5 + dice.uniform(0, 0.04)
        off = -5.0 + dice.normal(0, 1.0)
        for carrier in ("O1", "O2"):
            expected = Expected(
                f"H{home}", home, "", lat, lon, "satellite", "Oriel 25E", "outlet 1", carrier, "VL", 11000.0, 1250.0, 27.5, "DVB-S2",
                65.0, 3.0, 16.0, 1.0, 9.0, 47.0, 77.0, "EN",
            )  # fmt: skip
            compared.append(Compared(Reading("f", 1, f"H{home}", "Oriel 25E", carrier, "outlet 1"), expected, off, 0.0, 7.0, True))
    taught = teach(compared)
    near = taught.said("Oriel 25E", lat_deg=47.515, lon_deg=-9.48)
    assert near.code == "learned_lower" and near.values["off_db"] == pytest.approx(5.0, abs=1.0)
    assert "dB lower on average than predicted" in sentence(near)
    assert taught.said("Oriel 25E", lat_deg=48.5, lon_deg=-9.48) is None
    assert taught.said("Sula 10E", lat_deg=47.515, lon_deg=-9.48) is None
