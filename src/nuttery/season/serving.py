"""A planting kept open for many askers at once: its register, its day, and answers on the way."""

import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as FutureTimeout
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any, TypeVar, cast
from zoneinfo import ZoneInfo

from nuttery.records import PlantingDescribed
from nuttery.season.planting import Planting, open_planting

Answer = TypeVar("Answer")
Tell = Callable[[str], None]
KEPT_PLANTINGS = 6
KEPT_ANSWERS = 200
PATIENCE_S = 3.0
"""How long an asker waits before being told that the answer is still being worked out."""
BRIEFLY_S = 0.2
"""How long an asker waits who can be given the answer of the notes before."""


class StillWorking(Exception):  # noqa: N818 - it says what is the matter
    """An answer is being worked out; `.step` says how far it has come."""

    def __init__(self, question: str, step: str) -> None:
        self.question = question
        self.step = step
        super().__init__(f"{question} is being worked out ({step or 'just begun'})")


Key = tuple[object, ...]


@dataclass
class _Job:
    """An answer on its way, of the notes of one version."""

    version: int
    future: "Future[Any]" = field(init=False)
    step: str = ""


class Served:
    """One planting, its register open, asked by many.

    Parameters
    ----------
    where : the register's file, or a database address
    clock : tells the present moment, with its time zone
    on : the day as of which answers are given; None for the present day at the planting
    """

    def __init__(
        self, where: str | Path, *, clock: Callable[[], datetime], on: date | None = None
    ) -> None:
        first = open_planting(where, on=on)
        self.where = where
        self.clock = clock
        self.fixed_day = on
        self._register = first.register
        self._about = first.about
        self._plantings: OrderedDict[tuple[date, int], Planting] = OrderedDict()
        self._jobs: OrderedDict[Key, _Job] = OrderedDict()
        self._last: OrderedDict[Key, _Job] = OrderedDict()
        # An answer may be there before its callback is set, which then runs under the same lock.
        self._lock = threading.RLock()
        self._worker = ThreadPoolExecutor(max_workers=1, thread_name_prefix="answers")
        self._closing: Future[None] | None = None

    def close(self) -> None:
        """Begin no other answer, and let go of the register once the one under way is done."""
        with self._lock:
            for job in self._jobs.values():
                job.future.cancel()
            if self._closing is None:
                self._closing = self._worker.submit(self._register.close)
        self._worker.shutdown(wait=False)

    @property
    def about(self) -> PlantingDescribed:
        """Name, place and units of the planting as last described."""
        return self.planting().about

    @property
    def today(self) -> date:
        """The day as of which answers are given when none is asked for."""
        return self.fixed_day or self.clock().astimezone(ZoneInfo(self._about.time_zone)).date()

    @property
    def version(self) -> int:
        """A number that rises with every batch of notes or weather kept."""
        return self._register.version(self._about.planting)

    def planting(self, on: date | None = None) -> Planting:
        """Return the planting as of a day; the same object until notes are added."""
        key = (on or self.today, self.version)
        with self._lock:
            found = self._plantings.get(key)
            if found is None:
                self._about = self._register.plantings()[0]
                found = Planting(self._register, self._about, key[0])
                self._plantings[key] = found
                while len(self._plantings) > KEPT_PLANTINGS:
                    self._plantings.popitem(last=False)
            return found

    def answer(
        self,
        question: str,
        compute: Callable[[Planting, Tell], Answer],
        *,
        on: date | None = None,
        patience: float | None = PATIENCE_S,
        **terms: object,
    ) -> Answer:
        """Return an answer, worked out once for everyone who asks it of the same notes.

        Where notes were added since, the answer of the notes before may be returned while the new
        one is worked out; `is_behind` then says so.

        Parameters
        ----------
        question : its name, as a person is told while waiting
        compute : given the planting, and a function that is told each step
        on : as of this day
        patience : seconds to wait; None waits until it is there
        terms : whatever else the answer depends on

        Raises
        ------
        StillWorking
            If there is none in that time. Ask again: it goes on being worked out.
        """
        key = self._key(question, on, terms)
        job = self._job(key, self.planting(on), compute)
        before = self._last.get(key)
        has_other = before is not None and before is not job and patience is not None
        try:
            return cast("Answer", job.future.result(BRIEFLY_S if has_other else patience))
        except (FutureTimeout, CancelledError):
            if before is not None and has_other:
                return cast("Answer", before.future.result())
            raise StillWorking(question, job.step) from None

    def is_behind(self, question: str, on: date | None = None, **terms: object) -> bool:
        """Whether the answer at hand is of notes before the last ones."""
        key = self._key(question, on, terms)
        with self._lock:
            job, last = self._jobs.get(key), self._last.get(key)
        return job is not None and last is not None and last is not job

    def _key(self, question: str, on: date | None, terms: dict[str, object]) -> Key:
        return (question, on or self.today, *sorted(terms.items()))

    def _job(
        self, key: Key, planting: Planting, compute: Callable[[Planting, Tell], Answer]
    ) -> _Job:
        """Return the job of the newest notes; one of older notes that is not begun is let go."""
        version = self.version
        with self._lock:
            job = self._jobs.get(key)
            if job is not None and job.version == version and not _to_be_tried_again(job.future):
                self._jobs.move_to_end(key)
                return job
            if job is not None:
                job.future.cancel()
            job = _Job(version)
            job.future = self._worker.submit(_work, job, planting, compute)
            job.future.add_done_callback(lambda _: self._done(key, job))
            _put(self._jobs, key, job)
            return job

    def _done(self, key: Key, job: _Job) -> None:
        if not job.future.cancelled() and job.future.exception() is None:
            with self._lock:
                _put(self._last, key, job)


def _put(jobs: "OrderedDict[Key, _Job]", key: Key, job: _Job) -> None:
    jobs[key] = job
    jobs.move_to_end(key)
    while len(jobs) > KEPT_ANSWERS:
        jobs.popitem(last=False)


def _work(job: _Job, planting: Planting, compute: Callable[[Planting, Tell], object]) -> object:
    def tell(step: str) -> None:
        job.step = step

    return compute(planting, tell)


def _to_be_tried_again(future: "Future[Any]") -> bool:
    """A disk that was full is asked anew, and what was let go; a lack of notes is not."""
    if not future.done():
        return False
    return future.cancelled() or isinstance(future.exception(), OSError | RuntimeError)
