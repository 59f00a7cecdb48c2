"""Vega-Lite charts: how they look, and how they become pictures for the page and for print."""

from functools import cache
from typing import TYPE_CHECKING, Any

from nuttery.figures.look import FAINT, INK, PAPER

if TYPE_CHECKING:
    import altair as alt

FONT = "'Libertinus Serif', 'Iowan Old Style', Georgia, serif"


def dressed(chart: "alt.LayerChart | alt.VConcatChart") -> "alt.LayerChart | alt.VConcatChart":
    """Return the chart in the type and ink of the house."""
    axis = {"labelFont": FONT, "titleFont": FONT, "labelColor": INK, "titleColor": INK}
    axis |= {"gridColor": "#e5e1d4", "domainColor": FAINT, "tickColor": FAINT}
    sizes: dict[str, Any] = {"labelFontSize": 12, "titleFontSize": 13, "titleFontWeight": "normal"}
    title: dict[str, Any] = {"font": FONT, "fontSize": 16, "color": INK, "anchor": "start"}
    title |= {"subtitleFont": FONT, "subtitleFontSize": 12, "subtitleColor": INK}
    return (
        chart.configure(background=PAPER, font=FONT)
        .configure_axis(**axis, **sizes)
        .configure_legend(labelFont=FONT, titleFont=FONT, labelFontSize=12, titleFontSize=12)
        .configure_title(**title)
        .configure_view(stroke=None)
    )


@cache
def _converter() -> Any:  # noqa: ANN401 - a module without types
    import vl_convert

    return vl_convert


def as_svg(specification: dict[str, Any]) -> str:
    """Return a chart as SVG, drawn without any network."""
    return str(_converter().vegalite_to_svg(specification, allowed_base_urls=[]))


def as_png(specification: dict[str, Any], scale: float = 2.0) -> bytes:
    """Return a chart as PNG, drawn without any network."""
    return bytes(_converter().vegalite_to_png(specification, scale=scale, allowed_base_urls=[]))


def as_pdf(specification: dict[str, Any]) -> bytes:
    """Return a chart as PDF for print, drawn without any network."""
    return bytes(_converter().vegalite_to_pdf(specification, allowed_base_urls=[]))
