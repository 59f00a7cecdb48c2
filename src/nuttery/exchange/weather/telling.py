"""What was read, in plain sentences."""

import numpy as np

from nuttery.exchange.weather.record import Bools, Floats, Resolution, Times

SHOWN = 5
NAMES = {
    "tmax": "daily maximum",
    "tmin": "daily minimum",
    "temp": "temperature",
    "rh": "relative humidity",
    "wind_speed": "wind speed",
    "wind_from": "wind direction",
    "rain": "rain",
}


def number(count: int, one: str, many: str | None = None) -> str:
    """A count with its noun.

    Examples
    --------
    >>> number(1, "day"), number(12345, "day")
    ('1 day', '12,345 days')
    """
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def day_or_hour(stamp: np.datetime64) -> str:
    """A stamp as it is spoken: date, or date and hour.

    Examples
    --------
    >>> day_or_hour(np.datetime64("2020-05-02T06:00"))
    '2020-05-02 06:00'
    """
    return str(stamp).replace("T", " ")


def runs(mask: Bools) -> list[tuple[int, int]]:
    """First and last index of every stretch in which the mask is true.

    Examples
    --------
    >>> runs(np.array([True, True, False, True]))
    [(0, 1), (3, 3)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate(([0], mask.view(np.int8), [0]))))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def span(form: str, station: str | None, time: Times, resolution: Resolution) -> str:
    """What was read, how many days or hours there are, and from when to when.

    Examples
    --------
    >>> days = np.arange("2020-05-01", "2020-06-01", dtype="datetime64[D]")
    >>> span("plain table", "Sorrel Bank", days, "daily")
    'plain table, Sorrel Bank: 31 days, 2020-05-01 to 2020-05-31.'
    """
    noun = "day" if resolution == "daily" else "hour"
    first, last = day_or_hour(time[0]), day_or_hour(time[-1])
    return f"{read_from(form, station)}: {number(time.size, noun)}, {first} to {last}."


def typical_span(form: str, station: str | None, time: Times) -> str:
    """What a typical year was put together from.

    Examples
    --------
    >>> hours = np.array(["2003-01-31T23:00", "1999-02-01T00:00"], "datetime64[m]")
    >>> typical_span("EPW", None, hours)[:64]
    'EPW: a typical year of 2 hours put together from 2 years (1999 t'
    """
    years = np.unique(time.astype("datetime64[Y]"))
    return (
        f"{read_from(form, station)}: a typical year of {number(time.size, 'hour')} put together "
        f"from {number(years.size, 'year')} ({years[0]} to {years[-1]}), not the record of any "
        "year. The stamps are those of the source years, in the order of the file."
    )


def read_from(form: str, station: str | None) -> str:
    """Format and station, as a sentence begins.

    Examples
    --------
    >>> read_from("ISD-Lite", None)
    'ISD-Lite'
    """
    return f"{form}, {station}" if station else form


def coverage(elements: dict[str, Floats]) -> str:
    """How many values of each element there are.

    Examples
    --------
    >>> coverage({"tmin": np.array([1.0, np.nan]), "rain": np.full(2, np.nan)})
    'Values: daily minimum 1, rain none.'
    """
    counts = {name: int(np.isfinite(values).sum()) for name, values in elements.items()}
    told = ", ".join(f"{NAMES[name]} {f'{n:,}' if n else 'none'}" for name, n in counts.items())
    return f"Values: {told}."


def gaps(time: Times, elements: dict[str, Floats], resolution: Resolution) -> list[str]:
    """Stretches in which elements that the file has elsewhere are missing.

    Examples
    --------
    >>> days = np.arange("2020-05-01", "2020-05-05", dtype="datetime64[D]")
    >>> gaps(days, {"rain": np.array([0.0, np.nan, np.nan, 1.0])}, "daily")
    ['No rain on 2 days: 2020-05-02 to 2020-05-03.']
    """
    alike: dict[bytes, list[str]] = {}
    for name, values in elements.items():
        missing = np.isnan(values)
        if missing.any() and not missing.all():
            alike.setdefault(missing.tobytes(), []).append(NAMES[name])
    noun, at = ("day", "on") if resolution == "daily" else ("hour", "in")
    told = []
    for mask, names in alike.items():
        missing = np.frombuffer(mask, dtype=np.bool_)
        count = number(int(missing.sum()), noun)
        told.append(f"No {either(names)} {at} {count}: {_stretches(time, runs(missing))}.")
    return told


def either(names: list[str]) -> str:
    """Names as a choice.

    Examples
    --------
    >>> either(["rain"]), either(["rain", "temperature", "wind speed"])
    ('rain', 'rain, temperature or wind speed')
    """
    *most, last = names
    return f"{', '.join(most)} or {last}" if most else last


def _stretches(time: Times, missing: list[tuple[int, int]]) -> str:
    longest = sorted(sorted(missing, key=lambda run: run[0] - run[1])[:SHOWN])
    shown = [
        day_or_hour(time[a]) if a == b else f"{day_or_hour(time[a])} to {day_or_hour(time[b])}"
        for a, b in longest
    ]
    if len(missing) > SHOWN:
        return f"{len(missing):,} stretches, the longest {', '.join(shown)}"
    return ", ".join(shown)
