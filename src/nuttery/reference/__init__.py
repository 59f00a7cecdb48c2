"""Published and assumed values, each with unit, source and certainty, read by name.

Values stand in the TOML files beside this module, one file a topic, as tables named by the value:

    ["chilling.hours.upper"]
    value = 7.2
    unit = "°C"
    certainty = "secondary source"
    source = "Weinberger 1950, as restated in later reviews"

Lists of like things (alleles, cultivars, size classes) stand in files with `[[rows]]`.
"""

import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any, Literal, get_args

Certainty = Literal[
    "published", "secondary source", "common practice", "from memory", "assumed", "inferred",
    "grower's own",
]  # fmt: skip


@dataclass(frozen=True)
class Value:
    """A number that could be measured again, and how sure we are of it."""

    name: str
    value: float
    unit: str
    source: str
    certainty: Certainty
    low: float | None = None
    high: float | None = None
    note: str = ""


def _read(file: str) -> dict[str, Any]:
    return tomllib.loads((resources.files(__name__) / file).read_text(encoding="utf-8"))


def _value(name: str, row: dict[str, Any]) -> Value:
    if row.get("certainty") not in get_args(Certainty):
        known = ", ".join(get_args(Certainty))
        raise ValueError(f"{name}: certainty {row.get('certainty')!r}, expected one of {known}")
    return Value(name=name, **row)


@cache
def values() -> dict[str, Value]:
    """Return every named value of the reference room.

    Raises
    ------
    ValueError
        If a row has no certainty or an unknown one, or a name stands twice.
    """
    known: dict[str, Value] = {}
    for file in sorted(f.name for f in resources.files(__name__).iterdir()):
        if not file.endswith(".toml"):
            continue
        for name, row in _read(file).items():
            if name == "rows":
                continue
            if name in known:
                raise ValueError(f"{file}: {name} stands twice in the reference room")
            known[name] = _value(name, row)
    return known


_own: ContextVar[Mapping[str, Value]] = ContextVar("own", default=MappingProxyType({}))


@contextmanager
def in_force(own: Mapping[str, Value]) -> Iterator[None]:
    """Let values of a planting stand in for the shipped ones while a question is answered.

    Parameters
    ----------
    own : name → value that stands in for the shipped one
    """
    before = _own.set(own)
    try:
        yield
    finally:
        _own.reset(before)


def shipped(name: str) -> Value:
    """Return the value of that name as it comes with the program.

    Raises
    ------
    KeyError
        If there is none of that name.
    """
    if name not in values():
        raise KeyError(f"{name}: no such value in nuttery.reference")
    return values()[name]


def value(name: str) -> Value:
    """Return the value of that name: the planting's own where one is in force, else the shipped.

    Raises
    ------
    KeyError
        If there is none of that name.
    """
    return _own.get().get(name) or shipped(name)


@cache
def table(name: str) -> tuple[dict[str, Any], ...]:
    """Return the rows of a list of like things, as written in `name.toml`.

    Raises
    ------
    KeyError
        If there is no such list.
    """
    file = f"{name}.toml"
    if not (resources.files(__name__) / file).is_file():
        raise KeyError(f"{name}: no such table in nuttery.reference")
    return tuple(_read(file)["rows"])
