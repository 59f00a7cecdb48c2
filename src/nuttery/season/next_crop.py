"""What to expect of each shrub this season; from November on, of the next one.

Crops that hung in earlier years are regressed on how big each shrub was and how much frost left of
it, and, where enough winters were counted, on catkins and buds; shrubs and years are pooled.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from nuttery.records import CatkinsScored, FrostHarm, System, told
from nuttery.science.arguments import Floats, Ints
from nuttery.science.canes import next_winter
from nuttery.science.crop import NextCrop, fit_next_crop
from nuttery.season.crop_so_far import Spread, done_so_far, spread_of, with_this_season
from nuttery.season.crops import Crops, crops
from nuttery.season.errors import WrongQuestion
from nuttery.season.estimate import Estimate
from nuttery.season.planting import Planting
from nuttery.season.renewal import stool_crop
from nuttery.season.stools import AGES, stools
from nuttery.season.weather import season_year
from nuttery.season.words import plural

FEWEST, FEWEST_COUNTED, FEWEST_WINTERS = 8, 60, 3
"""Yearly crops from which a fit is believed; with a count of the winter before, and winters."""
FROSTY_YEARS = 2
"""Earlier years with harm noted from which the fit can learn what frost takes."""
NOTED = 0.5
"""Share of the shrubs harmed by a frost that are noted as harmed; assumed."""
FROST_KNOWN = (6, 15)
"""Day after which no more harm to flower and shoot is to be noted; common practice."""
DRAWS = 400
COARSE_KG = 10
"""A crop of the planting from which it is told to whole units."""
COUNTED_FROM = 7
"""Month from which catkins on the twigs are those of next winter: common practice."""


@dataclass(frozen=True)
class Expected:
    """What hangs on each shrub by harvest, kg in shell, in walking order, before animals.

    A shrub picked this season is told as what hung there, and the others by the year's luck so far.

    Attributes
    ----------
    year : season
    tags : (n,) shrubs
    kg, low, high : (n,) with an 80 % interval
    records : (n,) years with a picking behind it
    counted : (n,) whether catkins and buds of the winter before went into it
    harmed : (n,) share of this season's shoots and flowers taken as killed by frost
    harm_noted : (n,) whether that was noted on the shrub itself
    total : of the whole planting; shrubs share the year's luck, so its interval is not their sum
    basis : what it rests on, in words
    """

    year: int
    tags: tuple[str, ...]
    kg: Floats
    low: Floats
    high: Floats
    records: Ints
    counted: NDArray[np.bool_]
    harmed: Floats
    harm_noted: NDArray[np.bool_]
    total: Estimate
    basis: str


def expected_crop(planting: Planting, *, year: int | None = None) -> Expected:
    """Return the crop to expect of every shrub in a season.

    Parameters
    ----------
    planting : the planting as of a day
    year : the season that the day looks forward to by default, or the one after it

    Raises
    ------
    WrongQuestion
        For any other season.
    """
    ahead = season_year(planting.on)
    if year not in {None, ahead, ahead + 1}:
        raise WrongQuestion(f"year: found {year}, expected {ahead} or {ahead + 1}")
    chosen = year or ahead
    return planting.remembered("expected crop", lambda: _expected(planting, chosen), year=chosen)


def shows_next(day: date) -> bool:
    """Whether catkins for the season after can be counted while this one still hangs."""
    return COUNTED_FROM <= day.month < 11


def expected_told(found: Expected, units: System) -> str:
    """Crop of the whole planting in words, with its interval and what it rests on."""
    total = found.total
    digits = 0 if total.median >= COARSE_KG else 1
    low, middle, high = (
        told(kg, "mass", units, digits) for kg in (total.low, total.median, total.high)
    )
    words = f"{middle} in shell ({low} to {high}; {found.basis}"
    if found.counted.any():
        words += f", with catkins and buds of {int(found.counted.sum())} shrubs"
    return f"{words})"


@dataclass(frozen=True)
class _Known:
    """What goes into the fit: crops before the season, sizes and counts by shrub and year."""

    crops: Crops
    use: NDArray[np.bool_]
    size: Floats
    catkins: Floats
    buds: Floats
    first: int

    def at(self, values: Floats, rows: NDArray[np.bool_]) -> Floats:
        """Values of the shrub and year of those records."""
        found: Floats = values[self.crops.shrub[rows], self.crops.year[rows] - self.first]
        return found


def _expected(planting: Planting, year: int) -> Expected:
    found = crops(planting)
    use = found.year < min(year, season_year(planting.on))  # a season not over is half a crop
    count = np.bincount(found.shrub[use], minlength=len(planting.shrubs))
    first = min(found.year.tolist(), default=year)
    harm, noted = _harm(planting, first, year)
    frosts = _frosts_to_come(planting, harm, noted, year)
    taken = harm.copy()
    if frosts.size > 1:
        taken[:, -1] = 0.0  # each of the frosts that may come is taken off what is told
    spared = _spared(taken, noted)
    size = _sizes(planting, first, year) * (1 - taken)
    counted = np.zeros(len(count), dtype=np.bool_)
    if use.sum() < FEWEST:
        kg, low, high, total, basis = _guessed(planting, size[:, -1])
    else:
        known = _Known(found, use, size, *_counts(planting, first, year), first)
        kg, low, high, counted, fit = _fitted(known)
        picked = done_so_far(found, year, len(count))
        kg, low, high = kg * spared, low * spared, high * spared
        spread = with_this_season(spread_of(kg, high, fit), picked)
        total = _total(spread, fit, frosts, year)
        basis = f"learned from {int(use.sum())} crops of {np.unique(found.year[use]).size} years"
        if frosts.size > 1:
            kg, low, high = _under_frosts(spread, fit, frosts)
        if picked.done.any():
            kg, low, high = _kg(spread, fit)
            basis += f" and {plural(int(picked.done.sum()), 'picking')} of this one"
    tags = tuple(shrub.tag for shrub in planting.shrubs)
    return Expected(
        year, tags, kg, low, high, count, counted, harm[:, -1], noted[:, -1], total, basis
    )


def _sizes(planting: Planting, first: int, year: int) -> Floats:
    """Size of each shrub in each year, (n, years): what its canes should bear, else its years.

    Where canes were counted and their bearing is learned; years are put on the level of those.
    """
    years = _growth(planting, first, year)
    bears = stool_crop(planting)
    if bears.bearing.assumed:
        return years
    canes = _canes(planting, first, year)
    kg = np.maximum(0.0, canes @ bears.bearing.mean - bears.charge(np.nan_to_num(canes).sum(-1)))
    both = ~np.isnan(kg) & (years > 0)
    level = float(kg[both].sum() / max(years[both].sum(), 1.0))
    return np.asarray(np.where(np.isnan(kg), level * years, kg))


def _canes(planting: Planting, first: int, year: int) -> Floats:
    """Canes by age that stood in the summer of each year, (n, years, AGES); NaN if not counted."""
    known, place = stools(planting), {s.tag: k for k, s in enumerate(planting.shrubs)}
    rows = np.array([place[tag] for tag in known.tags], dtype=np.int64)
    canes = np.full((len(place), year - first + 1, AGES), np.nan)
    use = (known.past_year >= first) & (known.past_year <= year)
    canes[rows[known.past_shrub[use]], known.past_year[use] - first] = known.past_kept[use]
    now = known.expected.copy()
    for ahead in range(known.winter, year + 1):
        if ahead >= first:
            canes[rows, ahead - first] = now
        now = next_winter(now, 0 * now, np.zeros(len(now)))
    return canes


def _growth(planting: Planting, first: int, year: int) -> Floats:
    """Size of each shrub in each year: years since planting up to full size, (n, years)."""
    full = planting.value("crop.full_size").value
    planted = np.array([s.planted.year if s.planted else -9999 for s in planting.shrubs])
    grown = np.arange(first, year + 1, dtype=np.float64) - planted[:, None]
    return np.asarray(np.clip(grown, 0, full), dtype=np.float64)


def _harm(planting: Planting, first: int, year: int) -> tuple[Floats, NDArray[np.bool_]]:
    """Share killed by frost of each shrub and year, and whether it was noted; (n, years).

    A shrub without a note is taken to have had the planting's mean: that of the shrubs noted, on
    twice as many shrubs as were noted (`NOTED`), the others unharmed.
    Before this season's frosts are over, the usual harm of past years stands in.
    """
    n, place = len(planting.shrubs), {s.tag: k for k, s in enumerate(planting.shrubs)}
    noted = np.full((n, year - first + 1), np.nan)
    for note in planting.notes(FrostHarm, since=date(first, 1, 1)):
        at = place.get(note.shrub or ""), note.seen.year - first
        if at[0] is not None and note.organ != "catkin" and note.seen.year <= year:
            noted[at] = np.nanmax([noted[at], note.harmed])
    mean = np.nan_to_num(noted).sum(axis=0) / np.maximum(1, (~np.isnan(noted)).sum(axis=0))
    usual = mean * np.minimum(1.0, (~np.isnan(noted)).sum(axis=0) / (NOTED * max(n, 1)))
    if planting.on < date(year, *FROST_KNOWN) and np.isnan(noted[:, -1]).all() and year > first:
        usual[-1] = usual[:-1].mean()
    own = ~np.isnan(noted)
    return np.where(own, noted, usual), own


def _spared(harm: Floats, noted: NDArray[np.bool_]) -> Floats:
    """Share of the crop that frost spared where the fit cannot have learned it, (n,).

    What frost takes is learned from the crops of frosty years; with too few of them on record the
    crop is taken to fall by the share harmed.
    """
    frosty = int(noted[:, :-1].any(axis=0).sum())
    return 1 - harm[:, -1] if frosty < FROSTY_YEARS else np.ones(len(harm))


def _counts(planting: Planting, first: int, year: int) -> tuple[Floats, Floats]:
    """Catkins of a usual shrub's and buds a twig, in the winter before each year; NaN if none."""
    place = {s.tag: k for k, s in enumerate(planting.shrubs)}
    scores = {
        "none": 0.0,
        "few": planting.value("pollen.catkins.few").value,
        "some": 1.0,
        "many": planting.value("pollen.catkins.many").value,
    }
    catkins, buds = (np.full((len(place), year - first + 1), np.nan) for _ in range(2))
    for note in planting.notes(CatkinsScored):
        at = place.get(note.shrub or ""), season_year_of_count(note.seen) - first
        if at[0] is None or not 0 <= at[1] <= year - first:
            continue
        if note.score is not None:
            catkins[at] = scores[note.score]
        if note.buds is not None and note.twigs:
            buds[at] = note.buds / note.twigs
    return catkins, buds


def season_year_of_count(seen: date) -> int:
    """Year of the crop that a winter's count of catkins and buds looks forward to.

    Examples
    --------
    >>> season_year_of_count(date(2026, 11, 8)), season_year_of_count(date(2027, 2, 1))
    (2027, 2027)
    """
    return seen.year + 1 if seen.month >= COUNTED_FROM else seen.year


def _fitted(
    known: _Known,
) -> tuple[Floats, Floats, Floats, NDArray[np.bool_], NextCrop]:
    """Crop with its interval; where counts make the interval narrower, from the fit with counts."""
    n = len(known.size)
    everyone = np.arange(n)
    plain = _fit(known, known.use, counts=False)
    zero = np.zeros(n)
    found = plain.predict(zero, zero, size=known.size[:, -1], shrub=everyone)
    kg, low, high = found.median.copy(), found.low.copy(), found.high.copy()
    counted = np.zeros(n, dtype=np.bool_)
    both = ~np.isnan(known.catkins + known.buds)
    rows = known.use & both[known.crops.shrub, known.crops.year - known.first]
    now = np.flatnonzero(both[:, -1])
    if rows.sum() < FEWEST_COUNTED or np.unique(known.crops.year[rows]).size < FEWEST_WINTERS:
        return kg, low, high, counted, plain
    with_counts = _fit(known, rows, counts=True).predict(
        known.catkins[now, -1], known.buds[now, -1], size=known.size[now, -1], shrub=now
    )
    narrower = _root_width(with_counts.low, with_counts.high) < _root_width(low[now], high[now])
    better = now[narrower]
    kg[better], counted[better] = with_counts.median[narrower], True
    low[better], high[better] = with_counts.low[narrower], with_counts.high[narrower]
    return kg, low, high, counted, plain


def _root_width(low: Floats, high: Floats) -> Floats:
    return np.asarray(np.sqrt(high) - np.sqrt(low))


def _fit(known: _Known, rows: NDArray[np.bool_], *, counts: bool) -> NextCrop:
    nothing = np.zeros(int(rows.sum()))
    return fit_next_crop(
        known.at(known.catkins, rows) if counts else nothing,
        known.at(known.buds, rows) if counts else nothing,
        known.crops.borne[rows],
        size=known.at(known.size, rows),
        shrub=known.crops.shrub[rows],
        year=known.crops.year[rows],
    )


def _kg(spread: Spread, fit: NextCrop) -> tuple[Floats, Floats, Floats]:
    """Middle and 80 % interval of each shrub."""
    half = stdtrit(fit.degrees, 0.9) * np.hypot(spread.own, spread.shared)
    low, high = (np.maximum(0.0, spread.root + s * half) ** 2 for s in (-1, 1))
    return spread.root**2, low, high


def _frosts_to_come(
    planting: Planting, harm: Floats, noted: NDArray[np.bool_], year: int
) -> Floats:
    """Share of the crop that this season's frosts may leave: as in each earlier year, else 1."""
    known = planting.on >= date(year, *FROST_KNOWN) or noted[:, -1].any()
    if known or harm.shape[1] <= FROSTY_YEARS:
        return np.ones(1)
    return np.asarray(1 - harm[:, :-1].mean(axis=0))


def _under_frosts(spread: Spread, fit: NextCrop, frosts: Floats) -> tuple[Floats, Floats, Floats]:
    """Middle and 80 % interval of each shrub over the frosts that may come."""
    at = stdtrit(fit.degrees, (np.arange(49) + 0.5) / 49)
    sd = np.hypot(spread.own, spread.shared)
    roots = np.maximum(0.0, spread.root[:, None] + sd[:, None] * at)
    kg = (roots[:, :, None] ** 2 * frosts).reshape(len(roots), -1)
    low, middle, high = np.quantile(kg, [0.1, 0.5, 0.9], axis=1)
    return middle, low, high


def _total(spread: Spread, fit: NextCrop, frosts: Floats, seed: int) -> Estimate:
    """Crop of all shrubs, by draws in which the year's luck and its frosts are one for all."""
    rng = np.random.default_rng(seed)
    many = (DRAWS, len(spread.root))
    roots = spread.root + spread.shared * rng.normal(size=(DRAWS, 1))
    roots += spread.own * rng.normal(size=many)
    kg = (np.maximum(roots, 0) ** 2).sum(axis=1) * rng.choice(frosts, size=DRAWS)
    low, middle, most = np.quantile(kg, [0.1, 0.5, 0.9])
    return Estimate(float(middle), float(low), float(most), "kg", fit.n_records)


def _guessed(planting: Planting, size: Floats) -> tuple[Floats, Floats, Floats, Estimate, str]:
    """A guess that grows with the shrub, before there are pickings to learn from."""
    row = planting.value("crop.young_shrub")
    full = planting.value("crop.full_size").value
    kg = np.asarray(row.value * size / full * 2)
    low, high = 0.2 * kg, 4 * kg
    total = Estimate(float(kg.sum()), float(low.sum()), float(high.sum()), "kg", 0, row.certainty)
    return kg, low, high, total, f"fewer than {FEWEST} crops are on record: {row.certainty}"
