"""Results as JSON: dates as ISO text, numbers rounded to what they mean, missing values as null."""

import math
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

import numpy as np


def as_json(result: Any) -> Any:  # noqa: ANN401, PLR0911 - one branch a type
    """Return a result as values that the standard JSON writer takes.

    Examples
    --------
    >>> as_json({"day": date(2027, 4, 12), "share": np.float64(0.25), "gap": float("nan")})
    {'day': '2027-04-12', 'share': 0.25, 'gap': None}
    """
    if is_dataclass(result) and not isinstance(result, type):
        return {f.name: as_json(getattr(result, f.name)) for f in fields(result)}
    if isinstance(result, dict):
        return {str(key): as_json(value) for key, value in result.items()}
    if isinstance(result, tuple | list | set | frozenset):
        return [as_json(part) for part in result]
    if isinstance(result, np.ndarray):
        if result.dtype.kind == "M":
            return [None if np.isnat(day) else str(day) for day in result]
        return as_json(result.tolist())
    if isinstance(result, np.generic):
        return as_json(result.item())
    if isinstance(result, float):
        return None if math.isnan(result) or math.isinf(result) else float(f"{result:.6g}")
    if isinstance(result, date | datetime):
        return result.isoformat()
    if isinstance(result, UUID):
        return str(result)
    return result
