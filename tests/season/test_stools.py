from datetime import UTC, date, datetime

import numpy as np
import pytest

from nuttery.records import (
    CaneLabelled,
    CanesCounted,
    CanesCut,
    Cut,
    PestSeen,
    PlantingDescribed,
    RingsCounted,
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
    about = note(
        PlantingDescribed,
        date(2015, 4, 1),
        name="Trial",
        latitude=46.0,
        longitude=-91.0,
        time_zone="America/Chicago",
    )

    def asked(*notes, on=date(2027, 2, 1)):
        where = tmp_path / f"{new_id()}.db"
        new_planting(where, about)
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


def test_a_cane_is_a_year_older_each_winter_and_suckers_come_up_and_are_kept_as_usual(ask):
    found = ask(
        note(CanesCounted, date(2025, 1, 20), shrub="a", by_age={1: 3, 4: 2}),
        note(SuckersKept, date(2025, 1, 21), shrub="a", kept=2, came_up=6),
    )
    assert by_age(found.counts[0]) == {1: 6, 2: 2, 3: 2, 6: 2}
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


def test_last_winter_s_count_sharpens_what_this_winter_s_size_classes_say(ask):
    sizes = note(CanesCounted, date(2027, 1, 20), shrub="a", by_size={"thin": 0, "thick": 2})
    alone = ask(sizes).expected[0]
    before = note(CanesCounted, date(2026, 1, 20), shrub="a", by_age={8: 2}, age_spread=0.0)
    both = ask(before, sizes).expected[0]
    assert both.sum() == pytest.approx(2)
    assert alone[9] < 0.5 < 0.9 * 2 < both[9]


def test_ages_judged_in_two_winters_agree_with_each_other(ask):
    # Judged 10 and a year later 10 again, each within a year: about 10.5 now, not 10 and not 11.
    found = ask(
        note(CanesCounted, date(2026, 1, 20), shrub="a", by_age={10: 4}, age_spread=1.0),
        note(CanesCounted, date(2027, 1, 20), shrub="a", by_age={10: 4}, age_spread=1.0),
    )
    mean = found.expected[0] @ np.arange(AGES) / found.expected[0].sum()
    assert 10.2 < mean < 10.8


def test_an_age_and_older_is_spread_over_what_it_stands_for(ask):
    older = {"by_age": {10: 6}, "and_older": 10, "age_spread": 1.0}
    found = ask(note(CanesCounted, date(2027, 1, 20), shrub="a", **older)).expected[0]
    plain = {"by_age": {10: 6}, "age_spread": 1.0}
    there = ask(note(CanesCounted, date(2027, 1, 21), shrub="a", **plain)).expected[0]
    assert found @ np.arange(AGES) > there @ np.arange(AGES)


def test_ring_counts_move_the_ages_of_size_classes(ask):
    # Canes of this planting grow slowly: 40 mm after 14 years, and so on.
    rings = [
        note(RingsCounted, date(2026, 2, d), shrub="a", rings=r, diameter_mm=mm, bark="rough")
        for d, (r, mm) in enumerate([(14, 40), (13, 36), (12, 34), (11, 32)] * 4, start=1)
    ]
    count = note(CanesCounted, date(2027, 1, 20), shrub="a", by_size={"thick": 5})
    plain, learned = ask(count), ask(count, *rings)
    ages = np.arange(AGES)
    assert (plain.looks_records, learned.looks_records) == (0, 16)
    assert learned.expected[0] @ ages > plain.expected[0] @ ages + 2


def test_dead_canes_are_told_apart_and_no_living_one_goes_with_them(ask):
    found = ask(
        note(CanesCounted, date(2027, 1, 20), shrub="a", by_age={5: 4}, dead=3),
        note(CanesCut, date(2027, 1, 22), shrub="a", cuts=(Cut(why="dead", canes=2),)),
    )
    assert (int(found.counts.sum()), int(found.dead[0])) == (4, 1)


def test_canker_marks_a_cane_until_it_is_cut_or_not_found(ask):
    count = note(CanesCounted, date(2027, 1, 20), shrub="a", by_age={1: 2, 5: 3})
    seen = note(PestSeen, date(2026, 7, 6), shrub="a", sign="canker", organ="cane", count=1)
    assert ask(count, seen).cankered[0, 2:].sum() == 1
    cut = note(CanesCut, date(2027, 1, 22), shrub="a", cuts=(Cut(why="canker", age=5),))
    after = ask(count, seen, cut)
    assert (after.cankered.sum(), after.counts[0, 5]) == (0, 2)


def test_estimated_ages_are_nearer_to_the_truth_than_the_ages_judged(sorrel_bank):
    from nuttery.demo.truth import make_truth

    truth = make_truth()
    place = {tag: k for k, tag in enumerate(truth.layout.tags)}
    column = truth.column(2025)
    planting = open_planting(sorrel_bank, on=date(2025, 12, 1))
    notes = {n.shrub: n for n in planting.notes(CanesCounted, since=date(2025, 1, 1))}
    found = stools(planting)
    true, judged, expected = np.zeros(AGES), np.zeros(AGES), np.zeros(AGES)
    for row in np.flatnonzero(found.past_year == 2025):
        tag = found.tags[found.past_shrub[row]]
        cut = truth.stools.cut[place[tag], column, :AGES]
        if notes[tag].by_age is not None:
            true += truth.stools.winter[place[tag], column, :AGES] - cut
            expected += found.past_kept[row]
            judged += [notes[tag].by_age.get(age, 0) for age in range(AGES)] - cut
    assert true.sum() > 500
    assert abs(expected - true)[2:].sum() < 0.8 * abs(judged - true)[2:].sum()


def test_a_cane_judged_within_a_few_years_is_not_taken_to_be_older_than_its_shrub(ask):
    # Set out in May 2015: in the winter of 2018 its own shoots are of 3 years at the most, and only
    # what the seedling was set out with may be older.
    judged = {1: 2, 3: 1, 4: 2, 6: 1}
    found = ask(
        note(CanesCounted, date(2018, 1, 20), shrub="a", by_age=judged, age_spread=1.5),
        on=date(2018, 2, 1),
    )
    assert found.expected.sum() == pytest.approx(6.0)
    assert found.expected[0, 6:].sum() < 0.2
    old = ask(
        note(CanesCounted, date(2027, 1, 20), shrub="a", by_age=judged, age_spread=1.5),
        on=date(2027, 2, 1),
    )
    assert old.expected[0, 6:].sum() > 0.5


def test_a_cane_surely_older_than_the_date_of_planting_stays_as_it_was_told(ask):
    found = ask(
        note(CanesCounted, date(2018, 1, 20), shrub="a", by_age={9: 2}, age_spread=0.0),
        on=date(2018, 2, 1),
    )
    assert by_age(found.counts[0]) == {9: 2}


def test_the_old_canes_of_the_invented_planting_are_as_many_as_truly_stood(sorrel_bank):
    from nuttery.demo.truth import make_truth

    truth = make_truth()
    found = stools(open_planting(sorrel_bank, on=date(2025, 12, 10)))
    place = {tag: k for k, tag in enumerate(truth.layout.tags)}
    rows = [place[found.tags[int(k)]] for k in found.past_shrub]
    columns = [truth.column(int(year)) for year in found.past_year]
    true = (truth.stools.winter - truth.stools.cut)[rows, columns]
    assert found.past_kept[:, 12:].sum() < 1 + 0.01 * true.sum()
    for ages in (slice(2, 5), slice(5, 8), slice(8, 10)):
        assert found.past_kept[:, ages].sum() == pytest.approx(true[:, ages].sum(), rel=0.1)
