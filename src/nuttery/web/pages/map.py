"""The plan of the planting, every shrub marked by what is asked."""

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse
from markupsafe import Markup, escape

from nuttery.figures.look_chart import class_marks, look_chart
from nuttery.figures.marks import mark
from nuttery.season.at_a_look import ASKED, Look, look
from nuttery.web.api.answers import OnDay
from nuttery.web.leaf import Leaf, add_files, asked, leaf_page
from nuttery.web.rendering import Link, picture
from nuttery.web.site import site_of

LINK = Link("/map", "Map", 25)
router = APIRouter(include_in_schema=False)
Show = Annotated[str, Query(max_length=20)]
Find = Annotated[str, Query(max_length=40)]


def leaf(request: Request, on: OnDay = None, show: Show = "pollen") -> Leaf:
    """Return the plan coloured by what is asked."""

    def drawn(planting):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
        found = look(planting, show)
        suffix = f"?on={on}" if on else ""
        return found, look_chart(found, linked="/shrubs/{}" + suffix)

    found, chart = asked(request, f"the map ({show})", drawn, on, show=show)
    return Leaf((chart,), {"look": found, "choices": _choices()})


def _choices() -> list[tuple[str, str]]:
    return [(name, title) for name, (title, _) in ASKED.items()]


@router.get("/map")
def map_(
    request: Request, leaf: Annotated[Leaf, Depends(leaf)], on: OnDay = None, find: Find = ""
) -> HTMLResponse:
    """Return the page of the plan; with `find`, what it tells of one shrub."""
    found = leaf.facts["look"]
    day = site_of(request).served.planting(on).on
    hit = _hit(found, find)
    return leaf_page(request, "map.html", leaf, find=find, hit=hit, day=day, key=_key(found))


def _key(found: Look) -> list[tuple[Markup, str, int]]:
    """The mark of each class, its words, and how many there are: for narrow screens."""
    marks = class_marks(found)
    return [
        (_one_mark(mark(marks[c], 10, 10, 8, found.shade[c]), words), words, count)
        for c, (words, count) in enumerate(zip(found.classes, found.counts, strict=True))
    ]


def _one_mark(drawn: str, words: str) -> Markup:
    title = f"<title>{escape(words)}</title>"
    return picture(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 20" aria-hidden="true">'
        f"{title}{drawn}</svg>"
    )


def _hit(found: Look, tag: str) -> tuple[str, str] | None:
    """Tag and words of the shrub looked for, whatever the letters' case."""
    wanted = tag.strip().lower()
    for name, words in zip(found.tags, found.words, strict=True):
        if name.lower() == wanted:
            return name, words
    return None


add_files(router, "/map", leaf)
