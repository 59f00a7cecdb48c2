"""What this planting's weighings tell of husk, shell, moisture and nuts taken by animals.

Each conversion is learned from the grower's own notes where they hold it: trays of which both the
pickings and the husked lot were weighed, moistures measured, samples cracked. Before that it is the
reference room's, and says so.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np
from scipy.special import logit, ndtri

from nuttery.records import DryingWeighed, Picking, Sample
from nuttery.science.arguments import Floats
from nuttery.science.crop import (
    ShareBelief,
    assumed_share,
    dry_to_wet_basis,
    in_shell_mass,
    learned_share,
)
from nuttery.season.planting import Planting

HUSK, KERNEL, FRESH = (
    "crop.share.in_shell_of_in_husk",
    "crop.share.kernel_of_in_shell",
    "crop.moisture.fresh",
)
HUSKED_WITHIN = timedelta(days=2)
"""A tray first weighed later than so after its last picking has dried too much to compare."""
FEWEST_TAKEN = 5
"""Pickings with a noted share taken by animals from which a usual share is believed."""


@dataclass(frozen=True)
class Footing:
    """Conversions of this planting.

    Attributes
    ----------
    in_shell : fresh mass in shell of fresh mass in husk
    kernel : kernel mass of mass in shell, both at storage moisture
    fresh : moisture of a fresh nut in shell, share of all mass
    taken : usual share of the crop gone to animals before the picking; NaN where too few are noted
    taken_records : pickings behind it
    """

    in_shell: ShareBelief
    kernel: ShareBelief
    fresh: ShareBelief
    taken: float
    taken_records: int


def footing(planting: Planting) -> Footing:
    """Return the conversions, learned where the notes allow it."""
    return planting.remembered("footing", lambda: _footing(planting))


def _footing(planting: Planting) -> Footing:
    pickings = list(planting.notes(Picking))
    weighings = list(planting.notes(DryingWeighed))
    taken = [n.lost_to_animals for n in pickings if n.lost_to_animals is not None]
    return Footing(
        in_shell=_belief(planting, HUSK, _husked(pickings, weighings)),
        kernel=_belief(planting, KERNEL, _cracked(planting)),
        fresh=_belief(planting, FRESH, _moistures(pickings, weighings)),
        taken=float(np.mean(taken)) if len(taken) >= FEWEST_TAKEN else float("nan"),
        taken_records=len(taken),
    )


def _belief(planting: Planting, name: str, lots: Iterable[tuple[float, float]]) -> ShareBelief:
    """Belief about a share: what the grower set, else learned from lots, else assumed."""
    own = planting.value(name)
    if own.certainty == "grower's own":
        return replace(assumed_share(name), centre=float(logit(own.value)), basis=own.certainty)
    use = [(part, whole) for part, whole in lots if 0 < part < whole]
    return learned_share(name, [part for part, _ in use], [whole for _, whole in use])


def wet_moisture(note: Picking | DryingWeighed | Sample) -> float:
    """Moisture of a note as a share of all mass; NaN where none was measured."""
    if note.moisture is None:
        return float("nan")
    wet = note.moisture
    return float(dry_to_wet_basis(wet)) if note.basis == "dry basis" else wet


def _by_batch(weighings: list[DryingWeighed]) -> dict[str, list[DryingWeighed]]:
    batches: dict[str, list[DryingWeighed]] = defaultdict(list)
    for note in weighings:
        batches[note.batch].append(note)
    return batches


def _husked(
    pickings: list[Picking], weighings: list[DryingWeighed]
) -> Iterable[tuple[float, float]]:
    """Mass in shell and in husk of each tray picked fresh, mostly in husk, and weighed at once."""
    picked: dict[str, list[Picking]] = defaultdict(list)
    for note in pickings:
        if note.batch:
            picked[note.batch].append(note)
    for batch, weighed in _by_batch(weighings).items():
        lots, first = picked[batch], weighed[0]
        if not lots or first.form != "in shell" or first.seen - lots[-1].seen > HUSKED_WITHIN:
            continue
        in_husk = sum(n.mass_kg for n in lots if n.form == "in husk")
        in_shell = sum(n.mass_kg for n in lots if n.form == "in shell")
        if all(n.state == "fresh" for n in lots) and in_husk > in_shell:
            yield first.mass_kg - in_shell, in_husk


def _cracked(planting: Planting) -> Iterable[tuple[float, float]]:
    """Kernel and nut mass of each dry sample."""
    for note in planting.notes(Sample):
        if note.state == "dry":
            nuts = [
                (n.kernel_g, n.mass_g) for n in note.nuts if n.kernel_g is not None and n.mass_g
            ]
            yield sum(k for k, _ in nuts), sum(m for _, m in nuts)


def _moistures(
    pickings: list[Picking], weighings: list[DryingWeighed]
) -> Iterable[tuple[float, float]]:
    """Moisture of each day's fresh pickings, and of each tray when it was set up."""
    days: dict[object, list[float]] = defaultdict(list)
    for note in pickings:
        if note.state == "fresh" and note.form != "kernel" and note.moisture is not None:
            days[note.seen].append(wet_moisture(note))
    for found in days.values():
        yield float(np.mean(found)), 1.0
    for notes in _by_batch(weighings).values():
        if notes[0].form == "in shell":
            yield first_moisture(notes), 1.0


def first_moisture(notes: list[DryingWeighed]) -> float:
    """Moisture of a tray at its first weighing, from whichever weighing came with a moisture."""
    for note in notes:
        if note.moisture is not None and note.form == notes[0].form:
            return 1 - note.mass_kg * (1 - wet_moisture(note)) / notes[0].mass_kg
    return float("nan")


def on_footing(notes: list[Picking], by: Footing) -> tuple[Floats, Floats, Floats, str]:
    """Mass in shell of each picking with its 80 % interval, and what the conversions rest on."""
    kg, low, high = (np.zeros(len(notes)) for _ in range(3))
    told: set[str] = set()
    for form, state in sorted({(note.form, note.state) for note in notes}):
        mine = [k for k, n in enumerate(notes) if (n.form, n.state) == (form, state)]
        wet = np.array([wet_moisture(notes[k]) for k in mine])
        unknown = np.isnan(wet) & (state == "fresh")
        found = in_shell_mass(
            [notes[k].mass_kg for k in mine],
            state=form,
            condition=state,
            moisture_wb=np.where(unknown, by.fresh.median, wet),
            in_shell_share=by.in_shell,
            kernel_share=by.kernel,
        )
        kg[mine] = found.median
        low[mine], high[mine] = _widened(
            found.median, found.high, np.where(unknown, by.fresh.sd, 0), by
        )
        told.add(f"{form}, {state}: {_basis(form, state, bool(unknown.any()), by)}")
    return kg, low, high, "; ".join(sorted(told))


def _widened(kg: Floats, high: Floats, logit_sd: Floats, by: Footing) -> tuple[Floats, Floats]:
    """Interval with the doubt about an unmeasured moisture added (variances of logarithms)."""
    z = float(ndtri(0.9))
    share = np.divide(high, kg, out=np.ones_like(kg), where=kg > 0)
    sd = np.hypot(np.log(share) / z, by.fresh.median * logit_sd)
    return kg * np.exp(-z * sd), kg * np.exp(z * sd)


def _basis(form: str, state: str, guessed: bool, by: Footing) -> str:
    """What one conversion rests on, in words."""
    parts = []
    if form == "in husk":
        parts.append(f"husk {_told(by.in_shell, 'tray')}")
    if form == "kernel":
        parts.append(f"shell {_told(by.kernel, 'sample')}")
    if guessed:
        parts.append(f"moisture {_told(by.fresh, 'lot')}")
    elif state == "dry":
        parts.append("moisture measured or taken as usual for dry nuts")
    else:
        parts.append("moisture measured")
    return ", ".join(parts)


def _told(belief: ShareBelief, lot: str) -> str:
    """Such as "learned from 6 trays", or the certainty of the value it rests on."""
    if not belief.n_records:
        return belief.basis
    return f"learned from {belief.n_records} {lot}{'' if belief.n_records == 1 else 's'}"
