"""Linear programmes: least cost x >= 0 with a sparse table of limits.

Not checked: that the table is sensible.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.errors import NotConverged

__all__ = ["Solved", "least_cost", "least_whole"]

INFEASIBLE = 2
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """A solution: the cost, x, and by how much each limit, one looser, would cost less."""

    cost: float
    x: Floats
    prices: Floats


def least_cost(
    cost: Floats, table: tuple[Floats, Ints, Ints], limit: Floats, most: Floats
) -> Solved | None:
    """Solve min cost x, table x <= limit, 0 <= x <= most; the table as (values, rows, columns).

    None is given where no x keeps the limits.

    Raises
    ------
    NotConverged : no finite optimum was reached

    >>> one = np.array([0, 0])
    >>> table = (np.array([-1.0, -2.0]), one, np.array([0, 1]))
    >>> least_cost(np.array([1.0, 1.0]), table, np.array([-4.0]), np.array([9.0, 1.0])).cost
    3.0
    """
    from scipy.optimize import linprog  # noqa: PLC0415 - heavy, loaded when needed
    from scipy.sparse import csr_array  # noqa: PLC0415

    values, rows, columns = table
    full = csr_array((values, (rows, columns)), shape=(len(limit), len(cost)))
    bounds = np.stack([np.zeros_like(most), most], axis=1)
    result = linprog(  # type: ignore[call-overload]
        cost, A_ub=full, b_ub=limit, bounds=bounds, method="highs-ipm"
    )
    if result.status == INFEASIBLE:
        return None
    if result.status != 0:
        raise NotConverged(f"linear programme: {result.message}")
    return Solved(float(result.fun), np.asarray(result.x), -np.asarray(result.ineqlin.marginals))


def least_whole(  # noqa: PLR0917 - a programme, and when to leave off
    cost: Floats,
    table: Floats,
    limit: Floats,
    most: Floats,
    seconds: float,
    nodes: int | None = None,
) -> Floats | None:
    """Solve min cost x, table x <= limit, in whole numbers from 0 to `most`.

    The best met in the time is given; None where none was. Where `nodes` is given so many places
    of the tree are looked at instead, whatever time that takes, so that the answer is the same on
    a busy machine.

    >>> table = np.array([[-2.0, -3.0]])
    >>> least_whole(np.array([2.0, 3.1]), table, np.array([-4.0]), np.array([9.0, 9.0]), 1.0)
    array([2., 0.])
    """
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415 - as above
    from scipy.sparse import csr_array  # noqa: PLC0415

    found = milp(
        cost,
        integrality=np.ones(len(cost), dtype=np.int64),
        bounds=Bounds(np.zeros_like(most), most),
        constraints=LinearConstraint(csr_array(table), -np.inf, limit),
        options=(
            {"time_limit": seconds, "mip_rel_gap": 1e-4}
            if nodes is None
            else {"node_limit": nodes, "mip_rel_gap": 1e-4}
        ),
    )
    return None if found.x is None else np.asarray(np.round(found.x) + 0.0, dtype=np.float64)
