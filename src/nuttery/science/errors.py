"""Errors of the science room.

ValueError
├── BadArgumentError     an argument that no answer can be computed from
├── OutOfRangeError      an input outside the published range of a formula
└── UnknownDominance     two alleles of which nobody has published the order
"""


class BadArgumentError(ValueError):
    """An argument has a wrong shape, a missing value or an impossible one."""


class OutOfRangeError(ValueError):
    """An input lies outside the range in which a published formula holds."""


class UnknownDominance(ValueError):  # noqa: N818 - the name is part of the agreed interface
    """The order of dominance of two alleles in pollen is not known."""
