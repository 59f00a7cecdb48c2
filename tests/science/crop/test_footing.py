import numpy as np
import pytest
from numpy.testing import assert_allclose

from nuttery.science.crop import assumed_share, in_shell_mass, learn_loss, learned_share


def test_measured_moisture_leaves_no_doubt_in_shell():
    e = in_shell_mass([100.0, 50.0], state="in shell", condition="fresh", moisture_wb=0.25)
    assert_allclose(e.median, [81.5217, 40.7609], atol=5e-5)
    assert_allclose(e.low, e.high)


def test_unknown_moisture_and_husk_widen_the_interval():
    shell = in_shell_mass([10.0], state="in shell", condition="fresh")
    husk = in_shell_mass([10.0], state="in husk", condition="fresh")
    assert shell.low[0] < shell.median[0] < shell.high[0]
    assert (husk.high / husk.low)[0] > (shell.high / shell.low)[0] > 1.05
    assert husk.basis == "in husk share assumed, moisture assumed"


# 2 kg in shell at 8 % hold 0.8 kg kernel at 6 % when the share is 0.40; back again
def test_kernels_go_back_to_the_nuts_they_came_from():
    e = in_shell_mass([0.8], state="kernel", condition="dry", moisture_wb=0.06)
    assert e.median[0] == pytest.approx(2.0)
    wetter = in_shell_mass([0.8], state="kernel", condition="dry", moisture_wb=0.06, to_wb=0.10)
    assert wetter.median[0] == pytest.approx(2.0 * 0.92 / 0.90)


def test_own_lots_narrow_the_share_and_take_it_over():
    rng = np.random.default_rng(2)
    whole = rng.uniform(1, 3, 30)
    belief = learned_share(
        "crop.share.in_shell_of_in_husk", whole * rng.normal(0.5, 0.02, 30), whole
    )
    start = assumed_share("crop.share.in_shell_of_in_husk")
    assert belief.median == pytest.approx(0.5, abs=0.02)
    assert belief.sd < 0.5 * start.sd
    e = in_shell_mass([1.0], state="in husk", condition="fresh", in_shell_share=belief)
    assert e.basis.startswith("in husk share learned")
    assert e.n_records == 30


def test_no_lots_leave_the_assumption_as_it_was():
    name = "crop.share.kernel_of_in_shell"
    assert learned_share(name, [], []) == assumed_share(name)


def test_next_lot_lies_in_the_interval_as_often_as_it_says():
    rng = np.random.default_rng(8)
    hits = 0
    for _ in range(600):
        centre = rng.normal(-0.4, 0.3)
        share = 1 / (1 + np.exp(-(centre + rng.normal(0, 0.2, 9))))
        b = learned_share("crop.share.kernel_of_in_shell", share[:8], np.ones(8))
        low, high = (b.centre + z * b.sd for z in (-1.2816, 1.2816))
        hits += low <= np.log(share[8] / (1 - share[8])) <= high
    assert 0.72 < hits / 600 < 0.92


def test_loss_is_learned_from_nuts_counted_twice():
    assumed = learn_loss([], [], [])
    assert (assumed.basis, assumed.n_records) == ("assumed", 0)
    assert assumed.median == pytest.approx(0.05, abs=1e-4)
    # as wide on the logit scale as the assumed range, 0.01 to 0.15
    low, high = (np.log(p / (1 - p)) for p in (assumed.low, assumed.high))
    assert high - low == pytest.approx(np.log(0.15 / 0.85) - np.log(0.01 / 0.99), rel=1e-3)
    rng = np.random.default_rng(4)
    days = rng.uniform(1, 5, 40)
    learned = learn_loss(np.full(40, 25), rng.binomial(25, 0.88**days), days)
    assert learned.low < 0.12 < learned.high
    assert learned.high - learned.low < 0.03


def test_loss_interval_covers_as_often_as_it_says():
    rng = np.random.default_rng(14)
    hits = 0
    for _ in range(300):
        p = 1 / (1 + np.exp(-rng.normal(np.log(0.05 / 0.95), 1.0)))
        days = np.array([2.0, 3.0, 4.0])
        e = learn_loss(np.full(3, 20), rng.binomial(20, (1 - p) ** days), days)
        hits += e.low <= p <= e.high
    assert 0.73 < hits / 300 < 0.88


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (
            lambda: in_shell_mass([1.0], state="hulled", condition="dry"),
            "state: found 'hulled', expected one of in husk, in shell, kernel",
        ),
        (
            lambda: in_shell_mass([1.0], state="kernel", condition="damp"),
            "condition: found 'damp', expected one of fresh, dry",
        ),
        (
            lambda: in_shell_mass(
                [1.0, 2.0], state="in shell", condition="dry", moisture_wb=[0.1, 8]
            ),
            r"moisture_wb\[1\]: found 8.0, expected 0 to below 1",
        ),
        (
            lambda: in_shell_mass([-1.0], state="in shell", condition="dry"),
            r"mass\[0\]: found -1.0, expected 0 to inf",
        ),
        (
            lambda: learned_share("crop.share.kernel_of_in_shell", [1.0], [1.0]),
            r"part\[0\]: found 1.0, expected more than 0 and less than its whole",
        ),
        (lambda: learn_loss([3], [4], [1.0]), r"left\[0\]: found 4.0, expected no more than were"),
        (lambda: learn_loss([3], [2], [0.0]), r"days\[0\]: found 0.0, expected more than 0 days"),
    ],
)
def test_wrong_input_is_named(call, told):
    with pytest.raises(ValueError, match=told):
        call()
