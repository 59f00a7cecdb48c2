"""Where an order of dominance is not known the answer is a range, and reports narrow it.

Reference: S1 stands above S2, the place of S4 and S9 is not known (`reference/alleles.toml`).
"""

from datetime import date

import numpy as np
import pytest

from nuttery.demo.make import StationRecord
from nuttery.records import (
    AllelesKnown,
    CrossCounted,
    CrossMade,
    LayerMade,
    ParentsKnown,
    ShrubPlanted,
)
from nuttery.science.pollen import Hierarchy
from nuttery.season.crosses import cross_plan
from nuttery.season.dominance import narrowed, order_told
from nuttery.season.errors import NotEnoughKnown
from nuttery.season.lineage import crosses_used, family, inferred
from nuttery.season.pollen import pollen

PLACES = {"A1": (0, 0), "A2": (2, 0), "D1": (0, 4), "D2": (2, 4), "E1": (4, 0)}
SET = date(2014, 5, 1)


def alleles(first, second, *, shown=(), **whose):
    return (
        AllelesKnown,
        date(2015, 2, 1),
        {"first": first, "second": second, "shown": shown, **whose},
    )


@pytest.fixture
def planted(trial):
    """D1 shows nobody knows what, E1 is settled, A has a mother and two possible fathers."""
    shrubs = [
        (ShrubPlanted, SET, {"shrub": tag, "x": x, "y": y, "seed_lot": tag[0]})
        for tag, (x, y) in PLACES.items()
    ]
    parents = {"seed_lot": "A", "mother": "Mum", "fathers": ("Dad", "Neighbour")}
    trial(
        *shrubs,
        (LayerMade, SET, {"shrub": "L1", "copy_of": "A1", "x": 4.0, "y": 4.0}),
        (ParentsKnown, SET, parents),
        alleles(1, 3, parent="Mum"),
        alleles(4, 9, shrub="D1"),
        alleles(2, 4, shrub="D2"),
        alleles(1, 2, shrub="E1"),
    )
    return trial


def crossed(planted, seed, donor, *, took):
    """Keep a cross and its count."""
    made = {"shrub": seed, "pollen_from": donor}
    planting = planted((CrossMade, date(2020, 4, 1), made))
    (cross,) = [n for n in planting.notes(CrossMade) if (n.shrub, n.pollen_from) == (seed, donor)]
    counted = {"shrub": seed, "cross": cross.id, "clusters": 9 * took, "took": took}
    return planted((CrossCounted, date(2020, 7, 20), counted))


def chances(planting):
    """(lowest, highest) acceptance of a seed by a pollen, both by tag."""
    told = family(planting)
    low, high = inferred(told).compatibility_range()
    place = told.names.index
    return lambda seed, pollen: tuple(t[place(seed), place(pollen)] for t in (low, high))


def test_acceptance_that_hangs_on_an_unknown_order_is_a_range(planted):
    accepts = chances(planted())
    assert accepts("D2", "D1") == (0.0, 1.0)
    assert accepts("D1", "E1") == (1.0, 1.0)
    assert accepts("A1", "L1") == accepts("L1", "A1") == (0.0, 0.0)


def test_a_report_of_what_pollen_shows_narrows_the_range(planted):
    assert chances(planted())("E1", "D2") == (0.0, 1.0)
    planting = planted(alleles(2, 4, shown=(4,), shrub="D2"))
    assert order_told(planting).bounds(4)[0] > order_told(planting).bounds(2)[1]
    assert chances(planting)("E1", "D2") == (1.0, 1.0)


@pytest.mark.parametrize("shown", [frozenset({4}), frozenset({1, 4}), frozenset({1})])
def test_a_narrowed_order_allows_what_was_reported_alone(shown):
    assert narrowed(Hierarchy({1: 3.0}), 1, 4, shown).possible((1, 4)) == (shown,)


def test_a_report_that_the_order_on_record_forbids_changes_nothing():
    order = Hierarchy({1: 3.0, 2: 2.0})
    assert narrowed(order, 1, 2, frozenset({2})) is order


def test_only_crosses_whose_pollen_hangs_on_an_unknown_order_are_left_out(planted):
    for seed, donor in (("D1", "E1"), ("E1", "D1")):
        planting = crossed(planted, seed, donor, took=True)
    found = family(planting)
    names = [(found.names[seed], found.names[donor]) for seed, donor, _ in crosses_used(found)]
    assert names == [("D1", "E1")]


def with_weather(planting):
    days = np.arange(np.datetime64("2021-01-01"), np.datetime64("2026-04-13"))
    warm = -6 + 14 * np.sin(2 * np.pi * ((days - days[0]).astype(int) % 365 - 105) / 365)
    record = StationRecord(days, warm - 5, warm + 5, np.zeros(days.size))
    planting.register.keep_weather(record, planting=planting.about.planting, source="x", trust=1)
    return planting


def test_pollen_and_crosses_answer_where_an_order_is_unknown(planted):
    """No cross is asked for whose result would hang on the unknown order."""
    crossed(planted, "A1", "A2", took=False)
    planting = with_weather(planted(on=date(2026, 4, 12)))
    outlook = pollen(planting)
    chance = {donor.tag: donor.accepted_told for donor in outlook.one("D2").donors}
    assert chance["D1"] == "0–100%"
    assert {donor.tag for donor in outlook.one("A1").donors}.isdisjoint({"L1"})
    assert (outlook.crosses, outlook.crosses_left_out) == (1, 0)
    accepts = chances(planting)
    for cross in cross_plan(planting, 2).crosses:
        low, high = accepts(cross.seed, cross.pollen)
        assert low == pytest.approx(high)


@pytest.mark.parametrize(
    ("reports", "told"),
    [
        ([alleles(2, 5, shrub="A1")], "A1 was reported 2 and 5, its parents Mum 1 and 3"),
        (
            [
                alleles(1, 1, parent="Dad"),
                alleles(2, 2, parent="Neighbour"),
                alleles(3, 5, shrub="A2"),
            ],
            "A2 was reported 3 and 5, its parents Mum 1 and 3, Dad 1 and 1, Neighbour 2 and 2",
        ),
    ],
)
def test_a_report_that_the_parents_forbid_is_refused_by_name(planted, reports, told):
    with pytest.raises(NotEnoughKnown, match=f"S-alleles known: {told}"):
        inferred(family(planted(*reports)))


def test_a_report_that_one_of_the_possible_fathers_allows_is_taken(planted):
    reports = alleles(1, 1, parent="Dad"), alleles(5, 2, parent="Neighbour")
    told = family(planted(*reports, alleles(3, 5, shrub="A2")))
    posterior = inferred(told)
    assert posterior.probability[told.names.index("A2")].max() == pytest.approx(1)
