import numpy as np
import pytest

from nuttery.science.crop import fit_next_crop


def records(rng, shrubs=20, years=6):
    shrub = np.repeat(np.arange(shrubs), years)
    year = np.tile(np.arange(years), shrubs)
    size = np.clip(rng.uniform(1, 6, shrubs)[shrub] + year, 0, 10)
    crop = (0.3 * np.sqrt(size) + 0.02 * rng.normal(size=shrub.size)) ** 2
    return shrub, year, size, crop


def test_crops_follow_size_where_nothing_was_counted():
    shrub, year, size, crop = records(np.random.default_rng(1))
    nothing = np.zeros(len(crop))
    fit = fit_next_crop(nothing, nothing, crop, size=size, shrub=shrub, year=year)
    told = fit.predict([0.0, 0.0], [0.0, 0.0], size=[2.0, 8.0])
    assert told.median == pytest.approx([0.09 * 2, 0.09 * 8], rel=0.1)


def test_size_beside_counts_gives_the_plain_regression():
    # with all effects loose the fit is ordinary least squares on square roots
    rng = np.random.default_rng(2)
    buds, catkins, size = (rng.uniform(1, 50, 200) for _ in range(3))
    crop = (0.1 + 0.05 * np.sqrt(buds) + 0.02 * np.sqrt(catkins) + 0.1 * np.sqrt(size)) ** 2
    fit = fit_next_crop(catkins, buds, crop, size=size)
    told = fit.predict([9.0], [16.0], size=[25.0])
    assert told.median == pytest.approx([(0.1 + 0.2 + 0.06 + 0.5) ** 2], rel=0.01)


def test_sizes_are_given_to_both_or_to_neither():
    shrub, _, size, crop = records(np.random.default_rng(3))
    nothing = np.zeros(len(crop))
    with_size = fit_next_crop(nothing, nothing, crop, size=size, shrub=shrub)
    with pytest.raises(ValueError, match="found none, expected them as in the records"):
        with_size.predict([0.0], [0.0])
    without = fit_next_crop(nothing, nothing, crop, shrub=shrub)
    with pytest.raises(ValueError, match="found some, expected them as in the records"):
        without.predict([0.0], [0.0], size=[3.0])
    with pytest.raises(ValueError, match=r"size\[0\]: found -1.0, expected 0"):
        fit_next_crop(nothing[:4], nothing[:4], crop[:4], size=[-1.0, 1.0, 1.0, 1.0])
