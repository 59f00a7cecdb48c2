"""Checks of arguments that all engines share: the argument, the index and the value are named."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nuttery.science.errors import BadArgumentError

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Days = NDArray[np.datetime64]


def place_of(index: tuple[int, ...]) -> str:
    """Index of an element as it is written in a message.

    Examples
    --------
    >>> place_of((3,)), place_of((1, 2)), place_of(())
    ('[3]', '[1, 2]', '')
    """
    return f"[{', '.join(str(i) for i in index)}]" if index else ""


def refuse_where(name: str, values: NDArray[Any], wrong: Bools, expected: str) -> None:
    """Raise for the first element that is wrong, naming argument, index, value and expectation.

    Raises
    ------
    BadArgumentError
        If any element of `wrong` is true.
    """
    if not wrong.any():
        return
    where = np.unravel_index(int(np.argmax(wrong)), wrong.shape) if wrong.ndim else ()
    index = tuple(int(i) for i in where)
    raise BadArgumentError(f"{name}{place_of(index)}: found {values[index]}, expected {expected}")


def float_array(
    name: str,
    values: ArrayLike,
    *,
    ndim: int | None = None,
    low: float = -np.inf,
    high: float = np.inf,
    nan: bool = False,
) -> Floats:
    """`values` as float64, checked for shape, range and missing values.

    Parameters
    ----------
    name : the argument's name, for messages
    values : array of numbers
    ndim : number of axes wanted, or None for any
    low, high : closed range of allowed values
    nan : whether missing values (NaN) are allowed; infinities never are

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.
    """
    try:
        array = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError) as problem:
        raise BadArgumentError(f"{name}: found {values!r}, expected numbers") from problem
    if ndim is not None and array.ndim != ndim:
        raise BadArgumentError(f"{name}: found shape {array.shape}, expected {ndim} axes")
    missing = np.isnan(array)
    if not nan:
        refuse_where(name, array, missing, "a number (there is a gap)")
    refuse_where(name, array, np.isinf(array), "a finite number")
    outside = ~missing & ((array < low) | (array > high))
    refuse_where(name, array, outside, f"{low:g} to {high:g}")
    return array


def int_array(
    name: str,
    values: ArrayLike,
    *,
    ndim: int | None = None,
    low: float = -np.inf,
    high: float = np.inf,
) -> Ints:
    """`values` as int64; whole numbers written as floats are accepted, others refused.

    Raises
    ------
    BadArgumentError
        With the argument, the index, the value found and what was expected.
    """
    array = float_array(name, values, ndim=ndim, low=low, high=high)
    refuse_where(name, array, array != np.floor(array), "a whole number")
    return array.astype(np.int64)


def same_length(**arrays: NDArray[Any]) -> int:
    """Common length of the first axes.

    Raises
    ------
    BadArgumentError
        If the lengths differ; all of them are named.
    """
    lengths = {name: len(array) for name, array in arrays.items()}
    if len(set(lengths.values())) > 1:
        told = ", ".join(f"{name} {length}" for name, length in lengths.items())
        raise BadArgumentError(f"lengths differ: found {told}; expected one length")
    return next(iter(lengths.values()))


def one_of(name: str, value: str, known: tuple[str, ...]) -> str:
    """`value` if it is a known word.

    Raises
    ------
    BadArgumentError
        If it is not; the known words are listed.
    """
    if value not in known:
        raise BadArgumentError(f"{name}: found {value!r}, expected one of {', '.join(known)}")
    return value
