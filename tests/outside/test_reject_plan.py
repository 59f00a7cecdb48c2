"""Reject levels of the US Food and Drug Administration, and its plan of looking in steps.

Compliance Policy Guide 570.425 and the plan as a trade article quotes it, read in November 2026.
"""

import numpy as np
import pytest

from nuttery.science.crop import against_reject_level, chance_of_verdicts, sequential_look


# CPG 570.425: nuts in shell 10 %, shelled 5 %
@pytest.mark.parametrize(
    ("rejects", "examined", "form", "above"),
    [
        (11, 100, "in shell", True),
        (10, 100, "in shell", False),
        (6, 100, "kernel", True),
        (5, 100, "kernel", False),
    ],
)
def test_share_of_rejects_against_the_action_level(rejects, examined, form, above):
    assert against_reject_level(rejects, examined, form).above is above


# plan as quoted: 100 nuts accept <= 5, reject >= 15; 150 nuts accept <= 10, reject >= 19
@pytest.mark.parametrize(
    ("rejects", "examined", "verdict", "draw"),
    [
        (5, 100, "accept", 0),
        (6, 100, "draw more", 50),
        (10, 100, "draw more", 50),
        (14, 100, "draw more", 50),
        (15, 100, "reject", 0),
        (10, 150, "accept", 0),
        (11, 150, "beyond the plan as read", 0),
        (19, 150, "reject", 0),
    ],
)
def test_verdict_of_the_sequential_plan(rejects, examined, verdict, draw):
    look = sequential_look(rejects, examined)
    assert (look.verdict, look.draw) == (verdict, draw)
    assert look.certainty == "secondary source"


def test_chances_agree_with_lots_drawn_nut_by_nut():
    rng = np.random.default_rng(5)
    for share in (0.04, 0.08, 0.15):
        nuts = rng.random((20_000, 150)) < share
        first, both = nuts[:, :100].sum(axis=1), nuts.sum(axis=1)
        going_on = (first > 5) & (first < 15)
        accept = np.mean((first <= 5) | (going_on & (both <= 10)))
        reject = np.mean((first >= 15) | (going_on & (both >= 19)))
        chances = chance_of_verdicts(share)
        assert chances["accept"] == pytest.approx(accept, abs=0.012)
        assert chances["reject"] == pytest.approx(reject, abs=0.012)


def test_a_worse_lot_is_taken_less_often():
    chances = chance_of_verdicts(np.linspace(0, 1, 21))
    assert (np.diff(chances["accept"]) <= 1e-12).all()
    assert (np.diff(chances["reject"]) >= -1e-12).all()
    assert chances["accept"][0] == pytest.approx(1.0)
    assert chances["reject"][-1] == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: sequential_look(3, 120), "examined: found 120, expected one of 100, 150"),
        (lambda: sequential_look(101, 100), "rejects: found 101, expected 0 to 100"),
        (lambda: against_reject_level(1, 10, "husk"), "found 'husk', expected one of in shell"),
        (lambda: chance_of_verdicts([0.1, 1.1]), r"true_share\[1\]: found 1.1, expected 0 to 1"),
    ],
)
def test_wrong_input_is_named(call, told):
    with pytest.raises(ValueError, match=told):
        call()
