"""Which butts stand nearest each other, found from the layout alone.

Written apart from the solver and from its check: it measures, the reader compares. Between two
butts count the *passing strakes*, those whole between them at the landing of the first; the
distance is along the strake of the first, the shift is in frame spaces.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ribband.butts.model import Butt, Layout, Ways

__all__ = ["Pair", "pairs", "place"]


@dataclass(frozen=True, slots=True)
class Pair:
    """Two butts, the strakes that pass between them, their shift in spaces and in mm."""

    first: Butt
    second: Butt
    passing: int
    spaces: float
    along_mm: float


def place(ways: Ways, butt: Butt) -> str:
    """Say where a butt stands.

    >>> import numpy as np
    >>> ways = Ways(("1",), ("7", "8"), *(np.zeros(1),) * 4, open=np.ones((1, 3), bool))
    >>> place(ways, Butt(0, 1))
    'bay aft of 7'
    """
    frame, bay = divmod(butt.landing, 2)
    return f"bay aft of {ways.frames[frame]}" if bay else f"frame {ways.frames[frame]}"


def pairs(ways: Ways, layout: Layout, most_passing: int = 5) -> list[Pair]:
    """List the pairs with at most `most_passing` strakes between, the nearest first.

    Butts of one strake are no pair: the plank between them is in the plank list.
    """
    butts = sorted(layout.butts)
    landing = np.array([b.landing for b in butts], dtype=np.int64)
    strake = np.array([b.strake for b in butts], dtype=np.int64)
    found = []
    for i, first in enumerate(butts):
        there = ways.rank[strake, first.landing]
        rank = np.where(there >= 0, there, ways.rank[strake, landing])
        passing = np.abs(rank - rank[i]) - 1
        near = (strake > first.strake) & (passing <= most_passing)
        found += [_pair(ways, first, butts[j], int(passing[j])) for j in np.nonzero(near)[0]]
    return sorted(found, key=lambda p: (p.passing, p.spaces, p.along_mm, p.first, p.second))


def _pair(ways: Ways, a: Butt, b: Butt, passing: int) -> Pair:
    along = ways.along_mm[a.strake]
    apart = abs(along[b.landing] - along[a.landing])
    if not np.isfinite(apart):
        apart = abs(_x(ways, b.landing) - _x(ways, a.landing))
    return Pair(a, b, max(passing, 0), abs(a.landing - b.landing) / 2, float(apart))


def _x(ways: Ways, landing: int) -> float:
    return float(np.interp(landing / 2, np.arange(len(ways.x_mm)), ways.x_mm))
