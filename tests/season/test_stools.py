from datetime import UTC, date, datetime

import numpy as np
import pytest

from nuttery.records import (
    CaneLabelled,
    CanesCounted,
    CanesCut,
    Cut,
    PlantingDescribed,
    ShrubPlanted,
    SuckersKept,
    new_id,
)
from nuttery.season.planting import open_planting
from nuttery.season.stools import AGES, stools, winter_of
from nuttery.season.upkeep import new_planting

PLANTING = new_id()


def note(kind, seen, **entries):
    return kind(
        id=new_id(),
        planting=PLANTING,
        seen=seen,
        by="Ida",
        recorded=datetime(2027, 6, 1, tzinfo=UTC),
        **entries,
    )


@pytest.fixture
def ask(tmp_path):
    where = tmp_path / "planting.db"
    about = note(
        PlantingDescribed,
        date(2015, 4, 1),
        name="Trial",
        latitude=46.0,
        longitude=-91.0,
        time_zone="America/Chicago",
    )
    new_planting(where, about)

    def asked(*notes, on=date(2027, 2, 1)):
        planting = open_planting(where, on=on)
        shrub = note(ShrubPlanted, date(2015, 5, 1), shrub="a")
        planting.register.keep([shrub, *notes])
        return stools(open_planting(where, on=on))

    return asked


def by_age(counts):
    return {int(a): int(counts[a]) for a in np.flatnonzero(counts)}


def test_a_count_stands_as_it_was_made(ask):
    found = ask(note(CanesCounted, date(2027, 1, 20), shrub="a", by_age={1: 3, 4: 2, 10: 1}))
    assert by_age(found.counts[0]) == {1: 3, 4: 2, 10: 1}
    assert (found.winter, found.counted[0]) == (2027, 2027)


def test_a_cane_is_a_year_older_each_winter_and_the_usual_suckers_come_up(ask):
    found = ask(
        note(CanesCounted, date(2025, 1, 20), shrub="a", by_age={1: 3, 4: 2}),
        note(SuckersKept, date(2025, 1, 21), shrub="a", kept=2, came_up=6),
    )
    assert by_age(found.counts[0]) == {1: 6, 2: 6, 3: 2, 6: 2}
    assert found.suckers == 6


def test_a_cane_that_came_up_in_summer_u_is_y_less_u_and_one_years_old(ask):
    # Design, "age of a cane": Y - u + 1 in the winter that follows summer Y; here Y is 2026.
    found = ask(note(CanesCounted, date(2027, 1, 20), shrub="a", by_year={2026: 1, 2017: 1}))
    assert by_age(found.counts[0]) == {1: 1, 10: 1}


def test_cuts_come_off_the_age_told_or_the_nearest(ask):
    found = ask(
        note(CanesCounted, date(2027, 1, 20), shrub="a", by_age={2: 3, 9: 1, 11: 2}),
        note(
            CanesCut,
            date(2027, 1, 22),
            shrub="a",
            cuts=(Cut(why="age", age=11, canes=2), Cut(why="age", age=10)),
        ),
    )
    assert by_age(found.counts[0]) == {2: 3}
    assert found.sawn[0] == 3


def test_a_labelled_cane_is_cut_at_its_own_age(ask):
    found = ask(
        note(CaneLabelled, date(2026, 3, 1), shrub="a", cane="b", came_up=2020),
        note(CanesCounted, date(2027, 1, 20), shrub="a", by_age={2: 1, 7: 1}),
        note(CanesCut, date(2027, 1, 22), shrub="a", cuts=(Cut(why="canker", cane="b"),)),
    )
    assert by_age(found.counts[0]) == {2: 1}


def test_a_total_is_shared_out_as_the_planting_s_ages_are(ask):
    found = ask(note(CanesCounted, date(2027, 1, 20), shrub="a", standing=9))
    assert found.counts[0].sum() == 9
    assert found.known == ("total only",)


def test_none_is_not_the_same_as_not_looked(ask):
    found = ask(note(CanesCounted, date(2027, 1, 20), shrub="a", standing=0))
    assert (found.tags, found.counts.sum(), found.uncounted) == (("a",), 0, ())


def test_a_shrub_never_counted_is_named(ask):
    found = ask()
    assert found.uncounted == ("a",)
    assert found.counts.shape == (0, AGES)


def test_the_winter_turns_in_july():
    assert [winter_of(date(2026, m, 1)) for m in (1, 6, 7, 12)] == [2026, 2026, 2027, 2027]


def test_counts_of_the_invented_planting_are_near_its_truth(sorrel_bank):
    from nuttery.demo.truth import make_truth

    truth = make_truth()
    found = stools(open_planting(sorrel_bank, on=date(2025, 1, 15)))
    place = {tag: k for k, tag in enumerate(truth.layout.tags)}
    true = np.array([truth.stools.winter[place[t], truth.column(2025)].sum() for t in found.tags])
    assert abs(found.counts.sum(axis=1) - true).mean() < 4
