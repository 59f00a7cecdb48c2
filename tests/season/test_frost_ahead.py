from datetime import date, timedelta

import numpy as np
import pytest

from nuttery.records import FrostHarm
from nuttery.science.weather import frost_season
from nuttery.season.bloom_draws import COURSES, season_draws
from nuttery.season.errors import WrongQuestion
from nuttery.season.frost import band_days, frost_risks, lines, night_ahead
from nuttery.season.frost_harm import harms_told, thresholds
from nuttery.season.planting import open_planting
from nuttery.season.weather import futures

ON = date(2026, 4, 12)


@pytest.fixture(scope="module")
def planting(sorrel_bank):
    return open_planting(sorrel_bank, on=ON)


def test_catkins_and_shoots_are_told_apart_and_never_added(planting):
    risks = frost_risks(planting, ON + timedelta(days=28))
    assert {risk.organ for risk in risks} >= {"catkin", "shoot"}
    for risk in risks:
        assert len(risk.share) == len(risk.harm) == len(planting.shrubs)
        assert 0 <= risk.loss.low <= risk.loss.high <= 1


def test_shares_of_each_shrub_are_those_of_the_science_of_frost(planting):
    until = ON + timedelta(days=28)
    draws, nights = season_draws(planting), futures(planting, draws=COURSES).tmin
    first = ON.timetuple().tm_yday
    bands = [t for t in thresholds(planting) if t.organ == "pistillate flower"]
    begin, end = band_days(draws, ("pistillate flower", 60))
    never = np.full_like(begin.T, -np.inf)
    begins = np.stack([never, begin.T - first, end.T - first])
    out = frost_season(
        "pistillate flower", begins[1:], nights[:, first - 1 : first + 28], thresholds=bands[1:]
    )
    risk = next(r for r in frost_risks(planting, until) if r.organ == "pistillate flower")
    assert risk.share == pytest.approx(out.share, abs=0.01)


def test_a_colder_night_takes_more(planting):
    night = ON + timedelta(days=2)
    mild, hard = (night_ahead(planting, night, low, 1.0) for low in (-4.0, -12.0))
    by_stage = {risk.stage: risk.loss.median for risk in mild}
    assert all(risk.loss.median >= by_stage[risk.stage] for risk in hard)
    assert any(risk.loss.median > by_stage[risk.stage] + 0.2 for risk in hard)


def test_a_night_of_another_season_is_refused(planting):
    with pytest.raises(WrongQuestion, match=r"found 2027-05-03, expected a day .* of 2026"):
        night_ahead(planting, date(2027, 5, 3), -6.0, 1.5)


def test_notes_of_harm_move_the_thresholds_of_shoots_towards_the_truth(planting):
    # the truth has one threshold from bud break on; the notes have no stage of their own
    learned = [t for t in thresholds(planting) if t.organ == "shoot" and t.n_records > 20]
    assert learned
    for threshold in learned:
        assert threshold.killing == pytest.approx(-6.5, abs=0.7)


def test_lines_name_the_night_to_watch_for(planting):
    found = list(lines(planting, ON + timedelta(days=28)))
    assert found
    assert all("half are lost at about" in line.why and line.caution for line in found)


def test_a_note_without_a_stage_takes_the_one_of_the_clock_on_its_night(planting):
    bare = [n for n in planting.notes(FrostHarm) if n.organ == "green shoot"]
    assert all(note.stage is None for note in bare)
    found = harms_told(planting, bare)
    assert len(found) > 0.8 * len(bare) > 20
    assert all(harm.reckoned for harm in found)
    assert {harm.stage for harm in found} <= {0, 7, 11}
    assert np.mean([harm.stage >= 7 for harm in found]) > 0.9


def test_a_stage_that_was_noted_stands(planting):
    note = next(n for n in planting.notes(FrostHarm) if n.organ == "green shoot")
    told = harms_told(planting, [note.model_copy(update={"stage": 8})])
    assert [(harm.stage, harm.reckoned) for harm in told] == [(8, False)]


def test_a_shoot_harmed_before_bud_break_is_not_taken_for_a_leaf(planting):
    note = next(n for n in planting.notes(FrostHarm) if n.organ == "green shoot")
    early = note.model_copy(update={"seen": note.seen.replace(month=3, day=1)})
    assert [harm.stage for harm in harms_told(planting, [early])] == [0]


def test_thresholds_say_how_many_stages_are_the_clocks(planting):
    for threshold in thresholds(planting):
        assert ("inferred from the clock" in threshold.source) == (threshold.n_records > 0)


def test_thresholds_learned_from_many_shrubs_a_night_hold_the_truth(planting):
    """In truth half of the catkins are lost at -10.5 °C and half of the shoots at -6.5 °C."""
    found = {t.stage: t for t in thresholds(planting) if t.n_records}
    shedding, green = found["shedding"], found["green tips"]
    assert shedding.low < -10.5 < shedding.high
    assert green.low < -6.5 < green.high
    nights = int(green.source.split()[3])
    assert nights < green.n_records / 5
