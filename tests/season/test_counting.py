from datetime import date, timedelta

import pytest

from nuttery.records import CatkinsScored, ClustersCounted, Picking
from nuttery.season.counting import lines

DRY = {"form": "in shell", "state": "dry", "moisture": 0.08, "basis": "wet basis"}


@pytest.fixture
def uneven(trial):
    """Shrub a bears ten times what b and c bear."""
    for tag, kg in (("a", 2.0), ("b", 0.2), ("c", 0.2)):
        trial(
            *(
                (Picking, date(year, 9, 10), {"shrub": tag, "mass_kg": kg, **DRY})
                for year in range(2018, 2027)
            )
        )
    return trial


def asked(planting, ahead=28):
    return list(lines(planting, planting.on + timedelta(days=ahead)))


def test_the_shrubs_that_bear_half_of_the_crop_are_counted_first(uneven):
    first, rest = asked(uneven(on=date(2026, 11, 10)))
    assert first.shrubs == ("a",)
    assert "of 1 shrub (row 1)" in first.act
    assert rest.shrubs == ("b", "c")
    assert "2 other shrubs" in rest.act
    assert first.weight > rest.weight
    assert first.last == date(2027, 3, 15)


def test_what_is_scored_is_not_asked_for_again(uneven):
    scored = (CatkinsScored, date(2026, 11, 8), {"shrub": "a", "score": "some"})
    (rest,) = asked(uneven(scored, on=date(2026, 11, 10)))
    assert rest.key == "counting:catkins:rest"


def test_clusters_are_counted_in_july(uneven):
    (line,) = asked(uneven(on=date(2026, 7, 3)))
    assert line.act == "Count nut clusters on 10 twigs each of 1 shrub (row 1)"
    counted = (ClustersCounted, date(2026, 7, 3), {"shrub": "a", "clusters": 9, "twigs": 10})
    assert asked(uneven(counted, on=date(2026, 7, 3))) == []


@pytest.mark.parametrize("on", [date(2026, 4, 20), date(2026, 5, 20), date(2026, 8, 20)])
def test_out_of_season_nothing_is_asked(uneven, on):
    assert asked(uneven(on=on)) == []
