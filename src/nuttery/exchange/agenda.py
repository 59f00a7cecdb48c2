"""Dated work as iCalendar, for the calendar on a phone."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from typing import Protocol

from nuttery.exchange.answers import plain_value

_PRODUCT = "-//Nuttery//Season plan//EN"


class Dated(Protocol):
    """One piece of work with the days in which it is due."""

    @property
    def uid(self) -> str:
        """Name of the event that stays the same from one export to the next."""

    @property
    def day(self) -> date:
        """First day."""

    @property
    def until(self) -> date | None:
        """Last day, None if it is the first one."""

    @property
    def summary(self) -> str:
        """One line."""

    @property
    def description(self) -> str:
        """Reason and caution."""


def work_calendar(
    events: Iterable[Dated], *, name: str = "Nuttery", stamp: datetime | None = None
) -> bytes:
    """Work as an iCalendar file of whole-day events that block no time.

    Parameters
    ----------
    events : with uid, day, until, summary and description
    name : of the calendar
    stamp : moment of making, now if None; give it for the same bytes every time

    Returns
    -------
    bytes, UTF-8

    Raises
    ------
    ValueError
        If an event ends before it begins, or a uid comes twice.

    Notes
    -----
    Source: RFC 5545 (Desruisseaux 2009). DTEND of a whole-day event is the day after its last.
            The same uid makes a calendar program replace the event on the next import.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> work = SimpleNamespace(uid="saw-A1-2027", day=date(2027, 3, 1), until=date(2027, 3, 14),
    ...                        summary="Saw out two canes of A1", description="")
    >>> b"DTEND;VALUE=DATE:20270315" in work_calendar([work])
    True
    """
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", _PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", name)
    made = (stamp or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    seen: set[str] = set()
    for work in events:
        uid = _uid(work, seen)
        first, last = _days(work)
        event = Event()
        event.add("uid", uid)
        event.add("dtstamp", made)
        event.add("dtstart", first)
        event.add("dtend", last + timedelta(days=1))
        event.add("summary", work.summary)
        if work.description:
            event.add("description", work.description)
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def _uid(work: Dated, seen: set[str]) -> str:
    uid = work.uid if "@" in work.uid else f"{work.uid}@nuttery"
    if uid in seen:
        raise ValueError(f"events: found the uid {work.uid!r} twice, expected each once")
    seen.add(uid)
    return uid


def _days(work: Dated) -> tuple[date, date]:
    first = plain_value(work.day)
    last = first if work.until is None else plain_value(work.until)
    if last < first:
        raise ValueError(f"event {work.uid!r}: found until {last}, expected {first} or later")
    return first, last
