"""A pair of axes: where a value stands on the paper, and the lines that help to read it."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from nuttery.figures.look import FAINT, text

GRID = "#d9d5c7"


@dataclass(frozen=True)
class Axes:
    """A plot of `width` by `height` with margins, over values from x0 to x1 and y0 to y1."""

    width: float
    height: float
    x0: float
    x1: float
    y0: float
    y1: float
    left: float = 56
    right: float = 16
    top: float = 30
    bottom: float = 44

    def x(self, value: float) -> float:
        """Place of a value along the bottom."""
        span = self.x1 - self.x0 or 1.0
        return self.left + (value - self.x0) / span * (self.width - self.left - self.right)

    def y(self, value: float) -> float:
        """Place of a value up the side."""
        span = self.y1 - self.y0 or 1.0
        return self.height - self.bottom - (value - self.y0) / span * self._tall

    @property
    def _tall(self) -> float:
        return self.height - self.top - self.bottom

    def up(self, ticks: Iterable[float], unit: str, digits: int = 0) -> list[str]:
        """Return lines across with their values, and the unit above them."""
        far = self.width - self.right
        parts = []
        for tick in ticks:
            y = self.y(tick)
            parts.append(f'<path d="M{self.left:.1f} {y:.1f}H{far:.1f}" stroke="{GRID}"/>')
            words = f"{tick:.{digits}f}"
            extra = f'text-anchor="end" fill="{FAINT}"'
            parts.append(text(self.left - 8, y + 4, words, size=13, extra=extra))
        parts.append(text(4, self.top - 14, unit, size=13, extra=f'fill="{FAINT}"'))
        return parts

    def along(self, ticks: Sequence[tuple[float, str]], unit: str = "") -> list[str]:
        """Return values along the bottom, and the unit below them."""
        foot = self.height - self.bottom
        extra = f'text-anchor="middle" fill="{FAINT}"'
        parts = [text(self.x(at), foot + 18, words, size=13, extra=extra) for at, words in ticks]
        if unit:
            middle = (self.left + self.width - self.right) / 2
            parts.append(text(middle, foot + 36, unit, size=13, extra=extra))
        return parts

    def path(self, xs: Iterable[float], ys: Iterable[float]) -> str:
        """Path data through points."""
        points = [f"{self.x(a):.1f} {self.y(b):.1f}" for a, b in zip(xs, ys, strict=True)]
        return "M" + " L".join(points) if points else ""

    def band(self, xs: Sequence[float], low: Sequence[float], high: Sequence[float]) -> str:
        """Path data round what lies between two lines."""
        there = self.path(xs, high)
        back = self.path(reversed(xs), reversed(low)).replace("M", "L", 1)
        return f"{there} {back} Z" if there else ""


def round_ticks(low: float, high: float, wanted: int = 5) -> tuple[float, ...]:
    """Return round values that cover a span.

    Examples
    --------
    >>> round_ticks(0, 0.93), round_ticks(3, 48)
    ((0.0, 0.2, 0.4, 0.6, 0.8, 1.0), (0.0, 10.0, 20.0, 30.0, 40.0, 50.0))
    """
    span = max(high - low, 1e-9)
    power = 10.0 ** math.floor(math.log10(span / wanted))
    step = next(s * power for s in (1, 2, 2.5, 5, 10) if s * power * wanted >= span - 1e-12)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return tuple(round(k * step, 10) for k in range(first, last + 1))


def digits_of(ticks: Sequence[float]) -> int:
    """Decimals that a row of ticks needs.

    Examples
    --------
    >>> digits_of((0.0, 0.2, 0.4)), digits_of((0.0, 10.0)), digits_of((0.0, 0.25))
    (1, 0, 2)
    """
    return next((d for d in range(4) if all(abs(round(t, d) - t) < 1e-9 for t in ticks)), 4)
