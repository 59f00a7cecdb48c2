"""Harm by frost: closed forms against drawn nights, and thresholds learned from notes."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from nuttery.science.weather import (
    frost_harm,
    frost_night,
    frost_thresholds,
    learn_threshold,
    learn_thresholds,
)

SHEDDING = next(t for t in frost_thresholds() if t.stage == "shedding")
GREEN = next(t for t in frost_thresholds() if t.stage == "green tips")


@pytest.mark.parametrize(("low", "doubt"), [(-8.0, 0.0), (-9.4, 1.5), (-12.0, 2.0)])
def test_chance_and_share_are_those_of_drawn_nights(low, doubt):
    rng = np.random.default_rng(1)
    killing = rng.normal(SHEDDING.killing, SHEDDING.spread, 400_000)
    night = rng.normal(low, doubt, killing.size)
    lost = norm.cdf((killing - night) / SHEDDING.width)
    harm = frost_harm("catkin", [62], low, night_sd=doubt, at_least=0.25)
    assert harm.share[0] == pytest.approx(lost.mean(), abs=0.003)
    assert harm.chance[0] == pytest.approx((lost >= 0.25).mean(), abs=0.003)
    ends = np.quantile(lost, [0.1, 0.9])
    assert (harm.share_low[0], harm.share_high[0]) == pytest.approx(ends, abs=0.005)


def test_catkins_and_shoots_are_kept_apart():
    night = frost_night({"catkin": [65, 69], "shoot": [0, 11]}, -6.0)
    assert set(night) == {"catkin", "shoot"}
    assert night["catkin"].share[1] == 0
    assert night["shoot"].share[0] < 1e-6
    assert night["shoot"].share[1] > 0.8


def test_a_colder_night_never_harms_less():
    lows = np.arange(-45.0, 3.0, 0.5)
    for organ, stage in (("catkin", 55), ("pistillate flower", 62), ("shoot", 10)):
        share = frost_harm(organ, stage, lows).share
        assert (np.diff(share) <= 0).all()


def test_where_nothing_is_known_nothing_is_claimed():
    harm = frost_harm("pistillate flower", [75, np.nan], -5.0)
    assert np.isnan(harm.chance).all()
    assert np.isnan(harm.share_low).all()
    assert harm.level.tolist() == ["", ""]
    assert harm.threshold.tolist() == [-1, -1]


def test_a_threshold_can_be_replaced():
    tender = replace(GREEN, killing=-2.0)
    harm = frost_harm("shoot", [8], -2.0, thresholds=[tender])
    assert harm.share[0] == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: frost_harm("root", [1], -2), "found 'root', expected one of catkin, pistillate"),
        (lambda: frost_harm("shoot", [100], -2), r"bbch\[0\]: found 100.0, expected 0 to 99"),
        (lambda: frost_harm("shoot", [9], np.nan), "night_min: found nan"),
        (lambda: frost_harm("shoot", [9], -2, night_sd=-1), "night_sd: found -1.0, expected 0"),
        (lambda: frost_harm("shoot", [9], -2, at_least=1), "found 1, expected between 0 and 1"),
        (lambda: frost_thresholds("oak"), "found 'oak', expected one of hybrid, avellana"),
        (lambda: learn_threshold(GREEN, [-2], [1.5]), r"shares\[0\]: found 1.5, expected 0 to 1"),
        (lambda: learn_threshold(GREEN, [-2], [1, 1]), "found temps 1, shares 2"),
        (lambda: learn_threshold(GREEN, [-2], [1], weight=0), "found 1, 0, expected 0 or more"),
    ],
)
def test_wrong_frost_arguments_are_told(call, told):
    with pytest.raises(ValueError, match=told):
        call()


def test_no_notes_leave_a_threshold_as_it_was():
    assert learn_threshold(GREEN, [], []) is GREEN


def test_one_note_moves_a_threshold_towards_what_was_seen():
    hardy = learn_threshold(SHEDDING, [-12.0], [0.0])
    tender = learn_threshold(SHEDDING, [-7.0], [1.0])
    assert hardy.killing < SHEDDING.killing - 0.3
    assert tender.killing > SHEDDING.killing + 0.3
    assert (hardy.n_records, tender.n_records) == (1, 1)
    assert hardy.watch - hardy.killing == pytest.approx(SHEDDING.watch - SHEDDING.killing)


@pytest.mark.parametrize("notes", [1, 25])
def test_a_learned_threshold_is_the_mean_over_everything_unknown(notes):
    """One night by brute force over killing temperature, width and error of the reading."""
    killing = np.linspace(-18, 0, 301)[:, None, None]
    log_width = np.linspace(-1.2, 1.2, 61)[:, None]
    error = np.linspace(-4, 4, 61)
    prior = norm.pdf(killing, SHEDDING.killing, SHEDDING.spread)
    prior = prior * norm.pdf(log_width, 0, np.log(1.6)) * norm.pdf(error, 0, 1)
    score = (killing + 11.0 + error) / (SHEDDING.width * np.exp(log_width))
    joint = prior * (norm.cdf(score) ** 0.3 * norm.sf(score) ** 0.7) ** (4 * notes)
    mean = (joint * killing).sum() / joint.sum()
    spread = np.sqrt((joint * (killing - mean) ** 2).sum() / joint.sum())
    learned = learn_threshold(SHEDDING, [-11.0], [0.3], notes=[notes], temp_sd=1.0, weight=4)
    assert learned.killing == pytest.approx(mean, abs=0.03)
    assert learned.spread == pytest.approx(spread, abs=0.03)


@pytest.mark.parametrize("notes", [1, 6])
def test_intervals_of_learned_thresholds_hold_as_often_as_they_say(notes):
    """Plantings drawn from the prior; readings 1 °C off, four organs looked at in each note."""
    rng = np.random.default_rng(4)
    held = []
    for _ in range(150):
        true = rng.normal(GREEN.killing, GREEN.spread)
        width = GREEN.width * np.exp(rng.normal(0, np.log(1.6)))
        night = rng.uniform(-7, -1, notes)
        shares = rng.binomial(4, norm.cdf((true - night) / width)) / 4
        learned = learn_threshold(GREEN, night + rng.normal(0, 1, notes), shares)
        held.append(learned.low <= true <= learned.high)
    # Four standard errors of a share of 0.8 in 150 are 0.13; measured in 600: 0.81 to 0.83.
    assert 0.7 <= np.mean(held) <= 0.9


def test_many_notes_of_one_night_share_the_error_of_its_reading():
    band = [GREEN]
    shares = [0.2, 0.4, 0.3, 0.5]
    alike = (["shoot"] * 4, [8] * 4, [-3.0] * 4, shares)
    one_night = learn_thresholds(band, *alike, nights=["2026-05-02"] * 4)[0]
    four_nights = learn_thresholds(band, *alike)[0]
    assert (one_night.n_records, four_nights.n_records) == (4, 4)
    assert one_night.spread > 1.2 * four_nights.spread


def test_intervals_hold_when_many_shrubs_were_looked_at_in_each_night():
    """Plantings drawn from the prior, two nights read 1 °C off; after Finney 1971, Probit."""
    rng, shrubs = np.random.default_rng(6), 40
    held = []
    for _ in range(40):
        true = rng.normal(GREEN.killing, GREEN.spread)
        width = GREEN.width * np.exp(rng.normal(0, np.log(1.6)))
        night = rng.uniform(-7, -1, 2)
        shares = rng.binomial(4 * shrubs, norm.cdf((true - night) / width)) / (4 * shrubs)
        told = learn_threshold(GREEN, night + rng.normal(0, 1, 2), shares, notes=[shrubs] * 2)
        held.append(told.low <= true <= told.high)
    # Three standard errors of a share of 0.8 in 40 are 0.19.
    assert 0.61 <= np.mean(held) <= 0.99


def test_notes_move_only_the_band_of_their_organ_and_stage():
    before = frost_thresholds()
    after = learn_thresholds(before, ["catkin", "shoot"], [65, 9], [-9.0, -3.0], [0.5, 0.1])
    moved = [b.stage for a, b in zip(before, after, strict=True) if a != b]
    assert moved == ["shedding", "green tips"]
    assert all(t.certainty == "learned" for t in after if t.n_records)
