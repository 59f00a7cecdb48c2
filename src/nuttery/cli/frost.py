"""nuttery frost: what a cold night puts at risk."""

from datetime import date, timedelta
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from nuttery.cli.common import Asked, bold, opened, print_json, table, to_terminal, wrapped

if TYPE_CHECKING:
    from nuttery.records import System
    from nuttery.season.frost import FrostRisk


def frost(
    *,
    min: Annotated[  # noqa: A002 - the word to type
        float | None, Parameter(help="Lowest temperature of the night, in your units.")
    ] = None,
    night: Annotated[date | None, Parameter(help="The morning that ends it (tomorrow).")] = None,
    within: Annotated[
        float | None, Parameter(help="How unsure that is, in your degrees (1.5 °C).")
    ] = None,
    ahead: Annotated[int, Parameter(help="Without --min: days to look ahead.")] = 21,
    asked: Asked = Asked(),
) -> int:
    """Say which shrubs at which stage risk what in a cold night, or in the nights ahead."""
    from nuttery.records import stored
    from nuttery.season.frost import CAUTION, frost_risks, night_ahead

    planting = opened(asked)
    to_terminal("working out the stages ...")
    if min is None:
        risks = frost_risks(planting, planting.on + timedelta(days=ahead))
        head = f"Frost between {planting.on:%d %b} and {planting.on + timedelta(days=ahead):%d %b}"
    else:
        morning = night or planting.on + timedelta(days=1)
        low = stored(min, "temperature", planting.about.units)
        risks = night_ahead(planting, morning, low, _spread(within, planting.about.units))
        head = f"The night that ends on the morning of {morning:%d %b %Y}"
    to_terminal("")
    if asked.json:
        print_json({"risks": risks, "caution": CAUTION})
        return 0
    print(bold(head))
    print(_told(risks, planting.about.units) if risks else "No flower or young shoot is out then.")
    print(wrapped(f"Caution: {CAUTION}"))
    return 0


def _spread(within: float | None, system: "System") -> float:
    from nuttery.records import stored

    return 1.5 if within is None else stored(within, "temperature difference", system)


def _told(risks: tuple["FrostRisk", ...], system: "System") -> str:
    from nuttery.records import told

    rows = [
        (
            risk.stage,
            str(int((risk.exposed > 0.25).sum())),
            told(risk.killing, "temperature", system),
            f"{risk.chance:.0%}",
            f"{risk.loss.median:.0%} ({risk.loss.low:.0%}–{risk.loss.high:.0%})",
            risk.threshold.certainty,
        )
        for risk in risks
    ]
    head = ("organ", "shrubs", "half lost at", "chance of that", "share lost", "threshold is")
    return table(head, rows)
