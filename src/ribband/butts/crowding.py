"""How few butts there must be beyond the wished number on a landing: a bound by matching.

Where every strake has the fewest butts it can have alone, its first, second ... butt can each
stand only on some columns. The most butts that can be given columns of their own (a column holds
`per_frame`) is a bipartite matching; the rest must share.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ribband.butts.tables import Tables
from ribband.hull.model import Floats

__all__ = ["counts_from_ends", "least_beyond"]


def least_beyond(t: Tables, alone: Floats, butts: int, per_frame: int) -> int:
    """Bound the butts beyond `per_frame` on a column, of any layout with `butts` butts."""
    spare = butts - int(alone.sum())
    fore, aft = counts_from_ends(t, forward=True), counts_from_ends(t, forward=False)
    can = fore + aft - 1 <= (alone + spare)[:, None]
    if spare:
        return max(0, butts - per_frame * int(can.any(axis=0).sum()))
    return butts - _most_apart(can, fore, per_frame)


def counts_from_ends(t: Tables, *, forward: bool) -> Floats:
    """Give (S, n) the fewest butts from the strake's end up to and with a butt at a column."""
    n = t.open.shape[1]
    ends = t.first if forward else t.last
    best = np.where(ends & t.open, 1.0, np.inf)
    for j in range(n) if forward else range(n - 1, -1, -1):
        at = j - t.back if forward else j + t.back
        inside = np.flatnonzero((at >= 0) & (at < n))
        if inside.size:
            arc = t.arc[inside, :, j] if forward else t.arc[inside, :, at[inside]]
            through = np.where(arc, best[:, at[inside]].T + 1.0, np.inf).min(axis=0)
            best[:, j] = np.minimum(best[:, j], through)
    return best


def _most_apart(can: NDArray[np.bool_], fore: Floats, per_frame: int) -> int:
    """Match each butt (strake, first or second ...) with a column that holds `per_frame`."""
    from scipy.sparse import csr_array  # noqa: PLC0415 - heavy, loaded when needed
    from scipy.sparse.csgraph import maximum_bipartite_matching  # noqa: PLC0415

    strakes, columns = np.nonzero(can)
    which = fore[strakes, columns].astype(np.int64)
    most = int(which.max(initial=0)) + 1
    rows = np.repeat(strakes * most + which, per_frame)
    places = (columns[:, None] * per_frame + np.arange(per_frame)).ravel()
    shape = (len(can) * most, can.shape[1] * per_frame)
    graph = csr_array((np.ones(len(rows), dtype=bool), (rows, places)), shape=shape)
    return int((maximum_bipartite_matching(graph, perm_type="column") >= 0).sum())
