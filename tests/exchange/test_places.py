"""The planting as GeoJSON."""

import json
import math
from types import SimpleNamespace as Shrub

import pytest

from nuttery.exchange import planting_geojson
from nuttery.exchange.places import position

A, F = 6378137.0, 1 / 298.257223563


def on_the_ellipsoid(latitude, longitude):
    """Place in metres from the middle of the earth (x, y, z)."""
    e2 = F * (2 - F)
    phi, lam = math.radians(latitude), math.radians(longitude)
    n = A / math.sqrt(1 - e2 * math.sin(phi) ** 2)
    return (
        n * math.cos(phi) * math.cos(lam),
        n * math.cos(phi) * math.sin(lam),
        n * (1 - e2) * math.sin(phi),
    )


@pytest.mark.parametrize(("x", "y"), [(100, 0), (0, 100), (-300, 400), (500, -500), (0, -1000)])
@pytest.mark.parametrize("latitude", [-60.0, 0.0, 46.1, 65.0])
def test_distances_on_the_ellipsoid_are_those_of_the_planting(x, y, latitude):
    longitude, there = position(x, y, latitude, -91.2)
    found = math.dist(on_the_ellipsoid(latitude, -91.2), on_the_ellipsoid(there, longitude))
    assert found == pytest.approx(math.hypot(x, y), abs=0.1)


def test_directions_are_those_of_the_planting():
    # East and north on the tangent plane at the origin, by the usual rotation.
    latitude, longitude = 46.1, -91.2
    origin = on_the_ellipsoid(latitude, longitude)
    lon, lat = position(300.0, -200.0, latitude, longitude)
    d = [b - a for a, b in zip(origin, on_the_ellipsoid(lat, lon), strict=True)]
    phi, lam = math.radians(latitude), math.radians(longitude)
    east = -math.sin(lam) * d[0] + math.cos(lam) * d[1]
    north = (
        -math.sin(phi) * math.cos(lam) * d[0]
        - math.sin(phi) * math.sin(lam) * d[1]
        + math.cos(phi) * d[2]
    )
    assert (east, north) == pytest.approx((300.0, -200.0), abs=0.02)


def test_shrubs_are_points_with_what_is_known_of_them():
    shrubs = [
        Shrub(tag="A1", x=1.5, y=2.0, row=1, number=2, seed_lot="L13", copy_of=None),
        Shrub(tag="A2", x=None, y=None, row=1),
    ]
    made = json.loads(json.dumps(planting_geojson(shrubs, 46.1, -91.2)))
    first, second = made["features"]
    assert made["type"] == "FeatureCollection"
    assert first["id"] == "A1"
    assert first["properties"] == {"tag": "A1", "row": 1, "number": 2, "seed_lot": "L13"}
    assert first["geometry"]["type"] == "Point"
    assert first["geometry"]["coordinates"] == pytest.approx([-91.19998, 46.100018], abs=1e-6)
    assert second["geometry"] is None
    assert second["properties"] == {"tag": "A2", "row": 1}


def test_a_planting_across_the_date_line_stays_within_180_degrees():
    longitude, _ = position(1000.0, 0.0, 10.0, 179.999)
    assert -180 <= longitude < -179.9


@pytest.mark.parametrize(
    ("latitude", "longitude", "told"),
    [
        (91.0, 0.0, "latitude: found 91.0, expected -89.9 to 89.9"),
        (float("nan"), 0.0, "latitude: found nan, expected -89.9 to 89.9"),
        (46.1, 191.2, "longitude: found 191.2, expected -180 to 180"),
    ],
)
def test_an_origin_that_is_no_place_is_refused(latitude, longitude, told):
    with pytest.raises(ValueError, match=told):
        planting_geojson([], latitude, longitude)
