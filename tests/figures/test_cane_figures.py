"""The outlook's chart holds every way, its band and its figures, in the planting's units."""

import numpy as np
import pytest

from nuttery.figures.crop_ahead import ahead_chart
from nuttery.season.outlook import Ahead, CropOutlook


@pytest.fixture
def found():
    ways = tuple(
        Ahead(name, middle := np.linspace(k, k + 2, 3), middle - 0.5, middle + 0.5, 9.0, 0.5)
        for k, name in enumerate(("this plan", "cut nothing"), start=2)
    )
    return CropOutlook((2027, 2028, 2029), ways, 4, 200, np.zeros(0), ())


def test_every_way_has_its_line_its_band_and_its_figures(found):
    chart = ahead_chart(found, "metric")
    for words in ("this plan", "cut nothing", "kg in shell", "2028: 3.0 kg (2.5–3.5)"):
        assert words in chart.picture
    assert chart.sheet.rows[1] == ("2028", 3.0, 2.5, 3.5, 4.0, 3.5, 4.5)


def test_pounds_are_shown_where_the_planting_is_kept_in_them(found):
    # 1 lb = 0.45359237 kg, exactly (international pound of 1959).
    row = ahead_chart(found, "US").sheet.rows[0]
    assert row[1] == pytest.approx(2 / 0.45359237, abs=0.01)
