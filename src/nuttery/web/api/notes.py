"""Notes on their way in: many at once, each with its own id, each answered by itself."""

from typing import Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse
from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from nuttery.season import as_json
from nuttery.season.notes_in import Outcome, keep_each
from nuttery.web.site import site_of, who_asks

router = APIRouter(prefix="/api", tags=["notes"])
MOST = 200
"""Notes taken at once; a phone with more sends them in several goes."""


def _has_id(note: dict[str, Any]) -> dict[str, Any]:
    try:
        UUID(str(note["id"]))
    except (KeyError, ValueError):
        raise ValueError("every note has an id of its own, a UUID") from None
    return note


class Batch(BaseModel):
    """Notes as a phone sends them."""

    model_config = ConfigDict(extra="forbid")

    notes: Annotated[
        list[Annotated[dict[str, Any], AfterValidator(_has_id)]], Field(max_length=MOST)
    ]


class Sent(BaseModel):
    """What became of each note, in the order sent."""

    outcomes: list[Outcome]
    version: int
    now: str


@router.post("/notes", responses={200: {"model": Sent}})
def keep(request: Request, batch: Batch) -> JSONResponse:
    """Keep notes: each once, whatever the number of times it is sent.

    The writer and the device are those that this request comes from.
    """
    site, who = site_of(request), who_asks(request)
    now = site.clock()
    with site.writing:
        found = keep_each(
            site.served.planting(), batch.notes, by=who.person, device=who.device, now=now
        )
    told = {"outcomes": found, "version": site.served.version, "now": now}
    return JSONResponse(as_json(told))
