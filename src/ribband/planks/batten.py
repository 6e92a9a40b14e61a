"""The spiling batten: how a thin straight board lies on the hull over each plank.

A batten that is not forced edgeways lies along a geodesic. It starts and ends where the flat
plank's batten line does; between, each point slides across the plank until the curve turns
nowhere in the surface (Newton's method on the turning; points stay on the grid's lines across).
Beyond the rabbet or sheer the hull is carried on straight.

The figures on the batten are taken from the flat plank, not square off this curve: on a doubly
curved hull the two differ.

Not checked: that nothing stands in the batten's way.
"""

from __future__ import annotations

import numpy as np

from ribband.hull.model import Floats, Surface
from ribband.hull.surface import points_and_normals
from ribband.numerics.flattening import unit
from ribband.planks.laid import Laid
from ribband.planks.opening import Opening

__all__ = ["lay_battens"]

ROUNDS = 2
NARROW_MM = 20.0
HAIR = 1e-3


def lay_battens(surface: Surface, opening: Opening, laid: Laid) -> Floats:
    """Give where each plank's batten lies on the hull, (P, n, 3)."""
    t = _first_guess(laid)
    span = opening.xyz[:, :, -1] - opening.xyz[:, :, 0]
    wide = np.maximum(np.linalg.norm(span, axis=-1), NARROW_MM)
    for _ in range(ROUNDS):
        point, normal = _beyond(surface, *_spread(opening, t))
        t[:, 1:-1] += np.clip(_slide(point, normal, span)[:, 1:-1] / wide[:, 1:-1], -1.0, 1.0)
    return _beyond(surface, *_spread(opening, t))[0]


def _first_guess(laid: Laid) -> Floats:
    """Give where the batten line cuts the lines across the flat plank, as parts of the width."""
    low, high = laid.points[:, :, 0, 1], laid.points[:, :, -1, 1]
    t = -low / np.maximum(high - low, NARROW_MM)
    t[:, 0], t[:, -1] = laid.ends.T
    return np.asarray(t, float)


def _spread(opening: Opening, t: Floats) -> tuple[Floats, Floats]:
    """Give u, v (P, n) at parts t of the width; straight on beyond the edges."""
    steps = opening.u.shape[2] - 1
    k = np.clip(np.floor(t * steps).astype(int), 0, steps - 1)[..., None]
    part = t * steps - k[..., 0]
    found = []
    for grid in (opening.u, opening.v):
        low, high = (np.take_along_axis(grid, k + j, 2)[..., 0] for j in (0, 1))
        found.append(low + (high - low) * part)
    return found[0], found[1]


def _beyond(surface: Surface, u: Floats, v: Floats) -> tuple[Floats, Floats]:
    """Give points and normals; beyond v = 0 and v = 1 the surface runs on straight."""
    u = np.clip(u, 0.0, 1.0)
    inside = np.clip(v, 0.0, 1.0)
    point, normal = points_and_normals(surface, u, inside)
    over = v - inside
    out = over != 0
    if out.any():
        back = inside[out] - np.sign(over[out]) * HAIR
        slope = (point[out] - surface.point(u[out], back)) / (inside[out] - back)[:, None]
        point[out] += slope * over[out][:, None]
    return point, normal


def _slide(point: Floats, normal: Floats, span: Floats) -> Floats:
    """Give how far each point must slide across to take the turning out of the curve, (P, n)."""
    from scipy.linalg import solve_banded  # noqa: PLC0415 - heavy

    step = np.diff(point, axis=1)
    length = np.maximum(np.linalg.norm(step, axis=-1), 1e-3)
    way = step / length[..., None]
    ahead = unit(way[:, 1:] + way[:, :-1])
    side = unit(np.cross(normal[:, 1:-1], ahead))
    side *= np.sign(np.einsum("pni,pni->pn", side, span[:, 1:-1]))[..., None]
    turn = np.einsum("pni,pni->pn", way[:, 1:] - way[:, :-1], side)
    stiff = 1 / length
    bands = np.zeros((3, *point.shape[:2]))
    bands[1] = 1.0
    bands[1, :, 1:-1] = -(stiff[:, 1:] + stiff[:, :-1])
    bands[0, :, 2:] = stiff[:, 1:]
    bands[2, :, :-2] = stiff[:, :-1]
    right = np.zeros(point.shape[:2])
    right[:, 1:-1] = -turn
    flat = bands.reshape(3, -1)
    return np.asarray(solve_banded((1, 1), flat, right.ravel()).reshape(right.shape), float)
