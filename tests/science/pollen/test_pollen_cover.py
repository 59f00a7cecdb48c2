"""Cover: against the formula written out, and laws that must hold."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nuttery.science.pollen import (
    ExponentialKernel,
    PowerKernel,
    WindRose,
    cover_interval,
    loss_drill,
    pollen_cover,
    shortage,
    wind_rose,
)

KERNEL = ExponentialKernel()


def planting(seed, n=9, days=6):
    rng = np.random.default_rng(seed)
    return {
        "xy": rng.random((n, 2)) * 40,
        "shed": rng.random((n, days)) * (rng.random((n, days)) < 0.6),
        "receptive": rng.random((n, days)) * (rng.random((n, days)) < 0.6),
        "compatibility": rng.random((n, n)) * (rng.random((n, n)) < 0.7),
        "catkins": rng.random(n) * 3,
    }


def written_out(planting, kernel, half):
    """The formula of the design, one term at a time."""
    xy, shed, receptive, compatibility, catkins = planting.values()
    n, days = shed.shape
    dose = np.zeros((n, days))
    for i in range(n):
        for j in range(n):
            if i != j:
                weight = float(kernel(np.array([[np.hypot(*(xy[i] - xy[j]))]]))[0, 0])
                dose[i] += compatibility[i, j] * catkins[j] * shed[j] * weight
    taken = dose / (dose + half)
    with np.errstate(invalid="ignore"):
        return dose, (receptive * taken).sum(axis=1) / receptive.sum(axis=1)


@pytest.mark.parametrize("n", [1, 2, 9, 300])
@pytest.mark.parametrize("kernel", [KERNEL, PowerKernel(cut_off=25.0), lambda d: d**-2])
def test_cover_is_the_formula_written_out(n, kernel):
    given_ = planting(n, n=n, days=4)
    found = pollen_cover(**given_, kernel=kernel, half_dose=0.7)
    if n == 300:  # every seventh row is enough of a double loop
        rows = slice(0, None, 43)
        dose = np.zeros((n, 4))
        apart = np.hypot(*(given_["xy"][:, None] - given_["xy"][None]).transpose(2, 0, 1))
        np.fill_diagonal(apart, 1.0)
        weight = kernel(apart)
        np.fill_diagonal(weight, 0.0)
        dose = (given_["compatibility"] * weight * given_["catkins"]) @ given_["shed"]
        assert found.dose[rows] == pytest.approx(dose[rows], rel=1e-12)
        return
    dose, cover = written_out(given_, kernel, 0.7)
    assert found.dose == pytest.approx(dose, rel=1e-12)
    assert found.cover == pytest.approx(cover, rel=1e-12, nan_ok=True)


def test_a_function_of_blocks_does_for_a_table():
    given_ = planting(3, n=200)
    table = given_.pop("compatibility")
    whole = pollen_cover(**given_, compatibility=table, kernel=KERNEL, half_dose=1.0)
    parts = pollen_cover(
        **given_, compatibility=lambda a, b: table[a, b], kernel=KERNEL, half_dose=1.0
    )
    assert np.array_equal(whole.dose, parts.dose)


def test_a_shrub_never_receptive_has_no_cover():
    given_ = planting(1)
    given_["receptive"][4] = 0
    assert np.isnan(pollen_cover(**given_, kernel=KERNEL, half_dose=1.0).cover[4])


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.randoms(use_true_random=False))
def test_renumbering_shrubs_changes_nothing(seed, random):
    given_ = planting(seed)
    order = list(range(9))
    random.shuffle(order)
    moved = {name: array[order] for name, array in given_.items()}
    moved["compatibility"] = given_["compatibility"][np.ix_(order, order)]
    first = pollen_cover(**given_, kernel=KERNEL, half_dose=1.0)
    second = pollen_cover(**moved, kernel=KERNEL, half_dose=1.0)
    assert second.cover == pytest.approx(first.cover[order], nan_ok=True)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 8))
def test_more_catkins_on_a_donor_never_lower_any_cover(seed, donor):
    given_ = planting(seed)
    before = pollen_cover(**given_, kernel=KERNEL, half_dose=1.0).cover
    given_["catkins"][donor] += 1
    after = pollen_cover(**given_, kernel=KERNEL, half_dose=1.0).cover
    assert (np.nan_to_num(after - before) >= -1e-12).all()


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000))
def test_another_donor_never_lowers_any_cover(seed):
    given_ = planting(seed)
    fewer = {k: v[:-1, :-1] if k == "compatibility" else v[:-1] for k, v in given_.items()}
    before = pollen_cover(**fewer, kernel=KERNEL, half_dose=1.0).cover
    after = pollen_cover(**given_, kernel=KERNEL, half_dose=1.0).cover[:-1]
    known = ~np.isnan(before)
    assert (after[known] >= before[known] - 1e-12).all()


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10_000))
def test_shares_of_donors_add_up_and_follow_their_terms(seed):
    given_ = planting(seed)
    found = pollen_cover(**given_, kernel=KERNEL, half_dose=1.0)
    for i in range(9):
        alone = found.weights_on(i) * given_["shed"].sum(axis=1)
        total = found.dose[i].sum()
        assert found.share_of_donor(i) * total == pytest.approx(alone)
        assert found.share_of_donor(i)[i] == 0
        useful = (found.dose[i] * given_["receptive"][i]).sum()
        if useful > 0:
            assert found.useful_share_of_donor(i).sum() == pytest.approx(1)


def test_wind_carries_one_way():
    given_ = planting(2, n=2)
    given_["xy"] = np.array([[0.0, 0.0], [10.0, 0.0]])
    given_["compatibility"] = np.ones((2, 2))
    west_wind = WindRose(np.array([0.0, 0.0, 0.0, 1.0]))
    blown = pollen_cover(**given_, kernel=KERNEL, half_dose=1.0, wind=west_wind).dose
    still = pollen_cover(**given_, kernel=KERNEL, half_dose=1.0).dose
    assert not blown[0].any()
    assert blown[1] == pytest.approx(4 * still[1])


def test_wind_from_one_side_only_is_a_rose_whatever_the_rounding():
    speed = np.random.default_rng(1).random(5000) + 0.1
    assert wind_rose(np.full(5000, 90.0), speed).share.tolist() == [0, 0, 1, 0, 0, 0, 0, 0]


def test_wind_between_sectors_agrees_with_the_donor_rows():
    given_ = planting(5, n=150)
    rose = wind_rose([10, 100, 200, 350], [3, 1, 2, 5])
    found = pollen_cover(**given_, kernel=KERNEL, half_dose=1.0, wind=rose)
    rows = [found.weights_on(i) @ given_["shed"] for i in (0, 77, 149)]
    assert found.dose[[0, 77, 149]] == pytest.approx(np.array(rows))


def test_the_loss_drill_agrees_with_removing_each_shrub():
    given_ = planting(11, n=12)
    given_["receptive"][3] = 0
    found = pollen_cover(**given_, kernel=KERNEL, half_dose=0.5)
    drill = loss_drill(found, short=0.4)
    drops = np.zeros((12, 12))
    for lost in range(12):
        without = {**given_, "catkins": np.where(np.arange(12) == lost, 0, given_["catkins"])}
        after = pollen_cover(**without, kernel=KERNEL, half_dose=0.5).cover
        others = np.arange(12) != lost
        assert drill.mean_cover[lost] == pytest.approx(np.nanmean(after[others]))
        newly = (after < 0.4) & (found.cover >= 0.4) & others
        assert drill.go_short[lost] == newly.sum()
        named = drill.short_without[drill.short_without[:, 0] == lost, 1]
        assert named.tolist() == np.flatnonzero(newly).tolist()
        drops[:, lost] = np.where(others, np.nan_to_num(found.cover - after), 0)
    assert drill.largest_drop == pytest.approx(drops.max(axis=0))
    assert drill.loss_of_that == pytest.approx(drops.max(axis=1))
    hit = drops.max(axis=1) > 0
    assert np.array_equal(drill.leans_on[hit], drops.argmax(axis=1)[hit])


def test_the_loss_drill_takes_its_falls_from_covers_told_and_counts_none_below_the_least():
    found = pollen_cover(**planting(11, n=12), kernel=KERNEL, half_dose=0.5)
    drill = loss_drill(found, short=0.4)
    told = np.where(np.arange(12) == 5, 0.4 + drill.loss_of_that[5] / 2, 0.9)
    from_told = loss_drill(found, short=0.4, told=told)
    assert [drill.leans_on[5], 5] in from_told.short_without.tolist()
    assert set(from_told.short_without[:, 1].tolist()) == {5}
    assert not loss_drill(found, short=0.4, told=told, least=1.0).go_short.any()
    with pytest.raises(ValueError, match=r"found shape \(3,\), expected \(12,\)"):
        loss_drill(found, told=[0.5] * 3)


def among_many(n=900, width=45):
    """A planting of usual density in which all bloom alike; the shrub asked about, the middle."""
    rng, k = np.random.default_rng(8), n // 2 + width // 2
    xy = np.column_stack([np.arange(n) % width * 1.8, np.arange(n) // width * 4.5])
    start = 20 + rng.integers(0, 6, n)[:, None]
    days = np.arange(60.0)
    shed = np.clip(1 - np.abs(days - start - 5) / 6, 0, 1)
    out = ((days >= start - 2) & (days < start + 12)).astype(float)
    parts = {"xy": xy, "shed": shed, "receptive": out}
    parts |= {"compatibility": (rng.random((n, n)) < 0.6) * 1.0, "catkins": rng.gamma(4, 0.25, n)}
    return parts, k, np.random.default_rng(9).random(n) < 0.02


@pytest.mark.parametrize("reason", ["compatibility", "timing", "distance", "catkins"])
def test_what_is_wrong_with_one_shrub_among_many_is_the_reason_told(reason):
    parts, k, few = among_many()
    if reason == "compatibility":
        parts["compatibility"][k] = few
    elif reason == "timing":
        parts["receptive"][k] = np.roll(parts["receptive"][k], 18)
    elif reason == "distance":
        parts["xy"][k] = -300, -300
    else:
        parts["catkins"] *= 0.02
    found = pollen_cover(**parts, kernel=KERNEL, half_dose=4.0)
    assert found.cover[k] < 0.5
    assert shortage(found, plenty=1.0).reason[k] == reason


def test_each_reason_of_shortage_is_found():
    days = np.ones((2, 4))
    early, late = np.array([[1.0, 1, 0, 0]] * 2), np.array([[0.0, 0, 1, 1]] * 2)
    base = {"kernel": KERNEL, "half_dose": 1.0}
    near, far = [[0, 0], [5, 0]], [[0, 0], [150, 0]]
    yes, no = np.ones((2, 2)), np.zeros((2, 2))
    cases = {
        "compatibility": pollen_cover(near, days, days, no, [1, 1], **base),
        "timing": pollen_cover(near, early, late, yes, [1, 1], **base),
        "distance": pollen_cover(far, days, days, yes, [1, 1], **base),
        "catkins": pollen_cover(near, days, days, yes, [0.01, 0.01], **base),
    }
    for reason, cover in cases.items():
        assert shortage(cover, plenty=5.0).reason == [reason] * 2


def test_the_interval_holds_the_covers_of_the_draws_and_a_certain_bloom_has_none():
    given_ = planting(8)
    shed = np.repeat(given_.pop("shed")[None], 5, axis=0)
    out = np.repeat(given_.pop("receptive")[None], 5, axis=0)
    found = cover_interval(shed=shed, receptive=out, **given_, kernel=KERNEL, half_dose=1.0)
    once = pollen_cover(shed=shed[0], receptive=out[0], **given_, kernel=KERNEL, half_dose=1.0)
    for bound in (found.low, found.median, found.high):
        assert bound == pytest.approx(once.cover, nan_ok=True)


def test_draws_in_chunks_agree_with_each_draw_alone(monkeypatch):
    given_ = planting(8)
    rng = np.random.default_rng(4)
    shed, out = rng.random((2, 7, 9, 6))
    del given_["shed"], given_["receptive"]
    monkeypatch.setattr("nuttery.science.pollen.doubt.HELD", 120)
    found = cover_interval(shed=shed, receptive=out, **given_, kernel=KERNEL, half_dose=1.0)
    for d in range(7):
        alone = pollen_cover(shed=shed[d], receptive=out[d], **given_, kernel=KERNEL, half_dose=1.0)
        assert found.draws[d] == pytest.approx(alone.cover)


WRONG = {
    "a compatibility above one": ({"compatibility": np.full((9, 9), 1.5)}, r"\[0, 0\]: found 1.5"),
    "a gap in the shed": ({"shed": np.full((9, 6), np.nan)}, r"shed\[0, 0\]: found nan"),
    "catkins below zero": ({"catkins": -np.ones(9)}, r"catkins\[0\]: found -1.0, expected 0"),
    "a half-dose of zero": ({"half_dose": 0}, "half_dose: found 0, expected above 0"),
    "places missing": ({"xy": np.zeros((8, 2))}, r"found shape \(8, 2\), expected \(9, 2\)"),
    "a kernel that gives no numbers": ({"kernel": lambda d: d * np.nan}, "kernel: found nan"),
    "a kernel below zero": ({"kernel": lambda d: -d}, "expected a finite weight of at least 0"),
    "days that differ": ({"receptive": np.zeros((9, 5))}, r"found shape \(9, 5\), expected that"),
}


@pytest.mark.parametrize(("change", "told"), WRONG.values(), ids=WRONG)
def test_impossible_input_is_named(change, told):
    arguments = {**planting(1), "kernel": KERNEL, "half_dose": 1.0, **change}
    with pytest.raises(ValueError, match=told):
        pollen_cover(**arguments)
