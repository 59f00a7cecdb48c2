"""The wind of the shed weeks: typed, learned from hours on record, or taken to be even."""

from datetime import UTC, date, datetime

import numpy as np
import pytest

from nuttery.season.bloom import bloom
from nuttery.season.planting import open_planting
from nuttery.season.pollen_field import pollen_field
from nuttery.season.pollen_wind import SECTORS, drift_kernel, pollen_wind
from nuttery.season.values import set_value
from nuttery.season.weather_in import import_weather_file

ON = date(2026, 5, 20)


def own(planting, name, value):
    now = datetime(2026, 5, 20, 9, tzinfo=UTC)
    set_value(planting, name, value, source="a mast by the barn", by="Ida", device="t", now=now,
              means_it=True)  # fmt: skip


def blow(planting, tmp_path, *, first, last, wind_from):
    """Import hours of wind from one side, 3 m/s."""
    hours = np.arange(np.datetime64(first), np.datetime64(last), np.timedelta64(1, "h"))
    rows = [f"{str(h).replace('T', ' ')}:00,5.0,3.0,{wind_from}" for h in hours.astype("M8[m]")]
    file = tmp_path / f"wind-{wind_from}.csv"
    file.write_text("time,temp_C,wind_speed_mps,wind_from\n" + "\n".join(rows) + "\n")
    import_weather_file(planting, file, source=f"mast {wind_from}")


def test_without_a_rose_pollen_spreads_alike_and_says_so(sorrel_bank):
    planting = open_planting(sorrel_bank, on=ON)
    outlook = bloom(planting)
    found = pollen_wind(planting, outlook.shed.mean(axis=0), outlook.first_day)
    assert (found.basis, found.rose) == ("even", None)
    assert "spread alike" in found.told()


def test_a_rose_set_by_hand_feeds_the_downwind_side(own_sorrel_bank):
    planting = open_planting(own_sorrel_bank, on=ON)
    before = pollen_field(planting).mean
    assert pollen_field(planting).wind.drift_told() == "drift as measured on another tree"
    own(planting, "pollen.drift.power.nearest", 1.5)
    own(planting, "pollen.wind.from_w", 3.0)
    own(planting, "pollen.wind.from_sw", 1.0)
    field = pollen_field(open_planting(own_sorrel_bank, on=ON))
    assert field.wind.basis == "typed"
    assert field.wind.share[SECTORS.index("w")] == 0.75
    assert "W (75 %) and SW (25 %)" in field.wind.told()
    assert field.wind.drift_told() == "drift as set by hand"
    east = before.drift.xy[:, 0]
    gain = np.log((field.mean.dose.sum(axis=1) + 1e-9) / (before.dose.sum(axis=1) + 1e-9))
    far = east > np.quantile(east, 0.75)
    near = east < np.quantile(east, 0.25)
    assert np.median(gain[far]) > np.median(gain[near]) + 0.3


def test_only_hours_of_the_shed_weeks_teach_the_rose(trial, tmp_path):
    shed = np.zeros(131)
    shed[40:50] = 0.5  # of curves that begin on day 60: days 100 to 109, 10 to 19 April
    planting = trial()
    blow(planting, tmp_path, first="2025-03-01", last="2025-04-10", wind_from=270)
    blow(planting, tmp_path, first="2025-04-20", last="2025-08-30", wind_from=180)
    assert pollen_wind(planting, shed, 60).basis == "even"
    blow(planting, tmp_path, first="2025-04-10", last="2025-04-20", wind_from=45)
    found = pollen_wind(planting, shed, 60)
    assert found.basis == "learned"
    assert found.share == pytest.approx(np.eye(8)[1])
    assert (found.hours, found.years) == (240, 1)
    assert "mostly from NE (100 %)" in found.told()
    early = trial(on=date(2024, 5, 20))
    assert pollen_wind(early, shed, 60).basis == "even"


def test_the_season_s_answer_learns_its_rose_from_imported_hours(own_sorrel_bank, tmp_path):
    planting = open_planting(own_sorrel_bank, on=ON)
    blow(planting, tmp_path, first="2026-03-01", last="2026-05-15", wind_from=90)
    wind = pollen_field(open_planting(own_sorrel_bank, on=ON)).wind
    assert (wind.basis, wind.years) == ("learned", 1)
    assert wind.share == pytest.approx(np.eye(8)[2])


def test_a_drift_that_the_grower_set_is_the_one_reckoned_with(own_sorrel_bank):
    planting = open_planting(own_sorrel_bank, on=ON)
    own(planting, "pollen.drift.power.exponent", 2.0)
    assert drift_kernel(open_planting(own_sorrel_bank, on=ON)).exponent == 2.0
