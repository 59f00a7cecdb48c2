"""The agreed interfaces of the science rooms: names, order and defaults, and what results carry.

A parameter may be added behind the agreed ones as long as it can be left out; none may be renamed,
moved or given another default.
"""

import inspect

import numpy as np
import pytest

from nuttery.science import bloom, canes, crop, pollen, weather
from nuttery.science.errors import UnknownDominance


def agreed(text):
    """Parameters as they were agreed: "a, b=1, *, c=None" → [(name, default, by name)]."""
    made = eval(f"lambda {text}: None")  # noqa: S307 - our own table below
    return [
        (p.name, p.default, p.kind is p.KEYWORD_ONLY)
        for p in inspect.signature(made).parameters.values()
    ]


FUNCTIONS = [
    (weather.chill_hours, "temps, low=0.0, high=7.2"),
    (weather.utah_units, "temps"),
    (weather.chill_portions, "temps"),
    (weather.growing_degree_hours, "temps, base=4.0, optimum=25.0, critical=36.0"),
    (weather.growing_degree_days, "tmin, tmax, base, upper=None, method='single_sine'"),
    (weather.hourly_from_daily, "tmin, tmax, dates, latitude"),
    (weather.day_length, "latitude, day_of_year, model='fao56'"),
    (weather.frost_dates, "tmin, dates, threshold"),
    (weather.WeatherMaker.fit, "dates, tmin, tmax, rain"),
    (weather.WeatherMaker.make, "self, n_years, rng"),
    (bloom.fit_clock, "season_temps, seen, *, shrub=None, first_doy=1"),
    (bloom.Clock.shrub_requirement, "self, label"),
    (bloom.Clock.predict, "self, season_temps, shrub=None, *, first_doy=1, coverage=0.8"),
    (pollen.Hierarchy, "levels"),
    (pollen.expressed, "genotype, hierarchy"),
    (pollen.is_compatible, "seed_parent, pollen_parent, hierarchy"),
    (pollen.sibling_compatibility, "mother, father, hierarchy"),
    (pollen.donors_needed, "probability, assurance"),
    (
        pollen.infer_genotypes,
        (
            "mother, father, *, alleles, frequencies, hierarchy, known=None, crosses=(),"
            " false_set=0.02, false_fail=0.1"
        ),
    ),
    (
        pollen.pollen_cover,
        "xy, shed, receptive, compatibility, catkins, *, kernel, half_dose",
    ),
    (pollen.PollenCover.share_of_donor, "self, i"),
    (
        canes.plan_renewal,
        (
            "counts, bearing, years, *, target, suckers=8, max_age=10, max_share=1/3, crowding=0.0,"
            " evenness=1.0, discount=1.0, overdue=None, cuts_per_year=None"
        ),
    ),
    (canes.fit_bearing, "counts, crop, *, shrub=None, year=None"),
    (canes.fit_cane_age, "diameter_mm, bark, age"),
    (canes.CaneAge.predict, "self, diameter_mm, bark"),
    (canes.project, "counts, policy, bearing, years, rng, draws"),
    (crop.wet_to_dry_basis, "m"),
    (crop.dry_to_wet_basis, "m"),
    (crop.mass_at_moisture, "mass, from_wb, to_wb"),
    (crop.size_class, "diameter_mm, shape"),
    (crop.fit_drying, "hours, mass, dry_mass, equilibrium=None"),
    (crop.DryingCurve.hours_to, "self, wet_basis"),
    (
        crop.plan_picking,
        (
            "ripe_day, ripe_sd, spread_sd, crop, *, loss_per_day, visit_minutes, minutes_per_day,"
            " days, value_per_kg, cost_per_minute"
        ),
    ),
]


@pytest.mark.parametrize(("function", "text"), FUNCTIONS, ids=lambda x: getattr(x, "__name__", ""))
def test_parameters_are_as_agreed(function, text):
    has = list(inspect.signature(function).parameters.values())
    for place, (name, default, by_name) in enumerate(agreed(text)):
        assert has[place].name == name or by_name, f"place {place}"
        found = inspect.signature(function).parameters[name]
        may_differ = function is canes.project and name == "draws"  # a default was added
        assert found.default == default or may_differ, f"{name}={found.default}"
        assert (found.kind is found.KEYWORD_ONLY) == by_name, name


@pytest.mark.parametrize(("function", "text"), FUNCTIONS, ids=lambda x: getattr(x, "__name__", ""))
def test_what_was_added_can_be_left_out(function, text):
    known = {name for name, _, _ in agreed(text)}
    added = [p for n, p in inspect.signature(function).parameters.items() if n not in known]
    assert [p.name for p in added if p.default is p.empty] == []


def carries(result, *names):
    missing = [name for name in names if not hasattr(result, name)]
    assert missing == []


DAYS = np.arange("2001-01-01", "2004-01-01", dtype="datetime64[D]")
COURSE = 8 - 14 * np.cos(2 * np.pi * np.arange(DAYS.size) / 365.25)


@pytest.mark.parametrize(
    "function",
    [
        weather.chill_hours,
        weather.utah_units,
        weather.chill_portions,
        weather.growing_degree_hours,
    ],
)
def test_running_totals_have_a_value_an_hour(function):
    assert function(np.full(30, 6.0)).shape == (30,)


@pytest.mark.parametrize(
    "method", ["average", "clipped_average", "single_triangle", "single_sine", "double_sine"]
)
def test_degree_days_by_each_method_have_a_value_a_day(method):
    found = weather.growing_degree_days([2.0, 6.0], [16.0, 16.0], 5.0, 30.0, method)
    assert found.shape == (2,)


def test_weather_results_carry_what_was_agreed():
    frost = weather.frost_dates(COURSE, DAYS, 0.0)
    carries(frost, "years", "last_spring", "first_autumn")
    assert frost.last_spring.dtype.kind == frost.first_autumn.dtype.kind == "M"
    hours = weather.hourly_from_daily([0.0, 1.0], [9.0, 9.0], DAYS[:2], 46.1)
    assert hours.shape == (2, 24)
    assert weather.day_length(46.1, [80], model="cbm").shape == (1,)
    fitted = weather.WeatherMaker.fit(DAYS, COURSE - 5, COURSE + 5, np.arange(DAYS.size) % 3)
    carries(fitted.make(1, np.random.default_rng(1)), "dates", "tmin", "tmax", "rain")


def test_bloom_results_carry_what_was_agreed():
    temps = np.tile(np.linspace(-5, 15, 150), (3, 1)) + np.array([[-1.0], [0.0], [1.0]])
    clock = bloom.fit_clock(temps, np.array([108, 101, 93]), shrub=np.array([1, 2, 3]))
    carries(clock, "base", "start_doy", "requirement", "residual_sd", "n_records")
    mean, sd = clock.shrub_requirement(1)
    assert mean > 0 < sd
    dates = clock.predict(temps, np.array([1, 2, 99]))
    for part in (dates.median, dates.low, dates.high):
        assert part.shape == (3,)


def test_pollen_results_carry_what_was_agreed():
    order = pollen.Hierarchy({3: 3, 1: 2, 2: 1})
    assert pollen.expressed((1, 3), order) == frozenset({3})
    with pytest.raises(UnknownDominance, match="9"):
        pollen.expressed((1, 9), order)
    assert isinstance(pollen.donors_needed(0.25, 0.95), int)
    found = pollen.infer_genotypes(
        [-1, 0], [-1, -1], alleles=[1, 2, 3], frequencies=[0.5, 0.3, 0.2], hierarchy=order
    )
    assert found.probability.shape == (2, len(found.pairs))
    assert np.diag(found.compatibility).tolist() == [0, 0]
    day = np.ones((2, 1))
    cover = pollen.pollen_cover(
        [[0, 0], [3, 4]], day, day, np.ones((2, 2)), [1, 3], kernel=np.ones_like, half_dose=1.0
    )
    assert (cover.dose.shape, cover.taken.shape, cover.cover.shape) == ((2, 1), (2, 1), (2,))
    assert cover.share_of_donor(0).tolist() == [0, 1]


def test_cane_results_carry_what_was_agreed():
    counts, bearing = np.array([[0, 4, 2, 1, 1]]), np.array([0.0, 0.0, 0.1, 0.2, 0.2])
    plan = canes.plan_renewal(counts, bearing, 3, target=4, suckers=2, max_age=4)
    assert plan.cut.shape == plan.kept.shape == (1, 3, 5)
    assert plan.crop.shape == (1, 3)
    carries(plan, "objective", "bound", "gap", "status")
    learned = canes.fit_bearing(np.tile(counts, (3, 1)), np.array([0.3, 0.4, 0.5]))
    carries(learned, "n_records")
    assert learned.mean.shape == learned.low.shape == learned.high.shape == (5,)
    looks = canes.fit_cane_age(
        np.array([8.0, 20.0, 35.0]), np.array(["smooth", "fading", "rough"]), np.array([1, 4, 9])
    )
    assert looks.predict(np.array([10.0]), np.array(["smooth"])).sum() == pytest.approx(1)
    outlook = canes.project(counts, canes.cut_nothing(5), bearing, 2, np.random.default_rng(1), 20)
    carries(outlook, "median", "low", "high")


def test_crop_results_carry_what_was_agreed():
    hours = np.array([0.0, 6.0, 12.0, 24.0, 36.0])
    lot = 750 * (1.05 + (1 / 3 - 0.05) * np.exp(-0.0566 * hours))
    assert crop.fit_drying(hours, lot, 750.0, 0.05).hours_to(0.08).median > 0
    plan = crop.plan_picking(
        [2.0, 3.0], 0.5, 1.0, [1.0, 2.0], loss_per_day=0.1, visit_minutes=5.0,
        minutes_per_day=5.0, days=8, value_per_kg=8.0, cost_per_minute=0.2,
    )  # fmt: skip
    assert plan.visits.shape == (2, 8)
    assert plan.visits.dtype == np.bool_
    assert plan.kg_picked.shape == plan.kg_lost.shape == (2,)
    carries(plan, "objective", "bound", "gap")
