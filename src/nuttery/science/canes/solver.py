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


def maximise(block: Block, *, gap: float, cancelled: Callable[[], bool] | None = None) -> Solved:
    """Best point of a mixed-integer model that has one, and its bound.

    Parameters
    ----------
    block : the model
    gap : float, relative distance to the bound at which to stop
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
    solver.passModel(_highs_model(block))
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


def _highs_model(block: Block) -> object:
    import highspy

    model = highspy.HighsLp()
    model.sense_ = highspy.ObjSense.kMaximize
    model.num_row_, model.num_col_ = block.rows.shape
    model.col_cost_, model.col_lower_, model.col_upper_ = block.value, block.low, block.high
    model.row_lower_, model.row_upper_ = block.rows_low, block.rows_high
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = block.rows.indptr
    model.a_matrix_.index_ = block.rows.indices
    model.a_matrix_.value_ = block.rows.data
    kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
    model.integrality_ = [kinds[int(w)] for w in block.whole]
    return model
