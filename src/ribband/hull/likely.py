"""How the fair surface may be out, from nothing but how the survey's readings scatter.

*Draw*: one way the surface may be out. Each begins with its edges, drawn as their own fair lines
allow; the patch between them follows, and is drawn in its turn (`patch.shaken`). The *usual error*
is that of a reading square to the surface, from what is left of the readings once as many are
taken off as the surface follows. An edge has few readings: its own scatter counts beside the
surface's as `_LENT` readings more of that.

Of two sides measured apart the mean is planned on, so draws of both are halved and added.

Not known here: a station at a wrong position, a tape that is short, a slip that was not found, or
how the hull runs where nothing was measured. With fewer than `_FEW` readings nothing is said.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ribband.hull.edges import Edges
from ribband.hull.fairrun import FairRun
from ribband.hull.model import Floats, GirthLines, Likely
from ribband.hull.patch import Frame, frame_of, live, shaken, spanned, sparse_rows
from ribband.hull.rules import HullRules
from ribband.hull.side import SideFit
from ribband.hull.surface import SplineSurface
from ribband.numerics.polyline import along
from ribband.numerics.smoothing import even_root

__all__ = ["DRAWS", "likely_out"]

DRAWS = 24  # the spread over so many is known to a seventh
_FEW = 60
_LENT = 10.0
_DENSE = 129
_LEAN = (
    5.0  # no stiffer across than this, and so much of it at the keel rabbet: the fairing chooses
)
_SOFT = 0.1  # on one hull, by readings with errors; what she may do is told more widely than that


def likely_out(fits: Sequence[SideFit], lines: GirthLines, rules: HullRules) -> Likely | None:
    """Draw how the hull may be out on its own lines; None where the readings are too few."""
    if any(np.count_nonzero(fit.use) < _FEW for fit in fits):
        return None
    each = [_of_side(fit, lines, rules, seed) for seed, fit in enumerate(fits)]
    if len(each) == 1:
        return each[0]
    return Likely(
        np.mean([one.square for one in each], axis=0),
        np.mean([one.rabbet for one in each], axis=0),
        np.mean([one.sheer for one in each], axis=0),
        float(np.sqrt(np.mean([one.usual_mm**2 for one in each]))),
    )


def _of_side(fit: SideFit, lines: GirthLines, rules: HullRules, seed: int) -> Likely:
    tensor = fit.patch.tensor
    lean = min(fit.patch.lean, _LEAN)
    frame = frame_of(fit.edges, tensor.along, tensor.across).leaning(lean, _SOFT)
    usual: list[float] = []

    def edges(spread_mm: float) -> Floats:
        usual.append(spread_mm)
        return _edges_out(fit.edges, frame, spread_mm, seed)

    out = shaken(
        frame, fit.points.xyz, fit.use, fit.patch, edges,
        sliding=rules.sliding, count=DRAWS, seed=seed,
    )  # fmt: skip
    square, rabbet, sheer = (np.asarray(a, np.float32) for a in _on_lines(fit, lines, out))
    return Likely(square, rabbet, sheer, usual[0])


def _edges_out(edges: Edges, frame: Frame, usual: float, seed: int) -> Floats:
    """Draw how the held coefficients may be out, (n_u, n_v, 3, DRAWS)."""
    chance = np.random.default_rng([seed, 1])
    runs = (*edges.rabbet_runs, edges.sheer_run)
    drawn = [_run_out(run, usual, chance) for run in runs]
    rabbet = (runs[:-1], drawn[:-1])
    values = (
        _at(edges.keel, *rabbet),
        _at(edges.sheer, runs[-1:], drawn[-1:]),
        _at(edges.stem, *rabbet) * edges.has_stem,
        _at(edges.stern, *rabbet) * edges.has_stern,
    )
    start = frame.start
    whole = spanned(edges, values, start.along, start.across)
    return whole.coefficients.reshape(*frame.free.shape, DRAWS)


def _run_out(run: FairRun, usual: float, chance: np.random.Generator) -> Floats:
    """Draw how a fair line may be out at its points, (k, 3, DRAWS); positions were set."""
    out = np.zeros((len(run.fine), 3, DRAWS))
    for axis, line in enumerate(run.lines, start=1):
        used = line.weights > 0
        room = max(float(used.sum() - (line.own * line.weights)[used].sum()), 0.0)
        scatter = float(line.weights[used] @ line.residual[used] ** 2)
        spread = np.sqrt((scatter + _LENT * usual**2) / (room + _LENT))
        even = chance.standard_normal((line.basis.size, DRAWS))
        out[:, axis] = spread * (line.basis.matrix(run.fine) @ (even_root(line.root) @ even))
    return out


def _at(points: Floats, runs: Sequence[FairRun], drawn: Sequence[Floats]) -> Floats:
    """Read draws at the points (k, 3) of an edge, which are points of its runs: (k, 3 DRAWS)."""
    from scipy.spatial import cKDTree  # noqa: PLC0415 - heavy

    _, nearest = cKDTree(np.concatenate([run.xyz for run in runs])).query(points)
    return np.concatenate(drawn)[nearest].reshape(len(points), -1)


def _on_lines(fit: SideFit, lines: GirthLines, out: Floats) -> tuple[Floats, Floats, Floats]:
    """Read draws of the coefficients on the hull's lines: square, and along it at both edges."""
    tensor = fit.patch.tensor
    u, v = lines.u, _on_patch(fit, lines)
    basis = (tensor.along, tensor.across)
    rows = sparse_rows(*basis, *live(*basis, u.ravel(), v.ravel()))
    moves = (rows @ out.reshape(rows.shape[1], -1)).reshape(*u.shape, 3, DRAWS)
    normal = SplineSurface(tensor).normal(u, v)
    square = np.einsum("lmik,lmi->klm", moves, normal)
    edges = []
    for m in (0, -1):
        ahead = tensor.at(u[:, m], v[:, m], 1, 0)
        ahead /= np.maximum(np.linalg.norm(ahead, axis=-1, keepdims=True), 1e-9)
        rest = np.moveaxis(moves[:, m], -1, 0) - square[:, :, m, None] * normal[None, :, m]
        edges.append(rest - np.einsum("kli,li->kl", rest, ahead)[..., None] * ahead)
    return square, edges[0], edges[1]


def _on_patch(fit: SideFit, lines: GirthLines) -> Floats:
    """Give v on the patch as faired where girth fractions of the lines stand, (L, M)."""
    v = np.linspace(0.0, 1.0, _DENSE)
    length = along(fit.patch.tensor.grid(lines.u[:, 0], v))
    return np.stack(
        [np.interp(at * run[-1], run, v) for at, run in zip(lines.v, length, strict=True)]
    )
