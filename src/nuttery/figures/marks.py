"""Marks that differ by shape as well as by shade, so that colour is never alone."""

from typing import Literal

from nuttery.figures.look import FAINT, INK, PAPER, ink_on, shade

Mark = Literal["round", "square", "triangle", "diamond", "cross", "drop", "ring", "gap"]
BY_CLASS: tuple[Mark, ...] = ("triangle", "drop", "square", "round", "diamond", "cross")
"""Shapes of classes in order."""


def mark(kind: Mark, x: float, y: float, r: float, value: float | None) -> str:
    """SVG of one mark.

    Parameters
    ----------
    kind : its shape
    x, y, r : place and size on the paper
    value : 0 to 1, drawn as a shade; None is drawn empty
    """
    fill = PAPER if value is None else shade(value)
    style = f'fill="{fill}" stroke="{INK}" stroke-width="{min(1.0, 0.16 * r):.2g}"'
    if kind == "gap":
        return (
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}" fill="none" stroke="{FAINT}" '
            'stroke-dasharray="2 2"/>'
        )
    if kind == "round":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}" {style}/>'
    if kind == "ring":
        inner = f'fill="none" stroke="{ink_on(fill)}" stroke-width="{0.16 * r:.1f}"'
        return (
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}" {style}/>'
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{0.55 * r:.1f}" {inner}/>'
        )
    return f'<path d="{_outline(kind, x, y, r)}" {style}/>'


def _outline(kind: Mark, x: float, y: float, r: float) -> str:
    corners = [(x + a * r, y + b * r) for a, b in _CORNERS[kind]]
    return "M" + "L".join(f"{a:.1f} {b:.1f}" for a, b in corners) + "Z"


_CORNERS: dict[str, tuple[tuple[float, float], ...]] = {
    "square": ((-0.88, -0.88), (0.88, -0.88), (0.88, 0.88), (-0.88, 0.88)),
    "triangle": ((0, -1.1), (1.08, 0.85), (-1.08, 0.85)),
    "drop": ((0, 1.1), (1.08, -0.85), (-1.08, -0.85)),
    "diamond": ((0, -1.2), (1.2, 0), (0, 1.2), (-1.2, 0)),
    "cross": (
        (-0.36, -1), (0.36, -1), (0.36, -0.36), (1, -0.36), (1, 0.36), (0.36, 0.36),
        (0.36, 1), (-0.36, 1), (-0.36, 0.36), (-1, 0.36), (-1, -0.36), (-0.36, -0.36),
    ),
}  # fmt: skip
"""Corners as multiples of the size; y runs down."""
