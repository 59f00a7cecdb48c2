"""Crop: moisture, samples, sizes, grades, drying, next year's crop and the picking plan."""

from nuttery.science.crop.drying import DryingCurve, DryingTime, fit_drying
from nuttery.science.crop.estimate import Estimate, jeffreys, mean_interval, wilson
from nuttery.science.crop.fill import FILL_BINS, fill_bin, fill_faults
from nuttery.science.crop.footing import (
    ShareBelief,
    assumed_share,
    in_shell_mass,
    learned_share,
)
from nuttery.science.crop.grade import Grade, MoistureTest, ToleranceTest, grade
from nuttery.science.crop.habit import biennial_index, top_share
from nuttery.science.crop.moisture import (
    dry_to_wet_basis,
    mass_at_moisture,
    water_activity,
    wet_to_dry_basis,
    whole_nut_moisture,
)
from nuttery.science.crop.next_crop import NextCrop, fit_next_crop
from nuttery.science.crop.picking import PickingPlan, plan_picking
from nuttery.science.crop.reject import (
    Level,
    Look,
    against_reject_level,
    chance_of_verdicts,
    sequential_look,
)
from nuttery.science.crop.rounds import walk_length, walking_order
from nuttery.science.crop.rules import RULE_SETS, RuleSet, known_rules, rule_set
from nuttery.science.crop.sample import (
    SampleSummary,
    describe_sample,
    ratio_of_sums,
    share_of_nuts,
    size_shares,
)
from nuttery.science.crop.size import opening_mm, size_class, size_names
from nuttery.science.crop.wildlife import learn_loss

__all__ = [
    "FILL_BINS",
    "RULE_SETS",
    "DryingCurve",
    "DryingTime",
    "Estimate",
    "Grade",
    "Level",
    "Look",
    "MoistureTest",
    "NextCrop",
    "PickingPlan",
    "RuleSet",
    "SampleSummary",
    "ShareBelief",
    "ToleranceTest",
    "against_reject_level",
    "assumed_share",
    "biennial_index",
    "chance_of_verdicts",
    "describe_sample",
    "dry_to_wet_basis",
    "fill_bin",
    "fill_faults",
    "fit_drying",
    "fit_next_crop",
    "grade",
    "in_shell_mass",
    "jeffreys",
    "known_rules",
    "learn_loss",
    "learned_share",
    "mass_at_moisture",
    "mean_interval",
    "opening_mm",
    "plan_picking",
    "ratio_of_sums",
    "rule_set",
    "sequential_look",
    "share_of_nuts",
    "size_class",
    "size_names",
    "size_shares",
    "top_share",
    "walk_length",
    "walking_order",
    "water_activity",
    "wet_to_dry_basis",
    "whole_nut_moisture",
    "wilson",
]
