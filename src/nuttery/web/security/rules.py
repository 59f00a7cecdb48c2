"""What a request needs: the role, by its method and path. What is not named needs the owner."""

from nuttery.web.security.who import Role

OPEN = ("/static/", "/pair", "/trust", "/service-worker.js")
"""Starts of paths that need no key: the program's own files, and the way in."""
OWNERS = ("/devices", "/sharing")
"""Starts of paths that only the owner may read."""
HELPERS = ("/api/notes", "/api/photos/")
"""Starts of paths to which a helper may write."""


def needed(method: str, path: str) -> Role | None:
    """Role that a request needs; None if anyone may make it.

    Examples
    --------
    >>> needed("GET", "/shrubs"), needed("POST", "/api/notes"), needed("POST", "/values")
    ('visitor', 'helper', 'owner')
    >>> needed("GET", "/pair/abc") is None, needed("GET", "/pairs")
    (True, 'visitor')
    """
    if any(_below(path, start) for start in OPEN):
        return None
    if any(_below(path, start) for start in OWNERS):
        return "owner"
    if method in {"GET", "HEAD", "OPTIONS"}:
        return "visitor"
    return "helper" if any(_below(path, start) for start in HELPERS) else "owner"


def _below(path: str, start: str) -> bool:
    return path == start or path.startswith(start.rstrip("/") + "/")
