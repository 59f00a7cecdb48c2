"""The questions: they take what is on record, run the science, and return plain results.

Faces import questions from the modules of this room: `plan.season_plan`, `bloom.bloom`,
`pollen.pollen`, `canes.canes`, `harvest.harvest`, and so on, each asked of a `Planting`.
"""

from nuttery.season.as_json import as_json
from nuttery.season.errors import NotEnoughKnown, WrongQuestion
from nuttery.season.estimate import Estimate, Window, day_told, span_told
from nuttery.season.line import SUBJECTS, Line, Subject

__all__ = [
    "SUBJECTS",
    "Estimate",
    "Line",
    "NotEnoughKnown",
    "Subject",
    "Window",
    "WrongQuestion",
    "as_json",
    "day_told",
    "span_told",
]
