"""The planting as known on a day: what every question is asked of."""

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import replace
from datetime import date, datetime
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar, cast

from nuttery import reference
from nuttery.records import Note, PlantingDescribed, ValueSet
from nuttery.season.errors import NotEnoughKnown, WrongQuestion
from nuttery.season.memo import memo_key, packed, unpacked
from nuttery.store import NoRoom, Register, RegisterBusy, ShrubState

Answer = TypeVar("Answer")
Kind = TypeVar("Kind", bound=Note)


class Planting:
    """A planting as its register tells it on a day: nothing seen later counts.

    Parameters
    ----------
    register : the open register
    about : name, place and units
    on : the day as of which answers are given
    known : only what was recorded up to this time counts; None for everything recorded by now
    """

    def __init__(
        self,
        register: Register,
        about: PlantingDescribed,
        on: date,
        known: datetime | None = None,
    ) -> None:
        self.register = register
        self.about = about
        self.on = on
        self.known = known

    @cached_property
    def shrubs(self) -> tuple[ShrubState, ...]:
        """Every shrub that stands on the day, in walking order along the rows."""
        states = self.register.shrubs(self.about.planting, on=self.on, recorded_until=self.known)
        return tuple(sorted((s for s in states if s.lost is None), key=walking_order))

    @cached_property
    def by_tag(self) -> dict[str, ShrubState]:
        """Standing shrubs by tag."""
        return {shrub.tag: shrub for shrub in self.shrubs}

    def shrub(self, tag: str) -> ShrubState:
        """Return the standing shrub of that tag.

        Raises
        ------
        WrongQuestion
            If none stands under that tag; near tags are suggested.
        """
        if tag in self.by_tag:
            return self.by_tag[tag]
        import difflib

        near = difflib.get_close_matches(tag, self.by_tag, n=3)
        hint = f" Did you mean {', '.join(near)}?" if near else ""
        raise WrongQuestion(f"shrub: found {tag!r}, expected the tag of a standing shrub.{hint}")

    def notes(
        self, *kinds: type[Kind], since: date | None = None, shrub: str | None = None
    ) -> Iterator[Kind]:
        """Notes of those kinds that count on the day, oldest first; of one shrub if it is named."""
        names = [str(kind.model_fields["kind"].default) for kind in kinds]
        found = self.register.notes(
            planting=self.about.planting,
            kinds=names or None,
            shrub=shrub,
            seen_from=since,
            seen_until=self.on,
            recorded_until=self.known,
        )
        return cast("Iterator[Kind]", found)

    @cached_property
    def own_values(self) -> dict[str, reference.Value]:
        """Values that the grower has set in the stead of shipped ones, by name."""
        found = {}
        for name, note in {note.name: note for note in self.notes(ValueSet)}.items():
            if note.value is not None and name in reference.values():
                found[name] = _own(reference.shipped(name), note, note.value)
        return found

    def value(self, name: str) -> reference.Value:
        """Return a reference value, or what this planting's grower has set in its stead."""
        return self.own_values.get(name) or reference.shipped(name)

    def remembered(self, question: str, compute: Callable[[], Answer], **terms: object) -> Answer:
        """Return the kept answer to a question, or compute and keep it.

        `terms` are whatever else the answer depends on, beside the register and the day.
        """
        version = self.register.version(self.about.planting)
        key = memo_key(
            question, version, planting=self.about.planting, on=self.on, known=self.known, **terms
        )
        return self._kept_under(key, compute)

    def remembered_by(self, question: str, mark: str, compute: Callable[[], Answer]) -> Answer:
        """Return the kept answer to a question that depends on nothing but what `mark` stands for.

        Give a digest of the data that the answer rests on: it then outlasts notes of other things.
        """
        return self._kept_under(memo_key(question, 0, mark=mark), compute)

    def _kept_under(self, key: str, compute: Callable[[], Answer]) -> Answer:
        kept = self.register.kept_answer(key)
        if kept is not None:
            return cast("Answer", unpacked(kept))
        with reference.in_force(self.own_values):
            answer = compute()
        with suppress(NoRoom, RegisterBusy):  # an answer not kept is worked out again
            self.register.keep_answer(key, packed(answer))
        return answer


def _own(shipped: reference.Value, note: ValueSet, value: float) -> reference.Value:
    """A shipped value replaced by the grower's, its range moved in proportion."""
    scale = value / shipped.value if shipped.value else None
    low, high = (
        edge * scale if edge is not None and scale is not None else None
        for edge in (shipped.low, shipped.high)
    )
    return replace(
        shipped,
        value=value,
        source=note.source or f"set by {note.by} on {note.seen}",
        certainty="grower's own",
        low=low,
        high=high,
        note="",
    )


def walking_order(shrub: Any) -> tuple[float, float]:  # noqa: ANN401 - anything with a place
    """Sort key of a walk up one row and down the next."""
    row = shrub.row if shrub.row is not None else 0
    along = shrub.number if shrub.number is not None else (shrub.x or 0.0)
    return (row, along if row % 2 else -along)


def open_planting(
    where: str | Path, *, on: date | None = None, known: datetime | None = None
) -> Planting:
    """Return the planting of a register as of a day (today by default).

    Raises
    ------
    NotEnoughKnown
        If the register holds no planting yet.
    WrongQuestion
        If it holds several; name one by its own register file or database.
    """
    register = Register.open(where)
    plantings = register.plantings()
    if not plantings:
        raise NotEnoughKnown(f"{where}: no planting is described yet; start with: nuttery new")
    if len(plantings) > 1:
        names = ", ".join(about.name for about in plantings)
        raise WrongQuestion(f"{where}: found several plantings ({names}), expected one")
    return Planting(register, plantings[0], on or date.today(), known)  # noqa: DTZ011 - the grower's own day
