"""Where new shrubs go and how lots are laid out, held against trying everything."""

from datetime import date
from itertools import combinations, product

import numpy as np
import pytest

from nuttery.records import ShrubLost, ShrubPlanted
from nuttery.season import NotEnoughKnown, WrongQuestion
from nuttery.season.new_planting import lay_out, seedlings_needed
from nuttery.season.places import empty_places
from nuttery.season.planting import open_planting
from nuttery.season.pollen_field import pollen_field
from nuttery.season.siting import LOWEST, siting


@pytest.fixture(scope="module")
def planting(sorrel_bank):
    return open_planting(sorrel_bank, on=date(2026, 5, 20))


@pytest.fixture(scope="module")
def field(planting):
    return pollen_field(planting)


def lowest(cover):
    known = np.sort(cover[np.isfinite(cover)])
    return known[: max(1, int(LOWEST * len(known)))].mean()


def planted(planting, field, new):
    """Cover of the standing shrubs with further seedlings, each a place and a lot, summed anew."""
    mine = np.array([planting.shrubs[k].seed_lot or "" for k in field.rows])
    bears = field.mean.shed.max(axis=1) > 0
    dose, everyone = field.mean.dose.copy(), slice(0, len(field.tags))
    for place, lot in new:
        rows = np.flatnonzero((mine == lot) & bears)
        seedling = field.told.seedlings[field.told.lots.index(lot)][0]
        chance = field.posterior.compatibility_block(everyone, slice(seedling, seedling + 1))[:, 0]
        apart = np.hypot(*(field.mean.drift.xy - (place.x, place.y)).T)
        reach = field.mean.drift.kernel(apart) * chance * field.mean.catkins[rows].mean()
        dose += reach[:, None] * field.mean.shed[rows].mean(axis=0)
    taken = dose / (dose + field.half.half_dose)
    out = field.mean.receptive
    with np.errstate(invalid="ignore"):
        return (out * taken).sum(axis=1) / out.sum(axis=1)


@pytest.mark.parametrize("wanted", [1, 2])
def test_no_choice_of_all_lifts_the_worst_fed_more_than_the_one_told(planting, field, wanted):
    plan = siting(planting, wanted)
    free, lots = empty_places(planting), field.told.lots
    best = max(
        lowest(planted(planting, field, zip(places, chosen, strict=True)))
        for places in combinations(free, wanted)
        for chosen in product(lots, repeat=wanted)
    )
    told = lowest(planted(planting, field, zip(plan.places, plan.lots, strict=True)))
    assert plan.before == pytest.approx(lowest(field.mean.cover))
    assert plan.after == pytest.approx(told, abs=1e-9)
    assert best - 1e-3 <= plan.after <= best + 1e-9
    assert best <= plan.bound + 1e-9
    assert plan.gap == pytest.approx(plan.bound - plan.after, abs=1e-12)


def test_one_lot_asked_for_is_the_only_one_told(planting):
    plan = siting(planting, 2, lot="Sorrel B")
    assert plan.lots == ("Sorrel B", "Sorrel B")
    assert plan.after <= siting(planting, 2).bound + 1e-9


def test_a_lot_or_number_that_cannot_be_is_refused(planting):
    with pytest.raises(WrongQuestion, match="found 'Sorrel Z', expected one of Sorrel A, "):
        siting(planting, 1, lot="Sorrel Z")
    with pytest.raises(WrongQuestion, match="found 0, expected 1 to"):
        siting(planting, 0)


def test_gaps_lie_on_the_line_of_their_row_and_a_lost_shrub_leaves_its_place(trial):
    row = {"row": 2, "y": 6.0}
    planting = trial(
        (ShrubPlanted, date(2012, 5, 1), {"shrub": "d", **row, "number": 1, "x": 2.5}),
        (ShrubPlanted, date(2012, 5, 1), {"shrub": "e", **row, "number": 4, "x": 8.5}),
        (ShrubPlanted, date(2013, 5, 1), {"shrub": "f", "x": 30.0, "y": -4.0}),
        (ShrubLost, date(2015, 5, 1), {"shrub": "b"}),
        (ShrubLost, date(2016, 5, 1), {"shrub": "f"}),
    )
    found = {place.name: (place.x, place.y) for place in empty_places(planting)}
    assert found == {
        "row 1, number 2": (4.0, 0.0),
        "row 2, number 2": (4.5, 6.0),
        "row 2, number 3": (6.5, 6.0),
        "30 m east, 4 m south": (30.0, -4.0),
    }
    beyond = {place.name: (place.x, place.y) for place in empty_places(planting, beyond=1)}
    assert found.items() <= beyond.items()
    assert beyond["row 1, number 4"] == (8.0, 0.0)
    assert beyond["row 2, number 0"] == (0.5, 6.0)


def test_a_place_planted_again_is_not_empty(trial):
    again = {"shrub": "b2", "row": 1, "number": 2, "x": 4.0, "y": 0.2}
    planting = trial(
        (ShrubLost, date(2015, 5, 1), {"shrub": "b"}), (ShrubPlanted, date(2016, 5, 1), again)
    )
    assert empty_places(planting) == ()
    with pytest.raises(NotEnoughKnown, match="no empty place"):
        siting(planting, 1)


def test_lots_are_laid_out_in_the_numbers_asked_for_and_beat_blocks(planting):
    plan = lay_out(
        planting, {"Sorrel A": 6, "Elsewhere": 6}, rows=3, per_row=4, spacing=1.8, between=4.5
    )
    assert plan.grid.shape == (3, 4)
    assert [int((plan.grid == k).sum()) for k in (0, 1)] == [6, 6]
    assert plan.known == (True, False)
    assert plan.lowest == pytest.approx(layout_cover(plan, plan.grid.ravel()), abs=1e-9)
    assert plan.lowest >= plan.in_blocks - 1e-12


def test_a_layout_is_as_good_as_the_best_of_all_where_all_can_be_tried(planting):
    plan = lay_out(
        planting, {"Sorrel A": 4, "Sorrel B": 4}, rows=2, per_row=4, spacing=1.8, between=4.5
    )
    every = []
    for first in combinations(range(8), 4):
        lots = np.ones(8, dtype=int)
        lots[list(first)] = 0
        every.append(layout_cover(plan, lots))
    assert plan.lowest == pytest.approx(max(every), abs=1e-9)


def layout_cover(plan, lots):
    """Mean cover of the lowest tenth with all in full bloom at once, summed pair by pair."""
    x, y = np.meshgrid(np.arange(plan.per_row) * plan.spacing, np.arange(plan.rows) * plan.between)
    places = list(zip(x.ravel(), y.ravel(), strict=True))
    cover = []
    for i, (east, north) in enumerate(places):
        dose = sum(
            plan.accepted[lots[i], lots[j]] * (max(np.hypot(east - a, north - b), 1) / 5) ** -1.535
            for j, (a, b) in enumerate(places)
            if i != j
        )
        cover.append(dose / (dose + plan.half_dose))
    return np.mean(sorted(cover)[: max(1, len(places) // 10)])


def test_the_curve_of_seedlings_needed_is_what_drawn_siblings_show(planting, field):
    curves = {curve.lot: curve for curve in seedlings_needed(planting)}
    assert set(curves) == {*field.told.lots, "unrelated seedlings"}
    rng = np.random.default_rng(3)
    letters, told = field.posterior.alphabet, field.told
    pairs = np.array([sorted(pair) for pair in letters.pairs])
    number = {tuple(pair): k for k, pair in enumerate(pairs.tolist())}
    drawn = pairs[field.posterior.draw(1500, rng)]
    lot = told.lots.index("Sorrel A")
    seedling = told.seedlings[lot][0]
    mother, father = drawn[:, told.mother[seedling]], drawn[:, told.father[seedling]]
    curve, accepts = curves["Sorrel A"], letters.accepts[0]
    for k in (1, 3, 10):
        fed = 0
        for dam, sire in zip(mother, father, strict=True):
            picks = rng.integers(2, size=(k + 1, 2))
            young = [number[tuple(sorted((dam[a], sire[b])))] for a, b in picks.tolist()]
            in_time = rng.random(k) < curve.overlap
            fed += any(accepts[young[0], y] and t for y, t in zip(young[1:], in_time, strict=True))
        assert curve.chance[k] == pytest.approx(fed / len(mother), abs=0.05)
    assert all((np.diff(c.chance) >= -1e-12).all() for c in curves.values())
    assert curves["unrelated seedlings"].chance[5] > curve.chance[5]
