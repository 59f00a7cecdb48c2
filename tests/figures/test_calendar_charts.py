import json
import os
import subprocess
import sys
from dataclasses import replace
from datetime import date

import pytest

from nuttery.figures.bloom_calendar import FLOWERS, SHED, bloom_calendar, how_to_read
from nuttery.figures.heat_and_chill import heat_and_chill
from nuttery.figures.vega import as_pdf, as_png, as_svg
from nuttery.season.bloom import bloom
from nuttery.season.frost import frost_nights
from nuttery.season.planting import open_planting
from nuttery.season.weather_curves import season_curves

ON = date(2026, 4, 20)


@pytest.fixture(scope="module")
def planting(sorrel_bank):
    return open_planting(sorrel_bank, on=ON)


@pytest.fixture(scope="module")
def outlook(planting):
    return bloom(planting)


def rows_with(chart, column):
    """Rows of the first table of a chart that has a column."""
    text = json.dumps(chart)
    tables = [t["values"] for t in _tables(json.loads(text))]
    return next(table for table in tables if column in table[0])


def _tables(part):
    if isinstance(part, dict):
        if isinstance(part.get("datasets"), dict):
            yield from ({"values": rows} for rows in part["datasets"].values())
        if isinstance(part.get("values"), list) and isinstance(part["values"][0], dict):
            yield part
        for one in part.values():
            yield from _tables(one)
    elif isinstance(part, list):
        for one in part:
            yield from _tables(one)


def test_the_calendar_has_a_line_of_pollen_and_of_stigmas_for_each_shrub(outlook):
    rows = rows_with(bloom_calendar(outlook, range(5)), "what")
    assert {row["shrub"] for row in rows} == set(outlook.tags[:5])
    assert {row["what"] for row in rows} == {SHED[0], FLOWERS[0]}
    for row in rows:
        assert row["low"] <= row["from"] <= row["to"] <= row["high"]


def test_frost_nights_and_today_are_marked(planting, outlook):
    frosts = [*frost_nights(planting), (date(2026, 4, 25), -3.0), (date(2026, 4, 26), -5.0)]
    chart = bloom_calendar(outlook, range(3), frosts)
    tables = [table["values"] for table in _tables(json.loads(json.dumps(chart)))]
    shown = {row["day"]: row["row"] for rows in tables for row in rows if "row" in row}
    assert {"2026-04-25", "2026-04-26"} <= set(shown)
    assert shown["2026-04-25"] != shown["2026-04-26"]
    assert f'"{ON.isoformat()}"' in json.dumps(chart)


def test_late_in_the_season_the_calendar_still_shows_the_days_of_bloom(outlook):
    late = replace(outlook, on=date(2026, 8, 25))
    chart = bloom_calendar(late, range(3), [(date(2026, 8, 20), -1.0)])
    told = json.dumps(chart)
    assert "2026-08" not in told
    assert "outside the days shown" in how_to_read(late, range(3))
    assert "solid rule" in how_to_read(outlook, range(3))


def test_every_day_is_drawn_by_universal_time(planting, outlook):
    for chart in (bloom_calendar(outlook, range(3)), heat_and_chill(season_curves(planting))):
        text = json.dumps(chart)
        assert text.count('"temporal"') == text.count('"type": "utc"') > 0


def test_the_first_of_april_stands_at_the_same_place_in_chicago(outlook, tmp_path):
    file = tmp_path / "chart.json"
    file.write_text(json.dumps(bloom_calendar(outlook, range(3))))
    code = (
        "import json, sys; from nuttery.figures.vega import as_svg; "
        "sys.stdout.write(as_svg(json.load(open(sys.argv[1]))))"
    )
    pictures = [
        subprocess.run(
            [sys.executable, "-c", code, str(file)],
            env=os.environ | {"TZ": zone},
            capture_output=True,
            check=True,
        ).stdout
        for zone in ("UTC", "America/Chicago")
    ]
    assert pictures[0] == pictures[1]


def test_charts_render_for_page_and_print(planting, outlook):
    for chart in (bloom_calendar(outlook, range(3)), heat_and_chill(season_curves(planting))):
        assert as_svg(chart).startswith("<svg")
        assert as_png(chart, 1.0).startswith(b"\x89PNG")
        assert as_pdf(chart).startswith(b"%PDF")


def test_heat_is_told_in_the_plantings_degrees(planting):
    curves = season_curves(planting)
    us, metric = (
        rows_with(chart, "now")[100]
        for chart in (heat_and_chill(curves, "US"), heat_and_chill(curves))
    )
    assert us["now"] == pytest.approx(1.8 * metric["now"], abs=0.2)
