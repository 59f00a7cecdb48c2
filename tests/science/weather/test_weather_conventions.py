"""Conventions that hold for everything public in the weather room."""

import inspect

import numpy as np
import pytest

from nuttery.science import weather

FUNCTIONS = [f for f in (getattr(weather, n) for n in weather.__all__) if inspect.isfunction(f)]


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda f: f.__name__)
def test_a_public_function_tells_source_range_limits_and_an_example(function):
    text = inspect.getdoc(function)
    for part in ("Parameters", "Returns", "Raises", "Source:", "Valid:", "Limits:", ">>> "):
        assert part in text, part


@pytest.mark.parametrize(
    "kind", ["constant", "equal", "always wet", "opposite days", "steady rise"]
)
def test_odd_records_still_make_finite_weather(kind):
    days = np.arange("2001-01-01", "2006-01-01", dtype="datetime64[D]")
    flat, even = np.zeros(days.size), np.arange(days.size) % 2 * 1.0
    low, high, rain = {
        "constant": (flat, flat + 10, flat),
        "equal": (flat, flat, flat),
        "always wet": (even, even + 20, even + 0.1),
        "opposite days": (5 * even, 5 * even + 8, even),
        "steady rise": (np.linspace(0, 40, days.size), np.linspace(0, 40, days.size) + 5, flat),
    }[kind]
    made = weather.WeatherMaker.fit(days, low, high, rain).make(20, np.random.default_rng(1))
    assert np.isfinite([made.tmin, made.tmax, made.rain]).all()
    assert (made.tmin <= made.tmax).all()
    assert made.tmin.mean() == pytest.approx(low.mean(), abs=2)
    assert made.tmax.mean() == pytest.approx(high.mean(), abs=2)
    assert (made.rain > 0).mean() == pytest.approx((rain > 0).mean(), abs=0.03)
