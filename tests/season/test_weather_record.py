from datetime import date

import numpy as np
import pytest

from nuttery.demo.pen import Pen
from nuttery.records import PlantingDescribed
from nuttery.season.errors import NotEnoughKnown, WrongQuestion
from nuttery.season.planting import open_planting
from nuttery.season.weather import futures, record, so_far
from nuttery.season.weather_curves import season_curves
from nuttery.season.weather_in import import_weather_file, keep_forecast
from nuttery.season.weather_sources import sources
from nuttery.store import Register

ON = date(2026, 4, 12)


@pytest.fixture
def bare(tmp_path):
    """A planting without weather, 330 m above the sea."""
    with Register.create(tmp_path / "bare.db") as register:
        register.keep(
            [
                Pen(1).write(
                    PlantingDescribed,
                    date(2020, 1, 1),
                    name="Bare",
                    latitude=46.1,
                    longitude=-91.2,
                    elevation=330.0,
                    time_zone="America/Chicago",
                    units="metric",
                )
            ]
        )
    return open_planting(tmp_path / "bare.db", on=ON)


def daily_csv(path, first, low, high):
    days = np.datetime64(first) + np.arange(len(low))
    rows = [f"{d},{a:.1f},{b:.1f},0" for d, a, b in zip(days, low, high, strict=True)]
    path.write_text("\n".join(["date,tmin (°C),tmax (°C),rain (mm)", *rows]) + "\n")
    return path


def test_without_weather_the_answer_says_what_is_missing(bare):
    with pytest.raises(NotEnoughKnown, match="no weather is on record; import some"):
        record(bare)


def test_importing_again_adds_nothing(bare, tmp_path):
    file = daily_csv(tmp_path / "a.csv", "2026-01-01", np.full(30, -5.0), np.full(30, 2.0))
    assert import_weather_file(bare, file).added == 30
    again = import_weather_file(bare, file)
    assert (again.added, again.already) == (0, 30)


def test_hours_also_give_days_that_have_enough_of_them(bare, tmp_path):
    hours = np.datetime64("2026-03-01T00:00") + np.arange(24 * 3 - 10) * np.timedelta64(1, "h")
    wave = 5 + 6 * np.sin(2 * np.pi * (np.arange(hours.size) - 9) / 24)
    rows = [f"{str(t).replace('T', ' ')},{v:.1f}" for t, v in zip(hours, wave, strict=True)]
    file = tmp_path / "hours.csv"
    file.write_text("\n".join(["time (local standard),temp (°C)", *rows]) + "\n")
    kept = import_weather_file(bare, file)
    assert any("2 days have enough hours" in sentence for sentence in kept.told)
    known = record(bare)
    assert known.dates.size == 2
    assert known.tmin == pytest.approx([-1.0, -1.0], abs=0.05)
    assert known.tmax == pytest.approx([11.0, 11.0], abs=0.05)


def test_a_station_is_set_to_the_growers_own_readings(bare, tmp_path):
    rng = np.random.default_rng(1)
    low = rng.normal(-3, 4, 60)
    station = daily_csv(tmp_path / "station.csv", "2026-01-01", low, low + 10)
    own = daily_csv(tmp_path / "own.csv", "2026-02-10", low[40:] - 2.5, low[40:] + 9.5)
    import_weather_file(bare, station, source="station", trust=2)
    import_weather_file(bare, own, source="own", trust=1)
    found = {source.name: source for source in sources(bare)}
    assert found["station"].night.mean == pytest.approx(-2.5, abs=0.1)
    assert "nights are -2.5 °C" in found["station"].told("metric")
    assert "nights are -4.5 °F" in found["station"].told("US")
    assert "is not known" in found["own"].told("US")
    known = record(bare)
    assert known.tmin[:40] == pytest.approx(low[:40] - 2.5, abs=0.15)
    assert known.tmin[40:] == pytest.approx(low[40:] - 2.5, abs=0.06)


def test_a_long_gap_is_told_and_not_filled(bare, tmp_path):
    low = np.full(40, -4.0)
    first = daily_csv(tmp_path / "a.csv", "2026-01-01", low, low + 8)
    second = daily_csv(tmp_path / "b.csv", "2026-02-16", low, low + 8)
    import_weather_file(bare, first, source="s")
    import_weather_file(bare, second, source="s")
    assert len(record(bare).gaps) == 1
    with pytest.raises(NotEnoughKnown, match="2026 has no readings on 10 Feb, 11 Feb"):
        so_far(bare)


def test_a_typical_year_is_no_record(bare, tmp_path):
    head = "724666,DENVER,CO,-7.0,39.8,-104.9,1600\nDate (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C)\n"
    hours = "".join(f"01/01/19{80 + h % 9},{h % 24 + 1:02d}:00,1.0\n" for h in range(24))
    file = tmp_path / "typical.csv"
    file.write_text(head + hours)
    with pytest.raises((WrongQuestion, ValueError), match="typical year"):
        import_weather_file(bare, file)


def test_a_forecast_leads_every_future_and_is_no_record(own_sorrel_bank):
    planting = open_planting(own_sorrel_bank, on=ON)
    before = record(planting)
    keep_forecast(planting, [-9.0, -8.0], [-1.0, 0.0])
    planting = open_planting(own_sorrel_bank, on=ON)
    found = futures(planting, draws=100)
    ahead = found.tmin[:, found.known_days : found.known_days + 2]
    assert ahead.mean(axis=0) == pytest.approx([-9.0, -8.0], abs=0.6)
    assert 1.0 < ahead[:, 0].std() < 2.2
    assert np.array_equal(record(planting).tmin, before.tmin, equal_nan=True)


def test_a_low_above_its_high_is_refused(own_sorrel_bank):
    planting = open_planting(own_sorrel_bank, on=ON)
    with pytest.raises(WrongQuestion, match="day 2: found a low of 5 °C above its high, 4"):
        keep_forecast(planting, [1.0, 5.0], [3.0, 4.0])
    with pytest.raises(WrongQuestion, match="found 1 lows and 2 highs"):
        keep_forecast(planting, [1.0], [3.0, 4.0])


def test_the_season_so_far_is_the_end_of_its_curves(sorrel_bank):
    planting = open_planting(sorrel_bank, on=ON)
    found, (heat, chill) = so_far(planting), season_curves(planting)
    day = ON.timetuple().tm_yday - 1
    assert heat.now[day] == pytest.approx(found.heat)
    assert np.isnan(heat.now[day + 1])
    assert np.nanmax(chill.now) == pytest.approx(found.chill)
    assert heat.years == found.years
    assert np.all(np.diff(heat.then, axis=1) >= 0)
