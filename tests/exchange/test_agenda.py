"""Work as iCalendar."""

from datetime import UTC, date, datetime
from types import SimpleNamespace as Work

import icalendar
import numpy as np
import pytest

from nuttery.exchange import work_calendar

STAMP = datetime(2027, 1, 1, 12, 30, tzinfo=UTC)


def work(**more):
    usual = {
        "uid": "saw-A1-2027",
        "day": date(2027, 3, 1),
        "until": date(2027, 3, 14),
        "summary": "Saw out 2 canes, A1",
        "description": "one of age 10; cankered",
    }
    return Work(**{**usual, **more})


def test_work_is_a_whole_day_event_that_blocks_no_time():
    made = icalendar.Calendar.from_ical(work_calendar([work()], stamp=STAMP))
    assert (made["version"], made["x-wr-calname"]) == ("2.0", "Nuttery")
    (event,) = made.walk("VEVENT")
    assert event["uid"] == "saw-A1-2027@nuttery"
    assert event.decoded("dtstart") == date(2027, 3, 1)
    assert event.decoded("dtend") == date(2027, 3, 15)
    assert event.decoded("dtstamp") == STAMP
    assert event["summary"] == "Saw out 2 canes, A1"
    assert event["description"] == "one of age 10; cankered"
    assert event["transp"] == "TRANSPARENT"


def test_a_day_alone_ends_the_day_after():
    raw = work_calendar([work(until=None, day=np.datetime64("2027-12-31"))], stamp=STAMP)
    assert b"DTSTART;VALUE=DATE:20271231" in raw
    assert b"DTEND;VALUE=DATE:20280101" in raw


def test_the_same_work_gives_the_same_bytes():
    events = [work(), work(uid="pick-B2@sorrel", description="")]
    assert work_calendar(events, stamp=STAMP) == work_calendar(events, stamp=STAMP)
    assert b"UID:pick-B2@sorrel\r\n" in work_calendar(events, stamp=STAMP)


def test_lines_are_folded_and_text_is_escaped_as_the_standard_asks():
    # RFC 5545, 3.1: lines of at most 75 octets; 3.3.11: comma, semicolon and line break escaped.
    raw = work_calendar([work(summary="ä" * 100, description="a,b;c\nd")], stamp=STAMP)
    assert all(len(line) <= 75 for line in raw.split(b"\r\n"))
    assert b"a\\,b\\;c\\nd" in raw


@pytest.mark.parametrize(
    ("events", "told"),
    [
        ([work(until=date(2027, 2, 1))], "found until 2027-02-01, expected 2027-03-01 or later"),
        ([work(), work()], "found the uid 'saw-A1-2027' twice, expected each once"),
    ],
)
def test_work_that_makes_no_sense_is_refused(events, told):
    with pytest.raises(ValueError, match=told):
        work_calendar(events, stamp=STAMP)


def test_without_a_stamp_the_present_moment_is_taken():
    made = icalendar.Calendar.from_ical(work_calendar([work()]))
    age = datetime.now(UTC) - made.walk("VEVENT")[0].decoded("dtstamp")
    assert -2 < age.total_seconds() < 60
