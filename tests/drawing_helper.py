"""An equal division and a plain layout, so that drawings can be tried without the solvers."""

from __future__ import annotations

import numpy as np

from ribband.butts.model import Butt, Layout
from ribband.hull.model import Floats, Hull
from ribband.lining.model import Lining, Strake


def equal_lining(hull: Hull, strakes: int = 16) -> Lining:
    """Every girth divided by the strakes, seams along v = const of the surface."""
    frames, lines = hull.frames, hull.lines
    share = np.arange(strakes + 1) / strakes
    columns = (
        [np.full(strakes + 1, np.nan)]
        + [_seams(share, frames.v[i], float(frames.girth_mm[i])) for i in range(len(frames.names))]
        + [np.full(strakes + 1, np.nan)]
    )
    if hull.has_stem:
        columns[0] = share * lines.girth_mm[0]
    if hull.has_stern:
        columns[-1] = share * lines.girth_mm[-1]
    girth = np.array(columns).T
    lower, upper = girth[:-1].copy(), girth[1:].copy()
    gone = ~(upper > 1e-9)
    lower[gone], upper[gone] = np.nan, np.nan
    names = ("stem", *frames.names, "stern")
    ends = [(names[np.flatnonzero(np.isfinite(u))[0]], names[np.flatnonzero(np.isfinite(u))[-1]])
            for u in upper]  # fmt: skip
    x = np.concatenate([[frames.x_mm[0] - 400], frames.x_mm, [frames.x_mm[-1] + 400]])
    along = np.where(np.isfinite(upper), x - x[0], np.nan)
    called = {0: "garboard", 1: "first broad", 2: "second broad", strakes - 1: "sheer strake"}
    k = 41
    return Lining(
        names,
        tuple(Strake(str(i + 1), called.get(i, ""), *ends[i]) for i in range(strakes)),
        lower, upper, upper - lower, None, None, along,
        np.linspace(0, 1, k), np.repeat(share[:, None], k, 1), np.ones((strakes, k)),
        True, 1.0, 0.02,
    )  # fmt: skip


def _seams(share: Floats, v: Floats, girth: float) -> Floats:
    at = np.interp(share, v, np.linspace(0, girth, len(v)))
    return np.where(share >= v[0] - 1e-9, at, 0.0)


def stepped_layout(lining: Lining, every: int = 12, shift: int = 8) -> Layout:
    """Butts in steps; one in five on a block, one fixed."""
    frames = len(lining.columns) - 2
    butts = []
    for row in range(len(lining.strakes)):
        reached = np.flatnonzero(np.isfinite(lining.upper_girth_mm[row]))
        first, last = max(reached[0] - 1, 0), min(reached[-1] - 1, frames - 1)
        start = 4 + (row * shift) % every
        for i, frame in enumerate(range(start, frames - 4, every)):
            if first + 3 < frame < last - 3:
                landing = 2 * frame + (1 if (row + i) % 5 == 4 else 0)
                butts.append(Butt(row, landing, fixed=row == 3 and i == 1))
    return Layout(tuple(butts), True, (), 0.0, 0)
