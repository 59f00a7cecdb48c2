"""Pictures of canes: read back from their marks, they hold what the plan and the stool hold."""

import html
import re
from datetime import date

import numpy as np
import pytest

from nuttery.figures.cane_ages import ages_chart, bearing_chart
from nuttery.figures.cane_years import ages_ahead_chart
from nuttery.figures.crop_ahead import ahead_chart
from nuttery.figures.stool import stool_key, stool_on_card, stool_picture, stool_sheet
from nuttery.season.canes import canes
from nuttery.season.outlook import Ahead, CropOutlook
from nuttery.season.planting import open_planting
from nuttery.season.stool_view import CaneView, StoolView, stool_view
from nuttery.season.stools import stools

WINTER = date(2025, 12, 10)


@pytest.fixture(scope="module")
def bank(sorrel_bank):
    return open_planting(sorrel_bank, on=WINTER)


@pytest.fixture(scope="module")
def plan(bank):
    return canes(bank)


def titles(picture):
    """Words that the marks of a picture say when asked."""
    return [html.unescape(words) for words in re.findall("<title>([^<]+)</title>", picture)]


def test_bars_of_ages_hold_the_canes_before_and_after_the_cuts(plan):
    chart = ages_chart(plan)
    said = titles(chart.picture)
    for age in (1, 5, 9):
        assert f"age {age}: {plan.counts[:, age].sum()} standing" in said
        assert f"age {age}: {plan.kept[:, age].sum()} after the cuts" in said
    assert [row[1] for row in chart.sheet.rows] == plan.counts[:, 1:].sum(axis=0).tolist()


def test_bearing_is_drawn_with_its_interval(plan):
    said = titles(bearing_chart(plan, "metric").picture)
    told = f"{plan.bearing[5]:.2f} kg ({plan.bearing_low[5]:.2f}–{plan.bearing_high[5]:.2f})"
    assert f"age 5: {told}" in said
    pounds = bearing_chart(plan, "US")
    assert f"age 5: {plan.bearing[5] / 0.45359237:.2f} lb (" in " ".join(titles(pounds.picture))
    assert pounds.sheet.columns[1] == "lb a cane"
    assert pounds.sheet.rows[4][1] == pytest.approx(plan.bearing[5] / 0.45359237, abs=0.001)
    assert "kg" not in pounds.told + pounds.picture


def test_ages_ahead_hold_every_winter_by_class_and_add_up(plan):
    chart = ages_ahead_chart(plan, bearing_from=4)
    said = titles(chart.picture)
    assert f"now, 10 and older: overdue: {plan.counts[:, 10:].sum()}" in said
    for winter, ages in zip(range(plan.winter, plan.winter + 15), plan.ages, strict=True):
        assert f"{winter}, 4–9: bearing: {ages[4:10].sum()}" in said
    columns = np.array([row[1:] for row in chart.sheet.rows]).sum(axis=0)
    assert columns.tolist() == [plan.counts.sum(), *plan.ages.sum(axis=1)]
    assert f"wanted: {plan.target * len(plan.tags):g}" in chart.picture


@pytest.mark.parametrize(("bearing_from", "words"), [(3, "2 years: young"), (2, "2–9: bearing")])
def test_ages_ahead_follow_the_age_from_which_canes_bear(plan, bearing_from, words):
    assert words in ages_ahead_chart(plan, bearing_from=bearing_from).picture


def stool(*canes_, tag="a"):
    return StoolView(tag, 2027, canes_, 2027, "by age", ())


def places(picture):
    """Middle and size of every round cane, those of the key below left out."""
    found = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="([\d.]+)" fill="#', picture)
    spots = np.array(found, dtype=float)
    return spots[spots[:, 1] < 400]


def test_a_labelled_cane_stands_where_the_compass_says():
    east = CaneView("e", 5, 90.0, 30.0, "stays")
    x, y, _ = places(stool_picture(stool(east)))[0]
    assert x > 250
    assert y == pytest.approx(200)


@pytest.mark.parametrize("number", [3, 11, 16, 28])
@pytest.mark.parametrize("draw", [stool_picture, stool_on_card])
def test_canes_of_no_told_place_do_not_touch(draw, number):
    canes_ = [CaneView("", 14 - k // 3, None, None, "stays") for k in range(number)]
    spots = places(draw(stool(*canes_)))
    assert len(spots) == number
    apart = np.hypot(*(spots[:, None, :2] - spots[None, :, :2]).transpose(2, 0, 1))
    reach = spots[:, None, 2] + spots[None, :, 2]
    np.fill_diagonal(apart, np.inf)
    assert (apart >= reach - 0.1).all()


def test_what_goes_differs_by_shape_and_age_is_written_on_the_cane():
    picture = stool_on_card(
        stool(
            CaneView("", 15, None, None, "saw out"),
            CaneView("", 6, None, None, "stays"),
            CaneView("", 1, None, None, "keep"),
            CaneView("", 1, None, None, "take away"),
        )
    )
    assert picture.count("<rect") == 1
    assert len(places(picture)) == 1
    assert picture.count('stroke-dasharray="2 2"') == 1
    assert ">15+</text>" in picture
    assert ">6</text>" in picture
    assert "What the shapes of canes mean" in stool_key()


def test_the_stool_of_a_shrub_holds_the_plan_s_cuts_and_its_sheet_every_cane(bank, plan):
    known = stools(bank)
    k = int(plan.cut[:, 2:].sum(axis=1).argmax())
    view = stool_view(bank, plan.tags[k], known, plan)
    assert f"cane to saw out: {plan.cut[k, 2:].sum()}" in stool_picture(view)
    rows = stool_sheet(view).rows
    assert len(rows) == plan.counts[k].sum()
    assert sum(row[-1] == "saw out" for row in rows) == plan.cut[k, 2:].sum()


@pytest.fixture
def found():
    ways = tuple(
        Ahead(name, middle := np.linspace(k, k + 2, 3), middle - 0.5, middle + 0.5, 9.0, 0.5)
        for k, name in enumerate(("this plan", "cut nothing"), start=2)
    )
    return CropOutlook((2027, 2028, 2029), ways, 4, 200, np.zeros(0), ())


def test_every_way_has_its_line_its_band_and_its_figures(found):
    chart = ahead_chart(found, "metric")
    for words in ("this plan", "cut nothing", "kg in shell", "2028: 3.0 kg (2.5–3.5)"):
        assert words in chart.picture
    assert chart.sheet.rows[1] == ("2028", 3.0, 2.5, 3.5, 4.0, 3.5, 4.5)


def test_pounds_are_shown_where_the_planting_is_kept_in_them(found):
    # 1 lb = 0.45359237 kg, exactly (international pound of 1959).
    row = ahead_chart(found, "US").sheet.rows[0]
    assert row[1] == pytest.approx(2 / 0.45359237, abs=0.01)


def test_canes_told_at_one_place_are_drawn_side_by_side():
    canes = tuple(CaneView(f"c{k}", 5, 90.0, 20.0, "stays") for k in range(4))
    picture = stool_picture(StoolView("a", 2026, canes, 2026, "by age", ()))
    spots = re.findall('<circle cx="([0-9.]+)" cy="([0-9.]+)" r="([0-9.]+)" fill="#', picture)[:4]
    at = np.array(spots, dtype=float)
    apart = np.hypot(*(at[:, None, :2] - at[None, :, :2]).transpose(2, 0, 1))
    assert apart[np.triu_indices(4, 1)].min() > 2 * at[:, 2].max()
    assert at[:, 0].min() > 200  # all of them in the east still
