"""S-alleles, who accepts whose pollen, drift by wind, cover of each shrub, and siting."""

from nuttery.science.errors import UnknownDominance
from nuttery.science.pollen.cover import PollenCover, pollen_cover
from nuttery.science.pollen.hierarchy import (
    Genotype,
    Hierarchy,
    compatibility_range,
    donors_needed,
    expressed,
    is_compatible,
    offspring,
    sibling_compatibility,
)
from nuttery.science.pollen.inference import GenotypePosterior, infer_genotypes
from nuttery.science.pollen.kernels import (
    ExponentialKernel,
    Kernel,
    PowerKernel,
    WindRose,
    fall_speed,
    grain_diameter,
    wind_rose,
)

__all__ = [
    "ExponentialKernel",
    "Genotype",
    "GenotypePosterior",
    "Hierarchy",
    "Kernel",
    "PollenCover",
    "PowerKernel",
    "UnknownDominance",
    "WindRose",
    "compatibility_range",
    "donors_needed",
    "expressed",
    "fall_speed",
    "grain_diameter",
    "infer_genotypes",
    "is_compatible",
    "offspring",
    "pollen_cover",
    "sibling_compatibility",
    "wind_rose",
]
