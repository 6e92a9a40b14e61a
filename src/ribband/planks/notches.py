"""Notches: where a stealer's nib is let into the plank above it.

The grid of such a plank runs over from the seam below the stealer to the seam above it within a
short way. Here its true lower edge is put in: along the one seam to the corner of the nib, along
the nib, and on along the other seam; points beside the grid's edge are read across the flat
plank. Batten figures are read again from that edge; at the nib's own frame they are of the
narrower side, as the lining has it.

Not checked: that the nib lies inside one plank (a butt at a nib is left as the grid has it).
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats
from ribband.numerics.rows import refined, through_all
from ribband.planks.laid import FINER, Crossings, Laid
from ribband.planks.opening import Opening, Seams

__all__ = ["cut_notches"]


def cut_notches(  # noqa: PLR0917 - the planks, on the hull and flat
    every: Opening,
    opening: Opening,
    seams: Seams,
    laid: Laid,
    at: Crossings,
    frames: tuple[str, ...],
) -> tuple[Laid, Crossings]:
    """Give the planks of `opening`, and their figures, with notches in their lower edges.

    The nibs are of planks among `every` one on the hull; they stand on one of `frames`.
    """
    lower, figures, lines = laid.lower.copy(), at.lower.copy(), at.line.copy()
    for p, nib in _notched(every, opening, seams):
        lower[p] = _edge(opening, seams, laid, p, nib)
        mine = np.flatnonzero(at.plank == p)
        here = at.frame[mine] == frames.index(nib.frame)
        figures[mine] = _figures(lower[p], at.along[mine], here)
        low = _figures(lower[p], lines[mine, 0, 0], here)
        lines[mine] = [_from(line, y) for line, y in zip(lines[mine], low, strict=True)]
    return replace(laid, lower=lower), replace(at, lower=figures, line=lines)


def _from(line: Floats, low: float) -> Floats:
    """Give a frame's line (m, 2) so that it begins at the height `low`."""
    y = np.linspace(low, line[-1, 1], len(line))
    x = np.polynomial.Polynomial.fit(line[:, 1], line[:, 0], 2)(y)
    return np.stack([x, y], axis=1)


class _Nib(NamedTuple):
    """A nib: the frame it stands on, whether it is a fore end, u of its lower and upper corner."""

    frame: str
    fore: bool
    corner: Floats


def _notched(every: Opening, opening: Opening, seams: Seams) -> list[tuple[int, _Nib]]:
    """Pair each plank of `opening` that has a nib in its lower edge with that nib."""
    found = []
    for nib, piece in enumerate(every.piece):
        for k, end in ((0, piece.fore), (-1, piece.aft)):
            if end.landing != "nib":
                continue
            corner = every.u[nib, k, [0, -1]]
            for p, other in enumerate(opening.piece):
                inside = opening.u[p, 0, 0] < corner[1] < opening.u[p, -1, 0]
                if seams.under[other.strake] == piece.strake and inside:
                    found.append((p, _Nib(end.at, k == 0, corner)))
    return found


def _edge(opening: Opening, seams: Seams, laid: Laid, p: int, nib: _Nib) -> Floats:
    """Give the lower edge (k, 2) with the notch for a nib."""
    row = opening.piece[p].strake
    grid = np.concatenate([opening.u[p], opening.v[p]], axis=1)
    u, v = np.split(refined(grid[None], FINER)[0], 2, axis=1)
    flat = refined(laid.points[p].reshape(1, len(u) // FINER + 1, -1), FINER)[0]
    flat = flat.reshape(len(u), -1, 2)
    fore, corner = nib.fore, nib.corner
    below, above = (_beside(seams, seam, u, v, flat) for seam in (int(seams.under[row]), row))
    sides = ((below, corner[0]), (above, corner[1]))
    (first, end), (last, start) = sides if fore else sides[::-1]
    ahead = first[1] < end
    split = int(np.clip(ahead.sum(), 2, len(u) - 2))
    edge = np.concatenate([first[0][:split], last[0][split:]])
    edge[split - 1] = _at(first, end)
    edge[split] = _at(last, start)
    beyond = np.flatnonzero(last[1][split + 1 :] <= start) + split + 1
    edge[beyond] = edge[split]
    return edge


def _beside(seams: Seams, seam: int, u: Floats, v: Floats, flat: Floats) -> tuple[Floats, Floats]:
    """Give the flat points (k, 2) and u (k,) where a seam crosses each line."""
    count = u.shape[1]
    place, rows = np.zeros(len(u)), np.full(len(u), seam)
    a_row = np.maximum(v[:, -1] - v[:, 0], 1e-9) / (count - 1)
    for _ in range(8):
        weight = through_all(place, count)
        here = (weight * u).sum(axis=1)
        place = place + (seams.seam(rows, here) - (weight * v).sum(axis=1)) / a_row
    return np.einsum("km,kmi->ki", through_all(place, count), flat), here


def _at(side: tuple[Floats, Floats], u: float) -> Floats:
    """Give the flat point of a side at u."""
    return np.array([np.interp(u, side[1], side[0][:, c]) for c in (0, 1)])


def _figures(edge: Floats, along: Floats, nib: NDArray[np.bool_]) -> Floats:
    """Read an edge with one jump in it; at the nib's own frame, the higher of both sides."""
    jump = int(np.argmax(np.abs(np.diff(edge[:, 1]) - np.median(np.diff(edge[:, 1])))))
    parts = [edge[: jump + 1], edge[jump + 1 :]]
    low = [np.interp(along, part[:, 0], part[:, 1]) for part in parts]
    middle = (edge[jump, 0] + edge[jump + 1, 0]) / 2
    return np.where(nib, np.maximum(*low), np.where(along < middle, *low))
