"""A new planting: how to lay out its lots, and how many different seedlings are enough."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Floats, Ints
from nuttery.science.pollen import (
    GenotypePosterior,
    Kernel,
    assurance_among,
    infer_genotypes,
    lay_out_lots,
    published_hierarchy,
)
from nuttery.season.errors import NotEnoughKnown, WrongQuestion
from nuttery.season.lineage import Family, family, genotypes, placed_alleles
from nuttery.season.planting import Planting
from nuttery.season.pollen_field import pollen_field
from nuttery.season.pollen_wind import drift_kernel
from nuttery.season.set_taught import assumption

MOST_PLACES = 400
MOST_ABOUT = 30
ASSURANCES = (0.8, 0.95, 0.99)
DRAWS = 400
OVERLAPS = 0.25
"""Share of a donor's pollen that must fly while the stigmas are out to count as overlapping."""
STARTS = 4
UNRELATED = "unrelated seedlings"


@dataclass(frozen=True)
class Layout:
    """Lots laid out over a new planting.

    Attributes
    ----------
    lots, counts : lots and how many seedlings of each
    known : whether each lot is one of the planting's, with its lineage; else parents unknown
    rows, per_row, spacing, between : size of the planting, places and metres
    grid : (rows, per_row) index of the lot of each place; the first row is the first list
    cover : (rows, per_row) expected cover of each place, all in bloom at once
    lowest : mean cover of the worst-fed tenth
    in_blocks : the same if each lot stood in a block of its own
    accepted : (lots, lots) chance that a seedling of one accepts pollen of another of the other
    half_dose, dose_certainty : dose reckoned with, and whether it was learned or is assumed
    """

    lots: tuple[str, ...]
    counts: tuple[int, ...]
    known: tuple[bool, ...]
    rows: int
    per_row: int
    spacing: float
    between: float
    grid: Ints
    cover: Floats
    lowest: float
    in_blocks: float
    accepted: Floats
    half_dose: float
    dose_certainty: str


def seedlings_told(text: str | None, places: int) -> dict[str, int]:
    """Seedlings by lot from text such as "A:30,B:30", for a planting of so many places.

    Raises
    ------
    WrongQuestion
        If there is none, or a part is not a lot and a number.

    Examples
    --------
    >>> seedlings_told("A:30, B:30", 60)
    {'A': 30, 'B': 30}
    """
    if text is None:
        raise WrongQuestion(
            f"lots: found nothing, expected such as A:{places // 2},B:{places // 2}"
        )
    found: dict[str, int] = {}
    for part in text.split(","):
        name, colon, count = part.rpartition(":")
        if not colon or not name.strip() or not count.strip().isdigit():
            raise WrongQuestion(f"lots: found {part!r}, expected a lot and a number, as A:30")
        found[name.strip()] = found.get(name.strip(), 0) + int(count)
    return found


def lay_out(
    planting: Planting,
    lots: Mapping[str, int],
    *,
    rows: int,
    per_row: int,
    spacing: float,
    between: float,
) -> Layout:
    """Return which place of a new planting gets a seedling of which lot.

    Parameters
    ----------
    planting : the planting whose lots, crosses and counts of set are drawn on
    lots : seedlings of each lot; a name that is not a lot of the planting is a lot of one unknown
        mother, open-pollinated
    rows, per_row : places
    spacing, between : metres in the row and between rows

    Raises
    ------
    WrongQuestion
        If numbers do not add up or make no sense.
    """
    places = rows * per_row
    if rows < 1 or per_row < 1 or not 2 <= places <= MOST_PLACES:
        raise WrongQuestion(
            f"new rows: found {rows} rows of {per_row}, expected 2 to {MOST_PLACES} places"
        )
    if spacing <= 0 or between <= 0:
        raise WrongQuestion(f"spacing: found {spacing} and {between} m, expected above 0")
    if sum(lots.values()) != places or min(lots.values()) < 1:
        told = ", ".join(f"{name}:{count}" for name, count in lots.items())
        raise WrongQuestion(
            f"lots: found {told}, {sum(lots.values())} in all, expected {places} seedlings"
        )
    return planting.remembered(
        "new planting",
        lambda: _lay_out(planting, lots, (rows, per_row), (spacing, between)),
        lots=sorted(lots.items()),
        size=(rows, per_row, spacing, between),
    )


def _lay_out(
    planting: Planting,
    lots: Mapping[str, int],
    size: tuple[int, int],
    metres: tuple[float, float],
) -> Layout:
    kernel, told = drift_kernel(planting), family(planting)
    half, certainty = _dose(planting)
    number, row = np.meshgrid(np.arange(size[1]), np.arange(size[0]))
    xy = np.column_stack([number.ravel() * metres[0], -row.ravel() * metres[1]])
    accepted = _between_lots(genotypes(planting, told), told, tuple(lots))
    counts = list(lots.values())
    plan = lay_out_lots(
        xy,
        counts,
        accepted,
        kernel=kernel,
        half_dose=half,
        rng=np.random.default_rng(17),
        starts=STARTS,
    )
    blocks = np.repeat(np.arange(len(counts)), counts)
    lowest = max(1, len(xy) // 10)
    return Layout(
        lots=tuple(lots),
        counts=tuple(counts),
        known=tuple(name in told.lots for name in lots),
        rows=size[0],
        per_row=size[1],
        spacing=metres[0],
        between=metres[1],
        grid=plan.lot.reshape(size),
        cover=plan.cover.reshape(size),
        lowest=plan.objective,
        in_blocks=_lowest(xy, blocks, accepted, kernel, half_dose=half, lowest=lowest),
        accepted=accepted,
        half_dose=half,
        dose_certainty=certainty,
    )


def _dose(planting: Planting) -> tuple[float, str]:
    """Half-dose as the planting's own counts teach it, else as assumed."""
    try:
        half = pollen_field(planting).half
    except NotEnoughKnown:
        half = assumption(planting, drift_kernel(planting))
    return half.half_dose, half.certainty


def _lowest(
    xy: Floats,
    lot: Ints,
    accepted: Floats,
    kernel: Kernel,
    *,
    half_dose: float,
    lowest: int,
) -> float:
    """Mean of the lowest covers of a given layout, all in bloom at once."""
    apart = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1))
    np.fill_diagonal(apart, 1.0)
    weight = np.asarray(kernel(apart)) * accepted[lot[:, None], lot[None]]
    np.fill_diagonal(weight, 0.0)
    dose = weight.sum(axis=1)
    return float(np.sort(dose / (dose + half_dose))[:lowest].mean())


def _between_lots(posterior: GenotypePosterior, told: Family, lots: tuple[str, ...]) -> Floats:
    """Chance that a seedling of one lot accepts another of the other, (lots, lots)."""
    same, other = _unrelated()
    accepted = np.full((len(lots), len(lots)), other)
    np.fill_diagonal(accepted, same)
    for i, seed in enumerate(lots):
        for j, pollen in enumerate(lots):
            if seed in told.lots and pollen in told.lots:
                one = told.seedlings[told.lots.index(seed)][0]
                two = told.seedlings[told.lots.index(pollen)][1]
                block = posterior.compatibility_block(slice(one, one + 1), slice(two, two + 1))
                accepted[i, j] = block[0, 0]
    return accepted


def _unrelated() -> tuple[float, float]:
    """Acceptance between seedlings of one unknown mother, and between unrelated ones."""
    order = published_hierarchy(remembered=True)
    alleles = placed_alleles(order)
    table = infer_genotypes(
        [-1, 0, 0, -1],
        [-1, -1, -1, -1],
        alleles=alleles,
        frequencies=np.full(len(alleles), 1 / len(alleles)),
        hierarchy=order,
    ).compatibility
    return float(table[1, 2]), float(table[1, 3])


@dataclass(frozen=True)
class SeedlingsNeeded:
    """How many different seedlings of a lot keep a shrub of it from going without a donor.

    Attributes
    ----------
    lot : seed lot, or "unrelated seedlings" of other parents each
    about : (k,) seedlings about the shrub, from 0
    chance : (k,) that at least one of them is accepted and overlaps in time
    overlap : chance taken for one of them to overlap in time
    needed : fewest seedlings for each of `assurances`; None beyond the curve
    assurances : chances asked for
    """

    lot: str
    about: Ints
    chance: Floats
    overlap: float
    needed: tuple[int | None, ...]
    assurances: tuple[float, ...] = ASSURANCES


def seedlings_needed(planting: Planting) -> tuple[SeedlingsNeeded, ...]:
    """Return the curve of assurance of each lot, and of unrelated seedlings, the surest first.

    Raises
    ------
    NotEnoughKnown
        If no pollen can be reckoned.
    """
    return planting.remembered("seedlings needed", lambda: _needed(planting))


def _needed(planting: Planting) -> tuple[SeedlingsNeeded, ...]:
    field = pollen_field(planting)
    letters, told = field.posterior.alphabet, field.told
    overlap = _overlap(field.mean.shed, field.mean.receptive)
    drawn = field.posterior.draw(DRAWS, np.random.default_rng(23))
    passes = np.vstack([letters.passes, letters.frequencies])
    stranger = np.full(DRAWS, -1)

    def gametes(parents: list[int]) -> Floats:
        each = [passes[drawn[:, p] if p >= 0 else stranger] for p in parents]
        return np.asarray(np.mean(each, axis=0))

    curves = []
    for lot, (seedling, _) in zip(told.lots, told.seedlings, strict=True):
        fathers = list(told.possible_fathers.get(seedling, {told.father[seedling]: 1.0}))
        egg, pollen = gametes([told.mother[seedling]]), gametes(fathers)
        classes = np.einsum("da,db,abg->dg", egg, pollen, letters.makes)
        curves.append(_curve(lot, classes, letters.accepts[0], overlap))
    wild = np.einsum("a,b,abg->g", letters.frequencies, letters.frequencies, letters.makes)
    curves.append(_curve(UNRELATED, wild[None], letters.accepts[0], overlap))
    return tuple(sorted(curves, key=lambda curve: -curve.chance.sum()))


def _overlap(shed: Floats, receptive: Floats) -> float:
    """Share of pairs of bearing shrubs of which one sheds while the other's stigmas are out."""
    sheds, out = shed.sum(axis=1) > 0.5, receptive.sum(axis=1) > 0.5
    if not sheds.any() or not out.any():
        return 1.0
    during = receptive[out] @ shed[sheds].T / shed[sheds].sum(axis=1)
    return float((during >= OVERLAPS).mean())


def _curve(lot: str, classes: Floats, accepts: Floats, overlap: float) -> SeedlingsNeeded:
    chance = assurance_among(classes, accepts, k_max=MOST_ABOUT, overlap=overlap)
    needed = []
    for wanted in ASSURANCES:
        enough = np.flatnonzero(chance >= wanted)
        needed.append(int(enough[0]) if enough.size else None)
    return SeedlingsNeeded(lot, np.arange(MOST_ABOUT + 1), chance, overlap, tuple(needed))
