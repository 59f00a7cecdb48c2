"""A page at the table: its charts, its facts, and how its figures are taken away as files."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Annotated, Any, TypeVar

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, Response

from nuttery.figures.chart import Chart, cell_told, csv_text, places_of
from nuttery.season import NotEnoughKnown, WrongQuestion
from nuttery.season.planting import Planting
from nuttery.season.serving import PATIENCE_S, StillWorking
from nuttery.web.rendering import page, picture
from nuttery.web.site import site_of

Answer = TypeVar("Answer")
PART_PATIENCE_S = 0.4
"""How long a page waits for one of its parts before it stands without it."""
SHOWN_ROWS = 60
"""Rows of a sheet shown on the page; the file has them all."""
SHOWN_COLUMNS = 44
"""Columns of a sheet shown on the page."""


@dataclass(frozen=True)
class Leaf:
    """What a page shows.

    Attributes
    ----------
    charts : in order
    facts : whatever else its template tells
    lacking : questions that could not be answered, and what they lack
    """

    charts: tuple[Chart, ...] = ()
    facts: dict[str, Any] = field(default_factory=dict)
    lacking: tuple[str, ...] = ()

    def chart(self, name: str) -> Chart:
        """Return the chart of that name.

        Raises
        ------
        WrongQuestion
            If there is none.
        """
        for chart in self.charts:
            if chart.name == name:
                return chart
        known = ", ".join(chart.name for chart in self.charts) or "none"
        raise WrongQuestion(f"chart: found {name!r}, expected one of: {known}")


@dataclass(frozen=True)
class Part:
    """A part of a page: there, lacking something, or still being worked out."""

    found: Any = None
    lack: str = ""
    working: str = ""


def asked(
    request: Request,
    question: str,
    compute: Callable[[Planting], Answer],
    on: date | None,
    *,
    patience: float = PATIENCE_S,
    **terms: Any,  # noqa: ANN401 - any term
) -> Answer:
    """Return an answer that everyone shares, worked out in the background if it takes long.

    Raises
    ------
    StillWorking, NotEnoughKnown, WrongQuestion
        As the question does.
    """

    def answer(planting: Planting, tell: Callable[[str], None]) -> Answer:
        tell("at work")
        return compute(planting)

    return site_of(request).served.answer(question, answer, on=on, patience=patience, **terms)


def part(
    request: Request, question: str, compute: Callable[[Planting], Any], on: date | None
) -> Part:
    """Return an answer as a part of a page, which stands without it."""
    try:
        return Part(asked(request, question, compute, on, patience=PART_PATIENCE_S))
    except NotEnoughKnown as lack:
        return Part(lack=str(lack))
    except StillWorking as still:
        return Part(working=str(still))


def gathered(
    makers: Iterable[Callable[[], Answer | None]],
) -> tuple[tuple[Answer, ...], tuple[str, ...]]:
    """Return the parts that could be made, and why the others could not."""
    made: list[Answer] = []
    lacking: list[str] = []
    for make in makers:
        try:
            found = make()
        except NotEnoughKnown as lack:
            lacking.append(str(lack))
        else:
            made += [] if found is None else [found]
    return tuple(made), tuple(dict.fromkeys(lacking))


def leaf_page(request: Request, template: str, leaf: Leaf, **told: Any) -> HTMLResponse:  # noqa: ANN401 - whatever the template tells
    """Return a page at the table."""
    return page(
        request,
        template,
        leaf=leaf,
        picture=picture,
        cell=cell_told,
        places_of=places_of,
        shown_rows=SHOWN_ROWS,
        shown_columns=SHOWN_COLUMNS,
        query=f"?{request.url.query}" if request.url.query else "",
        here=request.url.path.rstrip("/"),
        **(leaf.facts | told),
    )


def add_files(router: APIRouter, path: str, leaf_for: Callable[..., Leaf]) -> None:
    """Let every chart of a page be taken away: its figures as CSV, its picture as SVG.

    Parameters
    ----------
    router : of the page
    path : the page's own
    leaf_for : answers the page's questions; its parameters are those of the request
    """
    found = Annotated[Leaf, Depends(leaf_for)]

    @router.get(f"{path}/{{name}}.csv")
    def figures(name: str, leaf: found) -> Response:
        text = csv_text(leaf.chart(name).sheet)
        # The mark at the front tells spreadsheets that the text is UTF-8.
        return _file(f"\ufeff{text}", "text/csv; charset=utf-8", f"{name}.csv")

    @router.get(f"{path}/{{name}}.svg")
    def drawn(name: str, leaf: found) -> Response:
        chart = leaf.chart(name)
        if not chart.picture:
            raise WrongQuestion(f"chart: {name} has figures and no picture")
        return _file(chart.picture, "image/svg+xml", f"{name}.svg")


def _file(text: str, kind: str, name: str) -> Response:
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(text, media_type=kind, headers=headers)
