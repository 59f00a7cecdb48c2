"""What each shrub bore, its pickings put on one footing, and what to expect of it this year."""

from dataclasses import dataclass

import numpy as np

from nuttery.records import Picking
from nuttery.science.arguments import Floats, Ints
from nuttery.science.crop import dry_to_wet_basis, in_shell_mass
from nuttery.season.planting import Planting
from nuttery.season.weather import season_year

YEARS_BACK = 8


@dataclass(frozen=True)
class Crops:
    """Crop of every shrub and year with a picking, kg in shell at the moisture of the footing.

    Attributes
    ----------
    shrub : (k,) index in walking order
    year : (k,)
    kg, low, high : (k,) with the 80 % interval of the conversion from what was weighed
    pickings : (k,) pickings added up
    basis : what the conversions rest on
    """

    shrub: Ints
    year: Ints
    kg: Floats
    low: Floats
    high: Floats
    pickings: Ints
    basis: str


def crops(planting: Planting) -> Crops:
    """Return the crops of all years on record, pickings on one footing."""
    place = {shrub.tag: k for k, shrub in enumerate(planting.shrubs)}
    notes = [note for note in planting.notes(Picking) if note.shrub in place]
    shrub = np.array([place[str(note.shrub)] for note in notes], dtype=np.int64)
    year = np.array([note.seen.year for note in notes], dtype=np.int64)
    kg, low, high, basis = _footing(notes)
    pairs = np.column_stack([shrub, year]).reshape(-1, 2)
    keys, row = np.unique(pairs, axis=0, return_inverse=True)
    row = row.ravel()

    def total(values: Floats) -> Floats:
        return np.bincount(row, weights=values, minlength=len(keys)).astype(np.float64)

    return Crops(
        shrub=keys[:, 0],
        year=keys[:, 1],
        kg=total(kg),
        low=total(low),
        high=total(high),
        pickings=np.bincount(row, minlength=len(keys)),
        basis=basis,
    )


def _wet(note: Picking) -> float:
    if note.moisture is None:
        return float("nan")
    wet = note.moisture
    return float(dry_to_wet_basis(wet)) if note.basis == "dry basis" else wet


def _footing(notes: list[Picking]) -> tuple[Floats, Floats, Floats, str]:
    """Mass in shell of each picking, its interval, and what the conversions rest on."""
    kg, low, high = (np.zeros(len(notes)) for _ in range(3))
    told: set[str] = set()
    for form, state in {(note.form, note.state) for note in notes}:
        mine = [k for k, n in enumerate(notes) if (n.form, n.state) == (form, state)]
        found = in_shell_mass(
            [notes[k].mass_kg for k in mine],
            state=form,
            condition=state,
            moisture_wb=[_wet(notes[k]) for k in mine],
        )
        kg[mine], low[mine], high[mine] = found.median, found.low, found.high
        told.add(f"{form}, {state}: {found.basis}")
    return kg, low, high, "; ".join(sorted(told))


@dataclass(frozen=True)
class Expected:
    """What to expect of each shrub this year, kg in shell, in walking order.

    Attributes
    ----------
    kg, low, high : (n,) with an 80 % interval
    records : (n,) years with a picking behind it
    """

    kg: Floats
    low: Floats
    high: Floats
    records: Ints


def expected_crop(planting: Planting) -> Expected:
    """Return this year's crop of every shrub before frost and set are known.

    A shrub's own mean of the last years is drawn towards the planting's, the more so the fewer its
    years: the best linear prediction from the spread between and within shrubs (moments).
    """
    known, this_year = crops(planting), season_year(planting.on)
    use = (known.year < this_year) & (known.year >= this_year - YEARS_BACK)
    n = len(planting.shrubs)
    count = np.bincount(known.shrub[use], minlength=n)
    total = np.bincount(known.shrub[use], weights=known.kg[use], minlength=n)
    own = total / np.maximum(count, 1)
    if not use.any():
        young = planting.value("crop.young_shrub").value
        return Expected(np.full(n, young), np.zeros(n), np.full(n, 5 * young), count)
    middle = float(known.kg[use].mean())
    within = float(np.mean((known.kg[use] - own[known.shrub[use]]) ** 2)) * _unbias(count)
    between = max(float(np.var(own[count > 0])) - within / max(count[count > 0].mean(), 1), 1e-6)
    weight = between / (between + within / np.maximum(count, 1)) * (count > 0)
    mean = weight * own + (1 - weight) * middle
    doubt = np.sqrt(within + between * (1 - weight))
    return Expected(mean, np.maximum(0, mean - 1.2816 * doubt), mean + 1.2816 * doubt, count)


def _unbias(count: Ints) -> float:
    """Factor that makes the mean square about own means an estimate of the variance."""
    total, shrubs = count.sum(), (count > 0).sum()
    return float(total / max(total - shrubs, 1))
