"""The outlook as a chart: the crop of the coming years under each way of cutting, with its band."""

from nuttery.figures.chart import Chart
from nuttery.figures.crop_outlook import Course, outlook_chart
from nuttery.records import System, shown, told, unit_of
from nuttery.season.outlook import CropOutlook


def ahead_chart(found: CropOutlook, units: System) -> Chart:
    """Return the crop ahead under this plan and the other ways of cutting.

    Parameters
    ----------
    found : the outlook
    units : units to show it in
    """
    unit = unit_of("mass", units)
    factor = shown(1.0, "mass", units)
    courses = [
        Course(way.name, found.years, factor * way.median, factor * way.low, factor * way.high)
        for way in found.ways
    ]
    words = (
        f"Middle and four in five of {found.draws} draws of what canes bear, of good and bad "
        "years and of canes that die, the same for every way of cutting."
    )
    return outlook_chart(courses, told=words, unit=unit.symbol)


def beside_chart(found: tuple[CropOutlook, CropOutlook], units: System) -> Chart:
    """Return the crop ahead under the plan as it stands and under another one.

    Parameters
    ----------
    found : outlook of the plan as it stands, and of the other
    units : units to show it in
    """
    factor = shown(1.0, "mass", units)
    courses = [
        Course(
            name, o.years, *(factor * v for v in (o.ways[0].median, o.ways[0].low, o.ways[0].high))
        )
        for name, o in zip(("as planned", "what if"), found, strict=True)
    ]
    words = (
        f"Middle and four in five of {found[0].draws} draws, met by the same luck. "
        f"Over all the years: {told(found[0].ways[0].total, 'mass', units, 0)} as planned, "
        f"{told(found[1].ways[0].total, 'mass', units, 0)} what if."
    )
    return outlook_chart(courses, told=words, unit=unit_of("mass", units).symbol)
