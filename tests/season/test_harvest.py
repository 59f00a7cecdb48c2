"""Rounds of picking on the invented planting, mid-September, with some shrubs picked already."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from nuttery.records import Picking, RollOut, ValueSet, new_id
from nuttery.season.harvest import left_out_told, lines, outings_told, to_press
from nuttery.season.harvest_told import harvest_told, shrub_harvest
from nuttery.season.next_crop import expected_crop
from nuttery.season.picking_plan import DAYS_PLANNED, picks
from nuttery.season.picking_work import picking_work
from nuttery.season.planting import open_planting
from nuttery.season.watch import Watch

ON = date(2026, 9, 12)


@pytest.fixture(scope="module")
def where(copied, tmp_path_factory):
    return copied(tmp_path_factory.mktemp("harvest") / "sorrel-bank.db")


@pytest.fixture(scope="module")
def planting(where):
    return open_planting(where, on=ON)


@pytest.fixture(scope="module")
def plan(planting):
    return picks(planting)


def note(planting, kind, **entries):
    return kind(
        id=new_id(),
        planting=planting.about.planting,
        seen=ON,
        by="Ida",
        recorded=datetime(2026, 9, 12, 18, tzinfo=UTC),
        **entries,
    )


def test_own_pace_is_learned_from_timed_pickings(planting):
    # The invented grower takes 3 minutes and a gamma of mean 1, and 9 minutes a kg.
    work = picking_work(planting)
    assert work.minutes_basis == "learned"
    assert work.visit_minutes == pytest.approx(4.0, abs=0.5)
    assert work.minutes_per_kg == pytest.approx(9.0, abs=0.6)


def test_loss_is_learned_from_shares_taken_with_an_interval_round_it(planting):
    loss = picking_work(planting).loss
    assert loss.basis == "learned"
    assert loss.low < loss.median < loss.high
    # the invented animals take about an eighth of a crop that waits some days
    assert 0.01 < loss.median < 0.08


def test_rounds_keep_the_day_s_minutes_and_the_walking_order(planting, plan):
    order = {s.tag: k for k, s in enumerate(planting.shrubs)}
    for one in plan.rounds:
        assert one.minutes <= plan.work.minutes_per_day + plan.work.outing_minutes + 1e-9
        places = [order[tag] for tag in one.shrubs]
        assert places == sorted(places)
        assert one.metres > 0 or len(one.shrubs) == 1


def test_rounds_and_plan_tell_the_same_kg(plan):
    by_rounds = sum(float(one.kg.sum()) for one in plan.rounds)
    assert by_rounds == pytest.approx(float(plan.kg_picked.sum()))


def test_outings_are_in_step_with_the_last_one(planting, plan):
    last = max(n.seen for n in planting.notes(Picking, since=date(2026, 7, 1)))
    assert {(one.day - last).days % plan.every for one in plan.rounds} == {0}


def test_the_outings_chosen_are_the_best_of_those_tried_and_the_cost_is_told(plan):
    worth = {choice.every: choice.worth for choice in plan.choices}
    assert worth[plan.every] == max(worth.values())
    daily = next(c for c in plan.choices if c.every == 1)
    chosen = next(c for c in plan.choices if c.every == plan.every)
    # what is lost by going out less often is worth less than the time that it saves
    lost = (daily.kg_picked - chosen.kg_picked) * plan.work.value_per_kg
    saved = (daily.minutes - chosen.minutes) * plan.work.cost_per_minute
    assert lost <= saved + 1e-6
    assert f"outings every {plan.every} days" in outings_told(plan, "metric")


def test_who_gets_no_round_is_told_with_the_reason(plan):
    told = left_out_told(plan, "metric")
    left = int((~plan.visits.any(axis=1)).sum())
    assert left > 1
    assert told.startswith(f"{left} shrubs with ")
    assert "the days are full" not in told
    busy = max(one.minutes for one in plan.rounds) - plan.work.outing_minutes
    tight = replace(plan, work=replace(plan.work, minutes_per_day=busy))
    assert "the days are full (harvest.minutes_per_day) or a visit" in left_out_told(
        tight, "metric"
    )
    every = replace(plan, visits=np.ones_like(plan.visits))
    assert left_out_told(every, "metric") == ""


def test_a_picked_shrub_is_done_where_one_picking_is_the_habit(planting, plan):
    picked = {n.shrub for n in planting.notes(Picking, since=date(2026, 7, 1))}
    assert picked
    assert not picked & set(plan.tags)
    assert picked & set(plan.done)


def test_waiting_a_week_loses_no_less_than_nothing_and_only_where_a_visit_is_due(plan):
    assert np.all(plan.at_stake >= 0)
    soon = plan.visits[:, :7].any(axis=1)
    assert np.all(plan.at_stake[~soon] == 0)
    assert plan.at_stake[soon].sum() > 0


def test_a_roll_out_test_moves_the_plan(where, planting, plan):
    wide = plan.ripe_high - plan.ripe_low
    later = (plan.ripe > 262) & (plan.ripe_low < 262)
    k = int(np.flatnonzero(later)[np.argmax((wide * plan.kg)[later])])
    tag = plan.tags[k]
    loose = note(planting, RollOut, shrub=tag, tried=8, rolled=8)
    planting.register.keep([loose])
    again = picks(open_planting(where, on=ON))
    now = again.tags.index(tag)
    assert again.ripe[now] < plan.ripe[k] - 3
    assert again.tests[now] == plan.tests[k] + 1
    assert tag not in [again.tags[row] for row in to_press(planting, again, ON)]


def test_a_stopped_search_tells_how_far_it_came_and_is_not_kept(where):
    planting, told = open_planting(where, on=date(2026, 9, 13)), []
    halted = picks(planting, watch=Watch(told.append, lambda: True))
    assert halted.stopped
    assert "stopped early: the best plan so far, within" in outings_told(halted, "metric")
    assert any(words.startswith("planning rounds for") for words in told)
    whole = picks(planting)
    assert not whole.stopped
    assert len(whole.choices) >= len(halted.choices) == 1


def test_a_loss_that_the_grower_typed_wins(where, planting):
    setting = note(planting, ValueSet, name="crop.picking.loss_per_day", value=0.12)
    planting.register.keep([setting])
    loss = picking_work(open_planting(where, on=ON)).loss
    assert (loss.median, loss.basis) == (0.12, "grower's own")


def test_lines_are_few_in_the_window_and_say_one_shrub_where_it_is_one(sorrel_bank):
    for on in (date(2026, 8, 25), date(2026, 10, 3)):
        found = list(lines(open_planting(sorrel_bank, on=on), on + timedelta(days=28)))
        assert 1 <= len(found) <= 3
        assert len({line.key for line in found}) == len(found)
        for line in found:
            assert "1 shrubs" not in line.act
            assert "1 more days" not in line.act
            assert line.first <= line.last


def test_out_of_season_there_is_no_line_and_the_reason_is_told(sorrel_bank):
    planting = open_planting(sorrel_bank, on=date(2026, 2, 10))
    assert list(lines(planting, date(2026, 3, 10))) == []
    found = harvest_told(planting)
    assert found.plan is None
    assert found.no_plan == "Rounds of picking are planned from July to November."
    assert found.expected.year == 2026


def test_without_weather_no_round_is_planned_and_it_is_said(trial):
    found = harvest_told(trial(on=date(2026, 9, 1)))
    assert found.plan is None
    assert "no weather is on record" in found.no_plan


def test_one_shrub_tells_its_crops_and_nuts(planting, plan):
    tag = plan.rounds[0].shrubs[0]
    found = shrub_harvest(planting, tag)
    assert list(found.years) == sorted(found.years)
    assert all(
        a <= kg <= b
        for a, kg, b in zip(found.picked_low, found.picked, found.picked_high, strict=True)
    )
    assert found.kg == expected_crop(planting).kg[[s.tag for s in planting.shrubs].index(tag)]
    assert any("To pick on" in words for words in found.words)


def test_no_plan_looks_further_than_its_days(plan):
    assert plan.visits.shape == (len(plan.tags), DAYS_PLANNED)
