"""The hull side laid flat: where a girth at a frame or hood end falls on the expansion.

Frames stand upright at their position along the hull and girths are laid up from the rabbet,
which is drawn as in the profile (straight where only girths were measured). Where a frame starts
on the stem, or under a transom, its girth is laid up from that line. The stem and stern lines are
drawn so that their own length is true: for a step ds along the line that goes dx along the hull,
the drawing rises sqrt(ds^2 - dx^2). So a stem keeps its rake and a hood end its true width.
Lengths along the hull are positions, not distances along the plank.

A *band* is a strake on the expansion: its lower and upper edge as points from forward to aft.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ribband.drawing.sheet import Box, Point
from ribband.hull.model import Floats, GirthLines, Hull
from ribband.lining.model import Lining

__all__ = ["Band", "Flat", "bands", "laid_flat"]


@dataclass(frozen=True, slots=True, eq=False)
class Flat:
    """The expansion's ground.

    names, x_mm, rise_mm, girth_mm : (F,) frames: position (mirrored already), where the girth
        starts from, the girth
    on_keel : (F,) whether the frame starts on the keel
    stem, stern : (n, 3) girth, x, y of the hood-end lines, or None where not known
    aft : +1 where x grows aft on the drawing (port), -1 where it is mirrored
    """

    names: tuple[str, ...]
    x_mm: Floats
    rise_mm: Floats
    girth_mm: Floats
    on_keel: tuple[bool, ...]
    stem: Floats | None
    stern: Floats | None
    aft: int

    def at(self, column: int, girth: float) -> Point | None:
        """Give the point for a girth in a column of the lining (0 = stem, F + 1 = stern)."""
        if not np.isfinite(girth):
            return None
        if 0 < column <= len(self.names):
            return float(self.x_mm[column - 1]), float(self.rise_mm[column - 1] + girth)
        end = self.stem if column == 0 else self.stern
        if end is None:
            return None
        x, y = (float(np.interp(girth, end[:, 0], end[:, k])) for k in (1, 2))
        return x, y

    @property
    def sheer(self) -> Floats:
        """(n, 2) the upper edge of the planking, from forward aft."""
        top = np.column_stack([self.x_mm, self.rise_mm + self.girth_mm])
        ends = [e[-1:, 1:] if e is not None else np.empty((0, 2)) for e in (self.stem, self.stern)]
        return np.concatenate([ends[0], top, ends[1]])

    @property
    def rabbet(self) -> Floats:
        """(n, 2) the keel rabbet, from forward aft."""
        along = [
            (x, y) for x, y, on in zip(self.x_mm, self.rise_mm, self.on_keel, strict=True) if on
        ]
        fore, back = ([tuple(e[0, 1:])] if e is not None else [] for e in (self.stem, self.stern))
        return np.array([*fore, *along, *back], float)

    @property
    def box(self) -> Box:
        """What it all fills."""
        points = [self.sheer, np.column_stack([self.x_mm, self.rise_mm])]
        points += [e[:, 1:] for e in (self.stem, self.stern) if e is not None]
        every = np.concatenate(points)
        (left, low), (right, high) = every.min(axis=0), every.max(axis=0)
        return Box(float(left), min(0.0, float(low)), float(right), float(high))


@dataclass(frozen=True, slots=True, eq=False)
class Band:
    """A strake on the expansion: (n, 2) edges from forward to aft; whether its ends are known."""

    name: str
    lower: Floats
    upper: Floats
    columns: tuple[int, ...]
    fore_known: bool
    aft_known: bool

    def edges_at(self, x: float) -> tuple[float, float]:
        """Give the heights of the lower and upper edge at `x` (held beyond their ends)."""
        low, high = (_height(edge, x) for edge in (self.lower, self.upper))
        return low, high

    def middle(self, x: float) -> Point:
        """Give the point half-way up the strake at `x`."""
        low, high = self.edges_at(x)
        return x, (low + high) / 2

    @property
    def span(self) -> tuple[float, float]:
        """Least and greatest x that both edges reach."""
        lows = [min(edge[0, 0], edge[-1, 0]) for edge in (self.lower, self.upper)]
        highs = [max(edge[0, 0], edge[-1, 0]) for edge in (self.lower, self.upper)]
        return float(max(lows)), float(min(highs))


def laid_flat(hull: Hull, aft: int = -1) -> Flat:
    """Lay the side of `hull` flat; `aft` = -1 for starboard (bow to the right), 1 for port."""
    frames = hull.frames
    low = 0.0 if frames.xyz is None else float(frames.xyz[:, 0, 2].min())
    stem = _end(hull.lines, 0, low) if hull.has_stem else None
    stern = _end(hull.lines, -1, low) if hull.has_stern else None
    rise = np.array([_rise(hull, i, low, stem, stern) for i in range(len(frames.names))])
    for end in (stem, stern):
        if end is not None:
            end[:, 1] *= aft
    keel = tuple(start == "keel" for start in frames.starts)
    return Flat(frames.names, aft * frames.x_mm, rise, frames.girth_mm, keel, stem, stern, aft)


def bands(flat: Flat, lining: Lining) -> tuple[Band, ...]:
    """Give every strake of `lining` on the expansion, keel to sheer."""
    return tuple(_band(flat, lining, row) for row in range(len(lining.strakes)))


def _band(flat: Flat, lining: Lining, row: int) -> Band:
    low, high = lining.lower_girth_mm[row], lining.upper_girth_mm[row]
    last = len(lining.columns) - 1
    reached = np.flatnonzero(np.isfinite(high))
    return Band(
        lining.strakes[row].name,
        _edge(flat, low, on_rabbet=row == 0),
        _edge(flat, high, on_rabbet=False),
        tuple(int(c) for c in reached),
        bool(flat.at(0, high[0])) or reached[0] > 1,
        bool(flat.at(last, high[-1])) or reached[-1] < last - 1,
    )


def _edge(flat: Flat, girths: Floats, *, on_rabbet: bool) -> Floats:
    """Give an edge's points; a frame the edge has already run out before is left out."""
    found = [(c, flat.at(c, float(g))) for c, g in enumerate(girths)]
    points = [(c, p) for c, p in found if p is not None]
    ends = {c: p for c, p in points if c in {0, len(girths) - 1}}
    keep = []
    for c, p in points:
        inside = c in ends or all(
            (p[0] - e[0]) * flat.aft * (1 if c0 == 0 else -1) > 1.0 for c0, e in ends.items()
        )
        if inside and (c in ends or on_rabbet or girths[c] > 1e-6 or not ends):
            keep.append(p)
    return np.array(keep or [p for _, p in points], float)


def _height(edge: Floats, x: float) -> float:
    order = edge if edge[0, 0] <= edge[-1, 0] else edge[::-1]
    return float(np.interp(x, order[:, 0], order[:, 1]))


def _end(lines: GirthLines, at: int, low: float) -> Floats:
    """Give girth, x, y along a hood-end line, its own length kept true."""
    if lines.xyz is None:
        x, girth = lines.x_mm[at], lines.girth_mm[at]
        return np.array([[0.0, x, 0.0], [girth, x, girth]])
    step = np.diff(lines.xyz[at], axis=0)
    length = np.linalg.norm(step, axis=1)
    up = np.sqrt(np.maximum(length**2 - step[:, 0] ** 2, 0.0))
    s = np.concatenate([[0.0], np.cumsum(length)]) * lines.girth_mm[at] / length.sum()
    y = lines.xyz[at, 0, 2] - low + np.concatenate([[0.0], np.cumsum(up)])
    return np.column_stack([s, lines.xyz[at][:, 0], y])


def _rise(hull: Hull, frame: int, low: float, stem: Floats | None, stern: Floats | None) -> float:
    start = hull.frames.starts[frame]
    end, line = (stem, 0) if start == "stem" else (stern, -1)
    if hull.frames.xyz is None or hull.lines.xyz is None:
        return 0.0
    if start == "keel" or end is None:
        return float(hull.frames.xyz[frame, 0, 2]) - low
    return _nearest(hull.lines.xyz[line], hull.frames.xyz[frame, 0], end[:, 2])


def _nearest(run: Floats, point: Floats, values: Floats) -> float:
    """Give `values` at the foot of `point` on the broken line `run`."""
    a, step = run[:-1], np.diff(run, axis=0)
    t = np.sum((point - a) * step, axis=1) / np.maximum(np.sum(step**2, axis=1), 1e-12)
    t = np.clip(t, 0.0, 1.0)
    off = np.linalg.norm(a + t[:, None] * step - point, axis=1)
    k = int(np.argmin(off))
    return float(values[k] + t[k] * (values[k + 1] - values[k]))
