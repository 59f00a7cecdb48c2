"""Canes: their age, what they bear, which to saw out, and what to expect of it."""

from nuttery.science.canes.check import check_plan
from nuttery.science.canes.many_stools import Effort, Progress
from nuttery.science.canes.renewal import RenewalPlan, plan_renewal
from nuttery.science.canes.rules import Rules, crop_of, cut_limit, plan_value, standing_canes

__all__ = [
    "Effort",
    "Progress",
    "RenewalPlan",
    "Rules",
    "check_plan",
    "crop_of",
    "cut_limit",
    "plan_renewal",
    "plan_value",
    "standing_canes",
]
