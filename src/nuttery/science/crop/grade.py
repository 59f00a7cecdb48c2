"""The class that a lot meets under a chosen, dated rule set."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import betainc

from nuttery.science.arguments import float_array, one_of
from nuttery.science.crop.moisture import wet_basis_array
from nuttery.science.crop.rules import MoistureLimit, RuleSet, Tolerance, known_rules
from nuttery.science.errors import BadArgumentError

CAUTION = (
    "A grade by eye says nothing of aflatoxin or Salmonella. Hazelnuts are a tree-nut allergen. "
    "Read the current text of the standard before selling by it."
)


@dataclass(frozen=True)
class ToleranceTest:
    """One defect held against its tolerance in one class."""

    defect: str
    what: str
    found: float
    allowed: float
    passes: bool
    chance: float | None
    certainty: str
    source: str


@dataclass(frozen=True)
class MoistureTest:
    """Moisture of one part of the nut held against the rule set's limit, both wet basis."""

    part: str
    found: float
    most: float
    passes: bool
    certainty: str
    source: str


@dataclass(frozen=True)
class Grade:
    """The best class whose every tolerance that was examined is met; None if there is none.

    `tests` has the tests of each class, `not_examined` what the rule set asks for and nobody
    looked at: the grade holds only as far as they were met.
    """

    name: str | None
    rules: str
    edition: str
    read: str
    tests: Mapping[str, tuple[ToleranceTest, ...]]
    moisture: tuple[MoistureTest, ...]
    not_examined: tuple[str, ...]
    caution: str = CAUTION

    @property
    def dry_enough(self) -> bool | None:
        """Whether every measured moisture is within its limit; None if none was measured."""
        return all(t.passes for t in self.moisture) if self.moisture else None

    def reasons(self, class_name: str) -> tuple[str, ...]:
        """What keeps the lot out of a class, in words; empty if nothing does.

        Parameters
        ----------
        class_name : a class of the rule set

        Raises
        ------
        BadArgumentError
            For a class that the rule set does not have.

        Notes
        -----
        Source: the tests of `grade`; nothing is computed.
        Valid:  as the grade: only what was examined is told.

        Examples
        --------
        >>> grade({"total": 8.0}, "UNECE kernels").reasons("Extra")
        ('all kernels that do not meet the minimum requirements: 8 %, at most 5 %',)
        """
        one_of("class_name", class_name, tuple(self.tests))
        faults = [
            f"{t.what}: {t.found:g} %, at most {t.allowed:g} %"
            for t in self.tests[class_name]
            if not t.passes
        ]
        wet = [
            f"moisture of the {t.part}: {100 * t.found:g} %, at most {100 * t.most:g} % (wet basis)"
            for t in self.moisture
            if not t.passes
        ]
        return tuple(faults + wet)


def _chance(found: float, allowed: float, examined: int | None) -> float | None:
    """Posterior probability (Jeffreys prior) that the lot's share is within the tolerance."""
    if examined is None:
        return None
    hits = found / 100 * examined
    return float(betainc(hits + 0.5, examined - hits + 0.5, allowed / 100))


def _tolerance_test(
    rule: Tolerance, class_name: str, found: float, examined: int | None
) -> ToleranceTest:
    allowed = rule.limits[class_name]
    # a lot at 10 % by 3 nuts of 30 stands at the limit, whatever the last bit of the division says
    passes = found <= allowed * (1 + 1e-12)
    chance = _chance(found, allowed, examined)
    return ToleranceTest(
        rule.defect, rule.what, found, allowed, passes, chance, rule.certainty, rule.source
    )


def _checked_found(found: Mapping[str, float], rules: RuleSet) -> dict[str, float]:
    known = [t.defect for t in rules.tolerances]
    for defect in found:
        if defect not in known:
            raise BadArgumentError(
                f"found: found defect {defect!r}, expected one of {', '.join(known)}"
            )
    shares = {d: float(float_array(f"found[{d!r}]", v, low=0)) for d, v in found.items()}
    for defect, share in shares.items():
        if share > 100 and defect != "living_pests":
            raise BadArgumentError(f"found[{defect!r}]: found {share:g}, expected 0 to 100 %")
    return shares


def _moisture_tests(rules: RuleSet, measured: Mapping[str, float]) -> tuple[MoistureTest, ...]:
    def test(limit: MoistureLimit) -> MoistureTest:
        found = measured[limit.part]
        passes = found <= limit.most * (1 + 1e-12)
        return MoistureTest(limit.part, found, limit.most, passes, limit.certainty, limit.source)

    return tuple(test(limit) for limit in rules.moisture if limit.part in measured)


def _measured(kernel_wb: float | None, whole_wb: float | None) -> dict[str, float]:
    given = {"kernel": kernel_wb, "whole": whole_wb}
    return {
        part: float(wet_basis_array(f"{part}_wb", np.asarray(wb)))
        for part, wb in given.items()
        if wb is not None
    }


def grade(
    found: Mapping[str, float],
    rules: str | RuleSet,
    *,
    kernel_wb: float | None = None,
    whole_wb: float | None = None,
    examined: int | None = None,
) -> Grade:
    """Best class of a rule set that a lot meets, and what stands in the way of the better ones.

    Parameters
    ----------
    found : share of each defect, per cent by count (by weight where the rule set says so);
        living pests as their number
    rules : name of a rule set, or one of your own
    kernel_wb, whole_wb : measured moisture of kernels, of whole nuts, wet-basis fraction
    examined : number of nuts looked at; with it every test tells the chance that the lot, not
        only the sample, is within the tolerance

    Returns
    -------
    Grade
        `name` None if the lot is out of every class; moisture above a limit shuts out of all.

    Raises
    ------
    BadArgumentError
        If a defect is not of the rule set, a share is not 0 to 100, a moisture is not a
        wet-basis fraction, or fewer than one nut was examined.

    Notes
    -----
    Source: the rule set's rows, each with its own source and certainty.
    Valid:  shares exactly at a limit are within it.
    Limits: by eye only; what was not examined is listed, never taken as met silently.

    Examples
    --------
    >>> lot = {"total": 5.0, "undeveloped": 2.0, "mouldy": 0.5, "living_pests": 0, "foreign": 0.25}
    >>> grade(lot, "UNECE kernels").name, grade(lot | {"mouldy": 0.6}, "UNECE kernels").name
    ('Extra', 'I')
    """
    chosen = known_rules(rules) if isinstance(rules, str) else rules
    if examined is not None and examined < 1:
        raise BadArgumentError(f"examined: found {examined}, expected at least 1 nut")
    shares = _checked_found(found, chosen)
    moisture = _moisture_tests(chosen, _measured(kernel_wb, whole_wb))
    tests = {
        name: tuple(
            _tolerance_test(rule, name, shares[rule.defect], examined)
            for rule in chosen.tolerances
            if rule.defect in shares
        )
        for name in chosen.classes
    }
    dry = all(t.passes for t in moisture)
    met = [n for n in chosen.classes if dry and all(t.passes for t in tests[n])]
    left_out = [r.defect for r in chosen.tolerances if r.defect not in shares]
    measured = {t.part for t in moisture}
    left_out += [f"moisture of the {m.part}" for m in chosen.moisture if m.part not in measured]
    return Grade(
        name=met[0] if met else None,
        rules=chosen.name,
        edition=chosen.edition,
        read=chosen.read,
        tests=tests,
        moisture=moisture,
        not_examined=tuple(left_out),
    )
