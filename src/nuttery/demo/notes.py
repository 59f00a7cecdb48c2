"""All notes of the invented planting, season after season, as an imperfect observer wrote them."""

from collections.abc import Iterator
from datetime import date

import numpy as np

from nuttery.demo.climate import ELEVATION, LATITUDE, LONGITUDE
from nuttery.demo.layout import FATHERS, LOTS, MOTHERS
from nuttery.demo.observer_autumn import harvest_notes, remarks, summer_notes
from nuttery.demo.observer_spring import (
    bloom_notes,
    catkin_notes,
    cross_notes,
    frost_notes,
    labelled_canes,
    winter_notes,
)
from nuttery.demo.pen import Pen
from nuttery.demo.truth import SEED, Truth
from nuttery.records import (
    LayerMade,
    Note,
    ParentsKnown,
    PlantingDescribed,
    Remark,
    ShrubLost,
    ShrubPlanted,
)

INVENTED = "Sorrel Bank and every figure in it are invented."


def notes_by_season(truth: Truth, pen: Pen, seed: int = SEED) -> Iterator[list[Note]]:
    """Batches of notes: the setting out first, then one batch a season, in order of their ids."""
    rng = np.random.default_rng([seed, 1])
    yield list(_setting_out(truth, pen))
    last = truth.seasons[-1].year
    for season in truth.seasons:
        told: list[Note] = []
        if season.year > truth.seasons[0].year:
            told += winter_notes(truth, season, pen, rng)
        if season.year == last - 1:
            told += labelled_canes(truth, season.year, pen, rng)
        told += bloom_notes(truth, season, pen, rng)
        told += frost_notes(truth, season, pen, rng)
        if season.year > last - 3:
            told += cross_notes(truth, season, pen, rng)
        told += summer_notes(truth, season, pen, rng)
        told += harvest_notes(truth, season, pen, rng)
        told += catkin_notes(truth, season, pen, rng)
        told += _losses(truth, season.year, pen)
        told += remarks(season, pen)
        yield sorted(told, key=lambda note: note.id)


def _setting_out(truth: Truth, pen: Pen) -> Iterator[Note]:
    layout = truth.layout
    first = date(int(layout.planted.min()), 4, 20)
    yield pen.write(
        PlantingDescribed,
        first,
        name="Sorrel Bank",
        latitude=LATITUDE,
        longitude=LONGITUDE,
        elevation=ELEVATION,
        time_zone="America/Chicago",
        units="metric",
        invented=True,
    )
    yield pen.write(Remark, first, remark=INVENTED)
    for lot, name in enumerate(LOTS):
        yield pen.write(
            ParentsKnown, first, seed_lot=name, mother=MOTHERS[lot], fathers=FATHERS[lot]
        )
    for k in np.argsort(layout.planted, kind="stable"):
        day = date(int(layout.planted[k]), 5, 10)
        place = {
            "x": float(layout.x[k].round(2)),
            "y": float(layout.y[k].round(2)),
            "row": int(layout.row[k]),
            "number": int(layout.number[k]),
        }
        if layout.copy_of[k] >= 0:
            original = layout.tags[int(layout.copy_of[k])]
            yield pen.write(LayerMade, day, layout.tags[k], copy_of=original, **place)
        else:
            lot_name = LOTS[int(layout.lot[k])]
            yield pen.write(
                ShrubPlanted,
                day,
                layout.tags[k],
                seed_lot=lot_name,
                seed_year=day.year - 2,
                **place,
            )


def _losses(truth: Truth, year: int, pen: Pen) -> Iterator[Note]:
    for k in np.flatnonzero(truth.layout.lost == year):
        yield pen.write(ShrubLost, date(year, 6, 1), truth.layout.tags[int(k)], reason="winter")
    early = truth.layout.lost < truth.seasons[0].year
    if year == truth.seasons[0].year:
        for k in np.flatnonzero(early):
            lost = date(int(truth.layout.lost[k]), 6, 1)
            yield pen.write(ShrubLost, lost, truth.layout.tags[int(k)], reason="winter")


def all_notes(truth: Truth, seed: int = SEED) -> Iterator[list[Note]]:
    """Every batch, written with a fresh pen."""
    return notes_by_season(truth, Pen(seed), seed)
