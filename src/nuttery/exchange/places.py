"""The planting as GeoJSON, from metres east and north of its origin."""

import math
from collections.abc import Iterable, Sequence
from typing import Any, Protocol

from nuttery.exchange.answers import plain_value

_EQUATORIAL_RADIUS = 6378137.0  # m, WGS 84
_FLATTENING = 1 / 298.257223563  # WGS 84
_TOLD = ("row", "number", "seed_lot", "copy_of", "came_from", "planted", "lost")


class Placed(Protocol):
    """Anything with a tag and a place in metres, None where it is not known."""

    @property
    def tag(self) -> str:
        """Tag of the shrub."""

    @property
    def x(self) -> float | None:
        """Metres east of the origin."""

    @property
    def y(self) -> float | None:
        """Metres north of the origin."""


def planting_geojson(
    shrubs: Iterable[Placed],
    latitude: float,
    longitude: float,
    *,
    properties: Sequence[str] = _TOLD,
) -> dict[str, Any]:
    """Shrubs as a GeoJSON feature collection.

    Parameters
    ----------
    shrubs : with tag, x and y (m), and any of the properties as attributes
    latitude, longitude : of the origin, degrees north and east (WGS 84)
    properties : attributes to tell where a shrub has them; the tag is always told

    Returns
    -------
    dict, to be written with `json.dumps`; a shrub without a place has no geometry

    Raises
    ------
    ValueError
        If the origin is no place on earth, or within 0.1° of a pole.

    Notes
    -----
    Source: RFC 7946 (Butler et al. 2016); radii of curvature of the WGS 84 ellipsoid
            (NGA.STND.0036, 2014).
    Valid:  plantings up to a few kilometres across.
    Limits: the earth is taken as flat around the origin; 1 km away that is under 0.1 m wrong
            at 46° N.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> shrub = SimpleNamespace(tag="A1", x=0.0, y=100.0, row=1)
    >>> planting_geojson([shrub], 46.1, -91.2)["features"][0]["geometry"]["coordinates"]
    [-91.2, 46.10089966]
    """
    if not abs(latitude) <= 89.9:
        raise ValueError(f"latitude: found {latitude}, expected -89.9 to 89.9 degrees north")
    if not abs(longitude) <= 180:
        raise ValueError(f"longitude: found {longitude}, expected -180 to 180 degrees east")
    features = [_feature(shrub, latitude, longitude, properties) for shrub in shrubs]
    return {"type": "FeatureCollection", "features": features}


def _feature(
    shrub: Placed, latitude: float, longitude: float, properties: Sequence[str]
) -> dict[str, Any]:
    told = {name: plain_value(getattr(shrub, name, None)) for name in properties}
    known = {
        n: v if isinstance(v, bool | int | float) else str(v)
        for n, v in told.items()
        if v is not None
    }
    geometry = None
    if shrub.x is not None and shrub.y is not None:
        place = position(float(shrub.x), float(shrub.y), latitude, longitude)
        geometry = {"type": "Point", "coordinates": [round(v, 8) for v in place]}
    return {
        "type": "Feature",
        "id": shrub.tag,
        "geometry": geometry,
        "properties": {"tag": shrub.tag, **known},
    }


def position(x: float, y: float, latitude: float, longitude: float) -> tuple[float, float]:
    """Longitude and latitude (degrees) of a place x metres east and y metres north of an origin.

    Notes
    -----
    Source: WGS 84 ellipsoid; y along the meridian of the origin, then x along the parallel.
    """
    squared = _FLATTENING * (2 - _FLATTENING)  # eccentricity, squared
    bulge = 1 - squared * math.sin(math.radians(latitude)) ** 2
    north = latitude + math.degrees(y / (_EQUATORIAL_RADIUS * (1 - squared) / bulge**1.5))
    across = _EQUATORIAL_RADIUS / math.sqrt(1 - squared * math.sin(math.radians(north)) ** 2)
    east = longitude + math.degrees(x / (across * math.cos(math.radians(north))))
    return (east + 180) % 360 - 180 if abs(east) > 180 else east, north
