"""What each shrub bore, its pickings put on one footing, and how evenly it bears.

A year is a crop of nothing where somebody looked and found nothing: a picking of 0 kg, or no
cluster on the twigs looked at in summer and no picking after. A year without either is not known,
and a picking that animals left nothing of tells nothing of what hung.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from nuttery.records import ClustersCounted, Picking
from nuttery.science.arguments import Floats, Ints
from nuttery.science.crop import biennial_index
from nuttery.season.errors import NotEnoughKnown
from nuttery.season.footing import footing, on_footing
from nuttery.season.planting import Planting

MOST_TAKEN = 0.9
"""A noted share taken above this says nothing of what hung there."""
FEWEST_TWIGS = 10
"""Twigs without a cluster from which a shrub is taken to bear nothing: those that the plan asks
for; assumed."""
SEASON_OVER = 11
"""Month from which a summer's count without a picking stands for the year."""


@dataclass(frozen=True)
class Crops:
    """Crop of every shrub and year that is known, kg in shell at the moisture of the footing.

    Attributes
    ----------
    shrub : (k,) index in walking order
    year : (k,)
    kg, low, high : (k,) picked, with the 80 % interval of the conversion from what was weighed
    pickings : (k,) pickings added up; 0 where a summer's count found no cluster
    taken : (k,) share noted as gone to animals before, weighted by mass; NaN where not noted
    borne : (k,) kg that hung there: picked and taken; the planting's usual share where not noted
    basis : what the conversions rest on
    """

    shrub: Ints
    year: Ints
    kg: Floats
    low: Floats
    high: Floats
    pickings: Ints
    taken: Floats
    borne: Floats
    basis: str

    def of(self, shrub: int) -> Ints:
        """Rows of one shrub, the oldest year first."""
        return np.flatnonzero(self.shrub == shrub)


def crops(planting: Planting) -> Crops:
    """Return the crops of all years on record, pickings on one footing."""
    return planting.remembered("crops", lambda: _crops(planting))


def _crops(planting: Planting) -> Crops:
    place = {shrub.tag: k for k, shrub in enumerate(planting.shrubs)}
    notes = [n for n in planting.notes(Picking) if n.shrub in place and not _all_taken(n)]
    by = footing(planting)
    picked = [(place[str(n.shrub)], n.seen.year) for n in notes]
    pairs = picked + [(place[tag], year) for tag, year in _found_bare(planting) if tag in place]
    kg, low, high, basis = on_footing(notes, by)
    keys, rows = np.unique(
        np.array(pairs, dtype=np.int64).reshape(-1, 2), axis=0, return_inverse=True
    )
    row = rows.ravel()[: len(notes)]

    def total(values: Floats) -> Floats:
        return np.bincount(row, weights=values, minlength=len(keys)).astype(np.float64)

    noted = np.array([np.nan if n.lost_to_animals is None else n.lost_to_animals for n in notes])
    hung = kg / (1 - np.minimum(np.nan_to_num(noted), MOST_TAKEN))
    told = total(np.where(np.isnan(noted), 0.0, hung))
    with np.errstate(invalid="ignore", divide="ignore"):
        taken = 1 - total(np.where(np.isnan(noted), 0.0, kg)) / told
    usual = 0.0 if np.isnan(by.taken) else min(by.taken, MOST_TAKEN)
    return Crops(
        shrub=keys[:, 0],
        year=keys[:, 1],
        kg=total(kg),
        low=total(low),
        high=total(high),
        pickings=np.bincount(row, minlength=len(keys)),
        taken=taken,
        borne=total(np.where(np.isnan(noted), kg / (1 - usual), hung)),
        basis=basis,
    )


def _all_taken(note: Picking) -> bool:
    """Whether animals had left nothing to weigh: what hung there is not known then."""
    return note.mass_kg == 0 and (note.lost_to_animals or 0.0) > MOST_TAKEN


def _found_bare(planting: Planting) -> Iterator[tuple[str, int]]:
    """Shrubs and years in which the last count of the summer found no cluster."""
    last: dict[tuple[str, int], ClustersCounted] = {}
    for note in planting.notes(ClustersCounted):
        if note.shrub:
            last[note.shrub, note.seen.year] = note
    over = planting.on.year if planting.on.month >= SEASON_OVER else planting.on.year - 1
    for (tag, year), note in last.items():
        if note.clusters == 0 and (note.twigs or 0) >= FEWEST_TWIGS and year <= over:
            yield tag, year


@dataclass(frozen=True)
class CropHabit:
    """How the crop is spread over years and shrubs, walking order.

    Attributes
    ----------
    tags : (n,)
    years : (y,) from the first to the last year known
    kg : (n, y) picked, NaN for a year not known
    total, total_low, total_high : (y,) kg of the whole planting; doubts of the conversions, which
        all pickings share, added up
    shrubs : (y,) shrubs picked
    biennial : (n,) index of alternate bearing, NaN without two neighbouring years
    pairs : (n,) pairs of neighbouring years behind it
    half_by : (y,) shrubs that bore half of the year's crop
    basis : what the conversions rest on
    """

    tags: tuple[str, ...]
    years: Ints
    kg: Floats
    total: Floats
    total_low: Floats
    total_high: Floats
    shrubs: Ints
    biennial: Floats
    pairs: Ints
    half_by: Ints
    basis: str


def crop_habit(planting: Planting) -> CropHabit:
    """Return the crop by shrub and year, the biennial index, and how few shrubs bear half.

    Raises
    ------
    NotEnoughKnown
        If there is no picking.
    """
    found, n = crops(planting), len(planting.shrubs)
    if not found.kg.size:
        raise NotEnoughKnown("no picking is on record yet; weigh one: nuttery note picking")
    years = np.arange(found.year.min(), found.year.max() + 1)
    column = found.year - years[0]
    kg = np.full((n, years.size), np.nan)
    kg[found.shrub, column] = found.kg
    both = ~np.isnan(kg[:, 1:]) & ~np.isnan(kg[:, :-1])

    def by_year(values: Floats) -> Floats:
        return np.bincount(column, weights=values, minlength=years.size).astype(np.float64)

    return CropHabit(
        tags=tuple(shrub.tag for shrub in planting.shrubs),
        years=years,
        kg=kg,
        total=by_year(found.kg),
        total_low=by_year(found.low),
        total_high=by_year(found.high),
        shrubs=np.bincount(column[found.pickings > 0], minlength=years.size),
        biennial=biennial_index(kg),
        pairs=both.sum(axis=1),
        half_by=np.array([_half_by(kg[:, k]) for k in range(years.size)]),
        basis=found.basis,
    )


def _half_by(kg: Floats) -> int:
    """Fewest shrubs that together bore half of a year's crop; 0 where nothing was picked."""
    falling = np.sort(np.nan_to_num(kg))[::-1]
    if not falling.sum():
        return 0
    return int(np.searchsorted(np.cumsum(falling), falling.sum() / 2)) + 1
