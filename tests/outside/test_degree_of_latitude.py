"""Lengths of a degree on the WGS 84 ellipsoid.

Source: series for the length of a degree of latitude and of longitude in the American Practical
Navigator (NGA Pub. 9, 2002 edition, chapter on the earth), as used by NGA's length-of-a-degree
calculator; coefficients from memory, rounded as printed there to 0.01 m and less.
"""

import math

import pytest

from nuttery.exchange.places import position


def metres_in_a_degree(latitude):
    p = math.radians(latitude)
    of_latitude = (
        111132.92 - 559.82 * math.cos(2 * p) + 1.175 * math.cos(4 * p) - 0.0023 * math.cos(6 * p)
    )
    of_longitude = 111412.84 * math.cos(p) - 93.5 * math.cos(3 * p) + 0.118 * math.cos(5 * p)
    return of_latitude, of_longitude


@pytest.mark.parametrize("latitude", [0.0, 30.0, 46.1, 60.0])
def test_a_hundred_metres_are_the_share_of_a_degree_that_they_should_be(latitude):
    of_latitude, of_longitude = metres_in_a_degree(latitude)
    east, _ = position(100.0, 0.0, latitude, 0.0)
    _, north = position(0.0, 100.0, latitude, 0.0)
    assert east * of_longitude == pytest.approx(100.0, abs=0.002)
    assert (north - latitude) * of_latitude == pytest.approx(100.0, abs=0.002)
