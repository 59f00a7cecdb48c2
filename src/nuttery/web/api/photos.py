"""Photos on their way in and out: looked at by content, made anew, known only by an id."""

from datetime import timedelta
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Body, Query, Request
from fastapi.responses import FileResponse, JSONResponse

from nuttery.web.photos import NoPhoto, keep_photo, photo_file
from nuttery.web.security.refused import Refused
from nuttery.web.site import site_of

router = APIRouter(prefix="/api/photos", tags=["photos"])
MONTH_S = int(timedelta(days=30).total_seconds())


@router.put("/{photo}")
def keep(
    request: Request,
    photo: UUID,
    image: Annotated[bytes, Body(media_type="image/jpeg")],
    keep_place: Annotated[bool, Query(description="Keep place and camera in the file.")] = False,
) -> JSONResponse:
    """Keep a photo under an id; the same id again changes nothing."""
    try:
        name = keep_photo(site_of(request).folder, photo, image, keep_place=keep_place)
    except NoPhoto as problem:
        raise Refused(415, str(problem)) from None
    return JSONResponse({"photo": name})


@router.get("/{photo}", response_class=FileResponse)
def show(request: Request, photo: UUID) -> FileResponse:
    """Return a photo by its id."""
    file = photo_file(site_of(request).folder, photo)
    if not file.exists():
        raise Refused(404, "There is no such photo.")
    headers = {"cache-control": f"private, max-age={MONTH_S}, immutable"}
    return FileResponse(file, media_type="image/jpeg", headers=headers)
