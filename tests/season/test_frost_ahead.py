from datetime import date, timedelta

import numpy as np
import pytest

from nuttery.science.weather import frost_season
from nuttery.season.bloom_draws import COURSES, season_draws
from nuttery.season.errors import WrongQuestion
from nuttery.season.frost import band_days, frost_risks, lines, night_ahead, thresholds
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
    learned = {(t.organ, t.first_bbch): t for t in thresholds(planting)}
    assert learned["shoot", 10].n_records > 20
    assert learned["shoot", 10].killing == pytest.approx(-6.5, abs=0.6)


def test_lines_name_the_night_to_watch_for(planting):
    found = list(lines(planting, ON + timedelta(days=28)))
    assert found
    assert all("half are lost at about" in line.why and line.caution for line in found)
