"""The plan of the planting and the stool from above, read back from their SVG."""

import re

import numpy as np
import pytest

from nuttery.figures.planting_map import Place, planting_map
from nuttery.figures.stool import stool_picture
from nuttery.season.siblings import _of_mean
from nuttery.season.stool_view import CaneView, StoolView


def stool(*canes):
    return StoolView("3-05", 2026, canes, 2026, "by age", ())


def test_canes_to_go_differ_in_shape_and_the_legend_counts_them():
    canes = [CaneView("", 11, None, None, "saw out")] * 2 + [CaneView("", 5, None, 40.0, "stays")]
    picture = stool_picture(stool(*canes, CaneView("", 1, None, None, "keep")))
    assert "cane to saw out: 2" in picture
    assert "cane that stays: 1" in picture
    assert "sucker to keep: 1" in picture
    assert "sucker to take away" not in picture
    squares = re.findall(r'<rect x="[^"]*" y="[^"]*" width="[^"]*" height="[^"]*" fill="#', picture)
    assert len(squares) == 2 + 1  # two canes, and the legend's sample


@pytest.mark.parametrize(
    ("compass", "side"), [(0, (0, -1)), (90, (1, 0)), (180, (0, 1)), (270, (-1, 0))]
)
def test_a_labelled_cane_stands_where_the_compass_says(compass, side):
    picture = stool_picture(stool(CaneView("b", 5, float(compass), 40.0, "stays")))
    x, y = map(float, re.search(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="18', picture).groups())
    assert (np.sign(round(x - 200)), np.sign(round(y - 200))) == side


def test_canes_without_a_place_keep_apart():
    picture = stool_picture(stool(*[CaneView("", a, None, None, "stays") for a in range(2, 12)]))
    found = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="[\d.]+" fill="#', picture)
    at = np.array(found, dtype=float)[:10]
    apart = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1))
    assert apart[np.triu_indices(10, 1)].min() > 25


def places(rows, along):
    return [
        Place(f"{r}-{c:03}", 1.8 * c, -4.5 * r, (r + c) % 5 / 4, ("round", "square")[c % 2], "some")
        for r in range(rows)
        for c in range(along)
    ]


def test_a_plan_of_5000_shrubs_is_small_to_send_and_every_shape_is_drawn_once():
    import gzip

    picture = planting_map(places(50, 100), title="t", linked="/shrubs/{}")
    assert len(gzip.compress(picture.encode(), 5)) < 120_000
    assert picture.count("<use ") == 5000
    assert picture.count('<g id="m') == 10
    assert picture.count('<a href="/shrubs/') == 5000


def test_north_is_up_east_is_right_and_one_metre_is_as_long_both_ways():
    picture = planting_map(places(3, 4), title="t")
    at = {
        tag: (float(x), float(y))
        for tag, x, y in re.findall(
            r'data-tag="([^"]+)">.*?<use [^>]*x="([\d.]+)" y="([\d.]+)"', picture
        )
    }
    assert at["0-003"][0] > at["0-000"][0]
    assert at["2-000"][1] > at["0-000"][1]
    metre_east = (at["0-003"][0] - at["0-000"][0]) / (3 * 1.8)
    metre_south = (at["2-000"][1] - at["0-000"][1]) / (2 * 4.5)
    assert metre_east == pytest.approx(metre_south, rel=0.01)


def test_words_in_tags_and_titles_are_never_read_as_markup():
    picture = planting_map([Place("<b>", 0, 0, None, "round", "a & b")], title="<i>")
    assert "<b>" not in picture
    assert "<i>" not in picture
    assert "a &amp; b" in picture


def test_the_interval_of_a_mean_holds_four_in_five_of_the_true_means():
    """Few years each: the spread of all shrubs together steadies the interval."""
    rng = np.random.default_rng(4)
    truth = rng.uniform(1, 3, 2000)
    table = truth[:, None] + rng.normal(0, 0.4, (2000, 4))
    table[rng.random(table.shape) < 0.3] = np.nan
    found = _of_mean("crop", "kg", table, "")
    seen = ~np.isnan(found.median)
    inside = (found.low <= truth) & (truth <= found.high)
    assert inside[seen].mean() == pytest.approx(0.8, abs=0.03)
