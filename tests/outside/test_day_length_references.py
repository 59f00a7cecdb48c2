"""Day length against printed examples, almanac times and two general libraries.

Allen et al. 1998 (FAO-56): 20° S, 3 September, 11.7 h; NCL documentation: 11.66559 h.
NREL Solar Position Algorithm (Reda & Andreas 2004, Golden, Colorado) and US Naval Observatory
sunrise and sunset times.
astral 3.2 and pvlib: independent programs, run here.
"""

from datetime import UTC, date, timedelta

import numpy as np
import pytest

from nuttery.science.weather import day_length


def test_fao56_prints_11_7_hours_at_20_degrees_south_on_3_september():
    assert day_length(-20.0, [246]) == pytest.approx([11.7], abs=0.05)
    assert day_length(-20.0, [246]) == pytest.approx([11.66559], abs=0.000005)


def test_fao56_at_40_degrees_north_on_the_solstices():
    assert day_length(40.0, [172, 355]) == pytest.approx([14.8437, 9.1564], abs=0.00005)


# Derived from Forsythe et al. 1995, p = 0.8333.
@pytest.mark.parametrize(
    ("latitude", "day", "hours"),
    [(40, 1, 9.3757), (40, 80, 12.1358), (40, 172, 15.0160), (40, 355, 9.3242), (0, 80, 12.1111)],
)
def test_cbm_follows_its_formula(latitude, day, hours):
    assert day_length(latitude, [day], model="cbm") == pytest.approx([hours], abs=0.00005)


# The algorithm prints 07:21:55 to 16:47:43 and 05:00:27 to 19:13:58 mountain standard time.
@pytest.mark.parametrize(("day", "hours"), [(2, 9.430), (214, 14.225)])
def test_cbm_meets_the_solar_position_algorithm_within_2_minutes(day, hours):
    assert day_length(39.742476, [day], model="cbm") == pytest.approx([hours], abs=0.03)


# US Naval Observatory, 39° N: 07:19/16:49, 05:43/18:24, 05:01/19:10, 07:01/16:38.
@pytest.mark.parametrize(("day", "hours"), [(2, 9.500), (92, 12.683), (214, 14.150), (336, 9.617)])
def test_cbm_meets_naval_observatory_times_within_3_minutes(day, hours):
    assert day_length(39.0, [day], model="cbm") == pytest.approx([hours], abs=0.05)


# Forsythe et al. give under 1 minute for the equator, and errors that grow with latitude.
@pytest.mark.parametrize(
    ("latitude", "within"), [(-33.0, 0.06), (0.0, 0.01), (46.1, 0.09), (60.0, 0.15)]
)
def test_cbm_meets_astral_all_year(latitude, within):
    from astral import Observer
    from astral.sun import sun

    days = np.arange(1, 366, 7)
    place = Observer(latitude, 0.0)
    found = []
    for day in days:
        times = sun(place, date(2025, 1, 1) + timedelta(int(day) - 1), tzinfo=UTC)
        found.append((times["sunset"] - times["sunrise"]).total_seconds() / 3600)
    assert day_length(latitude, days, model="cbm") == pytest.approx(found, abs=within)


# FAO-56 has one sine for the declination: up to 0.9° off in autumn, which these bounds show.
@pytest.mark.parametrize(
    ("latitude", "within"), [(-33.0, 0.15), (10.0, 0.04), (46.1, 0.22), (60.0, 0.37)]
)
def test_fao56_meets_the_declination_of_pvlib_all_year(latitude, within):
    """Spencer's declination as pvlib has it, put into the same sunset hour angle."""
    from pvlib.solarposition import declination_spencer71

    days = np.arange(1, 366)
    declination = declination_spencer71(days)
    hours = 24 / np.pi * np.arccos(-np.tan(np.radians(latitude)) * np.tan(declination))
    assert day_length(latitude, days) == pytest.approx(hours, abs=within)
