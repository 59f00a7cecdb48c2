"""Harm over a season against a plain loop over courses, shrubs and nights."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from nuttery.science.weather import frost_harm, frost_season, frost_thresholds

SHOOT = [t for t in frost_thresholds() if t.organ == "shoot"]


@pytest.fixture
def season():
    rng = np.random.default_rng(7)
    nights = rng.normal(-1, 3, (6, 40))
    tips = rng.uniform(5, 30, (6, 5))
    leaves = tips + rng.uniform(3, 12, (6, 5))
    begins = np.stack([np.zeros((6, 5)), tips, leaves, np.full((6, 5), np.inf)])
    return begins, nights


def drawn_by_hand(begins, nights, at_least, doubts):
    """Chance by drawing one doubt for a course and asking every night in turn: the oracle."""
    _, draws, shrubs = begins.shape
    harmed = np.zeros((draws, shrubs, doubts.size), bool)
    for draw in range(draws):
        for shrub in range(shrubs):
            for night, low in enumerate(nights[draw]):
                band = SHOOT[int((begins[:3, draw, shrub] <= night).sum()) - 1]
                killing = band.killing + band.spread * doubts
                lost = norm.cdf((killing - low) / band.width)
                harmed[draw, shrub] |= lost >= at_least
    return harmed.mean(axis=(0, 2))


def test_chance_is_that_of_asking_every_night(season):
    doubts = norm.ppf((np.arange(400) + 0.5) / 400)
    found = frost_season("shoot", *season, at_least=0.25)
    assert found.chance == pytest.approx(drawn_by_hand(*season, 0.25, doubts), abs=0.003)
    assert found.n_draws == 6


def test_a_single_night_is_that_of_frost_harm():
    begins = np.array([0.0, 0.0, 1.0, 1.0])[:, None, None]
    season = frost_season("shoot", begins, [[-3.1]], at_least=0.1)
    night = frost_harm("shoot", [8], -3.1, at_least=0.1)
    assert season.chance == pytest.approx(night.chance)
    assert season.share == pytest.approx(night.share)


def test_a_shrub_that_leafs_out_later_never_risks_more(season):
    begins, nights = season
    later = begins.copy()
    later[1:3] += 6
    assert (frost_season("shoot", later, nights).chance
            <= frost_season("shoot", begins, nights).chance + 1e-12).all()  # fmt: skip


def test_a_stage_that_is_not_reached_risks_nothing(season):
    _, nights = season
    begins = np.full((4, 6, 2), np.nan)
    assert frost_season("shoot", begins, nights).chance.tolist() == [0, 0]


def test_hardier_thresholds_risk_less(season):
    hardy = [replace(t, killing=t.killing - 3) for t in SHOOT]
    plain = frost_season("shoot", *season).share
    assert (frost_season("shoot", *season, thresholds=hardy).share < plain).all()


def test_wrong_season_arguments_are_told(season):
    begins, nights = season
    with pytest.raises(ValueError, match=r"found shape \(3, 6, 5\), expected \(4, 6, shrubs\)"):
        frost_season("shoot", begins[1:], nights)
    with pytest.raises(ValueError, match="found 'leaf', expected one of catkin"):
        frost_season("leaf", begins, nights)
    with pytest.raises(ValueError, match="found none for catkin, expected one or more"):
        frost_season("catkin", begins, nights, thresholds=SHOOT)
    with pytest.raises(ValueError, match="at_least: found 0, expected between 0 and 1"):
        frost_season("shoot", begins, nights, at_least=0)
