"""Conventions that hold for everything public in the rooms of science, found by introspection.

Every public function stands once in CALLS with one small call; a function that is missing there
fails the first test. The same calls then show that inputs are left as they were and that a gap in
any array is refused by name and place, unless the docstring says how gaps are treated.
"""

import copy
import importlib
import inspect
import re

import numpy as np
import pytest

from nuttery.reference import table
from nuttery.science import bloom, pollen, weather
from nuttery.science.weather import frost_dates, frost_thresholds

ROOMS = ("weather", "bloom", "pollen", "crop")
LONG_ON_PURPOSE = {  # the agreed interface has four or more that may be given by place
    "chill_hours", "day_length", "fit_drying", "growing_degree_days", "growing_degree_hours",
    "hourly_from_daily", "plan_picking", "pollen_cover",
}  # fmt: skip


def offered(room):
    module = importlib.import_module(f"nuttery.science.{room}")
    return [getattr(module, name) for name in module.__all__]


EVERYTHING = [(room, thing) for room in ROOMS for thing in offered(room)]
FUNCTIONS = [thing for _, thing in EVERYTHING if inspect.isfunction(thing)]
CLASSES = [thing for _, thing in EVERYTHING if inspect.isclass(thing)]


def own_methods(owner):
    """Public methods that take something, as functions; what takes nothing only tells a part."""
    for name, raw in vars(owner).items():
        function = raw.__func__ if isinstance(raw, classmethod | staticmethod) else raw
        if name.startswith("_") or not inspect.isfunction(function):
            continue
        if len(inspect.signature(function).parameters) > 1:
            yield function


METHODS = [(owner, method) for owner in CLASSES for method in own_methods(owner)]
TOLD = [pytest.param(f, f.__doc__, id=f.__name__) for f in FUNCTIONS] + [
    pytest.param(m, f"{owner.__doc__}\n{m.__doc__}", id=m.__qualname__) for owner, m in METHODS
]
CALLABLE = [pytest.param(told.values[0], id=told.id) for told in TOLD]


@pytest.mark.parametrize(("function", "text"), TOLD)
def test_a_public_function_tells_its_source_its_valid_range_and_an_example(function, text):
    assert inspect.getdoc(function), "no docstring"
    notes = text.partition("Notes\n")[2]
    for part in ("Source:", "Valid:"):
        assert part in notes, f"{part} is missing in Notes"
    assert re.search(r"Examples\n\s*-{8}\n.*>>> ", text, re.DOTALL), "no example"


@pytest.mark.parametrize("kind", CLASSES, ids=lambda kind: kind.__name__)
def test_a_public_class_says_what_it_is(kind):
    text = kind.__doc__ or ""
    assert text.strip(), "no docstring"
    assert not text.startswith(f"{kind.__name__}("), "the docstring that a dataclass makes itself"


@pytest.mark.parametrize("function", CALLABLE)
def test_a_public_function_is_fully_annotated(function):
    signature = inspect.signature(function)
    assert signature.return_annotation is not signature.empty
    bare = [n for n, p in signature.parameters.items() if p.annotation is p.empty]
    assert [n for n in bare if n not in {"self", "cls"}] == []


@pytest.mark.parametrize("function", CALLABLE)
def test_what_may_be_left_out_is_given_by_name_from_the_fourth_on(function):
    if function.__name__ in LONG_ON_PURPOSE:
        return
    parameters = [p for n, p in inspect.signature(function).parameters.items() if n != "self"]
    by_place = [p for p in parameters if p.kind is not p.KEYWORD_ONLY]
    assert [p.name for p in by_place[3:] if p.default is not p.empty] == []


@pytest.mark.parametrize("room", ROOMS)
def test_names_offered_are_sorted_and_exist(room):
    module = importlib.import_module(f"nuttery.science.{room}")
    assert module.__all__ == sorted(module.__all__, key=lambda n: (not n.isupper(), n))
    assert all(hasattr(module, name) for name in module.__all__)


DAYS = np.arange("2001-01-01", "2005-01-01", dtype="datetime64[D]")
SEASON = 8 - 14 * np.cos(2 * np.pi * (np.arange(DAYS.size) - 20) / 365.25)
COLD, WARM = SEASON - 5 + np.arange(DAYS.size) % 3, SEASON + 5.0
RAIN = np.arange(DAYS.size) % 4 * 1.0
THREE_DAYS = DAYS[:3].copy()
SPRINGS = np.tile(np.linspace(-5.0, 15.0, 150), (3, 1)) + np.array([[-1.0], [0.0], [1.0]])
SUMMERS = np.full((3, 300), 20.0)
CLOCK = bloom.Clock(
    base=3.0, start_doy=32.0, requirement=120.0, residual_sd=3.0, n_records=9, spread=0.1
)
BLOOM = ("catkin_60", "catkin_65", "catkin_69", "pistillate_out", "pistillate_withered")
DATES = bloom.StageDates(
    BLOOM, np.array([[[100.0], [104], [112], [98], [120]]], dtype=np.float32), 150
)
ORDER = pollen.Hierarchy({3: 3, 1: 2, 2: 1})
EVERYWHERE = pollen.PowerKernel()
PLACES = np.array([[0.0, 0.0], [0.0, 5.0], [5.0, 0.0]])
OUT = np.ones((3, 2))
ACCEPT = 1.0 - np.eye(3)
COVER = pollen.pollen_cover(PLACES, OUT, OUT, ACCEPT, np.ones(3), kernel=EVERYWHERE, half_dose=0.1)
NO_IDEA = {"mother": np.array([-1, 0, 0]), "father": np.array([-1, -1, 1])}
POSTERIOR = pollen.infer_genotypes(
    **NO_IDEA, alleles=[1, 2, 3], frequencies=[0.5, 0.3, 0.2], hierarchy=ORDER
)
LONG = np.arange("1990-01-01", "2005-01-01", dtype="datetime64[D]")
FROSTS = frost_dates(3 - 14 * np.cos(2 * np.pi * np.arange(LONG.size) / 365.25), LONG, 0.0)
SHEDDING = next(t for t in frost_thresholds() if t.stage == "shedding")


def rng():
    return np.random.default_rng(1)


CALLS = {
    # weather
    "chill_hours": {"temps": np.array([1.0, 5.0, 9.0])},
    "utah_units": {"temps": np.array([1.0, 5.0, 9.0])},
    "chill_portions": {"temps": np.array([1.0, 5.0, 9.0])},
    "continue_chill": {"temps": np.array([1.0, 5.0, 9.0]), "state": weather.ChillState()},
    "utah_start": {"units": np.array([-1.0, -2.0, -1.5])},
    "growing_degree_hours": {"temps": np.array([1.0, 5.0, 9.0])},
    "growing_degree_days": {
        "tmin": np.array([0.0, 1.0]), "tmax": np.array([10.0, 12.0]), "base": 5.0,
    },
    "daily_from_hourly": {
        "times": np.datetime64("2026-04-01T00") + np.arange(30), "temps": np.arange(30.0),
    },
    "hourly_from_daily": {
        "tmin": np.array([0.0, 1.0, 2.0]), "tmax": np.array([10.0, 12.0, 9.0]),
        "dates": THREE_DAYS, "latitude": 46.1,
    },
    "day_length": {"latitude": np.array([46.1, 40.0]), "day_of_year": np.array([80, 172])},
    "sun_times": {"latitude": 46.1, "longitude": -91.2, "dates": THREE_DAYS},
    "frost_dates": {
        "tmin": np.array([-1.0, 0.0, 1.0]), "dates": THREE_DAYS, "threshold": 0.0,
    },
    "frost_date_spread": {"frost": FROSTS},
    "frost_harm": {
        "organ": "catkin", "bbch": np.array([65.0, 65.0]), "night_min": np.array([-9.4, -4.0]),
        "night_sd": np.array([1.0, 1.0]),
    },
    "frost_night": {
        "stages": {"catkin": np.array([65.0])}, "night_min": np.array([-6.0]),
        "night_sd": np.array([1.0]),
    },
    "frost_season": {
        "organ": "shoot", "night_min": np.array([[-6.0, -1.0], [-6.0, 0.0]]),
        "begins": np.broadcast_to(
            np.array([0.0, 1.0, np.inf, np.inf])[:, None, None], (4, 2, 1)
        ).copy(),
    },
    "frost_thresholds": {"plants": "hybrid"},
    "learn_threshold": {
        "threshold": SHEDDING, "temps": np.array([-9.0, -12.0]), "shares": np.array([0.0, 0.6]),
    },
    "learn_thresholds": {
        "thresholds": frost_thresholds(), "organs": ["shoot"], "bbch": np.array([8.0]),
        "temps": np.array([-3.0]), "shares": np.array([0.9]),
    },
    "fill_gaps": {
        "dates": THREE_DAYS, "tmin": np.array([0.0, 1.0, 2.0]), "tmax": np.array([9.0, 9.0, 9.0]),
    },
    "station_offset": {"station": np.arange(6.0), "planting": np.arange(6.0) - 1.5},
    "fit_climate": {"dates": DAYS.copy(), "tmin": COLD, "tmax": WARM, "rain": RAIN},
    # bloom
    "bloom_windows": {"dates": DATES, "days": np.array([97, 102, 108])},
    "fit_clock": {
        "season_temps": SPRINGS, "seen": np.array([108.0, 101.0, 93.0]),
        "shrub": np.array([1, 2, 3]), "lot": np.array([0, 0, 1]),
    },
    "shrub_habits": {
        "clock": CLOCK, "season_temps": SPRINGS, "season": np.array([0, 1]),
        "seen": np.array([[100.0, 101.0], [90.0, 91.0]]), "shrub": np.array([5, 5]),
        "lot": np.array([0, 0]),
    },
    "prior_clock": {"stage": "leaf_11"},
    "window_dates": {
        "clocks": {"leaf_11": CLOCK}, "season_temps": SPRINGS, "shrub": np.array([1, 2]),
        "lot": np.array([0, 0]), "seen": np.array([[[-np.inf, np.inf]], [[-np.inf, np.inf]]]),
    },
    "fit_ripening": {
        "leaf_out": np.full(3, 130.0), "season_temps": SUMMERS,
        "tested": np.array([225.0, 229.0, 233.0]), "tried": np.array([4, 4, 4]),
        "rolled": np.array([0, 2, 4]), "shrub": np.array([1, 1, 1]),
    },
    "ripening_habits": {
        "ripening": bloom.prior_ripening(), "leaf_out": np.full(3, 130.0),
        "season_temps": SUMMERS, "tests": np.array([[225, 4, 0], [229, 4, 2], [233, 4, 4]]),
        "season": np.array([0, 0, 0]), "shrub": np.array([7, 7, 7]),
    },
    "prior_ripening": {},
    # pollen
    "assumed_half_dose": {"kernel": EVERYWHERE},
    "assurance": {
        "mother": (1, 2), "father": None, "hierarchy": ORDER, "k_max": 3, "alleles": [1, 2, 3],
        "frequencies": np.array([0.5, 0.3, 0.2]),
    },
    "assurance_among": {
        "classes": np.array([[0.25, 0.25, 0.5]]), "accepts": 1.0 - np.eye(3), "k_max": 2,
    },
    "check_levels": {
        "hierarchy": pollen.Hierarchy({1: 2, 5: 2, 2: 1}), "alleles": 3, "levels": 2,
        "with_s1": 2, "alone": (2,),
    },
    "choose_sites": {
        "cover": COVER, "places": np.array([[1.0, 1.0], [9.0, 9.0]]), "accepted": np.ones((3, 1)),
        "shed": np.ones((1, 2)), "catkins": np.array([1.0]), "k": 1,
    },
    "compatibility_range": {
        "seed_parent": (1, 2), "pollen_parent": (2, 3), "hierarchy": ORDER,
    },
    "cover_interval": {
        "xy": PLACES, "shed": np.stack([OUT, OUT]), "receptive": np.stack([OUT, OUT]),
        "compatibility": ACCEPT, "catkins": np.ones(3), "kernel": EVERYWHERE, "half_dose": 0.1,
    },
    "donors_needed": {"probability": 0.25, "assurance": 0.95},
    "every_nth": {"every_tree": 3, "every_row": 3, "spacing": 20.0},
    "expressed": {"genotype": (1, 2), "hierarchy": ORDER},
    "fall_speed": {"diameter_um": np.array([25.0, 30.0]), "density": np.array([900.0, 1000.0])},
    "fit_half_dose": {
        "dose": np.ones((2, 2)), "receptive": np.ones((2, 2)), "clusters": np.array([10, 12]),
        "took": np.array([4, 6]), "before": pollen.assumed_half_dose(EVERYWHERE),
    },
    "grain_diameter": {"speed": np.array([0.02, 0.03]), "density": np.array([900.0, 1000.0])},
    "infer_genotypes": {
        **NO_IDEA, "alleles": [1, 2, 3], "frequencies": np.array([0.5, 0.3, 0.2]),
        "hierarchy": ORDER, "known": {0: (1, 2)}, "clone_of": np.array([-1, -1, -1]),
        "crosses": [(0, 1, True)],
    },
    "is_compatible": {"seed_parent": (1, 2), "pollen_parent": (2, 3), "hierarchy": ORDER},
    "lay_out_lots": {
        "xy": PLACES, "counts": [2, 1], "accepted": np.array([[0.0, 1.0], [1.0, 0.0]]),
        "kernel": EVERYWHERE, "half_dose": 0.1, "rng": rng,
    },
    "loss_drill": {"cover": COVER},
    "natural_set_hints": {
        "posterior": POSTERIOR, "shrub": [0], "reach": np.array([[0.0, 1.0, 0.5]]),
        "clusters": np.array([20]), "took": np.array([12]), "half_dose": 0.5, "ceiling": 0.9,
    },
    "next_crosses": {
        "posterior": POSTERIOR, "candidates": [(0, 1), (1, 2)], "k": 1,
        "matters": ACCEPT, "rng": rng,
    },
    "offspring": {"mother": (1, 2), "father": (2, 3)},
    "pollen_cover": {
        "xy": PLACES, "shed": OUT, "receptive": OUT, "compatibility": ACCEPT,
        "catkins": np.ones(3), "kernel": EVERYWHERE, "half_dose": 0.1,
    },
    "published_hierarchy": {},
    "shortage": {"cover": COVER},
    "sibling_compatibility": {"mother": (1, 2), "father": (3, 2), "hierarchy": ORDER},
    "wind_rose": {
        "wind_from": np.array([0.0, 90.0]), "wind_speed": np.array([2.0, 1.0]),
        "weight": np.array([1.0, 2.0]),
    },
    # crop
    "against_reject_level": {"rejects": 11, "examined": 100, "form": "in shell"},
    "assumed_share": {"name": "crop.share.kernel_of_in_shell"},
    "biennial_index": {"crop": np.array([2.0, 0.5, 2.0])},
    "chance_of_verdicts": {"true_share": np.array([0.05, 0.1])},
    "describe_sample": {
        "nut_mass": np.array([2.0, 2.2, 1.8]), "kernel_mass": np.array([0.9, 0.0, 0.8]),
        "fill": np.array([3, 0, 3]), "defects": {"mouldy": np.array([False, False, True])},
    },
    "dry_to_wet_basis": {"m": np.array([0.1, 0.25])},
    "wet_to_dry_basis": {"m": np.array([0.1, 0.25])},
    "fill_bin": {"fill": np.array([0.0, 0.3, 0.9])},
    "fill_faults": {"bins": np.array([0, 1, 3]), "rules": "UNECE in shell"},
    "fit_drying": {
        "hours": np.array([0.0, 6.0, 12.0, 24.0, 36.0]), "dry_mass": 750.0, "equilibrium": 0.05,
        "mass": np.array([1000.0, 930.0, 895.0, 842.0, 815.0]),
    },
    "fit_next_crop": {
        "catkins": np.array([4.0, 9.0, 16.0, 25.0]), "buds": np.array([4.0, 9.0, 20.0, 25.0]),
        "crop": np.array([0.2, 0.4, 0.8, 1.2]), "size": np.array([1.0, 1.1, 1.3, 1.2]),
        "shrub": np.array([1, 1, 2, 2]), "year": np.array([2020, 2021, 2020, 2021]),
    },
    "grade": {"found": {"total": 5.0}, "rules": "UNECE kernels"},
    "in_shell_mass": {
        "mass": np.array([100.0, 90.0]), "state": "in shell", "condition": "fresh",
        "moisture_wb": np.array([0.25, 0.2]),
    },
    "jeffreys": {"hits": np.array([2, 3]), "examined": np.array([20, 20])},
    "wilson": {"hits": np.array([2, 3]), "examined": np.array([20, 20])},
    "known_rules": {"name": "US in shell"},
    "learn_loss": {
        "marked": np.array([40, 30]), "left": np.array([30, 26]), "days": np.array([3.0, 2.0]),
    },
    "learned_share": {
        "name": "crop.share.kernel_of_in_shell", "part": np.array([0.9, 1.1, 1.0]),
        "whole": np.array([2.0, 2.5, 2.2]),
    },
    "mass_at_moisture": {
        "mass": np.array([100.0, 90.0]), "from_wb": np.array([0.25, 0.2]),
        "to_wb": np.array([0.08, 0.08]),
    },
    "mean_interval": {"values": np.array([1.0, 2.0, 3.0])},
    "opening_mm": {"sixty_fourths": 56.0},
    "plan_picking": {
        "ripe_day": np.array([2.0, 3.0]), "ripe_sd": np.array([0.5, 0.5]),
        "spread_sd": np.array([1.0, 1.0]), "crop": np.array([1.0, 2.0]),
        "loss_per_day": np.array([0.1, 0.2]), "visit_minutes": np.array([5.0, 5.0]),
        "minutes_per_day": np.full(6, 5.0), "days": 6, "value_per_kg": 8.0,
        "cost_per_minute": 0.2,
    },
    "ratio_of_sums": {
        "part": np.array([0.9, 1.1, 1.0]), "whole": np.array([2.0, 2.5, 2.2]),
    },
    "rule_set": {"rows": [dict(row) for row in table("grading_unece_kernels")]},
    "sequential_look": {"rejects": 5, "examined": 100},
    "share_of_nuts": {"hits": 0, "examined": 20},
    "size_class": {"diameter_mm": np.array([22.3, 18.8]), "shape": "round"},
    "size_names": {"shape": "round"},
    "size_shares": {"diameter_mm": np.array([22.3, 18.8]), "shape": "round"},
    "top_share": {"crop": np.array([2.0, 1.0, 0.5]), "k": 1},
    "walk_length": {"xy": PLACES, "order": np.array([0, 2, 1])},
    "walking_order": {
        "xy": PLACES, "row": ["A", "A", "B"], "number": np.array([1, 2, 1]),
        "wanted": np.array([True, True, True]), "start": np.array([0.0, 0.0]),
    },
    "water_activity": {"kernel_wb": 0.05},
    "whole_nut_moisture": {
        "kernel_mass": np.array([40.0]), "kernel_wb": np.array([0.06]),
        "shell_mass": np.array([60.0]), "shell_wb": np.array([0.12]),
    },
}  # fmt: skip
CALLS["window_dates"]["rng"] = rng
# what a gap means there is said in the docstring, and tested beside the function
GAPS_HAVE_A_MEANING = {
    ("biennial_index", "crop"), ("daily_from_hourly", "temps"), ("describe_sample", "kernel_mass"),
    ("fill_gaps", "tmin"), ("fill_gaps", "tmax"), ("fit_climate", "tmin"), ("fit_climate", "tmax"),
    ("fit_climate", "rain"), ("frost_harm", "bbch"), ("frost_night", "stages"),
    ("frost_season", "begins"), ("in_shell_mass", "moisture_wb"), ("station_offset", "planting"),
    ("station_offset", "station"), ("wind_rose", "wind_from"), ("wind_rose", "wind_speed"),
}  # fmt: skip


def call(function, arguments):
    made = {k: v() if v is rng else v for k, v in arguments.items()}
    return function(**made)


def arrays_in(arguments):
    """Every array of a call with the name by which a message should call it."""
    for name, given in arguments.items():
        for inner in given.values() if isinstance(given, dict) else [given]:
            if isinstance(inner, np.ndarray):
                yield name, inner


def with_gap(arguments, name):
    """The same call with its last element of one array missing, and that element's place."""
    damaged = copy.deepcopy(arguments)
    given = damaged[name]
    inner = next(iter(given.values())) if isinstance(given, dict) else given
    hole = inner.astype(np.float64) if inner.dtype.kind in "iuf" else inner
    hole[tuple(np.array(hole.shape) - 1)] = (
        np.datetime64("NaT") if hole.dtype.kind == "M" else np.nan
    )
    if isinstance(given, dict):
        given[next(iter(given))] = hole
    else:
        damaged[name] = hole
    return damaged, ", ".join(str(n - 1) for n in hole.shape)


CALLED = [f for f in FUNCTIONS if f.__name__ in CALLS]


def test_every_public_function_has_its_example_call():
    names = {f.__name__ for f in FUNCTIONS}
    assert sorted(names - set(CALLS)) == [], "give each a small call in CALLS"
    assert sorted(set(CALLS) - names) == [], "no room offers these any more"


@pytest.mark.parametrize("function", CALLED, ids=lambda f: f.__name__)
def test_a_call_leaves_its_inputs_as_they_were(function):
    arguments = CALLS[function.__name__]
    before = copy.deepcopy([a for _, a in arrays_in(arguments)])
    call(function, arguments)
    for (name, now), then in zip(arrays_in(arguments), before, strict=True):
        np.testing.assert_array_equal(now, then, err_msg=name)


GAPS = [
    pytest.param(f, name, id=f"{f.__name__}-{name}")
    for f in CALLED
    for name in dict.fromkeys(
        name for name, a in arrays_in(CALLS[f.__name__]) if a.dtype.kind != "b"
    )
]


@pytest.mark.parametrize(("function", "name"), GAPS)
def test_a_gap_is_refused_by_name_and_place(function, name):
    damaged, place = with_gap(CALLS[function.__name__], name)
    if (function.__name__, name) in GAPS_HAVE_A_MEANING:
        assert "NaN" in function.__doc__, "the docstring does not say"
        call(function, damaged)
        return
    with pytest.raises(ValueError, match=rf"{name}.*\[{place}\].*: found (nan|NaT)"):
        call(function, damaged)
