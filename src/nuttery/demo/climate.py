"""Sorrel Bank's invented weather station: a cold continental climate, made with a fixed seed."""

import numpy as np

from nuttery.science.weather import MadeWeather, MonthlyClimate, WeatherMaker

LATITUDE, LONGITUDE, ELEVATION = 46.1, -91.2, 330.0

CLIMATE = MonthlyClimate.stated(
    tmin=[-16.0, -14.0, -7.5, -1.0, 5.0, 10.5, 13.3, 12.2, 7.6, 1.8, -5.0, -12.2],
    tmax=[-5.3, -2.6, 3.8, 12.0, 19.6, 24.6, 27.1, 26.0, 20.9, 13.0, 4.0, -3.0],
    spread=[5.5, 5.5, 5.0, 4.5, 4.2, 3.5, 3.0, 3.0, 3.6, 4.2, 4.8, 5.4],
    wet_share=[0.26, 0.23, 0.25, 0.28, 0.32, 0.33, 0.28, 0.28, 0.29, 0.28, 0.27, 0.27],
    rain=[22, 18, 36, 56, 78, 92, 84, 82, 76, 62, 40, 28],
)
"""Invented monthly figures, of the size usual at this latitude."""


def station_record(first_year: int, last_year: int, rng: np.random.Generator) -> MadeWeather:
    """Daily record of the invented station, °C and mm, whole years."""
    return WeatherMaker(CLIMATE).make(last_year - first_year + 1, rng, first_year=first_year)
