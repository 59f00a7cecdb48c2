"""The season plan: what to do now and in the coming weeks, where, why, and how sure."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from nuttery.season.errors import NotEnoughKnown
from nuttery.season.line import SUBJECTS, Line, Subject
from nuttery.season.planting import Planting, walking_order
from nuttery.season.words import place_told

Section = Callable[[Planting, date], Iterable[Line]]

NO_SHRUBS = (
    'everything: no shrub is written down yet; one: nuttery note "shrub planted" shrub=A1, '
    "many: nuttery import --template shrubs.xlsx, fill it in, then nuttery import shrubs.xlsx"
)


@dataclass(frozen=True)
class SeasonPlan:
    """Answer to "what do I do now, and why?".

    Attributes
    ----------
    planting : its name
    invented : whether the planting is an invented one
    on, until : first and last day that the plan looks at
    standing : shrubs that stand
    lines : what to do, the most pressing first, then in walking order
    left_out : questions that could not be answered, and what they lack
    """

    planting: str
    invented: bool
    on: date
    until: date
    standing: int
    lines: tuple[Line, ...]
    left_out: tuple[str, ...]

    def of(self, subject: Subject) -> tuple[Line, ...]:
        """Lines about one subject."""
        return tuple(line for line in self.lines if line.subject == subject)


def sections() -> dict[Subject, Section]:
    """Sections of the plan by subject; each yields the lines that fall into the days asked for."""
    from nuttery.season.bloom import lines as bloom
    from nuttery.season.canes import lines as canes
    from nuttery.season.counting import lines as counting
    from nuttery.season.drying import lines as drying
    from nuttery.season.frost import lines as frost
    from nuttery.season.harvest import lines as picking
    from nuttery.season.missing import lines as notes
    from nuttery.season.pollen import lines as pollen
    from nuttery.season.weather import lines as weather

    return {
        "frost": frost,
        "picking": picking,
        "drying": drying,
        "bloom": bloom,
        "pollen": pollen,
        "canes": canes,
        "counting": counting,
        "weather": weather,
        "notes": notes,
    }


def season_plan(
    planting: Planting,
    *,
    ahead: int = 28,
    shrub: str | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> SeasonPlan:
    """Return the plan for the coming days.

    Parameters
    ----------
    planting : the planting as of a day
    ahead : days to look ahead
    shrub : only lines about this shrub
    progress : told the name of each section as it starts

    Raises
    ------
    WrongQuestion
        If no such shrub stands.
    """
    if shrub is not None:
        planting.shrub(shrub)
    until = planting.on + timedelta(days=ahead)
    lines, left_out = _answered(planting, until, progress)
    if shrub is not None:
        lines = tuple(line for line in lines if shrub in line.shrubs)
    about = planting.about
    standing = len(planting.shrubs)
    return SeasonPlan(about.name, about.invented, planting.on, until, standing, lines, left_out)


def _answered(
    planting: Planting, until: date, progress: Callable[[str], None]
) -> tuple[tuple[Line, ...], tuple[str, ...]]:
    def compute() -> tuple[tuple[Line, ...], tuple[str, ...]]:
        if not planting.shrubs:
            return (), (NO_SHRUBS,)
        lines: list[Line] = []
        lacking: dict[str, list[str]] = {}
        for subject, section in sections().items():
            progress(subject)
            try:
                lines += section(planting, until)
            except NotEnoughKnown as lack:
                lacking.setdefault(str(lack), []).append(subject)
        left_out = tuple(f"{', '.join(about)}: {lack}" for lack, about in lacking.items())
        return _ordered(planting, lines), left_out

    return planting.remembered("season plan", compute, until=until)


def _ordered(planting: Planting, lines: list[Line]) -> tuple[Line, ...]:
    """Subjects in the order in which they press; of each, what spans rows, then row by row.

    What spans rows stands by day, and of a row what concerns several shrubs comes first.
    """
    walk = {s.tag: walking_order(s) for s in planting.shrubs}

    def key(line: Line) -> tuple[int, int, tuple[float, float], date, float, str]:
        alone = len(line.shrubs) == 1
        where = walk.get(line.shrubs[0], (0.0, 0.0)) if alone else (-np.inf, -np.inf)
        row = -1 if line.row is None else line.row
        return (SUBJECTS.index(line.subject), row, where, line.first, -line.weight, line.key)

    return tuple(sorted((_placed(planting, line) for line in lines), key=key))


def _placed(planting: Planting, line: Line) -> Line:
    rows = {planting.by_tag[tag].row for tag in line.shrubs}
    row = next(iter(rows)) if len(rows) == 1 else None
    return replace(line, place=place_told(planting, line.shrubs), row=row)
