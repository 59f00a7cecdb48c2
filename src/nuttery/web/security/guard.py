"""Every request passes here first: who sends it, may they, how much, and what the answer carries.

The order: name of the host, size, pace, key, role, and that one of our own pages sent it.
"""

import hashlib
import hmac
import time
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.requests import Request
from starlette.types import ASGIApp, Receive, Scope, Send

from nuttery.web.security.limits import Pace, most_bytes
from nuttery.web.security.refused import Refused, TooLarge, refusal
from nuttery.web.security.rules import needed
from nuttery.web.security.who import Who
from nuttery.web.site import Site

Message = MutableMapping[str, Any]
COOKIE = "nuttery-key"
TOKEN_HEADER = "x-nuttery-token"  # noqa: S105 - the name of a header
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
    "frame-ancestors 'none'; base-uri 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), geolocation=(self), microphone=()",
}


class Guard:
    """Middleware that lets a request through, or says why not."""

    def __init__(
        self, app: ASGIApp, *, site: Site, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._app = app
        self._site = site
        self._pace = Pace(per_second=50, burst=400, clock=clock)
        self._pairing = Pace(per_second=0.2, burst=10, clock=clock)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # there are no other ways in
        request = Request(scope)
        marked = _marked(send)
        try:
            request.state.who = await run_in_threadpool(self._admitted, request)
            await self._app(scope, _limited(receive, most_bytes(request.url.path)), marked)
        except Refused as no:
            await refusal(request, no)(scope, receive, marked)

    def _admitted(self, request: Request) -> Who:
        """Return who asks, if they may; the rule is looked up before anything is read."""
        self._check_host(request)
        _check_size(request)
        who = self._who(request)
        self._check_pace(request, who)
        role = needed(request.method, request.url.path)
        if role is not None and who is None:
            raise Refused(401, "This device is not let in here, or its key was taken away.")
        if role is not None and who is not None and not who.may(role):
            raise Refused(403, f"{who.device} may not do this: it needs the role {role}.")
        if request.method not in {"GET", "HEAD", "OPTIONS"}:
            self._check_sender(request, who)
        return who or Who("nobody", "unknown device", "visitor", -1)

    def _check_host(self, request: Request) -> None:
        """Another name in the address would let a strange page pass itself off as ours."""
        host = request.headers.get("host", "").rsplit(":", 1)[0].strip("[]").lower()
        if host not in self._site.hosts:
            raise Refused(421, f"This server does not answer under the name {host[:80]!r}.")

    def _who(self, request: Request) -> Who | None:
        site = self._site
        if site.devices is None:
            return Who(site.owner, "this computer", "owner")
        key = request.cookies.get(COOKIE, "")
        found = site.devices.of_key(key, site.clock()) if key else None
        return None if found is None else Who(found.person, found.name, found.role, found.id)

    def _check_pace(self, request: Request, who: Who | None) -> None:
        address = request.client.host if request.client else "unknown"
        asker = f"key {who.key_id}" if who else f"address {address}"
        wait = self._pace.wait(asker)
        if request.url.path.startswith("/pair"):
            wait = max(wait, self._pairing.wait(asker))
        if wait:
            raise Refused(429, "Too many requests; wait a little.", wait=wait)

    def _check_sender(self, request: Request, who: Who | None) -> None:
        """What changes something comes from one of our own pages, not from a strange one."""
        site = request.headers.get("sec-fetch-site", "same-origin")
        origin = request.headers.get("origin")
        host = request.headers.get("host", "")
        if site not in {"same-origin", "none"} or (
            origin is not None and origin.split("://")[-1] != host
        ):
            raise Refused(403, "This was sent by a page of another site.")
        given = request.headers.get(TOKEN_HEADER) or request.query_params.get("token", "")
        wanted = page_token(self._site, who)
        if not hmac.compare_digest(given.encode(), wanted.encode()):
            raise Refused(403, "This page is too old to send anything; open it again.", stale=True)


def page_token(site: Site, who: Who | None) -> str:
    """Mark that our own pages send along, so that a strange page cannot send in their stead."""
    name = str(who.key_id if who else -1)
    return hmac.new(site.secret, name.encode(), hashlib.sha256).hexdigest()


def _check_size(request: Request) -> None:
    told = request.headers.get("content-length", "0")
    if not told.isdigit() or int(told) > most_bytes(request.url.path):
        raise TooLarge(most_bytes(request.url.path))


def _limited(receive: Receive, most: int) -> Receive:
    """Receive no more than so many bytes, whatever was told of them."""
    taken = 0

    async def limited() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > most:
            raise TooLarge(most)
        return message

    return limited


def _marked(send: Send) -> Callable[[Message], Awaitable[None]]:
    """Send every answer with the headers that keep a browser strict."""

    async def marked(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers[name] = value
            headers.setdefault("cache-control", "no-cache, private")
        await send(message)

    return marked
