"""Every agreed function tells of a wrong input the argument, the place and the value found."""

import numpy as np
import pytest

from nuttery.science import bloom, canes, crop, pollen, weather

NAN = np.nan
DAYS = np.array(["2026-04-01", "2026-04-02", "2026-04-03"], dtype="datetime64[D]")
SPRINGS = np.tile(np.linspace(-5.0, 15.0, 150), (3, 1))
CLOCK = bloom.Clock(base=3.0, start_doy=32.0, requirement=120.0, residual_sd=3.0, n_records=9)
ORDER = pollen.Hierarchy({3: 3, 1: 2, 2: 1})
LETTERS = {"alleles": [1, 2, 3], "frequencies": [0.5, 0.3, 0.2], "hierarchy": ORDER}
DAY = np.ones((2, 1))
AIR = {"kernel": np.ones_like, "half_dose": 1.0}
PLACES = [[0.0, 0.0], [3.0, 4.0]]
STOOL, BEARING = [[0, 2, 2, 1]], [0.0, 0.0, 0.1, 0.2]
WORK = {
    "loss_per_day": 0.1, "visit_minutes": 5.0, "minutes_per_day": 60.0, "days": 5,
    "value_per_kg": 8.0, "cost_per_minute": 0.2,
}  # fmt: skip
HOURS, LOT = [0.0, 6.0, 12.0, 24.0], [1000.0, 930.0, 895.0, 842.0]


def holed(table, *place):
    damaged = np.array(table, dtype=np.float64)
    damaged[place] = NAN
    return damaged


def infer(mother, father, **more):
    return pollen.infer_genotypes(mother, father, **(LETTERS | more))


def cover(**wrong):
    parts = {
        "xy": PLACES, "shed": DAY, "receptive": DAY, "compatibility": np.ones((2, 2)),
        "catkins": [1.0, 1.0],
    }  # fmt: skip
    return pollen.pollen_cover(**(parts | AIR | wrong))


def renew(counts=STOOL, bearing=BEARING, years=3, **more):
    return canes.plan_renewal(
        counts, bearing, years, **({"target": 4, "suckers": 2, "max_age": 3} | more)
    )


def pick(ripe_day=(2.0, 3.0), ripe_sd=0.5, spread_sd=1.0, kg=(1.0, 2.0), **more):
    return crop.plan_picking(ripe_day, ripe_sd, spread_sd, kg, **(WORK | more))


WRONG = [
    # weather
    (lambda: weather.chill_hours([1, NAN]), r"temps\[1\]: found nan"),
    (lambda: weather.utah_units([1, 2, NAN]), r"temps\[2\]: found nan"),
    (lambda: weather.chill_portions([-120.0]), r"temps\[0\]: found -120"),
    (lambda: weather.growing_degree_hours([np.inf]), r"temps\[0\]: found inf"),
    (lambda: weather.growing_degree_days([9, 5], [10, 3], 5), r"tmin\[1\]: found 5"),
    (lambda: weather.hourly_from_daily([1] * 3, [9, 9, NAN], DAYS, 46), r"tmax\[2\]: found nan"),
    (lambda: weather.hourly_from_daily([1] * 3, [9] * 3, DAYS, 95), r"latitude: found 95"),
    (lambda: weather.day_length(46.1, [80, 400]), r"day_of_year\[1\]: found 400"),
    (lambda: weather.frost_dates([1, NAN, 1], DAYS, 0), r"tmin\[1\]: found nan"),
    (lambda: weather.frost_dates([1, 1, 1], DAYS[::-1], 0), r"dates\[1\]: found 2026-04-02"),
    (
        lambda: weather.WeatherMaker.fit(DAYS, [0] * 3, [1] * 3, [0, -2, 0]),
        r"rain\[1\]: found -2",
    ),
    # bloom
    (lambda: bloom.fit_clock(holed(SPRINGS, 1, 7), [99] * 3), r"season_temps\[1, 7\]: found nan"),
    (lambda: bloom.fit_clock(SPRINGS, [99, NAN, 98]), r"seen\[1(, \d)?\]: found nan"),
    (
        lambda: bloom.fit_clock(SPRINGS, [[99, 95], [90, 92], [90, 92]]),
        r"seen\[0, 0\]: found 99",
    ),
    (lambda: bloom.fit_clock(SPRINGS, [99] * 3, shrub=[1, 1.5, 2]), r"shrub\[1\]: found 1.5"),
    (lambda: CLOCK.predict(holed(SPRINGS, 2, 0)), r"season_temps\[2, 0\]: found nan"),
    (lambda: CLOCK.predict(SPRINGS, coverage=1.5), r"coverage: found 1.5"),
    # pollen
    (lambda: pollen.expressed((1, 2, 3), ORDER), r"genotype: found .*1, 2, 3"),
    (lambda: pollen.is_compatible((1,), (1, 2), ORDER), r"seed_parent: found .*1"),
    (lambda: pollen.sibling_compatibility((1, 2), (3,), ORDER), r"father: found .*3"),
    (lambda: pollen.donors_needed(1.5, 0.95), r"probability: found 1.5"),
    (lambda: pollen.donors_needed(0.25, 1.0), r"assurance: found 1"),
    (lambda: infer([-1, 5], [-1, -1]), r"mother\[1\]: found 5"),
    (lambda: infer([-1, -1], [-1, -7]), r"father\[1\]: found -7"),
    (lambda: infer([-1], [-1], frequencies=[0.5, 0.3, NAN]), r"frequencies\[2\]: found nan"),
    (lambda: infer([-1], [-1], known={3: (1, 2)}), r"known.*3"),
    (lambda: infer([-1, -1], [-1, -1], crosses=[(0, 9, True)]), r"crosses\[0\].*9"),
    (lambda: infer([-1], [-1], false_set=1.5), r"false_set: found 1.5"),
    (lambda: cover(xy=holed(PLACES, 1, 1)), r"xy\[1, 1\]: found nan"),
    (lambda: cover(shed=[[1.0], [1.2]]), r"shed\[1, 0\]: found 1.2"),
    (lambda: cover(receptive=[[-0.1], [1.0]]), r"receptive\[0, 0\]: found -0.1"),
    (lambda: cover(catkins=[1.0, -1.0]), r"catkins\[1\]: found -1"),
    (lambda: cover(compatibility=[[0, 2], [0, 0]]), r"compatibility\[0, 1\]: found 2"),
    (lambda: cover(half_dose=-1.0), r"half_dose: found -1"),
    # canes
    (lambda: renew(counts=[[0, 2, -1, 1]]), r"counts\[0, 2\]: found -1"),
    (lambda: renew(counts=[[0, 2, 1.5, 1]]), r"counts\[0, 2\]: found 1.5"),
    (lambda: renew(bearing=holed(BEARING, 3)), r"bearing\[3\]: found nan"),
    (lambda: renew(years=0), r"years: found 0"),
    (lambda: renew(max_share=1.5), r"max_share: found 1.5"),
    (lambda: renew(cuts_per_year=[1, -1, 1]), r"cuts_per_year\[1\]: found -1"),
    (lambda: canes.fit_bearing(STOOL * 2, [0.3, NAN]), r"crop\[1\]: found nan"),
    (lambda: canes.fit_bearing(STOOL, [0.3, 0.4]), r"crop.*2"),
    (
        lambda: canes.fit_cane_age([9.0, -3.0], ["smooth", "rough"], [1, 9]),
        r"diameter_mm\[1\]: found -3",
    ),
    (lambda: canes.fit_cane_age([9.0], ["shiny"], [1]), r"bark\[0\]: found shiny"),
    # crop
    (lambda: crop.wet_to_dry_basis([0.1, 1.0]), r"m\[1\]: found 1"),
    (lambda: crop.dry_to_wet_basis([-0.1]), r"m\[0\]: found -0.1"),
    (lambda: crop.mass_at_moisture([100.0], 0.2, [1.2]), r"to_wb\[0\]: found 1.2"),
    (lambda: crop.grade({"total": -1.0}, "UNECE kernels"), r"found\['total'\]: found -1"),
    (lambda: crop.grade({"total": 1.0}, "ours"), r"rules: found 'ours'"),
    (lambda: crop.size_class([20.0, -1.0], "round"), r"diameter_mm\[1\]: found -1"),
    (lambda: crop.size_class(20.0, "square"), r"shape: found 'square'"),
    (lambda: crop.size_names("square"), r"shape: found 'square', expected one of round, long"),
    (lambda: crop.fit_drying(HOURS, holed(LOT, 2), 750.0), r"mass\[2\]: found nan"),
    (lambda: crop.fit_drying([0, 6, 5, 24], LOT, 750.0), r"hours\[2\]: found 5"),
    (lambda: crop.fit_drying(HOURS, LOT, 750.0).hours_to(1.2), r"wet_basis: found 1.2"),
    (lambda: pick(ripe_day=[2.0, NAN]), r"ripe_day\[1\]: found nan"),
    (lambda: pick(kg=[1.0, -2.0]), r"crop\[1\]: found -2"),
    (lambda: pick(loss_per_day=[0.1, 1.5]), r"loss_per_day\[1\]: found 1.5"),
    (lambda: pick(minutes_per_day=[60, 60, -5, 60, 60]), r"minutes_per_day\[2\]: found -5"),
    (lambda: pick(days=0), r"days: found 0"),
]


@pytest.mark.parametrize(("call", "told"), WRONG, ids=lambda x: x if isinstance(x, str) else "")
def test_a_wrong_input_is_told_by_argument_place_and_value(call, told):
    with pytest.raises(ValueError, match=told):
        call()
