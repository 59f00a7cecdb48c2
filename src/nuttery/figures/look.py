"""Colours, type and marks that all pictures share: few, even, and safe for colour-blind readers."""

import html
from collections.abc import Iterable

INK, FAINT, PAPER, ACCENT = "#1f2421", "#6b726d", "#fbfaf6", "#7a4b12"
TYPE = "'Libertinus Serif', 'Iowan Old Style', Georgia, serif"
RAMP = ("#00224e", "#31446b", "#666970", "#958f78", "#cab969", "#fee838")
"""Cividis in six steps (Nunez, Anderton & Renslow 2018): even, also to colour-blind eyes."""
SETS = ("#0072b2", "#e69f00", "#009e73", "#cc79a7", "#56b4e9", "#d55e00", "#f0e442", "#000000")
"""The set of Okabe & Ito (2008)."""


def shade(share: float) -> str:
    """Colour of the ramp for a share of 0 to 1; what lies outside is drawn at the end.

    Examples
    --------
    >>> shade(0.0), shade(1.0), shade(7.0)
    ('#00224e', '#fee838', '#fee838')
    """
    place = min(max(share, 0.0), 1.0) * (len(RAMP) - 1)
    low = min(int(place), len(RAMP) - 2)
    part = place - low
    pairs = zip(_rgb(RAMP[low]), _rgb(RAMP[low + 1]), strict=True)
    return "#" + "".join(f"{round(a + (b - a) * part):02x}" for a, b in pairs)


def _rgb(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def ink_on(colour: str) -> str:
    """Dark or light ink, whichever reads better on a colour."""
    red, green, blue = _rgb(colour)
    return INK if 0.299 * red + 0.587 * green + 0.114 * blue > 140 else PAPER


def text(x: float, y: float, words: str, *, size: float = 10, extra: str = "") -> str:
    """One SVG text element."""
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" {extra}>{html.escape(words)}</text>'


def drawing(
    width: float, height: float, title: str, parts: Iterable[str], *, role: str = "img"
) -> str:
    """Whole SVG picture with its title for those who cannot see it; a group if it holds links."""
    body = "\n".join(parts)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" '
        f'role="{role}" font-family="{TYPE}" fill="{INK}">'
        f"<title>{html.escape(title)}</title>\n{body}\n</svg>"
    )
