from datetime import date, timedelta

import numpy as np
import pytest

from nuttery.season.bloom import bloom, lines
from nuttery.season.planting import open_planting

ON = date(2026, 4, 12)


@pytest.fixture(scope="module")
def planting(sorrel_bank):
    return open_planting(sorrel_bank, on=ON)


@pytest.fixture(scope="module")
def outlook(planting):
    return bloom(planting)


def test_stages_of_one_organ_come_in_order(outlook):
    for before, after in (("catkin_60", "catkin_65"), ("bud_07", "bud_09"), ("bud_09", "leaf_11")):
        first, then = outlook.of(before).median, outlook.of(after).median
        both = ~np.isnan(first + then)
        assert np.all(first[both] <= then[both] + 0.05)


def test_a_stage_nobody_noted_is_said_to_lie_between(outlook):
    assert outlook.of("bud_09").basis == "between"
    assert outlook.of("bud_09").records.sum() == 0
    assert outlook.of("leaf_11").basis == "learned"


def test_the_second_asking_gives_the_same_answer_from_what_was_kept(planting, outlook):
    again = bloom(open_planting(planting.register.where, on=ON))
    assert np.array_equal(again.shed, outlook.shed)
    assert again.of("leaf_11").basis == "learned"


def test_few_lines_name_the_looks_that_teach_most(planting):
    found = list(lines(planting, ON + timedelta(days=28)))
    assert 1 <= len(found) <= 3
    assert all(line.first <= line.last and line.shrubs for line in found)
    assert any("first leaves" in line.why for line in found)
