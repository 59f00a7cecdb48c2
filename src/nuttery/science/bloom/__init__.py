"""Stages, the thermal clock, each shrub's habits, windows and ripening."""

from nuttery.science.bloom.clock import Clock, Dates
from nuttery.science.bloom.fit import fit_clock
from nuttery.science.bloom.prior import STAGES, prior_clock

__all__ = ["STAGES", "Clock", "Dates", "fit_clock", "prior_clock"]
