"""Pictures of pollen: well-formed, complete, and never by colour alone."""

import xml.etree.ElementTree as ET
from datetime import date

import numpy as np
import pytest

from nuttery.figures.acceptance_grid import acceptance_grid
from nuttery.figures.overlap import overlap_chart
from nuttery.figures.pollen_map import pollen_map
from nuttery.season import WrongQuestion
from nuttery.season.feeding import acceptance, overlap
from nuttery.season.planting import open_planting
from nuttery.season.pollen import pollen


@pytest.fixture(scope="module")
def planting(sorrel_bank):
    return open_planting(sorrel_bank, on=date(2026, 5, 8))


@pytest.fixture(scope="module")
def found(planting):
    return overlap(planting, "6-06")


def words(picture):
    root = ET.fromstring(picture)  # noqa: S314 - our own picture
    return [element.text or "" for element in root.iter() if element.tag.endswith("text")]


def test_the_plan_shows_every_shrub_and_marks_the_short_by_shape(planting, found):
    outlook = pollen(planting)
    chart = pollen_map(outlook, found)
    assert set(outlook.tags) <= set(words(chart.picture))
    assert any(word.startswith("short: below") for word in words(chart.picture))
    assert len(chart.sheet.rows) == len(outlook.tags)
    assert "stroke-linecap" in chart.picture
    assert "stroke-linecap" not in pollen_map(outlook).picture


def test_the_figures_beside_the_plan_are_in_the_planting_s_units(planting):
    outlook = pollen(planting)
    metric, feet = (pollen_map(outlook, units=units).sheet for units in ("metric", "US"))
    assert metric.columns[1:3] == ("east, m", "north, m")
    assert feet.columns[1:3] == ("east, ft", "north, ft")
    k = int(np.abs(outlook.xy[:, 0]).argmax())
    assert feet.rows[k][1] == pytest.approx(metric.rows[k][1] / 0.3048, abs=0.02)


def test_the_overlap_names_the_shrub_and_its_donors_with_their_shares(found):
    told = words(overlap_chart(found).picture)
    assert "6-06: stigmas out" in told
    assert all(f"{donor} sheds" in told for donor in found.donors)
    assert (np.diff(found.share) <= 0).all()


def test_the_grid_keeps_lots_together_and_gives_no_shrub_to_itself(planting):
    grid = acceptance(planting)
    lots = [lot for k, lot in enumerate(grid.lots) if k == 0 or grid.lots[k - 1] != lot]
    assert len(lots) == len(set(lots))
    assert (np.diag(grid.chance) == 0).all()
    assert set(lots) <= set(words(acceptance_grid(grid).picture))


def test_siblings_accept_each_other_less_than_strangers_do(planting):
    grid = acceptance(planting)
    alike = np.array(grid.lots)[:, None] == np.array(grid.lots)[None]
    other = ~np.eye(len(alike), dtype=bool)
    assert grid.chance[alike & other].mean() < grid.chance[~alike].mean() - 0.1


def test_an_unknown_shrub_is_refused(planting):
    with pytest.raises(WrongQuestion, match="found '77-1', expected the tag of a standing shrub"):
        overlap(planting, "77-1")


def test_pictures_render_without_the_network(found):
    import vl_convert

    assert vl_convert.svg_to_png(overlap_chart(found).picture).startswith(b"\x89PNG")
