"""Sizes and tolerances of nuts against the standards' own tables, as read in November 2026.

7 CFR 51.1995 (sizes), OAR 603-051-0283 (fill), UNECE DDP-03 and DDP-04 (tolerances and sizes as
reproduced by the trade).
"""

import pytest

from nuttery.reference import table
from nuttery.science.crop import fill_bin, fill_faults, grade, opening_mm, size_class


# 7 CFR 51.1995, round types; a nut as wide as the opening passes it
@pytest.mark.parametrize(
    ("diameter", "expected"),
    [
        (22.3, "Jumbo"),
        (22.225, "Large"),
        (20.0, "Large"),
        (19.447, "Medium"),
        (18.0, "Medium"),
        (17.859, "Small"),
        (15.9, "Small"),
    ],
)
def test_round_types_fall_in_one_class(diameter, expected):
    assert size_class(diameter, "round") == {expected}


# 7 CFR 51.1995, long types: 47-48, 44-45 and 34-35 sixty-fourths belong to two classes
@pytest.mark.parametrize(
    ("sixty_fourths", "expected"),
    [
        (50, {"Jumbo"}),
        (47.5, {"Jumbo", "Large"}),
        (46, {"Large"}),
        (44.5, {"Large", "Medium"}),
        (40, {"Medium"}),
        (34.5, {"Medium", "Small"}),
        (30, {"Small"}),
    ],
)
def test_long_types_overlap(sixty_fourths, expected):
    assert size_class(opening_mm(sixty_fourths), "long") == expected


def test_every_nut_has_a_class():
    sizes = [5 + k / 50 for k in range(1500)]
    assert all(len(found) == 1 for found in size_class(sizes, "round"))
    assert all(1 <= len(found) <= 2 for found in size_class(sizes, "long"))


# UNECE DDP-03 (from memory): intervals of at most 2 mm, or a least size "and over"; trade calibres
@pytest.mark.parametrize(
    ("diameter", "expected"),
    [
        (19.0, {"18–20 mm", "14 mm and over", "16 mm and over", "18 mm and over"}),
        (16.0, {"14–16 mm", "16–18 mm", "14 mm and over", "16 mm and over"}),
        (11.9, set()),
    ],
)
def test_unece_sizes_in_shell_span_two_millimetres_or_are_open_above(diameter, expected):
    assert size_class(diameter, "round", "UNECE in shell") == expected
    assert size_class(diameter, "long", "UNECE in shell") == expected
    rows = [r for r in table("grading_unece_in_shell") if r["kind"] == "size"]
    assert all(r["to_mm"] - r["from_mm"] <= 2 for r in rows if "to_mm" in r)


# trade calibres of kernels: 9-11, 11-13, 13-15 mm and over 15 mm
@pytest.mark.parametrize(
    ("diameter", "expected"),
    [(10.0, {"9–11 mm"}), (12.9, {"11–13 mm"}), (14.0, {"13–15 mm"}), (15.5, {"15 mm and over"})],
)
def test_kernels_fall_in_the_calibres_of_the_trade(diameter, expected):
    fits = size_class(diameter, "round", "UNECE kernels")
    calibres = {"9–11 mm", "11–13 mm", "13–15 mm", "15 mm and over"}
    assert fits & calibres == expected


LOT = {"total": 5.0, "undeveloped": 2.0, "mouldy": 0.5, "living_pests": 0, "foreign": 0.25}


# UNECE DDP-04
@pytest.mark.parametrize(
    ("change", "expected"),
    [({}, "Extra"), ({"mouldy": 0.6}, "I"), ({"mouldy": 2.6}, None), ({"living_pests": 1}, None)],
)
def test_kernel_lots(change, expected):
    assert grade(LOT | change, "UNECE kernels").name == expected


# UNECE DDP-03: total above 10 and empty above 6 shut out of Extra
def test_in_shell_lot_is_class_one_with_its_reasons():
    lot = grade({"total": 12, "undeveloped": 7, "spoiled": 3}, "UNECE in shell")
    assert lot.name == "I"
    told = lot.reasons("Extra")
    assert len(told) == 2
    assert "12 %, at most 10 %" in told[0]
    assert "7 %, at most 6 %" in told[1]


# OAR 603-051-0283 (blank < 1/4, well developed >= 1/2) against UNECE DDP-03 (empty 0, >= 50 %)
@pytest.mark.parametrize(
    ("fill", "american", "european"),
    [
        (0.0, {"blank", "poorly_developed"}, {"empty", "undeveloped"}),
        (0.20, {"blank", "poorly_developed"}, {"undeveloped"}),
        (0.40, {"poorly_developed"}, {"undeveloped"}),
        (0.50, set(), set()),
    ],
)
def test_fill_is_judged_by_each_standard_in_its_own_words(fill, american, european):
    def faults(rules):
        found = fill_faults(fill_bin([fill]), rules)
        return {name for name, nuts in found.items() if nuts[0]}

    assert faults("US in shell") == american
    assert faults("UNECE in shell") == european
