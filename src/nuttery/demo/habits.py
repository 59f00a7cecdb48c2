"""What every invented shrub is like: the truth that notes can only hint at. All invented.

The S-alleles and their order of dominance are a plausible set for the invention, not a finding.
"""

from dataclasses import dataclass

import numpy as np

from nuttery.demo.layout import FATHERS, LOTS, MOTHERS, Layout
from nuttery.science.arguments import Floats, Ints

LEVELS = {3: 4, 1: 3, 5: 3, 10: 3, 15: 3, 20: 3, 21: 3, 2: 2, 8: 2, 23: 1, 26: 1}
BASE, START_DOY = 1.5, 32
STAGES: tuple[tuple[str, int], ...] = (
    ("pistillate flower", 60),
    ("catkin", 60),
    ("catkin", 65),
    ("catkin", 69),
    ("leaf bud", 7),
    ("leaf bud", 11),
    ("pistillate flower", 69),
)
_MEAN_HEAT = np.array([62.0, 80.0, 105.0, 165.0, 150.0, 245.0, 230.0])
_SPREAD_HEAT = np.array([12.0, 13.0, 14.0, 17.0, 17.0, 22.0, 25.0])


@dataclass(frozen=True)
class Habits:
    """True habits, one row a shrub.

    Attributes
    ----------
    genotype : (n, 2) S-alleles
    heat : (n, 7) degree-days above BASE from START_DOY to each of STAGES, °C d
    ripe_heat : (n,) degree-days above 10 °C from first leaf to the median nut's roll-out, °C d
    ripe_spread : (n,) spread of roll-out within the shrub, days
    vigour : (n,) suckers a summer of a grown stool
    merit : (n,) crop as a multiple of the planting's mean
    nut_g, kernel_share, long_nut : (n,) nut mass in g, kernel share, 1 if the nut is long
    catkins : (n,) catkins of a grown stool
    """

    genotype: Ints
    heat: Floats
    ripe_heat: Floats
    ripe_spread: Floats
    vigour: Floats
    merit: Floats
    nut_g: Floats
    kernel_share: Floats
    long_nut: Ints
    catkins: Floats


def draw_habits(layout: Layout, rng: np.random.Generator) -> Habits:
    """Habits of every shrub: lots differ, siblings differ more, a layer is its original."""
    n = len(layout.tags)
    lot_shift = rng.normal(0, 0.5, size=(len(LOTS), 3))[layout.lot]
    early = 0.8 * rng.normal(size=n) + lot_shift[:, 0]
    heat = _MEAN_HEAT + _SPREAD_HEAT * (0.8 * early[:, None] + 0.6 * rng.normal(size=(n, 7)))
    heat = np.maximum(heat, 20)
    heat[:, 2] = np.maximum(heat[:, 2], heat[:, 1] + 12)
    heat[:, 3] = np.maximum(heat[:, 3], heat[:, 2] + 30)
    heat[:, 5] = np.maximum(heat[:, 5], heat[:, 4] + 45)
    heat[:, 6] = np.maximum(heat[:, 6], heat[:, 0] + 110)
    merit = np.exp(0.45 * rng.normal(size=n) + 0.3 * lot_shift[:, 1])
    merit = np.clip(merit, 0.2, 2.6)
    merit[0] = 2.8
    habits = Habits(
        genotype=_genotypes(layout, rng),
        heat=heat.round(2),
        ripe_heat=(930 + 75 * rng.normal(size=n) + 40 * lot_shift[:, 2]).round(1),
        ripe_spread=np.clip(rng.normal(4.5, 0.8, size=n), 2.5, 8).round(2),
        vigour=np.clip(rng.gamma(9, 0.8, size=n), 2, 18).round(2),
        merit=(merit / merit.mean()).round(4),
        nut_g=np.clip(rng.normal(1.9, 0.35, size=n), 0.9, 3.2).round(3),
        kernel_share=np.clip(rng.normal(0.42, 0.05, size=n), 0.28, 0.58).round(4),
        long_nut=(rng.random(n) < 0.3).astype(np.int64),
        catkins=np.clip(rng.gamma(3, 90, size=n), 5, 1500).round(0),
    )
    original = np.where(layout.seedling, np.arange(n), layout.copy_of)
    return Habits(**{name: values[original] for name, values in vars(habits).items()})


def _genotypes(layout: Layout, rng: np.random.Generator) -> Ints:
    alleles = np.array(sorted(LEVELS))
    parents: dict[str, Ints] = {
        name: np.sort(rng.choice(alleles, size=2, replace=False))
        for name in sorted({*MOTHERS, *(f for group in FATHERS for f in group)})
    }
    n = len(layout.tags)
    genotype = np.empty((n, 2), dtype=np.int64)
    for k in range(n):
        lot = int(layout.lot[k])
        fathers = FATHERS[lot]
        sire = (
            parents[fathers[int(rng.integers(len(fathers)))]]
            if fathers
            else rng.choice(alleles, size=2, replace=False)
        )
        dam = parents[MOTHERS[lot]]
        genotype[k] = dam[int(rng.integers(2))], sire[int(rng.integers(2))]
    return np.sort(genotype, axis=1)
