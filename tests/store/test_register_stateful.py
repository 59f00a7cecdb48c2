"""Random sequences of operations against a plain model in memory, on each database.

`NUTTERY_SEQUENCES` says how many sequences, such as 10000; by default 30, and 10 on PostgreSQL.
"""

import os
from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule, run_state_machine_as_test

from nuttery.records import (
    AllelesKnown,
    CaneLabelled,
    CanesCounted,
    CanesCut,
    CrossCounted,
    CrossMade,
    Cut,
    LayerMade,
    ParentsKnown,
    PlantingDescribed,
    Remark,
    ShrubLost,
    ShrubPlanted,
    Withdrawn,
    note_text,
)
from nuttery.store import (
    NotKnown,
    Register,
    RegisterRefused,
    ShrubState,
    check_register,
)

from .conftest import emptied

SEQUENCES = int(os.environ.get("NUTTERY_SEQUENCES", "0"))
PLANTINGS = (UUID(int=1), UUID(int=2))
TAGS = ("A-1", "A-2", "A-3", "A-10")
PLANTED = {"shrub_planted", "layer_made"}
MORNING = datetime(2026, 3, 1, 8, tzinfo=UTC)
LAST = datetime(2027, 1, 1, tzinfo=UTC)


class RefusedError(Exception):
    pass


class Model:
    """The rules of the register, told as plainly as possible."""

    def __init__(self):
        self.notes = {}

    def keep(self, batch):
        new = {}
        for note in batch:
            known = self.notes.get(note.id) or new.get(note.id)
            if known is not None and note_text(known) != note_text(note):
                raise RefusedError
            if known is None:
                new[note.id] = note
        together = Model()
        together.notes = self.notes | new
        if not together.is_sound():
            raise RefusedError
        self.notes |= new
        return len(new), len(batch) - len(new)

    def is_sound(self):
        notes = self.notes.values()
        described = {n.planting for n in notes if n.kind == "planting_described"}
        planted = {(n.planting, n.shrub) for n in notes if n.kind in PLANTED}
        for n in notes:
            target = self.notes.get(n.stands_in_for)
            if n.planting not in described:
                return False
            if n.shrub is not None and (n.planting, n.shrub) not in planted:
                return False
            if n.kind == "layer_made" and (n.planting, n.copy_of) not in planted:
                return False
            if n.stands_in_for and (target is None or target.planting != n.planting):
                return False
            if n.kind == "cross_counted" and not self.is_cross(n):
                return False
        return not self.has_ring() and self.is_planted_once()

    def is_cross(self, n):
        cross = self.notes.get(n.cross)
        return cross is not None and cross.kind == "cross_made" and cross.planting == n.planting

    def has_ring(self):
        return any(self.path(n) is None for n in self.notes.values())

    def path(self, note):
        """Notes from this one to the first of its thread; None if it never gets there."""
        path = [note]
        while path[-1].stands_in_for is not None:
            path.append(self.notes[path[-1].stands_in_for])
            if path[-1] in path[:-1]:
                return None
        return path

    def is_planted_once(self):
        holding = [n for n in self.holding(LAST) if n.kind in PLANTED]
        places = [(n.planting, n.shrub) for n in holding]
        if len(places) != len(set(places)):
            return False
        original = {(n.planting, n.shrub): getattr(n, "copy_of", None) for n in holding}
        for planting, tag in original:
            passed = []
            while tag is not None and tag not in passed:
                passed.append(tag)
                tag = original.get((planting, tag))  # noqa: PLW2901 - walks on
            if tag is not None:
                return False
        return True

    def holding(self, known):
        best = {}
        for note in self.notes.values():
            if note.recorded <= known:
                path = self.path(note)
                rank = (len(path), note.recorded, note.id)
                best[path[-1].id] = max(best.get(path[-1].id, ((0,), None)), (rank, note.id))
        notes = [self.notes[id_] for _, id_ in best.values()]
        return sorted((n for n in notes if n.kind != "withdrawn"), key=order)

    def threads(self, note):
        first = self.path(note)[-1]
        thread = [n for n in self.notes.values() if self.path(n)[-1] == first]
        return sorted(thread, key=lambda n: (len(self.path(n)), n.recorded, n.id))

    def states(self, planting, on, known):
        notes = [n for n in self.holding(known) if n.planting == planting and n.seen <= on]
        tags = {n.shrub for n in notes if n.kind in PLANTED}
        return {tag: state(notes, tag) for tag in tags}


def order(note):
    at = note.seen_at
    return (note.seen, at is not None, at or time(0), note.recorded, note.id)


def last(notes, kind):
    found = [n for n in notes if n.kind == kind]
    return found[-1] if found else None


def planted_by(notes, tag):
    """The note that planted a shrub: the last one, where at that time two were known to hold."""
    found = [n for n in notes if n.shrub == tag and n.kind in PLANTED]
    return found[-1] if found else None


def state(notes, tag):
    mine = [n for n in notes if n.shrub == tag]
    family, lot = [tag], None
    while True:
        planting = planted_by(notes, family[-1])
        if planting is None:
            family.pop()
            break
        lot = getattr(planting, "seed_lot", None)
        if planting.kind == "shrub_planted":
            break
        family.append(planting.copy_of)

    def told(kind):
        answers = [last([n for n in notes if n.shrub == t], kind) for t in family]
        return next((a for a in answers if a), None)

    planting = planted_by(notes, tag)
    lots = [n for n in notes if n.kind == "parents_known" and n.seed_lot == lot and lot]
    parents = told("parents_known") or (lots[-1] if lots else None)
    report = told("alleles_known")
    losses = [n.seen for n in mine if n.kind == "shrub_lost"]
    standing = {}
    for n in mine:
        if n.kind == "cane_labelled":
            standing[n.cane] = n
        for cut in n.cuts if n.kind == "canes_cut" else ():
            standing.pop(cut.cane, None)
    return ShrubState(
        tag=tag,
        x=planting.x,
        y=planting.y,
        row=planting.row,
        number=planting.number,
        seed_lot=lot,
        planted=planting.seen,
        lost=losses[0] if losses else None,
        copy_of=getattr(planting, "copy_of", None),
        mother=parents.mother if parents else None,
        fathers=parents.fathers if parents else (),
        alleles=(report.first, report.second) if report else None,
        alleles_note=report,
        counted=last(mine, "canes_counted"),
        canes=tuple(standing[label] for label in sorted(standing)),
        last_seen={n.kind: n.seen for n in mine},
        n_notes=len(mine),
    )


TAG = st.sampled_from(TAGS)
LABEL = st.sampled_from(("c1", "c2"))
ABOUT_SHRUB = {
    ShrubPlanted: lambda draw, _: {"seed_lot": draw(st.sampled_from((None, "L1")))},
    LayerMade: lambda draw, _: {"copy_of": draw(TAG)},
    ShrubLost: lambda _draw, _: {},
    ParentsKnown: lambda _draw, _: {"mother": "M1", "fathers": ("F1",)},
    AllelesKnown: lambda draw, _: {"first": 1, "second": draw(st.integers(2, 4))},
    CanesCounted: lambda draw, _: {"standing": draw(st.integers(0, 9))},
    CaneLabelled: lambda draw, _: {"cane": draw(LABEL)},
    CanesCut: lambda draw, _: {"cuts": (Cut(why="age", cane=draw(LABEL)),)},
    CrossMade: lambda _draw, _: {"pollen_from": "M1"},
    CrossCounted: lambda draw, ids: {
        "cross": draw(st.sampled_from(ids)),
        "clusters": 0,
        "took": False,
    },
}
ABOUT_PLANTING = {
    PlantingDescribed: lambda _draw, _: {"name": "Bank", "latitude": 46.1, "longitude": -91.2},
    ParentsKnown: lambda _draw, _: {"seed_lot": "L1", "mother": "M2"},
    Remark: lambda _draw, _: {"remark": "rain"},
    Withdrawn: lambda draw, ids: {"stands_in_for": draw(st.sampled_from(ids))},
}
KINDS = st.sampled_from([(ABOUT_SHRUB, kind) for kind in ABOUT_SHRUB]
                        + [(ABOUT_PLANTING, kind) for kind in ABOUT_PLANTING])  # fmt: skip


def some_kind(draw, head, ids):
    about, kind = draw(KINDS)
    if about is ABOUT_SHRUB:
        head = head | {"shrub": draw(TAG)}
    return kind(**head | about[kind](draw, ids))


@st.composite
def batches(draw, known):
    """Give notes, most of them sound; some stand in for others, known or in the batch."""
    batch = []
    for id_ in draw(st.lists(st.integers(1, 2**24), min_size=1, max_size=4, unique=True)):
        ids = [*known, *(n.id for n in batch), UUID(int=id_)]
        stands_in = draw(st.sampled_from((False, False, True)))
        head = {
            "id": UUID(int=id_),
            "planting": PLANTINGS[draw(st.sampled_from((0, 0, 0, 0, 0, 1)))],
            "by": "Ida",
            "seen": date(2026, 2, 1) + timedelta(days=draw(st.integers(0, 3))),
            "seen_at": draw(st.sampled_from((None, time(0), time(9, 30)))),
            "recorded": MORNING + timedelta(minutes=draw(st.integers(0, 9))),
            "stands_in_for": draw(st.sampled_from(ids)) if stands_in else None,
        }
        batch.append(some_kind(draw, head, ids))
    return draw(st.permutations(batch))


class Operations(RuleBasedStateMachine):
    """Operations on a register and on the model, side by side."""

    register: Register

    def __init__(self):
        super().__init__()
        emptied(self.register)
        self.model = Model()

    def teardown(self):
        self.same_everything(date(2030, 1, 1), LAST)
        assert check_register(self.register) == ()

    @initialize(data=st.data())
    def set_up(self, data):
        head = {
            "planting": PLANTINGS[0],
            "by": "Ida",
            "seen": date(2026, 1, 1),
            "recorded": MORNING,
        }
        notes = [
            PlantingDescribed(id=UUID(int=1), name="Bank", latitude=46.1, longitude=-91.2, **head)
        ]
        for k, tag in enumerate(data.draw(st.sets(st.sampled_from(TAGS))), start=2):
            notes.append(ShrubPlanted(id=UUID(int=k), shrub=tag, seed_lot="L1", **head))
        self.both_keep(notes)

    @rule(data=st.data())
    def keep(self, data):
        self.both_keep(data.draw(batches(list(self.model.notes))))

    @rule(data=st.data(), changed=st.booleans())
    def keep_again(self, data, changed):
        note = data.draw(st.sampled_from(list(self.model.notes.values())))
        self.both_keep([note.model_copy(update={"remark": "other"}) if changed else note])

    @rule(day=st.integers(-1, 4), minute=st.integers(-1, 10))
    def ask(self, day, minute):
        self.same_everything(
            date(2026, 2, 1) + timedelta(days=day), MORNING + timedelta(minutes=minute)
        )

    @rule()
    def ask_now(self):
        expected = self.model.states(PLANTINGS[0], date(2030, 1, 1), LAST)
        found = {shrub.tag: shrub for shrub in self.register.shrubs(PLANTINGS[0])}
        assert found == expected
        for tag in TAGS:
            self.same_shrub(tag, expected, None, None)

    @rule(data=st.data())
    def history(self, data):
        note = data.draw(st.sampled_from(list(self.model.notes.values())))
        assert self.register.note(note.id) == note
        assert list(self.register.history(note.id)) == self.model.threads(note)

    def both_keep(self, batch):
        before = self.register.version()
        try:
            expected = self.model.keep(batch)
        except RefusedError:
            with pytest.raises(RegisterRefused, match="Nothing of the batch was kept"):
                self.register.keep(batch)
            assert self.register.version() == before
            return
        kept = self.register.keep(batch)
        assert (kept.added, kept.already) == expected
        assert self.register.version() == before + (kept.added > 0)

    def same_shrub(self, tag, expected, on, known):
        if tag in expected:
            found = self.register.shrub(PLANTINGS[0], tag, on=on, recorded_until=known)
            assert found == expected[tag]
        else:
            with pytest.raises(NotKnown, match=f"found '{tag}'"):
                self.register.shrub(PLANTINGS[0], tag, on=on, recorded_until=known)

    def same_everything(self, on, known):
        expected = self.model.states(PLANTINGS[0], on, known)
        found = self.register.shrubs(PLANTINGS[0], on=on, recorded_until=known)
        assert {shrub.tag: shrub for shrub in found} == expected
        self.same_shrub("A-2", expected, on, known)
        holding = [n for n in self.model.holding(known) if n.seen <= on]
        assert list(self.register.notes(seen_until=on, recorded_until=known)) == holding
        everything = sorted(self.model.notes.values(), key=order)
        assert list(self.register.notes(standing=False)) == everything


def test_the_register_does_as_the_model_does(register, database):
    machine = type("Operations", (Operations,), {"register": register})
    run_state_machine_as_test(
        machine,
        settings=settings(
            phases=(Phase.explicit, Phase.generate, Phase.shrink),
            max_examples=SEQUENCES or {"sqlite": 30, "postgres": 10}[database],
            stateful_step_count=12,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
