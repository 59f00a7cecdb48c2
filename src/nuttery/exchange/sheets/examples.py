"""One invented note of each kind, for the example rows of the template and for the docs."""

from typing import Any

EXAMPLES: dict[str, dict[str, Any]] = {
    "planting_described": {
        "name": "Sorrel Bank (invented)",
        "latitude": 46.1,
        "longitude": -91.2,
        "elevation": 330.0,
        "time_zone": "America/Chicago",
    },
    "shrub_planted": {"shrub": "A1", "x": 0.0, "y": 1.8, "row": 1, "number": 1, "seed_lot": "L13"},
    "layer_made": {"shrub": "A1b", "copy_of": "A1", "row": 1, "number": 2},
    "shrub_lost": {"shrub": "A2", "reason": "animals"},
    "parents_known": {"seed_lot": "L13", "mother": "Old Gate", "fathers": ["Mill", "Far Fence"]},
    "alleles_known": {
        "shrub": "A1",
        "first": 3,
        "second": 8,
        "shown": [3],
        "report": "lab 2026-11",
    },
    "value_set": {"name": "chilling.hours.upper", "value": 7.2, "source": "own trial"},
    "canes_counted": {"shrub": "A1", "standing": 6, "by_age": {"1": 2, "3": 3, "7": 1}, "dead": 0},
    "cane_labelled": {
        "shrub": "A1",
        "cane": "c4",
        "came_up": 2021,
        "spread": 1.0,
        "compass": 90.0,
        "diameter_mm": 27.0,
        "bark": "fading",
    },
    "rings_counted": {"shrub": "A1", "rings": 9, "diameter_mm": 41.0, "bark": "rough"},
    "canes_cut": {
        "shrub": "A1",
        "cuts": [{"why": "age", "age": 10, "canes": 2}, {"why": "canker", "cane": "c4"}],
        "minutes": 6.0,
    },
    "suckers_kept": {"shrub": "A1", "kept": 3, "came_up": 14},
    "stage_seen": {"shrub": "A1", "organ": "catkin", "stage": 65, "reached": True},
    "catkins_scored": {"shrub": "A1", "score": "many", "twigs": 10, "buds": 37},
    "clusters_counted": {"shrub": "A1", "twigs": 10, "flowers": 37, "clusters": 21},
    "cross_made": {"shrub": "A1", "pollen_from": "A7", "flowers": 24},
    "cross_counted": {
        "shrub": "A1",
        "cross": "00000000-0000-7000-8000-000000000001",
        "clusters": 15,
        "took": True,
    },
    "frost_harm": {"shrub": "A1", "organ": "leaf bud", "harmed": 0.2, "lowest": -4.5, "stage": 9},
    "pest_seen": {"shrub": "A1", "sign": "big bud", "organ": "bud", "count": 12},
    "roll_out": {"shrub": "A1", "tried": 10, "rolled": 6},
    "picking": {
        "shrub": "A1",
        "mass_kg": 1.4,
        "form": "in husk",
        "state": "fresh",
        "batch": "rack 2",
        "minutes": 11.0,
    },
    "sample": {
        "shrub": "A1",
        "nuts": [
            {"mass_g": 2.1, "kernel_g": 0.95, "width_mm": 16.2, "fill": "1/2 or more"},
            {"mass_g": 1.9, "kernel_g": 0.0, "fill": "empty", "defects": ["weevil", "worm"]},
        ],
        "state": "dry",
        "moisture": 0.06,
        "basis": "wet basis",
    },
    "drying_weighed": {"batch": "rack 2", "mass_kg": 8.25, "form": "in shell", "air_temp": 24.0},
    "size_measured": {"shrub": "A1", "height_m": 2.4, "width_m": 2.1},
    "water_given": {"shrub": "A1", "litres": 15.0},
    "photo": {"shrub": "A1", "photo": "a1-2027-04-12.jpg"},
    "remark": {"shrub": "A1", "remark": "leans to the east since the wet snow"},
    "withdrawn": {"stands_in_for": "00000000-0000-7000-8000-000000000001"},
}
"""What each kind tells beside its head; all of it is invented."""

HEAD: dict[str, Any] = {
    "planting": "00000000-0000-7000-8000-000000000000",
    "seen": "2027-04-12",
    "by": "Ida",
    "recorded": "2027-04-12T17:00:00Z",
}
"""The head of each example."""
