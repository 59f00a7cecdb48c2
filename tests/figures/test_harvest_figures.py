from dataclasses import replace
from datetime import date

import numpy as np
import pytest
import vl_convert
from defusedxml.ElementTree import fromstring

from nuttery.figures.drying_curve import drying_curve
from nuttery.figures.harvest_sheets import batches_sheet
from nuttery.figures.nuts import nuts_sheet
from nuttery.figures.picking_strip import MOST, picking_strips
from nuttery.records import Sample
from nuttery.season.drying import drying
from nuttery.season.harvest import picks
from nuttery.season.planting import open_planting
from nuttery.season.samples import samples

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def planting(sorrel_bank):
    return open_planting(sorrel_bank, on=date(2026, 9, 12))


@pytest.fixture(scope="module")
def plan(planting):
    return picks(planting)


def printed(chart):
    """The picture as a printer gets it; fails where it is no picture."""
    return vl_convert.svg_to_png(chart.picture)


def test_every_shrub_has_its_bar_and_every_visit_its_ring(plan):
    charts = picking_strips(plan, "metric")
    rings = [
        len(fromstring(c.picture).findall(f"{SVG}circle")) - 1  # less the legend's
        for c in charts
    ]
    bars = [len(fromstring(c.picture).findall(f"{SVG}g")) for c in charts]
    assert sum(rings) == plan.visits.sum()
    assert sum(bars) == len(plan.tags)
    assert all(printed(c) for c in charts)


def test_a_shrub_past_its_middle_has_no_tick(plan):
    today = (plan.first - date(plan.first.year, 1, 1)).days + 1
    (chart,) = picking_strips(plan, "metric")
    bars = fromstring(chart.picture).findall(f"{SVG}g")
    ticked = [bar.find(f"{SVG}path") is not None for bar in bars]
    assert ticked == (plan.ripe >= today).tolist()
    assert not all(ticked)


def test_many_shrubs_are_drawn_on_several_pages(plan):
    rows = np.resize(np.arange(len(plan.tags)), 2 * MOST + 1)
    parts = {
        name: getattr(plan, name)[rows]
        for name in ("ripe", "ripe_low", "ripe_high", "tests", "kg", "visits")
    }
    many = replace(plan, tags=tuple(plan.tags[k] for k in rows), **parts)
    charts = picking_strips(many, "metric")
    assert len(charts) == 3
    assert charts[0].title.endswith("(1 of 3)")
    assert len({c.name for c in charts}) == 3


def test_a_plan_without_shrubs_says_so(plan):
    nothing = {
        name: getattr(plan, name)[:0]
        for name in ("ripe", "ripe_low", "ripe_high", "tests", "kg", "visits")
    }
    (chart,) = picking_strips(replace(plan, tags=(), **nothing), "metric")
    assert "No nuts are expected" in chart.picture
    assert printed(chart)


def test_the_drying_curve_has_every_weighing_the_target_and_the_likely_days(planting):
    batch = next(b for b in drying(planting) if b.ready is not None and b.ready.high is not None)
    chart = drying_curve(batch, "metric")
    root = fromstring(chart.picture)
    assert len(root.findall(f".//{SVG}circle")) == len(batch.mass_kg)
    assert "target, 8 % moisture" in chart.picture
    assert "likely dry" in chart.picture
    assert batch.ready.told() in chart.told
    assert len(chart.sheet.rows) == len(batch.mass_kg)
    assert printed(chart)


def test_two_weighings_are_drawn_without_a_curve(planting):
    batch = next(b for b in drying(planting) if b.status == "weigh again")
    chart = drying_curve(batch, "US")
    assert "likely dry" not in chart.picture
    assert "lb" in chart.sheet.columns[1]
    assert printed(chart)


def test_the_sheet_of_nuts_tells_sizes_grade_and_what_the_sequential_plan_says(planting):
    tag = next(planting.notes(Sample)).shrub
    sheet = nuts_sheet(samples(planting, tag), "US")
    row = dict(zip(sheet.columns, sheet.rows[-1], strict=True))
    assert "by US in shell" in sheet.columns or "by UNECE in shell" in sheet.columns
    plan = next(name for name in row if name.startswith("rejects: sequential plan (secondary"))
    assert "more nuts to its next step" in row[plan]
    assert "%" in row["blank"]


def test_the_trays_tell_hours_to_go_with_their_interval(planting):
    sheet = batches_sheet(drying(planting), "metric")
    told = [row[sheet.columns.index("to go then")] for row in sheet.rows]
    assert any(" h (" in words for words in told)
