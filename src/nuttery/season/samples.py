"""Nuts cracked and measured: what a shrub's samples tell, and the class they would meet.

Samples of one shrub are taken together only where they were taken in one season, in one state and
at one moisture, so that masses on different footings never meet in one figure.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from nuttery.records import Nut, Sample
from nuttery.reference import table
from nuttery.science.arguments import Floats
from nuttery.science.crop import (
    RULE_SETS,
    against_reject_level,
    describe_sample,
    fill_faults,
    grade,
    known_rules,
    mean_interval,
    sequential_look,
    share_of_nuts,
    size_shares,
)
from nuttery.science.crop import Estimate as ScienceEstimate
from nuttery.season.errors import NotEnoughKnown, WrongQuestion
from nuttery.season.estimate import Estimate
from nuttery.season.footing import wet_moisture
from nuttery.season.planting import Planting

BINS = {"empty": 0, "under 1/4": 1, "1/4 to 1/2": 2, "1/2 or more": 3}
CRACK_TEN = "crack ten and bring them in, a row for each nut: nuttery import --template FILE"
KERNELS = "UNECE kernels"
SURE = ("published", "secondary source", "common practice", "from memory", "assumed")
"""How sure a value is, the surest first."""
PESTS = frozenset({"weevil", "worm"})
SPOILED = PESTS | {"mould", "rancid"}
FAULTS: dict[str, dict[str, frozenset[str]]] = {
    "US in shell": {"blank": frozenset(), "spoiled": SPOILED, "insect": PESTS},
    "UNECE in shell": {"undeveloped": frozenset({"shrivelled"}), "spoiled": SPOILED},
    "UNECE kernels": {
        "undeveloped": frozenset({"shrivelled"}),
        "mouldy": frozenset({"mould"}),
        "spoiled": PESTS | {"rancid"},
        "pest_damage": PESTS,
        "twins": frozenset({"twin"}),
    },
}
"""Defects as a grower notes them that count to each fault of a rule set, beside its faults of fill.
Twins are a fault of kernels only."""


@dataclass(frozen=True)
class ClassTold:
    """One class of a rule set held against a sample.

    Attributes
    ----------
    name : of the class
    met : whether the sample is within every tolerance that was looked at
    chance : chance that the lot, not only the sample, is within the hardest of them; NaN if none
    reasons : what keeps the sample out
    """

    name: str
    met: bool
    chance: float
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class GradeTold:
    """What a sample would be graded by a chosen, dated rule set.

    Attributes
    ----------
    rules, edition, read : the rule set, its edition, and when it was read
    certainty : of the limits that the sample was held against, the least sure of them
    name : the best class met, or nothing
    classes : every class, the best first
    examined : nuts that the shares rest on
    not_examined : what the rule set asks for and nobody looked at
    caution : what a grade by eye cannot tell
    """

    rules: str
    edition: str
    read: str
    certainty: str
    name: str | None
    classes: tuple[ClassTold, ...]
    examined: int
    not_examined: tuple[str, ...]
    caution: str


@dataclass(frozen=True)
class Rejects:
    """Rejects of a sample, and what a sequential plan says: an aid to a decision, no more.

    Attributes
    ----------
    found : share of rejects, with its interval
    level, above : share at which the authority acts, and whether the sample lies above it
    level_source : where that level is from
    examined : nuts that the plan's verdict rests on; 0 before its first step
    verdict : "accept", "reject", "draw more" or "beyond the plan as read"
    draw : nuts to draw for the next step
    certainty, source : of the plan
    caution : what looking cannot tell
    """

    found: Estimate
    level: float
    above: bool
    level_source: str
    examined: int
    verdict: str
    draw: int
    certainty: str
    source: str
    caution: str


@dataclass(frozen=True)
class SampleTold:
    """What the nuts of one shrub, season, state and moisture tell.

    Attributes
    ----------
    shrub, year, state : whose, of which season, "fresh" or "dry"
    moisture : of whole nuts, share of all mass; NaN where not measured
    samples, nuts : notes and nuts taken together
    nut_mass, kernel_mass : g, means with 80 % intervals; kernels of nuts that hold one
    kernel_share : of masses as weighed, empty nuts included
    fill : nuts empty, under ¼, ¼ to ½, and ½ or more
    faults : share of each fault noted, with its interval; "blank" is under ¼
    shape : "round" or "long", and `length_over_width` that says so; NaN where not measured
    diameter : mm, as the rule set takes it: the round opening passed (US), the widest place across
        the middle (UNECE), that of the kernel (UNECE kernels)
    sizes : share of each size class of the rule set asked for; where its classes overlap, as those
        of long types and those of "and over" do, they add up to more than 1
    sized_as : sizes under which the sample stays within the rule set's tolerance for size
    kernel_diameter : mm, of kernels that were measured
    kernel_sizes : share of each size class of kernels, by "UNECE kernels" whatever was asked for
    grade : by the rule set asked for
    rejects : against the level at which an authority acts
    """

    shrub: str
    year: int
    state: str
    moisture: float
    samples: int
    nuts: int
    nut_mass: Estimate
    kernel_mass: Estimate
    kernel_share: Estimate
    fill: tuple[int, int, int, int]
    faults: tuple[tuple[str, Estimate], ...]
    shape: str
    length_over_width: float
    diameter: Estimate
    sizes: tuple[tuple[str, Estimate], ...]
    sized_as: tuple[str, ...]
    kernel_diameter: Estimate
    kernel_sizes: tuple[tuple[str, Estimate], ...]
    grade: GradeTold
    rejects: Rejects


def usual_rules(planting: Planting) -> str:
    """Rule set by which a planting's nuts are graded unless another is asked for."""
    return "US in shell" if planting.about.units == "US" else "UNECE in shell"


def samples(planting: Planting, tag: str, *, rules: str | None = None) -> tuple[SampleTold, ...]:
    """Return what each season's samples of a shrub tell, the newest last.

    Parameters
    ----------
    planting : the planting as of a day
    tag : the shrub
    rules : name of a rule set; by default the one of the planting's units

    Raises
    ------
    WrongQuestion
        If no such shrub stands, or there is no such rule set.
    NotEnoughKnown
        If no nuts of it were cracked yet.
    """
    planting.shrub(tag)
    chosen = rules or usual_rules(planting)
    if chosen not in RULE_SETS:
        raise WrongQuestion(f"rules: found {chosen!r}, expected one of {', '.join(RULE_SETS)}")
    groups: dict[tuple[int, str, str], list[Sample]] = {}
    for note in planting.notes(Sample, shrub=tag):
        key = (note.seen.year, note.state, f"{wet_moisture(note):.2f}")
        groups.setdefault(key, []).append(note)
    if not groups:
        raise NotEnoughKnown(f"no nuts of {tag} are on record; {CRACK_TEN}")
    return tuple(_told(planting, notes, chosen) for notes in groups.values())


def _told(planting: Planting, notes: list[Sample], rules: str) -> SampleTold:
    nuts = [nut for note in notes for nut in note.nuts]
    measured = [n for n in nuts if n.mass_g]
    nothing = Estimate(float("nan"), float("nan"), float("nan"))
    mass, kernel, share = nothing, nothing, nothing
    if measured:
        found = describe_sample(
            [n.mass_g or 0.0 for n in measured],
            [np.nan if n.kernel_g is None else n.kernel_g for n in measured],
            coverage=0.8,
        )
        mass, kernel = (_estimate(e, "g") for e in (found.nut_mass, found.kernel_mass))
        share = _estimate(found.kernel_share)
    moisture = wet_moisture(notes[0])
    across, ratio = _across(nuts, rules), _length_over_width(nuts)
    shape = "long" if ratio >= planting.value("crop.long_from").value else "round"
    sizes, kernels = _sizes(across, shape, rules), _across(nuts, KERNELS)
    return SampleTold(
        shrub=str(notes[0].shrub),
        year=notes[0].seen.year,
        state=notes[0].state,
        moisture=moisture,
        samples=len(notes),
        nuts=len(nuts),
        nut_mass=mass,
        kernel_mass=kernel,
        kernel_share=share,
        fill=_fill(nuts),
        faults=tuple(_faults(nuts)),
        shape=shape,
        length_over_width=ratio,
        diameter=_mean_mm(across),
        sizes=sizes,
        sized_as=_sized_as(sizes, shape, rules),
        kernel_diameter=_mean_mm(kernels),
        kernel_sizes=_sizes(kernels, shape, KERNELS),
        grade=_grade(nuts, rules, moisture),
        rejects=_rejects(nuts),
    )


def _mean_mm(across: Floats) -> Estimate:
    if not across.size:
        return Estimate(float("nan"), float("nan"), float("nan"), "mm")
    return _estimate(mean_interval(across, coverage=0.8), "mm")


def _estimate(found: ScienceEstimate, unit: str = "") -> Estimate:
    middle, low, high = (float(x) for x in (found.median, found.low, found.high))
    return Estimate(middle, low, high, unit, found.n_records, "learned")


def _across(nuts: list[Nut], rules: str) -> Floats:
    """Diameter of each measured nut as the rules take it, mm.

    US: the opening that it passes, the middle one of its three dimensions; UNECE: the widest place
    across its middle, for kernels their own. A depth not measured is taken to be the width.
    """
    if rules == KERNELS:
        return np.array([n.kernel_mm for n in nuts if n.kernel_mm], dtype=np.float64)
    found = []
    for nut in nuts:
        wide = nut.width_mm or nut.depth_mm
        if wide is not None:
            deep = nut.depth_mm or wide
            passes = sorted([nut.length_mm or max(wide, deep), wide, deep])[1]
            found.append(passes if rules.startswith("US") else max(wide, deep))
    return np.array(found, dtype=np.float64)


def _sizes(across: Floats, shape: str, rules: str) -> tuple[tuple[str, Estimate], ...]:
    """Share of each size class; nothing where no diameter was measured."""
    if not across.size:
        return ()
    return tuple((k, _estimate(e)) for k, e in size_shares(across, shape, rules).items())


def _sized_as(sizes: tuple[tuple[str, Estimate], ...], shape: str, rules: str) -> tuple[str, ...]:
    """Sizes of which no more nuts fall outside than any class of the rule set lets."""
    off = {"off_size", f"off_size_{shape}"}
    allowed = [t.limits for t in known_rules(rules).tolerances if t.defect in off]
    most = max((max(limits.values()) for limits in allowed), default=0.0)
    return tuple(name for name, share in sizes if 100 * (1 - share.median) <= most + 1e-9)


def _length_over_width(nuts: list[Nut]) -> float:
    """Mean length over the mean of width and depth; NaN where not measured."""
    both = [
        (n.length_mm, (n.width_mm + (n.depth_mm or n.width_mm)) / 2)
        for n in nuts
        if n.length_mm and n.width_mm
    ]
    if not both:
        return float("nan")
    return float(sum(length for length, _ in both) / sum(wide for _, wide in both))


def _bin(nut: Nut) -> int | None:
    """Bin of a nut's fill: as judged, or 0 where its kernel weighed nothing."""
    if nut.fill is not None:
        return BINS[nut.fill]
    return 0 if nut.kernel_g == 0 else None


def _fill(nuts: list[Nut]) -> tuple[int, int, int, int]:
    bins = [_bin(nut) for nut in nuts]
    return (bins.count(0), bins.count(1), bins.count(2), bins.count(3))


def _faults(nuts: list[Nut]) -> Iterable[tuple[str, Estimate]]:
    """Blank and underfilled among nuts whose fill is known, noted defects among all of them."""
    bins = np.array([b for nut in nuts if (b := _bin(nut)) is not None])
    if bins.size:
        yield "blank", _share(bins < BINS["1/4 to 1/2"])
        yield "less than half full", _share(bins < BINS["1/2 or more"])
    for defect in sorted({d for nut in nuts for d in nut.defects}):
        yield defect, _share([defect in nut.defects for nut in nuts])


def _share(hits: Iterable[bool] | NDArray[np.bool_]) -> Estimate:
    marks = np.asarray(list(hits), dtype=bool)
    return _estimate(share_of_nuts(int(marks.sum()), marks.size))


def _marks(nuts: list[Nut], rules: str) -> dict[str, NDArray[np.bool_]]:
    """Which nuts show each fault of a rule set, and any fault at all."""
    bins = np.array([BINS["1/2 or more"] if (b := _bin(n)) is None else b for n in nuts], dtype=int)
    by_fill = fill_faults(bins, rules)
    marks = {
        fault: by_fill.get(fault, np.zeros(len(nuts), dtype=bool))
        | np.array([bool(defects & set(n.defects)) for n in nuts], dtype=bool)
        for fault, defects in FAULTS[rules].items()
    }
    ignored = frozenset() if "kernels" in rules else frozenset({"twin"})
    other = np.array([bool(set(n.defects) - ignored) for n in nuts], dtype=bool)
    marks["total"] = np.any([other, *marks.values(), *by_fill.values()], axis=0)
    return marks


def _grade(nuts: list[Nut], rules: str, moisture: float) -> GradeTold:
    """Grade of the nuts whose fill is known; of kernels those that there are."""
    if "kernels" in rules:
        use = [n for n in nuts if n.kernel_g or (n.kernel_g is None and _bin(n) not in {0, None})]
        whole = None  # a moisture of whole nuts says nothing of kernels
    else:
        use = [n for n in nuts if _bin(n) is not None]
        whole = None if np.isnan(moisture) else moisture
    marks = _marks(use, rules) if use else {}
    found = grade(
        {fault: 100 * float(seen.mean()) for fault, seen in marks.items()},
        rules,
        whole_wb=whole,
        examined=len(use) or None,
    )
    classes = tuple(
        ClassTold(
            name=name,
            met=bool(use) and not found.reasons(name),
            chance=min((t.chance for t in tests if t.chance is not None), default=float("nan")),
            reasons=found.reasons(name),
        )
        for name, tests in found.tests.items()
    )
    words = {t.defect: t.what for t in known_rules(rules).tolerances}
    return GradeTold(
        rules=found.rules,
        edition=found.edition,
        read=found.read,
        certainty=_least_sure(t.certainty for tests in found.tests.values() for t in tests),
        name=found.name if use else None,
        classes=classes,
        examined=len(use),
        not_examined=tuple(words.get(left, left) for left in found.not_examined),
        caution=found.caution,
    )


def _least_sure(found: Iterable[str]) -> str:
    return max(found, key=SURE.index, default=SURE[0])


def _rejects(nuts: list[Nut]) -> Rejects:
    """Insects, mould, rancid, blank or shrivelled, in the order in which the nuts were cracked."""
    bad = [bool((SPOILED | {"shrivelled"}) & set(n.defects)) or _bin(n) in {0, 1} for n in nuts]
    level = against_reject_level(sum(bad), len(bad), "in shell")
    told = Rejects(
        found=_estimate(level.found),
        level=level.level,
        above=level.above,
        level_source=level.source,
        examined=0,
        verdict="draw more",
        draw=0,
        certainty="",
        source="",
        caution="",
    )
    steps = [int(row["examined"]) for row in table("reject_plan")]
    for step in steps:
        reached = step <= len(bad)
        look = sequential_look(sum(bad[:step]) if reached else 0, step)
        told = replace(told, certainty=look.certainty, source=look.source, caution=look.caution)
        if not reached:
            return replace(told, draw=step - len(bad))
        told = replace(told, examined=step, verdict=look.verdict, draw=0)
        if look.verdict != "draw more":
            return told
    return told
