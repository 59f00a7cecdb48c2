"""Rule sets for grading, read from dated tables; a grower can hand in a table of their own."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from nuttery.reference import table
from nuttery.science.arguments import one_of
from nuttery.science.errors import BadArgumentError

TABLES = MappingProxyType(
    {
        "US in shell": "grading_us",
        "UNECE kernels": "grading_unece_kernels",
        "UNECE in shell": "grading_unece_in_shell",
    }
)
RULE_SETS = tuple(TABLES)


@dataclass(frozen=True)
class Tolerance:
    """Most of one defect that each class allows, in per cent."""

    defect: str
    what: str
    limits: Mapping[str, float]
    unit: str
    certainty: str
    source: str


@dataclass(frozen=True)
class MoistureLimit:
    """Most moisture that a part of the nut may have, as a wet-basis fraction."""

    part: str
    most: float
    certainty: str
    source: str


@dataclass(frozen=True)
class RuleSet:
    """A grading standard as it was read on a day."""

    name: str
    title: str
    edition: str
    read: str
    classes: tuple[str, ...]
    tolerances: tuple[Tolerance, ...]
    moisture: tuple[MoistureLimit, ...]


def rules_table(name: str) -> str:
    """Name of the reference table that holds a rule set.

    Parameters
    ----------
    name : a rule set's name

    Returns
    -------
    str

    Raises
    ------
    BadArgumentError
        If there is no rule set of that name; the known ones are listed.

    Notes
    -----
    Source: the tables of the reference room.
    Valid:  the names in `RULE_SETS`.
    Limits: none.

    Examples
    --------
    >>> rules_table("UNECE kernels")
    'grading_unece_kernels'
    """
    return TABLES[one_of("rules", name, RULE_SETS)]


def _of_kind(rows: Iterable[Mapping[str, Any]], kind: str) -> list[dict[str, Any]]:
    return [
        {key: row[key] for key in row if key != "kind"} for row in rows if row.get("kind") == kind
    ]


def rule_set(rows: Iterable[Mapping[str, Any]]) -> RuleSet:
    """Rule set from the rows of a table, so that a buyer's own terms can be used as well.

    Parameters
    ----------
    rows : one row of kind "rules", then rows of kind "tolerance" and "moisture"

    Returns
    -------
    RuleSet

    Raises
    ------
    BadArgumentError
        If there is not exactly one row of kind "rules", or a tolerance lacks a class.

    Notes
    -----
    Source: each row names its own.
    Valid:  classes from best to worst.
    Limits: rows of other kinds (sizes, fill) are read elsewhere.

    Examples
    --------
    >>> from nuttery.reference import table
    >>> rule_set(table("grading_unece_kernels")).classes
    ('Extra', 'I', 'II')
    """
    rows = list(rows)
    heads = _of_kind(rows, "rules")
    if len(heads) != 1:
        raise BadArgumentError(f"rows: found {len(heads)} of kind 'rules', expected 1")
    head = heads[0]
    classes = tuple(head["classes"])
    tolerances = tuple(Tolerance(**row) for row in _of_kind(rows, "tolerance"))
    for t in tolerances:
        if tuple(t.limits) != classes:
            raise BadArgumentError(
                f"{t.defect}: found limits for {', '.join(t.limits)}, "
                f"expected for {', '.join(classes)}"
            )
    return RuleSet(
        name=head["name"],
        title=head["title"],
        edition=head["edition"],
        read=head["read"],
        classes=classes,
        tolerances=tolerances,
        moisture=tuple(
            MoistureLimit(row["part"], row["most"], row["certainty"], row["source"])
            for row in _of_kind(rows, "moisture")
        ),
    )


def known_rules(name: str) -> RuleSet:
    """Rule set of that name.

    Parameters
    ----------
    name : one of `RULE_SETS`

    Returns
    -------
    RuleSet

    Raises
    ------
    BadArgumentError
        If there is no rule set of that name; the known ones are listed.

    Notes
    -----
    Source: the rule set's own, with the date it was read.
    Valid:  as data, not as law: read the current text.
    Limits: rows marked "from memory" were not read in the standard itself.

    Examples
    --------
    >>> known_rules("US in shell").classes
    ('U.S. No. 1',)
    """
    return rule_set(table(rules_table(name)))
