"""A lining and a layout made by hand: even strakes on a made hull, butts stepped along it."""

from __future__ import annotations

import numpy as np

from ribband.butts.model import Butt, Layout, Ways
from ribband.hull.model import Hull
from ribband.lining.model import Lining, Strake

FINE = 801


def even_lining(hull: Hull, strakes: int) -> Lining:
    """Divide the girth fraction evenly; every strake runs from end to end."""
    edges = np.linspace(0.0, 1.0, strakes + 1)
    columns = ("stem", *hull.frames.names, "stern")
    shape = (strakes, len(columns))
    low, high, along, width = (np.full(shape, np.nan) for _ in range(4))
    lower, upper = (np.full((*shape, 3), np.nan) for _ in range(2))
    for s in range(strakes):
        a, b = edges[s], edges[s + 1]
        run = _Run(hull, a, b)
        for c in range(len(columns)):
            found = run.end(c == 0) if c in {0, len(columns) - 1} else run.frame(c - 1)
            if found is not None:
                low[s, c], high[s, c], along[s, c], width[s, c], lower[s, c], upper[s, c] = found
    reach = [
        [columns[c] for c in range(len(columns)) if np.isfinite(along[s, c])]
        for s in range(strakes)
    ]
    called = tuple(Strake(str(s + 1), "strake", reach[s][0], reach[s][-1]) for s in range(strakes))
    in_space = hull.in_space
    u = np.linspace(0, 1, len(hull.lines.x_mm))
    return Lining(
        columns, called, low, high, width, lower if in_space else None, upper if in_space else None,
        along, u, np.repeat(edges[:, None], len(u), 1), np.ones((strakes, len(u))),
        feasible=True, cost=0.0, sweep_rms_per_m=0.0,
    )  # fmt: skip


class _Run:
    """One strake between girth fractions a and b, measured along its middle."""

    def __init__(self, hull: Hull, a: float, b: float) -> None:
        self.hull, self.a, self.b = hull, a, b
        if hull.surface is not None:
            self.u = np.linspace(0, 1, FINE)
            mid = hull.surface.point(self.u, (a + b) / 2)
            step = np.linalg.norm(np.diff(mid, axis=0), axis=1)
            self.s = np.concatenate([[0.0], np.cumsum(step)])

    def end(self, fore: bool) -> tuple | None:
        lines = self.hull.lines
        if self.hull.surface is None or not (self.hull.has_stem if fore else self.hull.has_stern):
            return None
        u, girth = (0.0, lines.girth_mm[0]) if fore else (1.0, lines.girth_mm[-1])
        return self._at(u, u, u, self.a * girth, self.b * girth)

    def frame(self, i: int) -> tuple | None:
        lines = self.hull.frames
        v = lines.v[i]
        arc = np.linspace(0.0, lines.girth_mm[i], len(v))
        if self.hull.surface is None:
            return self._flat(i)
        if v[0] >= self.b:
            return None
        a, middle = max(self.a, v[0]), max((self.a + self.b) / 2, v[0])
        at = [np.interp(x, v, lines.u[i]) for x in (a, middle, self.b)]
        return self._at(*at, np.interp(a, v, arc), np.interp(self.b, v, arc), a)

    def _at(self, ua, um, ub, low, high, a=None) -> tuple:
        surface, middle = self.hull.surface, (self.a + self.b) / 2
        width = self._square(um, middle) * (self.b - self.a)
        lower = surface.point(ua, self.a if a is None else a)
        return low, high, np.interp(um, self.u, self.s), width, lower, surface.point(ub, self.b)

    def _square(self, u: float, v: float) -> float:
        """Give mm across, square to the line v = const, for one whole girth fraction."""
        p, h = self.hull.surface.point, 1e-4
        u = float(np.clip(u, h, 1 - h))
        du, dv = p(u + h, v) - p(u - h, v), p(u, v + h) - p(u, v - h)
        return float(np.linalg.norm(np.cross(du, dv)) / np.linalg.norm(du) / (2 * h))

    def _flat(self, i: int) -> tuple:
        x, girth = self.hull.frames.x_mm, self.hull.frames.girth_mm
        middle = (self.a + self.b) / 2 * girth
        s = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(middle)))])
        slope = np.gradient(middle, x)[i]
        nowhere = np.full(3, np.nan)
        low, high = self.a * girth[i], self.b * girth[i]
        return low, high, s[i], (high - low) * np.cos(np.arctan(slope)), nowhere, nowhere


def ways_of(hull: Hull, lining: Lining) -> Ways:
    """Give the problem with every landing open."""
    frames = lining.along_mm[:, 1:-1]
    strakes, count = frames.shape
    along = np.full((strakes, 2 * count - 1), np.nan)
    along[:, ::2], along[:, 1::2] = frames, (frames[:, :-1] + frames[:, 1:]) / 2
    rank = np.where(np.isfinite(along), np.arange(strakes)[:, None], -1)
    length = np.nanmax(lining.along_mm, axis=1)
    names = tuple(strake.name for strake in lining.strakes)
    return Ways(names, hull.frames.names, hull.frames.x_mm, along, rank, length, np.isfinite(along))


def stepped_layout(ways: Ways, every: int = 13, step: int = 5, blocks: bool = False) -> Layout:
    """Put a butt every so many frames, each strake's shifted by `step`."""
    frames = len(ways.frames)
    butts = tuple(
        Butt(s, 2 * f + blocks)
        for s in range(len(ways.strakes))
        for f in range(8 + (step * s) % every, frames - 6, every)
    )
    return Layout(butts, feasible=True, goals=(), seconds=0.0, seed=0)
