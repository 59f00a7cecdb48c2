"""Siblings side by side: what the notes tell of each shrub of one seed lot, with intervals."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from nuttery.records import Sample
from nuttery.science.arguments import Floats, Ints
from nuttery.science.crop import biennial_index, mass_at_moisture
from nuttery.season.bloom import bloom
from nuttery.season.crops import Crops, crops
from nuttery.season.errors import NotEnoughKnown, WrongQuestion
from nuttery.season.estimate import Estimate
from nuttery.season.footing import wet_moisture
from nuttery.season.planting import Planting
from nuttery.season.pollen import pollen
from nuttery.season.samples import CRACK_TEN
from nuttery.season.stools import stools

Z = 1.2816
"""Half-width of an 80 % interval in standard deviations."""


@dataclass(frozen=True)
class Trait:
    """One thing measured on every shrub compared.

    Attributes
    ----------
    name, unit : in words; "day" for a day of the year
    median, low, high : (n,) 80 % interval; NaN where nothing is known
    records : (n,) notes or years behind it
    told : how it comes about
    """

    name: str
    unit: str
    median: Floats
    low: Floats
    high: Floats
    records: Floats
    told: str

    def of(self, k: int) -> Estimate | None:
        """One shrub's estimate, or nothing."""
        if np.isnan(self.median[k]):
            return None
        low, high = float(self.low[k]), float(self.high[k])
        return Estimate(float(self.median[k]), low, high, self.unit, int(self.records[k]))


@dataclass(frozen=True)
class Comparison:
    """The shrubs of one seed lot, in walking order.

    Attributes
    ----------
    lot : its name
    lots : all seed lots with their number of standing seedlings
    tags : (n,)
    traits : what is compared
    year : season of the dates
    lacking : questions that could not be answered, and what they lack
    """

    lot: str
    lots: tuple[tuple[str, int], ...]
    tags: tuple[str, ...]
    traits: tuple[Trait, ...]
    year: int
    lacking: tuple[str, ...]


def seed_lots(planting: Planting) -> tuple[tuple[str, int], ...]:
    """Return the seed lots with the number of their standing seedlings, the largest first."""
    count: dict[str, int] = {}
    for shrub in planting.shrubs:
        if shrub.seed_lot:
            count[shrub.seed_lot] = count.get(shrub.seed_lot, 0) + 1
    return tuple(sorted(count.items(), key=lambda pair: (-pair[1], pair[0])))


def siblings(planting: Planting, lot: str | None = None) -> Comparison:
    """Return the shrubs of a seed lot side by side.

    Parameters
    ----------
    planting : the planting as of a day
    lot : its name; the largest if not told

    Raises
    ------
    NotEnoughKnown
        If no shrub's seed lot is on record.
    WrongQuestion
        If there is no such lot.
    """
    lots = seed_lots(planting)
    if not lots:
        raise NotEnoughKnown("no shrub's seed lot is on record, so no siblings are known")
    names = [name for name, _ in lots]
    wanted = lot or names[0]
    if wanted not in names:
        raise WrongQuestion(f"lot: found {wanted!r}, expected one of {', '.join(names)}")
    rows = np.array([k for k, s in enumerate(planting.shrubs) if s.seed_lot == wanted])
    traits, lacking = traits_of_all(planting)
    return Comparison(
        lot=wanted,
        lots=lots,
        tags=tuple(planting.shrubs[k].tag for k in rows),
        traits=tuple(_some(trait, rows) for trait in traits),
        year=planting.on.year,
        lacking=lacking,
    )


def _some(trait: Trait, rows: Ints) -> Trait:
    return replace(
        trait,
        median=trait.median[rows],
        low=trait.low[rows],
        high=trait.high[rows],
        records=trait.records[rows],
    )


def traits_of_all(planting: Planting) -> tuple[tuple[Trait, ...], tuple[str, ...]]:
    """Return what is compared for every standing shrub, and what could not be answered."""
    traits: list[Trait] = []
    lacking: list[str] = []
    parts: tuple[Callable[[Planting], list[Trait]], ...] = (_crop, _nuts, _dates, _pollen, _canes)
    for part in parts:
        try:
            traits += part(planting)
        except NotEnoughKnown as lack:
            lacking.append(str(lack))
    return tuple(traits), tuple(dict.fromkeys(lacking))


def _crop(planting: Planting) -> list[Trait]:
    found, n = crops(planting), len(planting.shrubs)
    if not found.kg.size:
        raise NotEnoughKnown("no picking is on record yet; weigh one: nuttery note picking")
    table = by_year(found, n)
    told = "kg in shell a year over the years weighed; the interval is of the mean"
    even = biennial_index(table)
    both = (~np.isnan(table[:, 1:]) & ~np.isnan(table[:, :-1])).sum(axis=1).astype(np.float64)
    unknown = np.full(n, np.nan)
    return [
        _of_mean("crop", "kg a year", table, told),
        Trait(
            "alternation",
            "0 even to 1 every other year",
            even,
            unknown,
            unknown,
            both,
            "biennial bearing index over pairs of neighbouring years; no interval is reckoned",
        ),
    ]


def by_year(found: Crops, n: int) -> Floats:
    """Crop of every shrub and year, (n, years), NaN where it is not known."""
    years = np.arange(found.year.min(), found.year.max() + 1)
    table = np.full((n, years.size), np.nan)
    table[found.shrub, found.year - years[0]] = found.kg
    return table


def _of_mean(name: str, unit: str, table: Floats, told: str) -> Trait:
    """Mean over the columns with its interval; few records lean on the spread of all shrubs."""
    count = (~np.isnan(table)).sum(axis=1).astype(np.float64)
    nothing = np.full(len(table), np.nan)
    mean = np.divide(np.nansum(table, axis=1), count, out=nothing.copy(), where=count > 0)
    squares = np.nansum((table - mean[:, None]) ** 2, axis=1)
    free = np.maximum(count - 1, 0)
    pooled = squares.sum() / max(free.sum(), 1.0)
    # Few records tell little of their spread: it is drawn to the planting's by a weight of four.
    variance = (squares + 4 * pooled) / (free + 4)
    half = Z * np.sqrt(np.divide(variance, count, out=nothing, where=count > 0))
    return Trait(name, unit, mean, np.maximum(mean - half, 0), mean + half, count, told)


def _nuts(planting: Planting) -> list[Trait]:
    place = {shrub.tag: k for k, shrub in enumerate(planting.shrubs)}
    mass: dict[int, list[float]] = {}
    kernel: dict[int, list[float]] = {}
    footing = planting.value("crop.moisture.footing").value
    for note in planting.notes(Sample):
        k, factor = place.get(note.shrub or "", -1), _to_footing(note, footing)
        if k < 0 or np.isnan(factor):
            continue
        for nut in note.nuts:
            if nut.mass_g:
                mass.setdefault(k, []).append(factor * nut.mass_g)
                if nut.kernel_g is not None and note.state == "dry":
                    kernel.setdefault(k, []).append(100 * nut.kernel_g / nut.mass_g)
    if not mass:
        raise NotEnoughKnown(f"no nuts were cracked yet; {CRACK_TEN}")
    told = "mean of the nuts cracked, with the interval of that mean for the seasons sampled; "
    n = len(planting.shrubs)
    at = f"at {100 * footing:.0f} % moisture, fresh ones without a measured moisture left out"
    return [
        _of_mean("nut", "g", _ragged(mass, n), told + at),
        _of_mean("kernel", "% of the nut", _ragged(kernel, n), told + "dry samples only"),
    ]


def _to_footing(note: Sample, footing: float) -> float:
    """What the masses of a sample are multiplied by; NaN for fresh nuts of unknown moisture.

    Dry nuts without a measured moisture are taken to be at the footing.
    """
    wet = wet_moisture(note)
    if np.isnan(wet):
        return 1.0 if note.state == "dry" else float("nan")
    return float(mass_at_moisture(1.0, wet, footing))


def _ragged(found: dict[int, list[float]], n: int) -> Floats:
    table = np.full((n, max((len(v) for v in found.values()), default=1)), np.nan)
    for k, values in found.items():
        table[k, : len(values)] = values
    return table


def _dates(planting: Planting) -> list[Trait]:
    outlook = bloom(planting)
    names = (
        ("stigmas out", "pistillate_out"),
        ("half shedding", "catkin_65"),
        ("half roll out", "roll_out_main"),
    )
    return [
        Trait(
            name,
            "day",
            f.median,
            f.low,
            np.where(np.isnan(f.high), f.median, f.high),
            f.records.astype(np.float64),
            f"forecast of {outlook.year}, {f.basis}; records are looks at this very stage",
        )
        for name, f in ((name, outlook.of(stage)) for name, stage in names)
    ]


def _pollen(planting: Planting) -> list[Trait]:
    outlook = pollen(planting)
    at = {s.tag: k for k, s in enumerate(planting.shrubs)}
    rows = [at[tag] for tag in outlook.tags]
    cover, low, high = (np.full(len(at), np.nan) for _ in range(3))
    for whole, part in zip(
        (cover, low, high), (outlook.cover, outlook.low, outlook.high), strict=True
    ):
        whole[rows] = 100 * part
    records = np.full(len(at), float(outlook.crosses + outlook.known_genotypes))
    told = f"of {outlook.year}; share of its receptive season on which accepted pollen is taken"
    return [Trait("pollen taken", "% of its season", cover, low, high, records, told)]


def _canes(planting: Planting) -> list[Trait]:
    known = stools(planting)
    at = {s.tag: k for k, s in enumerate(planting.shrubs)}
    ages = np.arange(known.counts.shape[1])
    standing = known.counts[:, 2:].sum(axis=1)
    mean = np.where(
        standing > 0,
        (known.counts[:, 2:] * ages[2:]).sum(axis=1) / np.maximum(standing, 1),
        np.nan,
    )
    rows = [at[tag] for tag in known.tags]
    parts = []
    for values in (standing.astype(np.float64), mean):
        whole = np.full(len(at), np.nan)
        whole[rows] = values
        parts.append(whole)
    unknown, one = np.full(len(at), np.nan), np.ones(len(at))
    told = f"canes of two years and older in the winter before {known.winter}"
    return [
        Trait("canes", "standing", parts[0], unknown, unknown, one, told),
        Trait("mean age of canes", "winters", parts[1], unknown, unknown, one, told),
    ]
