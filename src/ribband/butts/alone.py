"""What the lengths of planks cost at the least, every strake by itself, for every number of butts.

Each strake is laid alone, exactly, for each number of butts it may have; the strakes are joined
so that their butts come to the number asked for. Neighbours do not count, so what is found is a
bound.
"""

from __future__ import annotations

import numpy as np

from ribband.butts.tables import Tables
from ribband.hull.model import Floats

__all__ = ["by_butts", "least_apart"]


def least_apart(t: Tables, most: Floats, butts: int, *, even: bool) -> float:
    """Bound the stock wasted (mm), or with `even` the squares about the strakes' means (mm2).

    most : (S,) most butts of each strake; butts : of all the strakes together
    """
    costs = by_butts(t, int(most.max(initial=0)), even=even)
    joined = np.full(butts + 1, np.inf)
    joined[0] = 0.0
    for s, own in enumerate(costs):
        after = np.full(butts + 1, np.inf)
        for k in range(min(int(most[s]), butts) + 1):
            after[k:] = np.minimum(after[k:], joined[: butts + 1 - k] + own[k])
        joined = after
    return float(joined[butts]) if np.isfinite(joined[butts]) else 0.0


def by_butts(t: Tables, most: int, *, even: bool) -> Floats:
    """Give (S, most + 1) the least waste or unevenness of each strake with so many butts."""
    arc, ends, whole = (
        (t.length**2, t.ends_length**2, t.strake_length**2)
        if even
        else (t.waste, t.ends_waste, t.whole_waste)
    )
    arc = np.where(t.arc, arc, np.inf)
    first, last = (np.where(ok, c, np.inf) for ok, c in zip((t.first, t.last), ends, strict=True))
    costs = [np.where(t.whole, whole, np.inf)]
    best = first
    for k in range(1, most + 1):
        if k > 1:
            best = _one_more(best, arc, t)
        costs.append((best + last).min(axis=1))
    found = np.array(costs).T
    mean = t.strake_length[:, None] ** 2 / (np.arange(most + 1) + 1)
    return np.maximum(found - mean, 0.0) if even else found


def _one_more(best: Floats, arc: Floats, t: Tables) -> Floats:
    """Lay one plank more after a butt at every column."""
    after = np.full_like(best, np.inf)
    for w, back in enumerate(t.back.tolist()):
        after[:, back:] = np.minimum(after[:, back:], best[:, :-back] + arc[w][:, back:])
    return after
