"""Answers kept with the register, so that a question asked twice is computed once.

An answer is written as JSON with its arrays as plain NumPy bytes. Nothing in it can run code: only
frozen result types of this package are built again, by their own constructors.
"""

import base64
import hashlib
import importlib
import io
import json
import zlib
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

import nuttery


@cache
def program_mark() -> str:
    """Mark of the program as it is installed: another program's answers are never shown."""
    here = Path(nuttery.__file__).parent
    rooms = ("reference", "records", "science", "season", "store")
    files = sorted(
        f for room in rooms for f in (here / room).rglob("*") if f.suffix in {".py", ".toml"}
    )
    told = [(str(f.relative_to(here)), f.stat().st_size, f.stat().st_mtime_ns) for f in files]
    return hashlib.sha256(repr((nuttery.__version__, told)).encode()).hexdigest()


def memo_key(question: str, version: int, **parts: object) -> str:
    """Name under which an answer is kept: question, program, state of the register, and terms."""
    told = json.dumps([question, program_mark(), version, parts], sort_keys=True, default=str)
    return f"{question}:{hashlib.sha256(told.encode()).hexdigest()}"


def packed(answer: object) -> bytes:
    """Return an answer as compressed bytes.

    Raises
    ------
    TypeError
        If a part of it is neither plain, an array, nor a dataclass of this package.
    """
    return zlib.compress(json.dumps(_plain(answer), separators=(",", ":")).encode(), level=1)


def unpacked(data: bytes) -> Any:  # noqa: ANN401 - whatever was packed
    """Return the answer that `packed` wrote."""
    return _built(json.loads(zlib.decompress(data)))


def _plain(thing: Any) -> Any:  # noqa: ANN401, PLR0911 - one branch a type
    if thing is None or isinstance(thing, bool | int | float | str):
        return thing.item() if isinstance(thing, np.generic) else thing
    if isinstance(thing, np.generic):
        return _plain(np.asarray(thing))
    if isinstance(thing, np.ndarray):
        buffer = io.BytesIO()
        np.save(buffer, thing, allow_pickle=False)
        return {"!array": base64.b64encode(buffer.getvalue()).decode()}
    if isinstance(thing, datetime):
        return {"!datetime": thing.isoformat()}
    if isinstance(thing, date):
        return {"!date": thing.isoformat()}
    if isinstance(thing, tuple | list):
        return {"!tuple": [_plain(part) for part in thing]}
    if isinstance(thing, dict):
        return {"!dict": [[_plain(key), _plain(value)] for key, value in thing.items()]}
    if is_dataclass(thing) and type(thing).__module__.startswith("nuttery."):
        told = {f.name: _plain(getattr(thing, f.name)) for f in fields(thing) if f.init}
        return {"!type": f"{type(thing).__module__}:{type(thing).__qualname__}", "of": told}
    raise TypeError(f"an answer holds a {type(thing).__name__}, which cannot be kept")


def _built(thing: Any) -> Any:  # noqa: ANN401, PLR0911 - one branch a type
    if not isinstance(thing, dict):
        return thing
    if "!array" in thing:
        return np.load(io.BytesIO(base64.b64decode(thing["!array"])), allow_pickle=False)
    if "!datetime" in thing:
        return datetime.fromisoformat(thing["!datetime"])
    if "!date" in thing:
        return date.fromisoformat(thing["!date"])
    if "!tuple" in thing:
        return tuple(_built(part) for part in thing["!tuple"])
    if "!dict" in thing:
        return {_built(key): _built(value) for key, value in thing["!dict"]}
    return _result_type(thing["!type"])(**{k: _built(v) for k, v in thing["of"].items()})


def _result_type(name: str) -> type:
    module, _, kind = name.partition(":")
    if not module.startswith("nuttery."):
        raise ValueError(f"found the type {name!r}, expected a result type of this package")
    found = getattr(importlib.import_module(module), kind)
    if not (isinstance(found, type) and is_dataclass(found)):
        raise ValueError(f"found {name!r}, expected a result type of this package")
    return found
