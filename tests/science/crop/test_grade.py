import pytest

from nuttery.reference import table
from nuttery.science.crop import RULE_SETS, fill_bin, grade, known_rules, rule_set, size_class


def test_what_nobody_looked_at_is_listed():
    lot = grade({"total": 2.0}, "US in shell", whole_wb=0.09)
    assert lot.name == "U.S. No. 1"
    assert lot.not_examined == (
        "blank",
        "spoiled",
        "insect",
        "mixed_types",
        "off_size",
        "undersize",
    )


def test_a_lot_of_which_nothing_was_examined_has_no_grade_without_saying_so():
    assert "total" in grade({}, "UNECE kernels").not_examined


def test_few_nuts_leave_the_lot_in_doubt():
    few = grade({"total": 5.0}, "US in shell", examined=20).tests["U.S. No. 1"][0].chance
    many = grade({"total": 5.0}, "US in shell", examined=2000).tests["U.S. No. 1"][0].chance
    assert few < 0.9
    assert many > 0.999


def test_three_of_thirty_stand_at_ten_per_cent():
    assert grade({"total": 100 * (0.1 + 0.2) / 3}, "US in shell").name == "U.S. No. 1"


@pytest.mark.parametrize("name", RULE_SETS)
def test_every_row_has_certainty_source_and_better_classes_are_stricter(name):
    for tolerance in known_rules(name).tolerances:
        assert tolerance.certainty
        assert tolerance.source
        limits = list(tolerance.limits.values())
        assert limits == sorted(limits)


def test_a_buyers_own_terms_can_be_used():
    rows = [r | {"name": "buyer"} if r["kind"] == "rules" else r for r in table("grading_us")]
    rows = [
        r | {"limits": {"U.S. No. 1": 1.0}} if r.get("defect") == "total" else r
        for r in rows
        if r["kind"] != "fill"
    ]
    lot = grade({"total": 2.0}, rule_set(rows))
    assert (lot.rules, lot.name) == ("buyer", None)


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: grade({"mould": 1}, "UNECE kernels"), "found defect 'mould', expected one of tot"),
        (lambda: grade({"total": 101}, "UNECE kernels"), "found 101, expected 0 to 100 %"),
        (lambda: grade({"total": -1}, "UNECE kernels"), "found -1.0, expected 0 to inf"),
        (lambda: grade({}, "UNECE"), "found 'UNECE', expected one of US in shell, UNECE ker"),
        (lambda: grade({}, "US in shell", whole_wb=9.6), "whole_wb: found 9.6, expected 0 to bel"),
        (lambda: grade({}, "US in shell", examined=0), "examined: found 0, expected at least 1"),
        (lambda: size_class(0.0, "round"), "found 0.0, expected a diameter above 0 mm"),
        (lambda: size_class(20.0, "oval"), "found 'oval', expected one of round, long"),
        (lambda: fill_bin([0.2, 1.2]), r"fill\[1\]: found 1.2, expected 0 to 1"),
        (lambda: rule_set([]), "found 0 of kind 'rules', expected 1"),
        (
            lambda: rule_set(
                [
                    {**table("grading_us")[0], "classes": ["A", "B"]},
                    table("grading_us")[1],
                ]
            ),
            "found limits for U.S. No. 1, expected for A, B",
        ),
    ],
)
def test_wrong_input_is_named(call, told):
    with pytest.raises(ValueError, match=told):
        call()
