"""What is believed of each stage before a planting has notes of its own."""

import math

from nuttery.reference import Value, value
from nuttery.science.arguments import one_of
from nuttery.science.bloom.clock import Clock

STAGES = (
    "catkin_60",
    "catkin_65",
    "catkin_69",
    "pistillate_out",
    "pistillate_withered",
    "bud_07",
    "bud_09",
    "leaf_11",
    "roll_out_first",
    "roll_out_main",
)
_FOUR_IN_FIVE = 2 * 1.2815515655446004  # standard deviations across the middle 80 % of a normal


def _sd(known: Value) -> float:
    if known.low is None or known.high is None:
        raise ValueError(f"{known.name}: found no low and high, expected both")
    return (known.high - known.low) / _FOUR_IN_FIVE


def prior_clock(stage: str) -> Clock:
    """The shipped belief about a stage, wide, resting on no notes.

    Parameters
    ----------
    stage : one of `STAGES`; the numbers are BBCH stages of catkin, leaf bud and leaf

    Returns
    -------
    Clock
        With `is_prior` true and `n_records` 0. Give it to `fit_clock` as `prior`.

    Raises
    ------
    BadArgumentError
        For a stage not known.

    Notes
    -----
    Source: `reference/phenology.toml`, each value with its source; most are inferred.
    Valid:  hybrid hazels in a cold climate; not a measured calibration.

    Examples
    --------
    >>> clock = prior_clock("leaf_11")
    >>> clock.requirement, clock.n_records, clock.is_prior
    (217.0, 0, True)
    """
    one_of("stage", stage, STAGES)
    season = "ripening" if stage.startswith("roll_out") else "bloom"
    base, start = value(f"{season}.base"), value(f"{season}.start")
    heat = value(f"bloom.{stage}.heat")
    if heat.low is None or heat.high is None:
        raise ValueError(f"{heat.name}: found no low and high, expected both")
    return Clock(
        base=base.value,
        start_doy=start.value,
        requirement=heat.value,
        residual_sd=value(f"{season}.residual_sd").value,
        n_records=0,
        softness=value("bloom.softness").value,
        spread=value(f"bloom.{stage}.spread").value,
        season_sd=value(f"{season}.season_sd").value,
        level_sd=math.log(heat.high / heat.low) / _FOUR_IN_FIVE,
        is_prior=True,
        theta_sd=(_sd(base), _sd(start)),
    )
