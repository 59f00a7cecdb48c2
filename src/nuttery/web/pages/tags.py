"""A sheet of tags to print: each with its shrub's tag in large type and a code that opens it."""

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Literal
from urllib.parse import urlsplit

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from nuttery.season import WrongQuestion
from nuttery.season.planting import Planting
from nuttery.web.api.answers import OnDay
from nuttery.web.rendering import page, picture
from nuttery.web.sharing import qr
from nuttery.web.site import site_of

AT_ONCE = 120
"""Tags on one page of the screen; more follow part by part."""
router = APIRouter(include_in_schema=False)
Only = Annotated[str, Query(max_length=2000)]
Address = Annotated[str | None, Query(max_length=200)]
Size = Literal["small", "large"]


@dataclass(frozen=True)
class _Tag:
    """One tag: what is printed in large type, where the shrub stands, and its code."""

    tag: str
    place: str
    code: Markup


@router.get("/tags")
def tags(
    request: Request,
    *,
    on: OnDay = None,
    only: Only = "",
    address: Address = None,
    size: Size = "small",
    part: Annotated[int, Query(ge=1, le=9999)] = 1,
) -> HTMLResponse:
    """Return the sheet; without an address, a code holds the shrub's tag alone."""
    site = site_of(request)
    planting = site.served.planting(on)
    chosen = _chosen(planting, only)
    shared = site.shared.address if site.shared else ""
    start = _start(shared if address is None else address)
    shown = chosen[(part - 1) * AT_ONCE : part * AT_ONCE]
    count = math.ceil(len(chosen) / AT_ONCE)
    return page(
        request,
        "tags.html",
        tags=[_tag(planting, tag, start) for tag in shown],
        n=len(chosen),
        parts=[
            (k + 1, chosen[k * AT_ONCE], chosen[min((k + 1) * AT_ONCE, len(chosen)) - 1])
            for k in range(count)
        ],
        part=part,
        only=only,
        address=start,
        size=size,
    )


def _chosen(planting: Planting, only: str) -> list[str]:
    """Tags of the shrubs that are asked for, in walking order; all without being asked."""
    wanted = {planting.shrub(tag).tag for tag in re.split(r"[\s,;]+", only) if tag}
    return [s.tag for s in planting.shrubs if not wanted or s.tag in wanted]


def _start(address: str) -> str:
    """The address of a server, without the slash at its end; empty for none."""
    told = address.strip().rstrip("/")
    if told and (urlsplit(told).scheme not in {"http", "https"} or not urlsplit(told).netloc):
        raise WrongQuestion(
            f"address: found {address!r}, expected one such as https://barn.local:8790, or nothing"
        )
    return told


def _tag(planting: Planting, tag: str, start: str) -> _Tag:
    shrub = planting.by_tag[tag]
    place = "" if shrub.row is None else f"Row {shrub.row}, number {shrub.number}"
    return _Tag(tag, place, picture(_code(f"{start}/tag/{tag}" if start else tag)))


@lru_cache(maxsize=8192)
def _code(held: str) -> str:
    return qr(held, title=held)
