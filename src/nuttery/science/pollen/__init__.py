"""S-alleles, who accepts whose pollen, drift by wind, cover of each shrub, and siting."""

from nuttery.science.errors import (
    UnknownDominance,
)
from nuttery.science.pollen.assurance import (
    Assurance,
    assurance,
    assurance_among,
)
from nuttery.science.pollen.cover import (
    PollenCover,
    pollen_cover,
)
from nuttery.science.pollen.crosses import (
    NextCross,
    next_crosses,
)
from nuttery.science.pollen.doubt import (
    CoverInterval,
    cover_interval,
)
from nuttery.science.pollen.drill import (
    LossDrill,
    Shortage,
    loss_drill,
    shortage,
)
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
from nuttery.science.pollen.hints import natural_set_hints
from nuttery.science.pollen.inference import (
    GenotypePosterior,
    infer_genotypes,
)
from nuttery.science.pollen.kernels import (
    ExponentialKernel,
    Kernel,
    PowerKernel,
    WindRose,
    fall_speed,
    grain_diameter,
    wind_rose,
)
from nuttery.science.pollen.layout import Layout, every_nth, lay_out_lots
from nuttery.science.pollen.published import check_levels, published_hierarchy
from nuttery.science.pollen.set import (
    HalfDose,
    assumed_half_dose,
    fit_half_dose,
)
from nuttery.science.pollen.siting import SitingPlan, choose_sites

__all__ = [
    "Assurance",
    "CoverInterval",
    "ExponentialKernel",
    "Genotype",
    "GenotypePosterior",
    "HalfDose",
    "Hierarchy",
    "Kernel",
    "Layout",
    "LossDrill",
    "NextCross",
    "PollenCover",
    "PowerKernel",
    "Shortage",
    "SitingPlan",
    "UnknownDominance",
    "WindRose",
    "assumed_half_dose",
    "assurance",
    "assurance_among",
    "check_levels",
    "choose_sites",
    "compatibility_range",
    "cover_interval",
    "donors_needed",
    "every_nth",
    "expressed",
    "fall_speed",
    "fit_half_dose",
    "grain_diameter",
    "infer_genotypes",
    "is_compatible",
    "lay_out_lots",
    "loss_drill",
    "natural_set_hints",
    "next_crosses",
    "offspring",
    "pollen_cover",
    "published_hierarchy",
    "shortage",
    "sibling_compatibility",
    "wind_rose",
]
