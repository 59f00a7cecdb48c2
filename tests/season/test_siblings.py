from datetime import date

import pytest

from nuttery.records import Sample
from nuttery.season.siblings import traits_of_all

NUTS = ({"mass_g": 2.0, "kernel_g": 0.8},) * 4


def sample(tag, **more):
    return Sample, date(2026, 10, 1), {"shrub": tag, "nuts": NUTS, **more}


def test_nuts_are_compared_at_one_moisture_and_never_mixed(trial):
    fresh = {"state": "fresh", "moisture": 0.26, "basis": "wet basis"}
    planting = trial(sample("a"), sample("b", **fresh), sample("c", state="fresh"))
    traits = {trait.name: trait for trait in traits_of_all(planting)[0]}
    # 2 g at 26 % hold 1.48 g of dry matter, which makes 1.48 / 0.92 g at 8 %
    assert traits["nut"].median[:2].tolist() == pytest.approx([2.0, 2.0 * 0.74 / 0.92])
    assert traits["nut"].of(2) is None
    assert traits["kernel"].of(0).median == pytest.approx(40.0)
    assert traits["kernel"].of(1) is None
