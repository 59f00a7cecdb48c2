"""Stages, the thermal clock, each shrub's habits, windows and ripening."""

from nuttery.science.bloom.clock import Clock, Dates
from nuttery.science.bloom.fit import fit_clock
from nuttery.science.bloom.forecast import StageDates, window_dates
from nuttery.science.bloom.habits import ripening_habits, shrub_habits
from nuttery.science.bloom.prior import STAGES, prior_clock
from nuttery.science.bloom.ripening import Ripening, prior_ripening
from nuttery.science.bloom.roll_out import fit_ripening
from nuttery.science.bloom.windows import Windows, bloom_windows

__all__ = [
    "STAGES",
    "Clock",
    "Dates",
    "Ripening",
    "StageDates",
    "Windows",
    "bloom_windows",
    "fit_clock",
    "fit_ripening",
    "prior_clock",
    "prior_ripening",
    "ripening_habits",
    "shrub_habits",
    "window_dates",
]
