"""nuttery bloom: each shrub's own calendar."""

from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from nuttery.cli.common import (
    Asked,
    bold,
    faint,
    opened,
    print_json,
    table,
    to_terminal,
    wrapped,
)

if TYPE_CHECKING:
    from nuttery.season.bloom import BloomOutlook

SHORT = {
    "pistillate_out": "stigmas out",
    "catkin_60": "first pollen",
    "catkin_65": "half shed",
    "catkin_69": "shed over",
    "leaf_11": "first leaves",
    "roll_out_main": "half roll out",
}


def bloom(
    *,
    shrub: Annotated[str | None, Parameter(help="Only this shrub, with every stage.")] = None,
    asked: Asked = Asked(),
) -> int:
    """Say when catkins shed, stigmas are out, leaves break and nuts roll out, shrub by shrub."""
    from nuttery.season.bloom import bloom as ask

    planting = opened(asked)
    if shrub is not None:
        planting.shrub(shrub)
    to_terminal("learning each shrub's clock ...")
    outlook = ask(planting)
    to_terminal("")
    if asked.json:
        print_json(outlook if shrub is None else outlook.one(shrub))
    elif shrub is None:
        print(_all(outlook))
    else:
        print(_one(outlook, shrub))
    return 0


def _cell(outlook: "BloomOutlook", stage: str, row: int) -> str:
    window = outlook.window(stage, row)
    if window is None:
        return "–"
    return f"{window.median.day} {window.median:%b}" + ("*" if window.chance_past > 0.9 else "")


def _all(outlook: "BloomOutlook") -> str:
    rows = [
        (tag, *(_cell(outlook, stage, k) for stage in SHORT)) for k, tag in enumerate(outlook.tags)
    ]
    priors = [SHORT[s] for s in SHORT if outlook.of(s).basis == "prior"]
    foot = f"Middle day of {outlook.n_futures} courses of the weather; * already past, most likely."
    if priors:
        foot += f" Without notes of this planting, from shipped priors: {', '.join(priors)}."
    head = bold(f"Calendar of {outlook.year}, as known on {outlook.on:%d %b %Y}")
    more = "Each day has a span: nuttery bloom --shrub TAG"
    return "\n".join(
        [head, table(("shrub", *SHORT.values()), rows), faint(wrapped(foot)), faint(more)]
    )


def _one(outlook: "BloomOutlook", tag: str) -> str:
    row = outlook.index(tag)
    rows = []
    for forecast in outlook.stages:
        window = outlook.window(forecast.stage, row)
        if window is not None:
            told = (window.told(), f"{window.chance_past:.0%}", str(window.records), forecast.basis)
            rows.append((forecast.stage.replace("_", " "), *told))
    head = bold(f"Calendar of shrub {tag}, {outlook.year}, as known on {outlook.on:%d %b %Y}")
    columns = ("stage", "day (four times in five)", "past", "notes", "rests on")
    return "\n".join([head, table(columns, rows)])
