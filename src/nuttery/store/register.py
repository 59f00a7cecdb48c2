"""The register: every note ever taken, none ever lost, and what they amount to."""

from collections.abc import Iterable, Iterator
from contextlib import AbstractContextManager
from datetime import date, datetime
from pathlib import Path
from types import TracebackType
from typing import Self
from uuid import UUID

from sqlalchemy import Connection, Engine

from nuttery.records import Note, PlantingDescribed
from nuttery.store import asking
from nuttery.store.answers import answer, empty, put_answer
from nuttery.store.asking import AsOf
from nuttery.store.connection import reading, writing
from nuttery.store.keeping import Kept, Progress, keep_notes
from nuttery.store.newest import newest_notes
from nuttery.store.opening import made, opened, unmake
from nuttery.store.states import ShrubState
from nuttery.store.versions import planting_version, register_version
from nuttery.store.weather_in import keep_table, table_from
from nuttery.store.weather_out import daily_of, hourly_of, sources_of
from nuttery.store.weather_types import Daily, Hourly, KeptWeather, Record, WeatherSource


class Register:
    """The notes of one or more plantings, in an SQLite file or a PostgreSQL database.

    Nothing in it is edited or deleted: a correction is a note that stands in for another.
    Get one by `Register.create` or `Register.open`; close it, or use it in a `with` block.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from nuttery.records import PlantingDescribed, new_id, utc_now
    >>> planting = new_id()
    >>> note = PlantingDescribed(id=new_id(), planting=planting, name="Sorrel Bank",
    ...     latitude=46.1, longitude=-91.2, seen=date(2026, 5, 1), by="Ida", recorded=utc_now())
    >>> with TemporaryDirectory() as folder, Register.create(folder + "/planting.db") as register:
    ...     register.keep([note]), register.keep([note])
    ...     [p.name for p in register.plantings()]
    (Kept(added=1, already=0), Kept(added=0, already=1))
    ['Sorrel Bank']
    """

    def __init__(self, engine: Engine, where: str | Path) -> None:
        self._engine = engine
        self.where = where

    @classmethod
    def create(cls, where: str | Path) -> Self:
        """Make a new register and open it.

        Parameters
        ----------
        where : path of the file to make, or a PostgreSQL DSN (postgresql://...)

        Raises
        ------
        RegisterExists
            If there is something already.
        """
        return cls(made(where), where)

    @classmethod
    def open(cls, where: str | Path) -> Self:
        """Open a register; an old one is brought up to date.

        Raises
        ------
        RegisterMissing, NotARegister, RegisterTooNew, RegisterDamaged
            Saying what is there instead.
        """
        return cls(opened(where), where)

    def close(self) -> None:
        """Let go of the register's file or database."""
        self._engine.dispose()

    def discard(self) -> None:
        """Remove a register that was just made, with all that is in it."""
        unmake(self._engine, self.where)

    def reading(self) -> AbstractContextManager[Connection]:
        """Give a connection that sees the register as it is now, for the store's own rooms."""
        return reading(self._engine)

    def writing(self) -> AbstractContextManager[Connection]:
        """Give the only connection that may write, for the store's own rooms."""
        return writing(self._engine)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        problem: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self.close()

    def keep(self, notes: Iterable[Note], *, progress: Progress | None = None) -> Kept:
        """Keep a batch of notes: all of them, once each, or none.

        Parameters
        ----------
        notes : notes as `read_note` gives them: the register looks at what they refer to, and
            takes for granted that each is sound in itself
        progress : called with the number of notes taken so far, now and then

        Returns
        -------
        Kept
            How many were new, and how many were there already.

        Raises
        ------
        RegisterRefused
            With every fault of the batch: plantings, shrubs and notes that are not there, a tag
            planted twice, notes that stand in for one another in a ring.
        ConflictingNote
            The same, if a note's id is taken by one with other content; it has both.
        """
        with self.writing() as connection:
            return keep_notes(connection, notes, progress)

    def notes(
        self,
        *,
        planting: UUID | None = None,
        shrub: str | None = None,
        kinds: Iterable[str] | str | None = None,
        seen_from: date | None = None,
        seen_until: date | None = None,
        recorded_until: datetime | None = None,
        standing: bool = True,
    ) -> Iterator[Note]:
        """Notes in the order in which they were seen (then recorded, then by id), one at a time.

        Parameters
        ----------
        planting, shrub, kinds : only notes of these
        seen_from, seen_until : first and last day seen
        recorded_until : only what was known at that moment (with its time zone)
        standing : leave out notes that were replaced or withdrawn, and the withdrawals themselves

        Raises
        ------
        ValueError
            If there is no such kind, or the moment has no time zone.
        """
        query = asking.notes_query(
            planting=planting,
            shrub=shrub,
            kinds=kinds,
            seen_from=seen_from,
            as_of=AsOf(seen_until, recorded_until),
            standing=standing,
        )

        def told() -> Iterator[Note]:
            with self.reading() as connection:
                yield from asking.told_notes(connection, query)

        return told()

    def newest(
        self,
        planting: UUID,
        *,
        kinds: Iterable[str] | str | None = None,
        before: UUID | None = None,
        at_most: int,
        seen_until: date | None = None,
        recorded_until: datetime | None = None,
    ) -> list[Note]:
        """Notes that hold, the newest first; quick however many notes there are.

        Parameters
        ----------
        planting, kinds : only notes of these
        before : a note; only those that come before it in the order of notes
        at_most : how many to return
        seen_until, recorded_until : as for `notes`

        Raises
        ------
        NotKnown
            If there is no such planting, or no such note to come before.
        """
        with self.reading() as connection:
            return newest_notes(
                connection,
                planting,
                kinds=kinds,
                before=before,
                at_most=at_most,
                as_of=AsOf(seen_until, recorded_until),
            )

    def note(self, id: UUID) -> Note:  # noqa: A002 - a note's id is called id everywhere
        """Return the note with an id, whether it holds or not.

        Raises
        ------
        NotKnown
            If the register holds no such note.
        """
        with self.reading() as connection:
            return asking.note_by_id(connection, id)

    def history(self, id: UUID) -> tuple[Note, ...]:  # noqa: A002 - as above
        """Return a note with all it stands in for and all that stand in for it, the first first.

        Raises
        ------
        NotKnown
            If the register holds no such note.
        """
        with self.reading() as connection:
            return asking.thread_of(connection, id)

    def plantings(
        self, *, on: date | None = None, recorded_until: datetime | None = None
    ) -> tuple[PlantingDescribed, ...]:
        """Return the description that holds of each planting, in order of name."""
        with self.reading() as connection:
            return asking.plantings(connection, AsOf(on, recorded_until))

    def shrubs(
        self,
        planting: UUID,
        *,
        on: date | None = None,
        recorded_until: datetime | None = None,
    ) -> tuple[ShrubState, ...]:
        """State of every shrub planted by then, lost ones too, in order of tag (A-2 before A-10).

        Parameters
        ----------
        on : only what was seen up to that day
        recorded_until : only what was known at that moment (with its time zone)

        Raises
        ------
        NotKnown
            If the register holds no such planting.
        """
        with self.reading() as connection:
            return asking.all_shrubs(connection, planting, AsOf(on, recorded_until))

    def shrub(
        self,
        planting: UUID,
        tag: str,
        *,
        on: date | None = None,
        recorded_until: datetime | None = None,
    ) -> ShrubState:
        """State of one shrub; see `shrubs`.

        Raises
        ------
        NotKnown
            If the register holds no such planting, or no such shrub was planted by then.
        """
        with self.reading() as connection:
            return asking.one_shrub(connection, planting, tag, AsOf(on, recorded_until))

    def version(self, planting: UUID | None = None) -> int:
        """Return a number that rises with every batch of notes or weather kept.

        Parameters
        ----------
        planting : of this planting only

        Raises
        ------
        NotKnown
            If the register holds no such planting.
        """
        with self.reading() as connection:
            if planting is None:
                return register_version(connection)
            return planting_version(connection, asking.planting_number(connection, planting))

    def keep_weather(
        self,
        record: Record,
        *,
        planting: UUID,
        source: str,
        trust: int | None = None,
        replace: bool = False,
    ) -> KeptWeather:
        """Keep a weather record of a planting under the name of its source.

        Parameters
        ----------
        record : times and values of one resolution; NaN = missing, and takes nothing away
        source : name of the source, such as that of a station; one place and one clock each
        trust : sources with a lower number are believed first; None: as before, a new one last
        replace : write over values that differ

        Raises
        ------
        NotKnown
            If the register holds no such planting.
        WeatherRefused
            If a value differs from the one kept, the station is in another place, a time is
            twice or out of order, or an element has another length. Nothing is kept then.
        """
        with self.writing() as connection:
            return keep_table(
                connection,
                table_from(record),
                planting=asking.planting_number(connection, planting),
                source=source,
                trust=trust,
                replace=replace,
            )

    def weather_sources(self, planting: UUID) -> tuple[WeatherSource, ...]:
        """Sources of a planting's weather, the most trusted first."""
        with self.reading() as connection:
            return sources_of(connection, asking.planting_number(connection, planting))

    def daily(self, planting: UUID, source: str | None = None) -> Daily:
        """Daily weather of a planting, from the first day to the last.

        Parameters
        ----------
        source : of this source only; None: each value from the most trusted source that has it

        Raises
        ------
        NotKnown
            If there is no such planting or source.
        """
        with self.reading() as connection:
            return daily_of(connection, asking.planting_number(connection, planting), source)

    def hourly(self, planting: UUID, source: str | None = None) -> Hourly:
        """Hourly weather of a planting on the clock of its most trusted source; see `daily`."""
        with self.reading() as connection:
            return hourly_of(connection, asking.planting_number(connection, planting), source)

    def kept_answer(self, key: str) -> bytes | None:
        """Return an answer worked out before, or None."""
        with self.reading() as connection:
            return answer(connection, key)

    def keep_answer(self, key: str, value: bytes) -> None:
        """Keep an answer for a while: beyond a few hundred, the oldest go.

        Put the version into the key, so that an answer is not taken for one of newer notes.
        """
        with self.writing() as connection:
            put_answer(connection, key, value)

    def forget_answers(self) -> None:
        """Forget every answer worked out before."""
        with self.writing() as connection:
            empty(connection)
