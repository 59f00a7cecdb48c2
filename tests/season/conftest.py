"""A small planting made by hand: notes in, the planting as of a day out."""

from datetime import UTC, date, datetime

import pytest

from nuttery.records import PlantingDescribed, ShrubPlanted, new_id
from nuttery.season.planting import open_planting
from nuttery.season.upkeep import new_planting


@pytest.fixture
def trial(tmp_path):
    """Keep notes of a planting of three shrubs, set in 2012, and open it as of a day."""
    planting = new_id()
    where = tmp_path / "trial.db"

    def note(kind, seen, **entries):
        recorded = datetime(2027, 6, 1, tzinfo=UTC)
        return kind(
            id=new_id(), planting=planting, seen=seen, by="Ida", recorded=recorded, **entries
        )

    described = note(
        PlantingDescribed,
        date(2012, 4, 1),
        name="Trial",
        latitude=46.0,
        longitude=-91.0,
        time_zone="America/Chicago",
    )
    new_planting(where, described)

    def asked(*notes, on=date(2026, 12, 1)):
        register = open_planting(where, on=on).register
        register.keep([note(kind, seen, **entries) for kind, seen, entries in notes])
        return open_planting(where, on=on)

    asked(
        *(
            (
                ShrubPlanted,
                date(2012, 5, 1),
                {"shrub": tag, "row": 1, "number": k, "x": 2.0 * k, "y": 0.0},
            )
            for k, tag in enumerate("abc", start=1)
        )
    )
    return asked
