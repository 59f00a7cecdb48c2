"""Errors of the season room.

ValueError
├── NotEnoughKnown    the question cannot be answered from what is on record; says what is missing
└── WrongQuestion     the question itself is off: an unknown shrub, a day outside the record
"""


class NotEnoughKnown(ValueError):  # noqa: N818 - it says what is the matter
    """The record does not hold what an answer needs; the message says what is missing."""


class WrongQuestion(ValueError):  # noqa: N818 - it says what is the matter
    """The question names something that is not there; the message says what was expected."""
