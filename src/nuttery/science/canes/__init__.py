"""Canes: their age, what they bear, which to saw out, and what to expect of it."""

from nuttery.science.canes.age import BARK, CaneAge, assumed_cane_age, fit_cane_age
from nuttery.science.canes.allometry import (
    Estimate,
    base_diameter,
    height_cornuta,
    mass_li,
    mass_lutz,
)
from nuttery.science.canes.bearing import Bearing, assumed_bearing, fit_bearing, known_bearing
from nuttery.science.canes.check import check_plan
from nuttery.science.canes.crowding import CropOfStool, known_crowding
from nuttery.science.canes.crowding_fit import CropPrior, fit_crop_of_stool
from nuttery.science.canes.many_stools import Effort, Progress
from nuttery.science.canes.outlook import (
    Outlook,
    Policy,
    as_done,
    cut_at,
    cut_nothing,
    project,
    this_plan,
)
from nuttery.science.canes.renewal import RenewalPlan, horizon, plan_renewal
from nuttery.science.canes.rules import Rules, crop_of, cut_limit, plan_value, standing_canes
from nuttery.science.canes.stool_age import (
    ages_of_classes,
    class_given_age,
    draw_ages,
    next_winter,
    update_ages,
)
from nuttery.science.canes.work import canes_a_year, cutting_hours, thinning, without_must_cut

__all__ = [
    "BARK",
    "Bearing",
    "CaneAge",
    "CropOfStool",
    "CropPrior",
    "Effort",
    "Estimate",
    "Outlook",
    "Policy",
    "Progress",
    "RenewalPlan",
    "Rules",
    "ages_of_classes",
    "as_done",
    "assumed_bearing",
    "assumed_cane_age",
    "base_diameter",
    "canes_a_year",
    "check_plan",
    "class_given_age",
    "crop_of",
    "cut_at",
    "cut_limit",
    "cut_nothing",
    "cutting_hours",
    "draw_ages",
    "fit_bearing",
    "fit_cane_age",
    "fit_crop_of_stool",
    "height_cornuta",
    "horizon",
    "known_bearing",
    "known_crowding",
    "mass_li",
    "mass_lutz",
    "next_winter",
    "plan_renewal",
    "plan_value",
    "project",
    "standing_canes",
    "thinning",
    "this_plan",
    "update_ages",
    "without_must_cut",
]
