"""Test crosses asked for in spring can still be made."""

from datetime import date

import pytest

from nuttery.season.crosses import cross_plan
from nuttery.season.planting import open_planting


@pytest.fixture(scope="module")
def in_bloom(sorrel_bank):
    planting = open_planting(sorrel_bank, on=date(2026, 4, 12))
    return planting, cross_plan(planting, 3)


def test_no_bag_is_asked_for_on_a_day_that_is_past(in_bloom):
    planting, plan = in_bloom
    assert plan.crosses
    if not plan.over:
        assert all(cross.bag_by >= planting.on for cross in plan.crosses)
        assert all(cross.unbag > cross.bag_by for cross in plan.crosses)


def test_pollen_is_asked_only_of_a_shrub_that_still_sheds(in_bloom):
    planting, plan = in_bloom
    assert plan.over or all(cross.gather.high >= planting.on for cross in plan.crosses)


def test_after_the_stigmas_have_shown_crosses_are_for_the_next_bloom(sorrel_bank):
    plan = cross_plan(open_planting(sorrel_bank, on=date(2026, 5, 20)), 2)
    assert plan.over
    assert len(plan.crosses) == 2
    assert all(c.bag_by is None and c.count[0].year == 2027 for c in plan.crosses)
