"""Crop: moisture, samples, sizes, grades, drying, next year's crop and the picking plan."""

from nuttery.science.crop.drying import DryingCurve, DryingTime, fit_drying
from nuttery.science.crop.estimate import Estimate, jeffreys, mean_interval, wilson
from nuttery.science.crop.fill import FILL_BINS, fill_bin, fill_faults
from nuttery.science.crop.grade import Grade, MoistureTest, ToleranceTest, grade
from nuttery.science.crop.moisture import (
    dry_to_wet_basis,
    mass_at_moisture,
    water_activity,
    wet_to_dry_basis,
    whole_nut_moisture,
)
from nuttery.science.crop.picking import PickingPlan, plan_picking
from nuttery.science.crop.rules import RULE_SETS, RuleSet, known_rules, rule_set
from nuttery.science.crop.size import opening_mm, size_class

__all__ = [
    "FILL_BINS",
    "RULE_SETS",
    "DryingCurve",
    "DryingTime",
    "Estimate",
    "Grade",
    "MoistureTest",
    "PickingPlan",
    "RuleSet",
    "ToleranceTest",
    "dry_to_wet_basis",
    "fill_bin",
    "fill_faults",
    "fit_drying",
    "grade",
    "jeffreys",
    "known_rules",
    "mass_at_moisture",
    "mean_interval",
    "opening_mm",
    "plan_picking",
    "rule_set",
    "size_class",
    "water_activity",
    "wet_to_dry_basis",
    "whole_nut_moisture",
    "wilson",
]
