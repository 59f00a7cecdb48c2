"""The shapes of the answers as JSON, told from the result types themselves."""

import inspect
from dataclasses import fields
from importlib import import_module

ANSWERS: dict[str, tuple[str, ...]] = {
    "nuttery season": ("plan:SeasonPlan", "line:Line"),
    "nuttery bloom": ("bloom:BloomOutlook", "bloom:StageForecast", "estimate:Window"),
    "nuttery frost": ("frost:FrostRisk", "estimate:Estimate"),
    "nuttery pollen": ("pollen:PollenOutlook", "pollen:PollenOf", "pollen:Donor"),
    "nuttery pollen crosses": ("crosses:CrossPlan", "crosses:TestCross"),
    "nuttery pollen siting": (
        "siting:Siting",
        "places:EmptyPlace",
        "new_planting:Layout",
        "new_planting:SeedlingsNeeded",
    ),
    "nuttery canes": ("canes:CanePlan",),
    "nuttery harvest": (
        "harvest_told:HarvestTold",
        "harvest_told:ShrubHarvest",
        "picking_plan:Picks",
        "next_crop:Expected",
        "samples:SampleTold",
        "drying:DryingBatch",
    ),
    "nuttery weather": ("weather:SoFar",),
    "nuttery shrub": ("story:Story", "story:Told"),
}
"""Result types behind each command's --json, as module:class of this room."""


def shapes() -> str:
    """Return the page that describes every answer as JSON, in Markdown."""
    parts = [HEAD]
    for command, types in ANSWERS.items():
        parts.append(f"## `{command} --json`\n")
        parts += [_shape(place) for place in types]
    return "\n".join(parts)


HEAD = """# The answers as JSON

Every command that answers takes `--json`; the web pages get the same shapes under `/api/`. Days are
ISO dates, arrays of many shrubs are lists in the order of `tags`, missing numbers are `null`, and
quantities are in stored units: kg, °C, mm, metres, shares from 0 to 1. Names are stable within a
major version; new ones may be added. This page is written by the program (`make docs`).
"""


def _shape(place: str) -> str:
    module, _, name = place.partition(":")
    kind = getattr(import_module(f"nuttery.season.{module}"), name)
    doc = inspect.getdoc(kind) or ""
    first, _, rest = doc.partition("\n\n")
    _, _, told = rest.partition("Attributes\n----------\n")
    names = ", ".join(f"`{field.name}`" for field in fields(kind))
    lines = [f"**{name}**: {first}\n", f"Entries: {names}.\n"]
    if told:
        lines.append(f"```\n{told.rstrip()}\n```\n")
    return "\n".join(lines)
