"""One line of the season plan: what to do where and when, why, how sure, and what if it waits."""

from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from nuttery.season.estimate import Sure

Subject = Literal[
    "canes", "bloom", "pollen", "frost", "picking", "drying", "counting", "weather", "notes"
]
SUBJECTS: tuple[Subject, ...] = (
    "frost", "picking", "drying", "bloom", "pollen", "canes", "counting", "weather", "notes",
)  # fmt: skip
"""In the order in which they press: what a night can take comes first."""


@dataclass(frozen=True)
class Line:
    """One thing to do.

    Attributes
    ----------
    key : stable name of the line, the same from run to run: subject, what, shrub
    subject : what it is about
    act : what to do, as said to a person: "Saw out 2 canes: one of 11 years, one of 10"
    shrubs : tags in walking order; empty when it is about the whole planting
    first, last : window in which to do it
    why : the reason with the numbers it rests on
    sure : how sure, in one word; `sure_why` says what makes it so
    waits : what happens if it waits
    caution : the caution that belongs to the work, or nothing
    weight : how much hangs on it, larger first among lines of one subject (kg of crop where known)
    rests_on : reference values that the line rests on, as (name, "value unit", certainty)
    place : where its shrubs stand: "row 7, number 5", or "rows 1–4 and 7"; "" where nobody told
    row : the row in which all of them stand, or nothing
    """

    key: str
    subject: Subject
    act: str
    first: date
    last: date
    why: str
    shrubs: tuple[str, ...] = ()
    sure: Sure = "likely"
    sure_why: str = ""
    waits: str = ""
    caution: str = ""
    weight: float = 0.0
    rests_on: tuple[tuple[str, str, str], ...] = field(default=())
    place: str = ""
    row: int | None = None
