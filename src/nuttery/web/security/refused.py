"""What is not done, and how it is told: a page to a person, JSON to a program."""

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response


class Refused(HTTPException):
    """A request that is not carried out.

    Parameters
    ----------
    status : HTTP status
    words : why, to a person
    wait : seconds after which to ask again
    stale : whether the same, sent from a fresh page, would be taken
    """

    def __init__(self, status: int, words: str, *, wait: float = 0.0, stale: bool = False) -> None:
        super().__init__(status, words)
        self.words = words
        self.wait = wait
        self.stale = stale


class TooLarge(Refused):
    """A request with more bytes than its path takes."""

    def __init__(self, most: int) -> None:
        super().__init__(413, f"This is too large: at most {most // 1024} kB are taken here.")


def refusal(request: Request, no: Refused) -> Response:
    """Answer to a request that is not carried out."""
    headers = {"retry-after": str(int(no.wait) + 1)} if no.wait else {}
    if request.url.path.startswith("/api/"):
        told = {"wrong": no.words, "stale": no.stale}
        return JSONResponse(told, no.status_code, headers)
    from nuttery.web.rendering import error_page

    answer = error_page(request, no.status_code, no.words)
    answer.headers.update(headers)
    return answer
