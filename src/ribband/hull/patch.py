"""Fairing the surface: a bicubic patch held to its edges, its third derivatives kept small.

    minimise  sum w [ (n . r)^2 + sliding^2 |r_t|^2 ] + smooth * (|S_uuu|^2 + |S_vvv|^2 ...)

r is a reading less its foot on the surface, n the normal there, r_t what is left along the
surface. Errors along the surface say little about its shape; weighing them fully wrinkles it.
Feet are found anew after each solution. The smoothing is chosen by generalised cross-validation
on the normal errors, with the degrees of freedom estimated by a fixed set of random probes.

*Free* coefficients are those the readings decide; edges are held. At an end that was not
measured the section keeps its plane (x is held) and is otherwise free.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ribband.hull.edges import Edges
from ribband.hull.model import Floats
from ribband.hull.surface import SplineSurface, foot_points
from ribband.numerics.banded import Banded, upper_band
from ribband.numerics.bspline import Basis, Tensor, even_basis, tensor_through
from ribband.numerics.normal import Layout, layout_of, pair_sums
from ribband.numerics.polyline import along, fill
from ribband.numerics.smoothing import COUNTED

__all__ = [
    "GARBOARD",
    "Frame",
    "Patch",
    "even_girth",
    "faired_across",
    "fit_patch",
    "frame_of",
    "live",
    "shaken",
    "spanned",
    "sparse_rows",
    "start_feet",
]

_PROBES = 8
_FEW = 60
# tried: how much stiffer across than along, and how much of that is left at the keel rabbet
_STIFFER = ((1.0, 0.01), (3.0, 0.01), (10.0, 0.001))
GARBOARD = 0.2  # of the girth, over which sections come to their own stiffness


@dataclass(frozen=True, eq=False)
class Frame:
    """What a fit starts from: the patch spanned by the edges, and which coefficients are held.

    free : (n_u, n_v, 3) True where readings decide
    penalty : sparse, over all n_u n_v coefficients of one coordinate
    """

    start: Tensor
    free: NDArray[np.bool_]
    penalty: Any

    @cached_property
    def places(self) -> NDArray[np.intp]:
        """Where the free coefficients stand among all n_u n_v 3."""
        return np.flatnonzero(self.free.reshape(-1))

    @cached_property
    def held(self) -> Floats:
        """All coefficients in a row, 0 where free."""
        return np.where(self.free, 0.0, self.start.coefficients).reshape(-1)

    @cached_property
    def layout(self) -> Layout:
        """Where the free coefficients stand in the band of the equations."""
        return layout_of(self.free)

    def leaning(self, times: float, soft: float) -> Frame:
        """Give the frame so many times stiffer across than along, and soft at the keel rabbet."""
        start = self.start
        leant = replace(self, penalty=_penalty(start.along, start.across, times, soft))
        same = ("places", "held", "layout")  # these do not hang on the penalty: reckoned once
        leant.__dict__.update({name: getattr(self, name) for name in same})
        return leant

    @cached_property
    def stiff(self) -> tuple[Floats, Floats]:
        """The penalty's band over the free coefficients, and the pull of the held ones."""
        from scipy import sparse  # noqa: PLC0415

        whole = sparse.kron(self.penalty, sparse.eye_array(3), "csr")
        free = whole[self.places]
        band = upper_band(free[:, self.places], self.layout.width)
        return band, np.asarray(free @ self.held, float)


@dataclass(frozen=True, eq=False)
class Patch:
    """A faired patch, with the feet u, v (m,) of the readings and the smoothing used."""

    tensor: Tensor
    u: Floats
    v: Floats
    smoothing: float
    stiffness: float  # smoothing in the units of the penalty
    lean: float = 1.0  # how much stiffer across than along
    soft: float = 1.0  # what is left of that at the keel rabbet

    def off(self, points: Floats) -> Floats:
        """Give how far each reading stands outside the surface, (m,)."""
        surface = SplineSurface(self.tensor)
        r = points - surface.point(self.u, self.v)
        return np.asarray(np.einsum("mi,mi->m", r, surface.normal(self.u, self.v)), float)


def frame_of(edges: Edges, along_basis: Basis, across_basis: Basis) -> Frame:
    """Span the edges (a Coons patch) and say what is held."""
    lines = (edges.keel, edges.sheer, edges.stem, edges.stern)
    start = spanned(edges, lines, along_basis, across_basis)
    free = np.ones((along_basis.size, across_basis.size, 3), bool)
    free[:, [0, -1]] = False
    for row, known in ((0, edges.has_stem), (-1, edges.has_stern)):
        free[row, :, 0] = False
        if known:
            free[row] = False
    return Frame(start, free, _penalty(along_basis, across_basis))


def spanned(
    edges: Edges, values: tuple[Floats, ...], along_basis: Basis, across_basis: Basis
) -> Tensor:
    """Span values (k, d) of keel, sheer, stem and stern, as the edges themselves are spanned.

    u and v are lengths along the edges, as fractions.
    """
    u, v = along_basis.greville, across_basis.greville
    lines = (edges.keel, edges.sheer, edges.stem, edges.stern)
    keel, sheer, stem, stern = (
        fill(at, along(line) / along(line)[-1], value)
        for at, line, value in zip((u, u, v, v), lines, values, strict=True)
    )
    a, b = u[:, None, None], v[None, :, None]
    ruled = (1 - b) * keel[:, None] + b * sheer[:, None]
    ends = (1 - a) * stem[None] + a * stern[None]
    corner = (1 - a) * ((1 - b) * stem[0] + b * stem[-1]) + a * ((1 - b) * stern[0] + b * stern[-1])
    return tensor_through(along_basis, across_basis, ruled + ends - corner)


def _penalty(along_basis: Basis, across_basis: Basis, lean: float = 1.0, soft: float = 1.0) -> Any:
    """Give the penalty on third derivatives; `lean` times as much weight on each v for a u.

    Turning across has `soft` of its weight at the keel rabbet, and all of it from `GARBOARD` on:
    sections turn fastest next to the keel.
    """
    from scipy import sparse  # noqa: PLC0415

    def softened(v: Floats) -> Floats:
        return np.asarray(soft ** np.clip(1 - v / GARBOARD, 0.0, 1.0), float)

    n_u, n_v = along_basis.size, across_basis.size
    (u, u_too), (v, v_too) = _near(n_u), _near(n_v)
    total = np.zeros((len(u), len(v)))
    for d, share in ((3, 1.0), (2, 3.0), (1, 3.0), (0, 1.0)):
        across = across_basis.gram(3 - d, softened if d < 2 and soft < 1 else None)
        along_u = share * lean ** (2 - d) * along_basis.gram(d)
        total += along_u[u, u_too][:, None] * across[v, v_too]
    row, column = (n_v * a[:, None] + b for a, b in ((u, v), (u_too, v_too)))
    places = row.ravel(), column.ravel()
    return sparse.csr_array((total.ravel(), places), shape=(n_u * n_v, n_u * n_v))


def _near(count: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Give the pairs of functions of a basis that are alive together: three apart at most."""
    one, other = np.indices((count, count))
    return tuple(np.nonzero(np.abs(one - other) < 4))  # type: ignore[return-value]


def start_feet(
    edges: Edges, points: Floats, stations: NDArray[np.intp], frame: Frame
) -> tuple[Floats, Floats]:
    """Guess u, v (m,) of readings (m, 3): v from the length along the section, u from x."""
    u, v = np.empty(len(points)), np.empty(len(points))
    keel_x, sheer_x = edges.keel[:, 0], edges.sheer[:, 0]
    for station in np.unique(stations):
        rows = np.flatnonzero(stations == station)
        x = float(points[rows, 0].mean())
        low = 0.0
        foot = fill(np.array([x]), np.maximum.accumulate(keel_x), edges.keel)[0]
        if edges.has_stem and x < keel_x[0]:
            stem = edges.stem
            part = along(stem) / along(stem)[-1]
            low = float(np.interp(-x, -stem[:, 0], part))
            foot = fill(np.array([low]), part, stem)[0]
        head = fill(np.array([x]), np.maximum.accumulate(sheer_x), edges.sheer)[0]
        run = np.concatenate([[foot], points[rows], [head]])[:, 1:]
        part = along(run)[1:-1] / along(run)[-1]
        v[rows] = low + (1 - low) * part
    fine = np.linspace(0, 1, 201)
    sheet = frame.start.grid(fine, np.linspace(0, 1, 41))[..., 0]
    for i, (x, at) in enumerate(zip(points[:, 0], v, strict=True)):
        j = at * 40
        k = min(int(j), 39)
        run_x = np.maximum.accumulate(sheet[:, k] * (1 - j + k) + sheet[:, k + 1] * (j - k))
        u[i] = np.interp(x, run_x, fine)
    return u, v


def fit_patch(
    frame: Frame,
    points: Floats,
    weights: Floats,
    feet: tuple[Floats, Floats],
    *,
    sliding: float,
    close: float = np.inf,
    begin: Patch | None = None,
) -> Patch:
    """Fair a patch to readings (m, 3); weight 0 leaves one out but still finds its foot.

    Fewer than `_FEW` readings cannot tell their own error: the surface is then no stiffer than
    brings it within `close`, rms.

    From `begin` two rounds do, and the smoothing is sought near the one used there.
    """
    tensor, (u, v) = frame.start, feet
    chosen: float | None = None
    if begin is not None:
        tensor, u, v, chosen = begin.tensor, begin.u, begin.v, begin.smoothing
    system = None
    if np.count_nonzero(weights) >= _FEW:
        close = np.inf
    for turn in range(4 if begin is None else 2):
        blind = begin is None and turn == 0
        system = _System(frame, points, weights, (u, v), _ways(tensor, u, v, sliding, blind=blind))
        if turn < (2 if begin is None else 1):
            chosen = system.choose(chosen, close)
        tensor = system.surface(chosen or 1.0)
        u, v = foot_points(tensor, points, u, v, 3)
    stiffness = (chosen or 1.0) * (system.scale if system else 1.0)
    return Patch(tensor, u, v, chosen or 1.0, stiffness)


def faired_across(
    frame: Frame, points: Floats, weights: Floats, patch: Patch, *, sliding: float
) -> Patch:
    """Fair a patch once more, soft at the garboard, stiff across as the readings would have it.

    Sections turn fastest next to the keel rabbet, and are let do so there. Elsewhere they mostly
    turn more gently than u and v, both from 0 to 1, allow for; how much more differs from hull to
    hull, and is chosen by cross-validation as the smoothing is. Fewer than `_FEW` readings are
    left as they are, since they were faired to a tolerance.
    """
    if np.count_nonzero(weights) < _FEW:
        return patch
    feet = patch.u, patch.v
    system = _System(frame, points, weights, feet, _ways(patch.tensor, *feet, sliding, blind=False))
    tried = {way: system.penalised(frame.leaning(*way)) for way in _STIFFER}
    scores = {way: each.score(patch.stiffness / each.scale)[0] for way, each in tried.items()}
    best = min(scores, key=scores.__getitem__)
    chosen = tried[best]
    smoothing = chosen.walked(patch.stiffness / chosen.scale)
    stiffness = smoothing * chosen.scale
    tensor = chosen.surface(smoothing)
    feet = foot_points(tensor, points, *feet, 3)
    ways = _ways(tensor, *feet, sliding, blind=False)
    last = _System(chosen.frame, points, weights, feet, ways)
    tensor = last.surface(stiffness / last.scale)
    u, v = foot_points(tensor, points, *feet, 3)
    return Patch(tensor, u, v, stiffness / last.scale, stiffness, *best)


def shaken(
    frame: Frame,
    points: Floats,
    weights: Floats,
    patch: Patch,
    edges: Callable[[float], Floats],
    *,
    sliding: float,
    count: int,
    seed: int = 0,
) -> Floats:
    """Draw how the patch may be out, (n_u, n_v, 3, count), from how its readings are.

    A patch so smoothed is the likeliest of all whose third derivatives spread by chance as its
    stiffness says (Wahba 1983): given the readings these spread about it as the equations'
    inverse, times the square of the usual error. `edges` draws, for that error, how the held
    coefficients may be out; the free ones follow them.
    """
    feet = patch.u, patch.v
    ways = _ways(patch.tensor, *feet, sliding, blind=False)
    system = _System(frame, points, weights, feet, ways)
    _, factor = system.solve(patch.stiffness / system.scale)
    usual = system.usual(patch, factor)
    moved = np.where(frame.free[..., None], 0.0, edges(usual)).reshape(-1, count)
    even = np.random.default_rng([seed, 2]).standard_normal((len(frame.places), count))
    moved[frame.places] = usual * factor.drawn(even) - factor.solve(
        system.pulled(moved, patch.stiffness)
    )
    return moved.reshape(*frame.free.shape, count)


def _ways(
    tensor: Tensor, u: Floats, v: Floats, sliding: float, *, blind: bool
) -> tuple[Floats, Floats]:
    """Give how errors weigh by direction (m, 3, 3), and normals; blind to normals at first."""
    if blind:
        sideways = np.broadcast_to([0.0, 1.0, 0.0], (len(u), 3))
        return np.broadcast_to(np.eye(3), (len(u), 3, 3)), sideways
    normal = SplineSurface(tensor).normal(u, v)
    outer = normal[:, :, None] * normal[:, None, :]
    return sliding**2 * np.eye(3) + (1 - sliding**2) * outer, normal


class _System:
    """The linear equations of one round, with smoothing still open."""

    def __init__(
        self,
        frame: Frame,
        points: Floats,
        weights: Floats,
        feet: tuple[Floats, Floats],
        ways: tuple[Floats, Floats],
    ) -> None:
        self.frame, self.points, self.weights = frame, points, weights
        weigh, self.normal = ways
        start = frame.start
        first, values = live(start.along, start.across, *feet)
        self.rows = sparse_rows(start.along, start.across, first, values)
        self.turned = self.rows.T.tocsr()
        self.weighed = weighed = weights[:, None, None] * weigh
        pairs = pair_sums((start.along.size, start.across.size), first, values, weighed)
        self.band = frame.layout.band(pairs)
        left = points - self.rows @ frame.held.reshape(-1, 3)
        right = self.turned @ np.einsum("mij,mj->mi", weighed, left)
        self.right = right.reshape(-1)[frame.places]
        self.scale = self.band[-1].sum() / frame.stiff[0][-1].sum()
        self.found: dict[float, Tensor] = {}

    def penalised(self, frame: Frame) -> _System:
        """Give the same equations with the penalty of another frame, all else being shared."""
        other = copy(self)
        other.frame, other.found = frame, {}
        other.scale = self.band[-1].sum() / frame.stiff[0][-1].sum()
        return other

    def surface(self, smoothing: float) -> Tensor:
        """Give the surface of a smoothing, solved for if it has not been tried."""
        return self.found.get(smoothing) or self.solve(smoothing)[0]

    def solve(self, smoothing: float) -> tuple[Tensor, Banded]:
        """Solve with `smoothing` times the natural scale of the equations."""
        stiff, pull = self.frame.stiff
        band = smoothing * self.scale * stiff
        band += self.band
        band[-1] += 1e-10 * band[-1].mean()
        factor = Banded(band)
        full = self.frame.held.copy()
        full[self.frame.places] = factor.solve(self.right - smoothing * self.scale * pull)
        start = self.frame.start
        shape = start.coefficients.shape
        tensor = Tensor(start.along, start.across, full.reshape(shape))
        self.found[smoothing] = tensor
        return tensor, factor

    def usual(self, patch: Patch, factor: Banded) -> float:
        """Give the usual error of a reading, square to the surface, mm."""
        used = self.weights > 0
        off = patch.off(self.points)[used]
        room = max(int(used.sum()) - self.freedom(factor), 0.1 * int(used.sum()))
        return float(np.sqrt(self.weights[used] @ off**2 / room))

    def pulled(self, held: Floats, stiffness: float) -> Floats:
        """Give the pull of held coefficients (n_u n_v 3, k) on the free ones."""
        from scipy import sparse  # noqa: PLC0415

        places, count = self.frame.places, held.shape[1]
        penalty = sparse.kron(self.frame.penalty, sparse.eye_array(3), "csr")[places]
        moved = (self.rows @ held.reshape(-1, 3 * count)).reshape(-1, 3, count)
        weighed = np.einsum("mij,mjk->mik", self.weighed, moved)
        back = self.turned @ weighed.reshape(len(weighed), -1)
        return np.asarray(back.reshape(-1, count)[places] + stiffness * (penalty @ held), float)

    def score(self, smoothing: float) -> tuple[float, float]:
        """Give the cross-validation score of the normal errors, and how great they are, rms."""
        tensor, factor = self.solve(smoothing)
        used = np.flatnonzero(self.weights > 0)
        root = np.sqrt(self.weights[used])
        fitted = self.rows @ tensor.coefficients.reshape(-1, 3)
        off = np.einsum("mi,mi->m", (self.points - fitted)[used], self.normal[used]) * root
        room = len(used) - COUNTED * self.freedom(factor)
        rms = float(np.sqrt(off @ off / len(used)))
        if room < 0.1 * len(used):  # as good as a line through every reading
            return float("inf"), rms
        return float(len(used) * (off @ off) / room**2), rms

    def freedom(self, factor: Banded) -> float:
        """Give how many of the readings' errors the surface follows, by a fixed set of probes."""
        used = np.flatnonzero(self.weights > 0)
        sides = (np.sqrt(self.weights[used])[:, None] * self.normal[used])[:, :, None]
        probes = np.sign(np.random.default_rng(1).standard_normal((len(used), _PROBES)))
        sides = sides * probes[:, None, :]
        right = np.stack([(self.rows[used].T @ sides[:, i]) for i in range(3)], axis=1)
        right = right.reshape(-1, _PROBES)[self.frame.places]
        return float((factor.solve(right) * right).sum()) / _PROBES

    def choose(self, near: float | None, close: float) -> float:
        """Choose the smoothing: over a wide range at first, then near the last choice."""
        if near is not None and close == np.inf:
            return self.walked(near)
        if near is None:
            at = 10.0 ** np.arange(-3.0, 6.1, 1.5)
        else:
            at = near * 10.0 ** np.array([-0.8, -0.4, 0.0, 0.4, 0.8])
        scores, rms = (np.array(each) for each in zip(*map(self.score, at), strict=True))
        within = rms <= close
        if np.isfinite(scores[within]).any():
            return float(at[int(np.argmin(np.where(within, scores, np.inf)))])
        if within.any():
            return float(at[within].max())
        return float(at[int(np.argmin(scores))] if close == np.inf else at[0])

    def walked(self, near: float) -> float:
        """Walk from the last choice while the score falls, by steps of 10^0.4, two at most."""
        here = self.score(near)[0]
        for way in (1.0, -1.0):
            at = near
            for step in (1, 2):
                beyond = near * 10.0 ** (0.4 * way * step)
                score = self.score(beyond)[0]
                if score >= here and np.isfinite(here):
                    break
                at, here = beyond, score
            if at != near:
                return at
        return near


def live(
    along_basis: Basis, across_basis: Basis, u: Floats, v: Floats
) -> tuple[tuple[NDArray[np.intp], NDArray[np.intp]], Floats]:
    """Give the first live function each way (m,), and the 16 values (m, 16), at feet (m,)."""
    first_u, value_u = along_basis.alive(u)
    first_v, value_v = across_basis.alive(v)
    return (first_u, first_v), (value_u[:, :, None] * value_v[:, None, :]).reshape(-1, 16)


def sparse_rows(
    along_basis: Basis,
    across_basis: Basis,
    first: tuple[NDArray[np.intp], NDArray[np.intp]],
    values: Floats,
) -> Any:
    """Give the sparse (m, n_u n_v) matrix of the tensor basis, from `live`."""
    from scipy import sparse  # noqa: PLC0415

    columns = (first[0][:, None] + np.arange(4))[:, :, None] * across_basis.size
    columns = columns + (first[1][:, None] + np.arange(4))[:, None, :]
    starts = np.arange(len(values) + 1) * 16
    shape = (len(values), along_basis.size * across_basis.size)
    return sparse.csr_array((values.ravel(), columns.ravel(), starts), shape=shape)


def even_girth(tensor: Tensor, finer: int = 3) -> Tensor:
    """Give the same surface with v the girth fraction along every u = const.

    The new breaks across are `finer` times as close, so that nothing is lost by the change.
    """
    u, v = tensor.along.greville, np.linspace(0, 1, 257)
    across = even_basis(finer * (tensor.across.size - 3))
    length = along(tensor.grid(u, v))
    wanted = across.greville
    at = np.stack([np.interp(wanted * row[-1], row, v) for row in length])
    values = tensor.at(np.broadcast_to(u[:, None], at.shape), at)
    return tensor_through(tensor.along, across, values)
