"""HiGHS, asked one maximisation at a time: quiet, repeatable, with its proven bound."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from nuttery.science.arguments import Floats
from nuttery.science.canes.stool_model import Block


@dataclass(frozen=True)
class Solved:
    """Best point found, its value, what no point can exceed, and whether it is proven best."""

    x: Floats
    value: float
    bound: float
    proven: bool


def maximise(
    block: Block,
    *,
    gap: float,
    max_nodes: int | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Solved:
    """Best point of a mixed-integer model that has one, and its bound.

    Parameters
    ----------
    block : the model
    gap : float, relative distance to the bound at which to stop
    max_nodes : int, branches to explore at most; nodes, not seconds, so that a result can be
        repeated on any machine; None for no limit
    cancelled : asked now and then; true stops the search, the best point so far is returned

    Returns
    -------
    Solved

    Raises
    ------
    RuntimeError
        If the solver stops without any point.
    """
    import highspy

    solver = highspy.Highs()
    solver.silent()
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("mip_rel_gap", gap)
    solver.setOptionValue("mip_abs_gap", 0.0)
    if max_nodes is not None:
        solver.setOptionValue("mip_max_nodes", max_nodes)
    solver.passModel(block.highs())
    if cancelled is not None:
        solver.cbMipInterrupt += lambda event: event.interrupt() if cancelled() else None
    solver.run()
    info = solver.getInfo()
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        raise RuntimeError(
            f"HiGHS found no point: {solver.modelStatusToString(solver.getModelStatus())}"
        )
    x = np.array(solver.getSolution().col_value)
    value = float(info.objective_function_value)
    bound = max(value, float(info.mip_dual_bound))
    return Solved(x, value, bound, solver.getModelStatus() == highspy.HighsModelStatus.kOptimal)
