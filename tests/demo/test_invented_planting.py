import hashlib

import numpy as np
import pytest

from nuttery.demo.notes import notes_by_season
from nuttery.demo.pen import Pen
from nuttery.demo.truth import make_truth, write_truth
from nuttery.records import CanesCounted, Picking, StageSeen, note_text
from nuttery.store import Register

# The digest of all notes of Sorrel Bank. It changes only when the invention is changed on purpose:
# the same program must write the same bytes on every machine.
DIGEST = "502de43b46425c4120f14ddab3e612594541e7d22e2f25ad0886f6d19ddfc8cc"


@pytest.fixture(scope="module")
def truth():
    return make_truth(shrubs=60, years=5)


@pytest.fixture(scope="module")
def notes(truth):
    return [note for batch in notes_by_season(truth, Pen(1)) for note in batch]


def test_the_same_seed_writes_the_same_notes(notes):
    again = [note for batch in notes_by_season(make_truth(60, 5), Pen(1)) for note in batch]
    assert [note_text(n) for n in notes] == [note_text(n) for n in again]


def test_another_seed_writes_other_notes(notes):
    other = [n for batch in notes_by_season(make_truth(60, 5, seed=2), Pen(2)) for n in batch]
    assert note_text(notes[50]) != note_text(other[50])


def test_sorrel_bank_is_the_same_on_every_machine():
    digest = hashlib.sha256()
    for batch in notes_by_season(make_truth(), Pen(20130501)):
        for note in batch:
            digest.update(note_text(note).encode())
    assert digest.hexdigest() == DIGEST


def test_every_note_passes_its_own_rules(notes):
    assert [note.faults() for note in notes if note.faults()] == []


def test_ids_are_in_order_of_time_within_a_season(truth):
    for batch in notes_by_season(truth, Pen(1)):
        ids = [note.id for note in batch]
        assert len(set(ids)) == len(ids)


def test_a_layer_has_the_habits_and_genotype_of_its_original(truth):
    for k in np.flatnonzero(truth.layout.copy_of >= 0):
        assert (truth.habits.genotype[k] == truth.habits.genotype[0]).all()
        assert (truth.habits.heat[k] == truth.habits.heat[0]).all()
        assert not truth.accepts[0, k]


def test_no_shrub_accepts_itself(truth):
    assert not truth.accepts.diagonal().any()


def test_the_observer_never_sees_a_stage_before_it_came(truth, notes):
    from nuttery.demo.habits import STAGES

    place = {tag: k for k, tag in enumerate(truth.layout.tags)}
    years = {season.year: season for season in truth.seasons}
    for note in notes:
        if isinstance(note, StageSeen):
            column = STAGES.index((note.organ, note.stage))
            happened = years[note.seen.year].stage_doy[place[note.shrub], column]
            doy = note.seen.timetuple().tm_yday
            assert (doy >= happened) == note.reached or abs(doy - happened) < 1


def test_counts_add_up_and_hold_only_living_canes(truth, notes):
    place = {tag: k for k, tag in enumerate(truth.layout.tags)}
    counts = [n for n in notes if isinstance(n, CanesCounted)]
    assert len(counts) > 100
    for note in counts:
        column = truth.column(note.seen.year)
        true = truth.stools.winter[place[note.shrub], column].sum()
        assert note.standing == true


def test_pickings_are_what_the_shrub_bore_less_what_animals_took(truth, notes):
    place = {tag: k for k, tag in enumerate(truth.layout.tags)}
    years = {season.year: season for season in truth.seasons}
    for note in notes:
        if isinstance(note, Picking) and note.form == "in shell":
            dry = note.mass_kg * (1 - 0.26) / (1 - 0.08)
            assert dry <= years[note.seen.year].crop[place[note.shrub]] + 0.01


def test_the_truth_file_is_the_same_bytes_every_time(truth, tmp_path):
    for name in ("one.npz", "two.npz"):
        write_truth(truth, tmp_path / name)
    assert (tmp_path / "one.npz").read_bytes() == (tmp_path / "two.npz").read_bytes()


@pytest.mark.parametrize(("shrubs", "years"), [(3, 5), (60, 0)])
def test_a_planting_too_small_is_refused(shrubs, years):
    with pytest.raises(ValueError, match=f"found {shrubs} shrubs and {years} years"):
        make_truth(shrubs, years)


def test_the_register_holds_it_all(sorrel_bank):
    with Register.open(sorrel_bank) as register:
        about = register.plantings()[0]
        assert about.name == "Sorrel Bank"
        assert about.invented
        assert len(register.shrubs(about.planting)) == 120
        assert register.daily(about.planting).time.size > 6000
