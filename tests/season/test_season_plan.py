from datetime import date, timedelta

import pytest

from nuttery.cli.app import run
from nuttery.season.errors import NotEnoughKnown, WrongQuestion
from nuttery.season.line import SUBJECTS
from nuttery.season.plan import season_plan
from nuttery.season.planting import open_planting

APRIL, AUGUST, WINTER = date(2026, 4, 12), date(2026, 8, 25), date(2026, 2, 10)


@pytest.fixture(scope="module", params=[APRIL, AUGUST, WINTER], ids=str)
def asked(request, sorrel_bank):
    planting = open_planting(sorrel_bank, on=request.param)
    return planting, season_plan(planting)


def test_every_line_says_what_where_when_why_and_how_sure(asked):
    planting, plan = asked
    assert plan.lines
    for line in plan.lines:
        assert line.subject in SUBJECTS
        assert line.act
        assert line.act[0].isupper() or line.act[0].isdigit()
        assert line.why
        assert line.sure in {"sure", "likely", "a guess"}
        assert line.waits
        assert line.first <= line.last
        assert set(line.shrubs) <= set(planting.by_tag)


def test_lines_fall_into_the_days_asked_for(asked):
    _, plan = asked
    for line in plan.lines:
        assert line.last >= plan.on
        assert line.first <= plan.until


def test_keys_are_unique_and_stable(asked):
    planting, plan = asked
    keys = [line.key for line in plan.lines]
    assert len(set(keys)) == len(keys)
    again = season_plan(open_planting(planting.register.where, on=plan.on))
    assert [line.key for line in again.lines] == keys


def test_work_that_can_hurt_carries_its_caution(asked):
    _, plan = asked
    for line in plan.lines:
        if line.key.startswith("canes:saw"):
            assert "Eye protection" in line.caution
        if line.subject == "drying":
            assert "allergen" in line.caution


def test_nothing_is_called_safe_clean_or_legal(asked):
    _, plan = asked
    for line in plan.lines:
        said = f"{line.act} {line.why} {line.waits} {line.caution}".lower()
        assert "safe to eat" not in said
        assert "disease-free" not in said
        assert "legal to move" not in said


def test_each_time_of_year_has_its_own_subjects(asked):
    _, plan = asked
    subjects = {line.subject for line in plan.lines}
    wanted = {APRIL: {"frost", "bloom", "canes"}, AUGUST: {"picking", "drying"}, WINTER: {"canes"}}
    assert wanted[plan.on] <= subjects


def test_one_shrub_gets_only_its_own_lines(sorrel_bank):
    planting = open_planting(sorrel_bank, on=APRIL)
    plan = season_plan(planting, shrub="8-05")
    assert plan.lines
    assert all("8-05" in line.shrubs for line in plan.lines)


def test_an_unknown_shrub_is_a_wrong_question(sorrel_bank):
    with pytest.raises(WrongQuestion, match="found 'Z-1'"):
        season_plan(open_planting(sorrel_bank, on=APRIL), shrub="Z-1")


def test_a_planting_without_weather_says_what_is_left_out(tmp_path):
    where = tmp_path / "planting.db"
    place = ["--latitude", "46", "--longitude", "-91", "--elevation", "300"]
    more = ["--time-zone", "America/Chicago", "--units", "metric", "--on", "2024-01-01"]
    assert run(["new", "--planting", str(where), "--name", "Trial", *place, *more]) == 0
    plan = season_plan(open_planting(where, on=APRIL))
    assert any("no weather is on record" in reason for reason in plan.left_out)


def test_a_register_without_a_planting_is_not_enough(tmp_path):
    from nuttery.store import Register

    Register.create(tmp_path / "empty.db").close()
    with pytest.raises(NotEnoughKnown, match="no planting is described yet"):
        open_planting(tmp_path / "empty.db")


def test_the_terminal_keeps_to_eighty_columns_and_walks_the_rows(sorrel_bank, capsys):
    assert run(["season", "--planting", str(sorrel_bank), "--on", str(APRIL), "--all"]) == 0
    out = capsys.readouterr().out
    assert max(len(line) for line in out.splitlines()) <= 80
    assert "\033" not in out
    assert "An invented planting" in out


def test_the_days_ahead_widen_the_plan(sorrel_bank):
    planting = open_planting(sorrel_bank, on=APRIL)
    plan = season_plan(planting, ahead=7)
    assert plan.until == APRIL + timedelta(days=7)
