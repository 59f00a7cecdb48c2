"""Units at the edges: round trips, spellings, and values that are exact by definition."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nuttery.records import read_quantity, shown, stored, told
from nuttery.records.units import UNITS

QUANTITIES = st.sampled_from(sorted(UNITS))
SYSTEMS = st.sampled_from(["metric", "US"])


@given(QUANTITIES, SYSTEMS, st.floats(-1e5, 1e5))
def test_a_value_shown_and_stored_again_is_the_same(quantity, system, value):
    again = stored(shown(value, quantity, system), quantity, system)
    assert again == pytest.approx(value, rel=1e-13, abs=1e-11)


@given(QUANTITIES, SYSTEMS, st.integers(-(10**6), 10**6))
def test_a_value_typed_with_the_unit_it_is_shown_in_is_the_same_as_without(quantity, system, k):
    symbol = UNITS[quantity][system].symbol
    assert read_quantity(f"{k / 100} {symbol}", quantity, system) == stored(
        k / 100, quantity, system
    )


@given(QUANTITIES, st.integers(-(10**6), 10**6))
def test_metric_values_are_stored_as_typed(quantity, k):
    typed = k / 100
    expected = float(f"{k}e-4") if quantity == "share" else typed
    assert stored(typed, quantity, "metric") == expected


@pytest.mark.parametrize(
    ("text", "quantity", "system", "value"),
    [
        # International yard and pound agreement of 1959; US liquid gallon of 231 cubic inches.
        ("1 in", "small length", "metric", 25.4),
        ("1.5 in", "small length", "metric", 38.1),
        ("1 ft", "length", "metric", 0.3048),
        ("1 lb", "mass", "metric", 0.45359237),
        ("16 oz", "mass", "metric", 0.45359237),
        ("1 oz", "small mass", "metric", 28.349523125),
        ("1 gal", "water", "metric", 3.785411784),
        ("-40 F", "temperature", "metric", -40.0),
        ("212 °F", "temperature", "metric", 100.0),
        ("1 mph", "speed", "metric", 0.44704),
        ("36 km/h", "speed", "metric", 10.0),
        ("57", "share", "US", 0.57),
        ("0.57 of one", "share", "US", 0.57),
        ("3,5", "small length", "metric", 3.5),
        ("\u22122.5", "temperature", "metric", -2.5),
        ("12 MM", "small length", "US", 12.0),
        ("2 pounds", "mass", "metric", 0.90718474),
        ("1400 g", "mass", "metric", 1.4),
        ("50", "temperature", "US", 10.0),
    ],
)
def test_quantities_are_read_with_the_unit_they_carry(text, quantity, system, value):
    assert read_quantity(text, quantity, system) == value


@pytest.mark.parametrize(
    ("text", "quantity", "message"),
    [
        ("much", "mass", "found 'much', expected a number in kg"),
        ("", "mass", "found '', expected a number in kg"),
        ("3 mm", "mass", "found the unit 'mm', expected a number in kg"),
        ("1 2", "mass", "found '1 2', expected a number in kg"),
        ("1,234.5", "mass", "found '1,234.5', expected a number in kg"),
        ("nan", "count", "found 'nan', expected a number in whole units"),
    ],
)
def test_what_is_no_quantity_is_refused(text, quantity, message):
    with pytest.raises(ValueError, match=message):
        read_quantity(text, quantity, "metric")


@pytest.mark.parametrize(
    ("value", "quantity", "system", "text"),
    [
        (0.84, "mass", "metric", "0.84 kg"),
        (0.84, "mass", "US", "1.85 lb"),
        (-0.001, "temperature", "metric", "0.0 °C"),
        (-2.5, "temperature", "US", "27.5 °F"),
        (0.355, "share", "metric", "36 %"),
        (4, "count", "metric", "4"),
    ],
)
def test_a_value_is_told_with_its_unit(value, quantity, system, text):
    assert told(value, quantity, system) == text
