"""Photos: checked by content, turned upright, made anew without place and camera, kept by id."""

import io
import os
import warnings
from pathlib import Path
from uuid import UUID

from PIL import Image, ImageOps

LONGEST_PX = 1600
MOST_PIXELS = 60_000_000
FORMATS = ("JPEG", "PNG", "WEBP")


class NoPhoto(ValueError):  # noqa: N818 - it says what is the matter
    """What was sent is not a picture that is taken here."""


def photo_file(folder: Path, photo: UUID) -> Path:
    """Where a photo stands; the id alone names it, so no path can be asked for."""
    return folder / "photos" / f"{photo}.jpg"


def keep_photo(folder: Path, photo: UUID, image: bytes, *, keep_place: bool = False) -> str:
    """Keep a photo; return its file name. A photo that is there already stays as it is.

    Parameters
    ----------
    folder : the server's own folder
    photo : the photo's id
    image : JPEG, PNG or WebP
    keep_place : keep what the camera wrote into it: place, time, device

    Raises
    ------
    NoPhoto
        If it is no such picture, or too large.
    """
    file = photo_file(folder, photo)
    if file.exists():
        return file.name
    clean = made_anew(image, keep_place=keep_place)
    file.parent.mkdir(parents=True, exist_ok=True)
    part = file.with_suffix(f".{os.getpid()}-{id(clean)}.part")
    part.write_bytes(clean)
    part.replace(file)
    return file.name


def made_anew(image: bytes, *, keep_place: bool = False) -> bytes:
    """Return a picture as a fresh JPEG: upright, at most 1600 px, without what a camera adds.

    Raises
    ------
    NoPhoto
        If it is no JPEG, PNG or WebP, or too large.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        try:
            with Image.open(io.BytesIO(image), formats=FORMATS) as found:
                if found.width * found.height > MOST_PIXELS:
                    raise NoPhoto(f"photo: found {found.width} x {found.height} px, expected less")
                turned = ImageOps.exif_transpose(found)
                exif = turned.getexif().tobytes() if keep_place else b""
                upright = turned.convert("RGB")
        except (OSError, SyntaxError, ValueError, Warning, Image.DecompressionBombError) as problem:
            if isinstance(problem, NoPhoto):
                raise
            raise NoPhoto("photo: found no picture, expected a JPEG, PNG or WebP") from problem
    upright.thumbnail((LONGEST_PX, LONGEST_PX))
    written = io.BytesIO()
    upright.save(written, "JPEG", quality=82, exif=exif)
    return written.getvalue()
