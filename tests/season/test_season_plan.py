from dataclasses import replace
from datetime import date, timedelta

import pytest

from nuttery.cli.app import run
from nuttery.season.by_row import by_row
from nuttery.season.errors import NotEnoughKnown, WrongQuestion
from nuttery.season.line import SUBJECTS, Line
from nuttery.season.plan import SeasonPlan, season_plan
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


def test_what_a_new_planting_lacks_is_told_step_by_step(tmp_path):
    where = tmp_path / "planting.db"
    place = ["--latitude", "46", "--longitude", "-91", "--elevation", "300"]
    more = ["--time-zone", "America/Chicago", "--units", "metric", "--on", "2024-01-01"]
    assert run(["new", "--planting", str(where), "--name", "Trial", *place, *more]) == 0
    (first,) = season_plan(open_planting(where, on=APRIL)).left_out
    assert "no shrub is written down yet" in first
    sheet = tmp_path / "shrubs.csv"
    sheet.write_text("kind,shrub,day seen\nshrub planted,A1,2020-05-01\n")
    assert run(["import", str(sheet), "--planting", str(where)]) == 0
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


def line(key, **told):
    usual = {"subject": "canes", "first": APRIL, "last": APRIL + timedelta(days=8)}
    usual |= {"why": "8 stand", "sure_why": "counted", "waits": "old canes fail", "row": 7}
    usual["shrubs"] = (f"7-0{key}",)
    return Line(key=key, act=f"Saw out {key}", **(usual | told))


def plan_of(*lines, standing=100):
    until = APRIL + timedelta(days=28)
    return SeasonPlan(
        "Trial", invented=False, on=APRIL, until=until, standing=standing, lines=lines, left_out=()
    )


def test_what_most_lines_share_is_told_once_above_them():
    odd = line("4", sure="a guess", sure_why="a total only", last=APRIL + timedelta(days=2))
    part = by_row(plan_of(line("1"), line("2"), line("3"), odd))[0]
    assert part.usual == "Unless a line says otherwise: until 20 Apr; likely: counted."
    assert part.waits == "Old canes fail."
    *alike, other = part.walks[0].lines
    assert {(said.when, said.why) for said in alike} == {("", "8 stand.")}
    assert (other.when, other.why) == ("until 14 Apr", "8 stand. A guess: a total only.")


def test_two_lines_say_all_of_their_own():
    said = by_row(plan_of(line("1"), line("2", waits="")))[0].walks[0].lines
    assert said[0].why == "8 stand. Likely: counted."
    assert said[0].when == "until 20 Apr"


def test_what_spans_rows_comes_first_and_each_row_has_its_name():
    wide = line("1", row=None, shrubs=tuple(f"s{k}" for k in range(12)), place="rows 1–3")
    part = by_row(plan_of(wide, line("2", row=2), line("3")))[0]
    assert [walk.name for walk in part.walks] == ["", "Row 2", "Row 7"]
    said = part.walks[0].lines[0]
    assert said.where == "Rows 1–3"
    assert said.tags == wide.shrubs


def test_rows_that_the_act_tells_are_not_told_again():
    wide = line("1", row=None, shrubs=tuple(f"s{k}" for k in range(12)), place="rows 1–3")
    said = by_row(plan_of(replace(wide, act="Press nuts in rows 1–3")))[0].walks[0].lines[0]
    assert (said.where, said.tags) == ("", wide.shrubs)


def test_a_row_named_above_its_lines_is_not_named_again():
    whole = line("1", row=8, shrubs=tuple(f"8-{k}" for k in range(12)), place="row 8")
    walk = by_row(plan_of(whole))[0].walks[0]
    assert (walk.name, walk.lines[0].where) == ("Row 8", "")


def test_nearly_all_shrubs_are_told_as_all():
    every = line("1", row=None, shrubs=tuple(f"s{k}" for k in range(95)))
    said = by_row(plan_of(every))[0].walks[0].lines[0]
    assert (said.where, said.tags) == ("all", ())


def test_few_lines_are_those_on_which_most_hangs_in_walking_order():
    lines = [line(str(k), weight=weight) for k, weight in enumerate((1.0, 3.0, 2.0))]
    part = by_row(plan_of(*lines), most=2)[0]
    assert [said.line.key for said in part.walks[0].lines] == ["1", "2"]
    assert part.left == 1


def test_every_line_says_where_its_shrubs_stand(asked):
    planting, plan = asked
    for found in plan.lines:
        if len(found.shrubs) == 1:
            shrub = planting.by_tag[found.shrubs[0]]
            assert found.place == f"row {shrub.row}, number {shrub.number}"
            assert found.row == shrub.row
        elif found.shrubs:
            assert found.place.startswith("row")


def test_the_days_ahead_widen_the_plan(sorrel_bank):
    planting = open_planting(sorrel_bank, on=APRIL)
    plan = season_plan(planting, ahead=7)
    assert plan.until == APRIL + timedelta(days=7)
