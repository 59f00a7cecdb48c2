"""The key that a device holds, in a cookie that no script can read."""

from datetime import timedelta

from starlette.responses import Response

from nuttery.web.security.guard import COOKIE
from nuttery.web.site import Site

KEY_LASTS = timedelta(days=400)
"""The longest that browsers keep a cookie; the page in the row renews it whenever it is opened."""


def give_key(answer: Response, key: str, site: Site) -> None:
    """Hand a key to a device, or renew it."""
    answer.set_cookie(
        COOKIE,
        key,
        max_age=int(KEY_LASTS.total_seconds()),
        secure=site.shared is not None and site.shared.secure,
        httponly=True,
        samesite="strict",
    )
