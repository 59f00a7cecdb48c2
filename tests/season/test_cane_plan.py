"""The plan of canes on the invented planting and on stools made by hand."""

from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest

from nuttery.records import (
    CanesCounted,
    CanesCut,
    Cut,
    PestSeen,
    PlantingDescribed,
    ShrubPlanted,
    SuckersKept,
    new_id,
)
from nuttery.science.canes import cut_at, known_bearing, known_crowding, project, this_plan
from nuttery.season.bloom import bloom
from nuttery.season.cane_trial import drawn_ages, trial
from nuttery.season.cane_work import (
    cane_work,
    cap_told,
    nearness_told,
    new_canes_a_year,
    times_told,
    winters_to_target,
)
from nuttery.season.canes import canes, lines, reasons, thin_stools
from nuttery.season.crops import crops
from nuttery.season.errors import NotEnoughKnown, WrongQuestion
from nuttery.season.estimate import day_of
from nuttery.season.outlook import outlook
from nuttery.season.planting import Planting, open_planting
from nuttery.season.renewal import YEARS, canes_wanted, planned, stool_crop
from nuttery.season.stools import AGES, stools
from nuttery.season.upkeep import new_planting
from nuttery.season.values import set_value
from nuttery.season.watch import Watch

WINTER = date(2025, 12, 10)
HAND = new_id()


def note(kind, seen, **entries):
    recorded = datetime(2027, 6, 1, tzinfo=UTC)
    return kind(id=new_id(), planting=HAND, seen=seen, by="Ida", recorded=recorded, **entries)


@pytest.fixture(scope="module")
def bank(sorrel_bank):
    return open_planting(sorrel_bank, on=WINTER)


@pytest.fixture(scope="module")
def whole_plan(bank):
    return planned(bank)


@pytest.fixture
def by_hand(tmp_path):
    about = note(
        PlantingDescribed,
        date(2015, 4, 1),
        name="Trial",
        latitude=46.0,
        longitude=-91.0,
        time_zone="America/Chicago",
    )

    def made(*notes, on=date(2027, 2, 1), tags=("a",)):
        where = tmp_path / f"{new_id()}.db"
        new_planting(where, about)
        planting = open_planting(where, on=on)
        shrubs = [
            note(ShrubPlanted, date(2015, 5, 1), shrub=tag, row=1, number=k + 1)
            for k, tag in enumerate(tags)
        ]
        planting.register.keep([*shrubs, *notes])
        return open_planting(where, on=on)

    return made


def counted(tag, by_age, **more):
    return note(CanesCounted, date(2027, 1, 20), shrub=tag, by_age=by_age, age_spread=0.0, **more)


def test_no_stool_loses_more_than_a_third_of_its_live_older_canes(whole_plan):
    plan = whole_plan.plan
    cut = (plan.cut - plan.must)[:, 2:].sum(axis=1)
    live = (plan.counts - plan.must)[:, 2:].sum(axis=1)
    assert (cut <= np.maximum(1, live // 3)).all()
    assert (plan.cut + plan.kept == plan.counts).all()


def test_the_plan_shows_fifteen_winters_and_its_course_adds_up(whole_plan):
    course, plan = whole_plan.course, whole_plan.plan
    assert plan.crop.shape == (len(plan.tags), YEARS)
    risen = course.kept[:, :-1, 1:-2]
    assert ((course.kept + course.cut)[:, 1:, 2:-1] == risen).all()
    assert (course.kept.sum(axis=0) == plan.ages).all()


def test_the_old_go_before_the_young(whole_plan):
    # An experienced grower saws the oldest: nine in ten of the cuts are of nine years and older.
    plan = whole_plan.plan
    old_stools = (plan.counts[:, 9:].sum(axis=1) >= 3).nonzero()[0]
    cut = plan.cut[old_stools, 2:].sum(axis=0)
    assert cut[7:].sum() > 0.85 * cut.sum()


def test_bearing_declines_at_the_ages_of_which_few_records_speak(whole_plan):
    from nuttery.demo.growth import BEARING

    plan = whole_plan.plan
    assert plan.bearing_records > 400
    peak = int(plan.bearing.argmax())
    assert 4 <= peak <= 9
    assert plan.bearing[12] < 0.6 * plan.bearing[peak]
    inside = (plan.bearing_low <= BEARING[:AGES]) & (BEARING[:AGES] <= plan.bearing_high)
    assert inside[3:10].sum() >= 4


def test_before_any_record_the_bearing_says_assumed(by_hand):
    plan = canes(by_hand(counted("a", {1: 4, 3: 2, 5: 3, 8: 2, 11: 1})))
    assert (plan.bearing_records, plan.halving) == (0, None)
    assert plan.bearing_low[5] < plan.bearing[5] / 2 < plan.bearing_high[5]


def test_dead_and_cankered_canes_go_at_once_and_outside_the_third(by_hand):
    count = counted("a", {4: 2, 5: 2, 6: 2, 9: 3}, dead=2)
    sick = note(PestSeen, date(2026, 7, 6), shrub="a", sign="canker", organ="cane", count=2)
    planting = by_hand(count, sick)
    plan = canes(planting)
    assert (plan.dead[0], plan.must[0].sum()) == (2, 2)
    free = plan.cut[0] - plan.must[0]
    assert free.sum() <= (9 - 2) // 3
    said = reasons(plan, 0)
    assert said[0] == "2 dead canes: out at once, outside the third"
    assert sum("cankered" in reason for reason in said) == 2
    saw = {line.key: line for line in lines(planting, date(2027, 3, 1))}["canes:saw:a"]
    assert saw.act.startswith("Saw out 2 dead canes; saw out")
    assert saw.why.startswith("2 dead canes: out at once, outside the third; ")
    assert "cankered, out at once" in saw.why


def test_a_stool_sawn_this_winter_is_done_and_planned_from_the_next(by_hand):
    counts = [counted(tag, {1: 4, 4: 2, 6: 2, 8: 2, 11: 3}) for tag in "ab"]
    cut = note(CanesCut, date(2027, 1, 22), shrub="a", cuts=(Cut(why="age", age=11, canes=2),))
    kept = note(SuckersKept, date(2027, 1, 22), shrub="a", kept=1, came_up=4)
    planting = by_hand(*counts, cut, kept, tags=("a", "b"))
    found = planned(planting)
    assert found.plan.sawn.tolist() == [2, 0]
    assert found.plan.open.tolist() == [False, True]
    assert found.course.cut[0, 0].sum() == 0
    assert found.course.kept[0, 0, 1] == 1
    assert {tag for line in lines(planting, date(2027, 3, 1)) for tag in line.shrubs} == {"b"}


def test_a_cap_on_cuts_holds_and_counts_what_was_sawn(by_hand):
    tags = tuple("abcdef")
    counts = [counted(tag, {1: 4, 4: 2, 6: 2, 8: 2, 11: 3}) for tag in tags]
    cut = note(CanesCut, date(2027, 1, 22), shrub="a", cuts=(Cut(why="age", age=11, canes=2),))
    found = planned(by_hand(*counts, cut, tags=tags), cuts=8)
    assert found.plan.cuts[0] <= 8 - 2
    assert (found.plan.cuts <= 8).all()
    told = (
        "Of the 8 cuts of this winter 2 are made: 6 are left, dead and cankered canes beside them. "
    )
    assert cap_told(found.plan) == told


def test_a_stopped_plan_is_shown_but_not_kept(by_hand):
    tags = tuple(f"a{k}" for k in range(12))
    counts = [counted(t, {1: 5, 3: k % 4, 6: 3, 8: k % 3, 10: 3}) for k, t in enumerate(tags)]
    planting = by_hand(*counts, tags=tags)
    told = []
    stopped = canes(planting, watch=Watch(told.append, lambda: True))
    assert stopped.status == "cancelled"
    assert "not known when it was stopped" in nearness_told(replace(stopped, gap=float("inf")))
    assert "inf" not in nearness_told(stopped)
    assert (stopped.cut + stopped.kept == stopped.counts).all()
    assert any("bears by its age" in words for words in told)
    assert canes(planting).status in {"optimal", "within gap", "limit reached"}


def test_stools_with_only_suckers_to_thin_share_one_line_a_row(by_hand):
    tags = tuple("abc")
    counts = [counted(tag, {1: 5, 3: 1, 4: 1, 6: 1}) for tag in tags]
    found = list(lines(by_hand(*counts, tags=tags), date(2027, 3, 1)))
    thin = [line for line in found if line.key == "canes:suckers:1"]
    assert len(thin) == 1
    assert thin[0].shrubs == tags
    assert thin[0].act.startswith("Cut the suckers, but keep ")
    assert thin[0].why.startswith("15 suckers came up and ")


def test_lines_of_the_season_name_each_cane_with_its_reason(bank):
    found = [line for line in lines(bank, date(2026, 1, 10)) if line.key.startswith("canes:saw")]
    assert found
    assert all(line.why and line.caution and line.waits for line in found)
    walked = [shrub.tag for shrub in bank.shrubs]
    order = [walked.index(line.shrubs[0]) for line in found]
    assert order == sorted(order)


def test_the_hours_of_sawing_are_those_of_the_stools_on_which_a_cane_goes(by_hand):
    # Roversi and Malvicini 2014, Acta Hort 1052:175: 162 to 177 s a plant, by hand.
    tags = tuple("abc")
    counts = [counted(tag, {1: 4, 4: 2, 6: 2, 8: 2, 11: 3}) for tag in "ab"]
    planting = by_hand(*counts, counted("c", {1: 2, 3: 1, 5: 1}), tags=tags)
    plan = canes(planting)
    work = cane_work(plan)
    assert work.rows.tolist() == [True, True, False]
    assert work.canes == plan.cut[:2, 2:].sum()
    assert (work.hours.low, work.hours.high) == pytest.approx((2 * 162 / 3600, 2 * 177 / 3600))
    assert "2.8 minutes a stool, published: Roversi and Malvicini 2014" in times_told(
        planting, plan
    )
    whole = next(iter(lines(planting, date(2027, 3, 1))))
    assert whole.key == "canes:work"
    assert whole.act.startswith("Set aside about 1 hour for sawing")
    assert whole.act.endswith("on 2 stools in row 1")
    assert "published" in whole.why


def test_a_neglected_stool_comes_down_by_a_third_a_winter(by_hand):
    # Up to a third of the older stems in one winter (RHS advice on cobnuts): 14, 10, 7, 6.
    plan = canes(
        by_hand(counted("a", {1: 2, 5: 4, 8: 4, 11: 6}), counted("b", {4: 3}), tags=("a", "b"))
    )
    assert winters_to_target(plan, 0) == (4, 3, 1)
    assert winters_to_target(plan, 1) == ()
    assert new_canes_a_year(plan) == pytest.approx(6 / 10)


def test_own_times_take_the_place_of_the_published_one(by_hand):
    counts = [counted(tag, {1: 4, 4: 2, 6: 2, 8: 2, 11: 3}) for tag in "ab"]
    cut = (Cut(why="age", age=11, canes=1),)
    own = note(CanesCut, date(2026, 1, 22), shrub="a", cuts=cut, minutes=12.0)
    plan = canes(by_hand(*counts, own, tags=("a", "b")))
    assert cane_work(plan).hours.median == pytest.approx(2 * 12 / 60)
    assert cane_work(plan).hours.basis == "learned"


def test_stools_short_of_bearing_canes_share_one_line_that_asks_for_nothing_else_than_the_plan(
    bank, whole_plan
):
    found = [line for line in lines(bank, date(2026, 1, 10)) if line.key.startswith("canes:gap")]
    thin = thin_stools(whole_plan.plan)
    assert len(found) == 1
    assert len(found[0].shrubs) == sum(len(rows) for rows in thin.values())
    assert all(str(year) in found[0].why for year in thin)
    assert "sucker" not in found[0].act


def test_the_saw_rests_when_the_first_tenth_of_shrubs_break_bud(bank):
    breaks = bloom(bank).of("bud_07").median
    saw = next(iter(lines(bank, date(2026, 1, 10))))
    first = day_of(2026, float(np.nanquantile(breaks, 0.1)))
    assert saw.last == first
    assert (saw.first, saw.last.year) == (WINTER, 2026)


def test_without_a_calendar_the_saw_rests_by_common_practice(by_hand):
    counts = counted("a", {1: 4, 4: 2, 6: 2, 8: 2, 11: 3})
    assert {line.last for line in lines(by_hand(counts), date(2027, 3, 1))} == {date(2027, 4, 20)}


def test_no_lines_in_summer(sorrel_bank):
    planting = open_planting(sorrel_bank, on=date(2025, 6, 10))
    assert list(lines(planting, date(2025, 7, 8))) == []


def test_a_thin_stool_is_told_in_the_year_that_is_thinnest(whole_plan):
    plan = whole_plan.plan
    for year, rows in thin_stools(plan).items():
        ahead = plan.productive[rows, 1:10]
        assert (ahead[:, year - plan.winter - 1] == ahead.min(axis=1)).all()


def test_drawn_ages_have_the_distribution_they_are_drawn_from():
    rng = np.random.default_rng(4)
    expected = np.zeros(AGES)
    expected[[1, 4, 5, 6, 10, 11]] = 2.0, 0.7, 1.6, 0.7, 0.4, 0.6
    ages = drawn_ages(expected, rng, 4000)
    seen = np.bincount(ages.ravel(), minlength=AGES) / 4000
    assert seen == pytest.approx(expected, abs=0.04)


def test_a_sure_count_stands_the_trial_and_the_ages_of_a_total_are_told_as_wide(by_hand):
    many = {1: 4, 3: 2, 5: 2, 7: 2, 9: 2, 12: 2}
    sure = trial(by_hand(counted("a", many)), "a")
    assert sure.same == 1.0
    assert (sure.low == sure.ages).all()
    total = note(CanesCounted, date(2027, 1, 20), shrub="a", standing=14)
    doubtful = trial(by_hand(total, counted("b", many), tags=("a", "b")), "a")
    assert (doubtful.low < doubtful.high).any()


def test_the_trial_of_a_stool_never_counted_is_refused(by_hand):
    with pytest.raises(WrongQuestion, match="found 'b', expected a stool whose canes were counted"):
        trial(by_hand(counted("a", {3: 2}), tags=("a", "b")), "b")


def test_without_a_count_it_says_what_lacks(by_hand):
    with pytest.raises(NotEnoughKnown, match="no stool was ever counted"):
        canes(by_hand())


def test_the_outlook_holds_four_ways_met_by_the_same_luck(bank):
    found = outlook(bank)
    names = [way.name for way in found.ways]
    assert names == ["this plan", "cut nothing", "cut every cane at 10", "as done so far"]
    assert len(found.years) == YEARS
    for way in found.ways:
        assert (way.low <= way.median).all()
        assert (way.median <= way.high).all()
    plan, nothing, at_ten, as_before = found.ways
    assert nothing.better > 0.5
    assert (nothing.median[-5:] < 0.8 * plan.median[-5:]).all()
    assert plan.total > 0.98 * at_ten.total
    assert at_ten.better > 0.5
    assert plan.total > nothing.total > as_before.total
    assert plan.median.min() > at_ten.median.min()
    assert "up to 17 canes a stool" in nothing.meaning
    assert as_before.meaning.startswith("canes go at each age, and suckers stay, at the shares")


def test_the_rates_of_this_grower_are_those_of_the_invented_one(bank):
    # The invented grower saws 0.3 to 1.0 of the canes of ten and older, within a third, and 0.4 of
    # that at nine (demo, growth): hardly any below, and most at ten.
    rates = outlook(bank).rates
    assert np.nanmax(rates[2:7]) < 0.05
    assert 0.2 < rates[10] < 0.75


def test_too_few_cuts_on_record_leave_the_grower_s_own_way_out(by_hand):
    found = outlook(by_hand(counted("a", {1: 4, 4: 2, 6: 2, 8: 2, 11: 1})))
    assert len(found.ways) == 3
    assert found.rates.size == 0


def test_the_estimated_ages_hold_the_truth_s_mean_age(sorrel_bank):
    from nuttery.demo.truth import make_truth

    truth = make_truth()
    found = stools(open_planting(sorrel_bank, on=WINTER))
    place = {tag: k for k, tag in enumerate(truth.layout.tags)}
    ages, column = np.arange(AGES), truth.column(2026)
    true = np.array([truth.stools.winter[place[t], column, 2:AGES].sum() for t in found.tags])
    assert true.sum() == pytest.approx(found.expected[:, 2:].sum(), rel=0.15)
    mean = found.expected[:, 2:].sum(axis=0) @ ages[2:] / found.expected[:, 2:].sum()
    canes_ = sum(truth.stools.winter[place[t], column, :AGES] for t in found.tags)
    assert mean == pytest.approx(canes_[2:] @ ages[2:] / canes_[2:].sum(), abs=0.5)


def records_of(bank):
    """Canes kept and kg borne of every yearly crop of a counted stool."""
    known, crops_ = stools(bank), crops(bank)
    rows = {shrub.tag: k for k, shrub in enumerate(bank.shrubs)}
    borne = {
        (int(s), int(y)): kg
        for s, y, kg in zip(crops_.shrub, crops_.year, crops_.borne, strict=True)
    }
    keys = [
        (rows[known.tags[s]], int(y))
        for s, y in zip(known.past_shrub, known.past_year, strict=True)
    ]
    use = np.array([key in borne for key in keys])
    return known.past_kept[use], np.array([borne[key] for key in keys if key in borne])


def test_crowded_stools_and_loose_ones_are_told_the_crop_they_bore(bank):
    kept, got = records_of(bank)
    bears, canes_ = stool_crop(bank), kept.sum(axis=1)
    told = kept @ bears.bearing.mean - bears.charge(canes_)
    for some in (canes_ < 8, (canes_ >= 8) & (canes_ < 13), canes_ >= 13):
        assert told[some].sum() == pytest.approx(got[some].sum(), rel=0.15)


def test_what_crowding_takes_is_learned_and_holds_the_truth(bank):
    # The invented truth: 0.012 kg for each cane above twelve (demo, growth).
    bears, canes_ = stool_crop(bank), np.array([13.0, 16.0, 20.0])
    _, starts, costs = bears.draw(np.random.default_rng(1), 500)
    taken = costs[:, None] * np.maximum(0, canes_ - starts[:, None])
    low, high = np.quantile(taken, [0.1, 0.9], axis=0)
    true = 0.012 * (canes_ - 12)
    assert ((low <= true) & (true <= high)).all()
    assert (bears.charge(canes_) < 0.3 * 1.2 * bears.bearing.mean.max() * (canes_ - 6)).all()


def test_no_more_canes_are_wanted_than_stools_on_record_stood_with(bank):
    wanted = canes_wanted(bank)
    assert 10 < wanted.canes <= np.quantile(stools(bank).past_kept.sum(axis=1), 0.91)
    assert wanted.basis.startswith("learned from 522 crops")
    plan = canes(bank)
    assert (plan.target, plan.target_basis) == (wanted.canes, wanted.basis)
    assert plan.kept.sum(axis=1).max() <= max(plan.target, plan.counts[:, 2:].sum(axis=1).max())


def test_before_enough_crops_the_canes_wanted_and_the_charge_are_assumed(by_hand):
    planting = by_hand(counted("a", {1: 4, 3: 2, 5: 3, 8: 2, 11: 1}))
    wanted, bears = canes_wanted(planting), stool_crop(planting)
    assert wanted.canes == 6
    assert wanted.basis.startswith("inferred from trials elsewhere")
    assert bears.charge(8) == pytest.approx(2 * 1.2 * bears.bearing.mean.max())


def test_the_grower_s_own_number_of_canes_is_kept(by_hand):
    planting = by_hand(counted("a", {1: 4, 3: 2, 5: 3, 8: 2, 11: 1}))
    told = {"source": "my own trial", "by": "Ida", "device": "table"}
    set_value(planting, "canes.target", 9.0, now=datetime(2027, 2, 1, 12, tzinfo=UTC), **told)
    wanted = canes_wanted(Planting(planting.register, planting.about, planting.on))
    assert (wanted.canes, wanted.basis) == (9, "your own value")


def test_by_the_truth_the_plan_bears_as_much_as_cutting_at_ten_and_more_than_six_canes(bank):
    from nuttery.demo.growth import BEARING

    truth = known_crowding(known_bearing(BEARING[:AGES]), 12, 0.012)

    def borne(found, policy):
        seen = project(
            found.course.live,
            policy or this_plan(found.course.cut.astype(int), found.course.kept.astype(int)),
            truth,
            YEARS,
            np.random.default_rng(1),
            60,
            target=found.plan.target,
            suckers=6,
        )
        return np.median(seen.by_draw.sum(axis=1))

    learned, six = planned(bank), planned(bank, target=6)
    assert borne(learned, None) > 0.98 * borne(learned, cut_at(10, AGES))
    assert borne(learned, None) > 1.3 * borne(six, None)
