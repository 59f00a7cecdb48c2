"""One module a page: `router` answers it, `LINK` names it in the navigation if it is to be there.

To add a page, write `pages/<name>.py` and `templates/<name>.html`, and name it in `PAGES`.
"""

from functools import cache
from importlib import import_module
from types import ModuleType

from nuttery.web.rendering import Link

PAGES = (
    "season", "row", "map", "shrubs", "shrub", "tags", "bloom", "pollen", "canes", "picking",
    "siblings", "notes", "weather", "values", "devices", "pair", "trust", "api_page",
)  # fmt: skip


@cache
def modules() -> tuple[ModuleType, ...]:
    """Modules of all pages."""
    return tuple(import_module(f"nuttery.web.pages.{name}") for name in PAGES)


@cache
def links() -> tuple[Link, ...]:
    """Pages of the navigation, in order."""
    found = [module.LINK for module in modules() if hasattr(module, "LINK")]
    return tuple(sorted(found, key=lambda link: link.place))
