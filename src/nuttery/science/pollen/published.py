"""The order of dominance as far as it is published or remembered, and a check of level tables."""

from collections import Counter

from nuttery.reference import table
from nuttery.science.errors import BadArgumentError
from nuttery.science.pollen.hierarchy import Hierarchy


def published_hierarchy(*, remembered: bool = False) -> Hierarchy:
    """Order of dominance from `reference/alleles.toml`.

    Parameters
    ----------
    remembered : also use what stands there from memory only

    Returns
    -------
    Hierarchy, with bounds where the place is not settled; most pairs of alleles stay unknown

    Notes
    -----
    Source: rows of `reference/alleles.toml`, each with source and certainty.
    Valid:  *C. avellana*; alleles of other hazels have no published numbers.

    Examples
    --------
    >>> published_hierarchy().bounds(3)
    (4.0, 4.0)
    """
    names = ("remembered_low", "remembered_high") if remembered else ("low", "high")
    return Hierarchy({row["allele"]: tuple(row[n] for n in names) for row in table("alleles")})


def check_levels(
    hierarchy: Hierarchy, *, alleles: int, levels: int, with_s1: int, alone: tuple[int, ...]
) -> None:
    """Raise unless a table of levels has the counts that its source states.

    Parameters
    ----------
    hierarchy : typed in from a published table
    alleles, levels : how many of each
    with_s1 : alleles on the level of S1, itself included
    alone : alleles that stand alone on their levels

    Raises
    ------
    BadArgumentError
        At the first count that differs.

    Notes
    -----
    Source: for the 1997 table: 25 alleles, 8 levels, 13 with S1, S4, S6, S11 and S23 alone
        (Mehlenbacher 1997, abstract). Published.
    Valid:  tables with one level an allele.

    Examples
    --------
    >>> check_levels(Hierarchy({1: 2, 5: 2, 2: 1}), alleles=3, levels=2, with_s1=2, alone=(2,))
    """
    on_level = Counter(hierarchy.levels.values())
    counts = [
        (len(hierarchy.levels), alleles, "alleles"),
        (len(on_level), levels, "levels"),
        (on_level[hierarchy.levels.get(1, -1)], with_s1, "alleles on the level of S1"),
    ]
    counts += [(on_level[hierarchy.levels.get(a, -1)], 1, f"on the level of S{a}") for a in alone]
    for found, expected, what in counts:
        if found != expected:
            raise BadArgumentError(f"levels: found {found} {what}, expected {expected}")
