"""Cutting the seams with the frames: what the shipwright sets off.

A seam is known by its girth fraction on every line; between lines by its smooth curve (`curves`),
the same that planks are opened along. On a frame's cut it is found by Newton's method on
v_frame(t) = v_seam(u_frame(t)). How a crossing moves with the seam is taken from the cubic through
the four nearest lines, so that it hangs on four unknowns only.
Columns of every table are the stem, the frames, the stern. Widths are square across: girth
along the frame between the two seams, times the sine of the angle between strake and frame; with
girths alone, which tell no angle, the girth itself.

Not checked: that a seam crosses a frame once only.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats
from ribband.lining.curves import SeamCurves, curves_through
from ribband.lining.division import Division, Ints
from ribband.lining.ground import Ground, Spots
from ribband.numerics.local import four_nearest

__all__ = ["Cut", "cut_seams"]


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """Seams at the columns (R = S + 1 rows, C = F + 2 columns).

    girth : (R, C) mm along the frame; point, tangent : (R, C, 3)
    row : (R, C) the seam that stands for each row there; index, weight : (R, C, 4) the lines
    its crossing hangs on
    by_fraction : (R, C) mm the crossing moves along the frame for a unit of girth fraction
    there : (S, C) where a strake stands; width, sine : (S, C); rise : (S, C) mm the frame rises
    over the chord of a strake, square across
    spots : the seams on the lines
    whole : (S, C) False also where a strake is cut off below by the stem
    """

    girth: Floats
    point: Floats
    tangent: Floats
    row: Ints
    index: Ints
    weight: Floats
    by_fraction: Floats
    there: NDArray[np.bool_]
    whole: NDArray[np.bool_]
    width: Floats
    sine: Floats
    rise: Floats
    spots: Spots


def cut_seams(
    ground: Ground,
    division: Division,
    fraction: Floats,
    sine_floor: float,
    near: Cut | None = None,
) -> Cut:
    """Cut the seams `fraction` (R, L) with every frame and hood end.

    `near` is a cut of seams that lie nearly so: the crossings are looked for from there.
    """
    spots = ground.on_lines(fraction)
    row = _source(division)
    t, lean, index, weight, slope = _crossings(ground, division, spots, row, near)
    at = (row[..., None], index)
    tangent = np.einsum("rcq,rcqx->rcx", slope, spots.point[at])
    tangent = _unit(tangent)
    here, _ = ground.on_frames(t, np.broadcast_to(np.arange(t.shape[1]), t.shape))
    ends = fraction[:, :1] * ground.girth[0], fraction[:, -1:] * ground.girth[-1]
    girth = np.hstack([ends[0], t * ground.frame_girth, ends[1]])
    v_slope = np.einsum("rcq,rcq->rc", weight, spots.v_slope[at])
    v_slope[:, 0] = v_slope[:, -1] = 1.0
    by = np.empty_like(girth)
    by[:, 0], by[:, 1:-1], by[:, -1] = ground.girth[0], ground.frame_girth * lean, ground.girth[-1]
    point = np.concatenate([spots.point[:, :1], here, spots.point[:, -1:]], axis=1)
    there, whole = _standing(ground, division, t)
    middle, up = _middles(ground, fraction, t)
    sine = np.maximum(_sine(tangent, up), ground.least_sine(sine_floor))
    width = np.diff(girth, axis=0) * sine
    rise = np.linalg.norm(middle - (point[1:] + point[:-1]) / 2, axis=-1) * sine**2
    return Cut(
        girth, point, tangent, row, index, weight, by * v_slope, there, whole, width, sine, rise,
        spots,
    )  # fmt: skip


def _source(division: Division) -> Ints:
    """Which seam stands for each (R, C): the one below where a stealer does not stand."""
    stands = _stands(division)
    rows = np.repeat(np.arange(division.strakes + 1)[:, None], stands.shape[1], axis=1)
    for k, stealer in enumerate(division.stealers):
        if stealer is not None:
            rows[k + 1] = np.where(stands[k], k + 1, rows[k])
    return rows


def _stands(division: Division) -> NDArray[np.bool_]:
    present = division.present()
    return np.hstack([present[:, :1], division.on_frame, present[:, -1:]])


def _standing(
    ground: Ground, division: Division, t: Floats
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Tell (S, C) where a strake stands with any width, and with its whole width."""
    meets = t > 1e-9
    lower = meets[:-1].copy()
    lower[0] = [s == "keel" for s in ground.hull.frames.starts]
    ends = (np.full((len(t) - 1, 1), e) for e in (ground.hull.has_stem, ground.hull.has_stern))
    stem, stern = ends
    stands = _stands(division)
    there = stands & np.hstack([stem, meets[1:], stern])
    return there, there & np.hstack([stem, lower, stern])


def _crossings(
    ground: Ground, division: Division, spots: Spots, row: Ints, near: Cut | None
) -> tuple[Floats, Floats, Ints, Floats, Floats]:
    first, last = _spans(division)
    start = _first_guess(ground, spots)
    if near is not None:
        own = row[:, 1:-1] == np.arange(len(row))[:, None]
        start = np.where(own, near.girth[:, 1:-1] / ground.frame_girth, start)
    t, u, lean = _cross(ground, _curves(ground, division, spots), start)
    frame = np.arange(t.shape[1])
    t, u, lean = (a[row[:, 1:-1], frame] for a in (t, u, lean))
    ends = np.ones((len(t), 1))
    places = np.hstack([ends * ground.u[0], u, ends * ground.u[-1]])
    index, weight, slope = four_nearest(ground.u, places, first[row[:, :], 0], last[row[:, :], 0])
    return t, lean, index, weight, slope


def _spans(division: Division) -> tuple[Ints, Ints]:
    """Lines each seam may be interpolated on: a stealer's upper seam only where it stands."""
    lines = division.unknown.shape[1]
    first, last = np.zeros(division.strakes + 1, int), np.full(division.strakes + 1, lines - 1)
    for k, stealer in enumerate(division.stealers):
        if stealer is not None:
            first[k + 1], last[k + 1] = division.first[k], division.last[k]
    return first[:, None], last[:, None]


def _first_guess(ground: Ground, spots: Spots) -> Floats:
    """Guess where seams cross frames, (R, F): as if each frame lay on one line."""
    middle = ground.hull.frames.u[:, ground.hull.frames.u.shape[1] // 2]
    v_there = np.array([np.interp(middle, ground.u, v) for v in spots.v])
    starts = ground.hull.frames.v[:, 0]
    guess: Floats = np.clip((v_there - starts) / (1.0 - starts), 0.0, 1.0)
    return guess


def _curves(ground: Ground, division: Division, spots: Spots) -> SeamCurves:
    """Put the smooth curves through the seams, a stealer's upper one where it stands alone."""
    stands = {
        k + 1: (int(division.first[k]), int(division.last[k]))
        for k, stealer in enumerate(division.stealers)
        if stealer is not None
    }
    ends = (spots.point[:, :4], spots.point[:, :-5:-1]) if ground.hull.in_space else None
    return curves_through(ground.u, spots.v, stands, ends)


def _cross(ground: Ground, curves: SeamCurves, start: Floats) -> tuple[Floats, Floats, Floats]:
    """Find where seams cross frames: fraction along the cut, u there, and d(fraction)/d(v seam)."""
    t = start
    frame = np.broadcast_to(np.arange(t.shape[1]), t.shape)
    row = np.broadcast_to(np.arange(len(t))[:, None], t.shape)
    even = ground.hull.frames is ground.hull.lines
    lean = np.ones_like(t)
    for _ in range(1 if even else 5):
        here, slope = ground.frame_places.at(t, frame)
        v, by_u = curves.with_slope(row, np.clip(here[..., 1], 0.0, 1.0))
        lean = 1.0 / np.maximum(slope[..., 0] - by_u * slope[..., 1], 0.05)
        before, t = t, np.clip(t - (here[..., 0] - v) * lean, 0.0, 1.0)
        if np.abs(t - before).max() < 1e-9:  # a seam that passes a frame by lies still at its end
            break
    t[0], t[-1] = 0.0, 1.0
    lean[0] = lean[-1] = 0.0
    lean[t <= 0.0] = 0.0
    return t, np.clip(ground.frame_places.at(t, frame)[0][..., 1], 0.0, 1.0), lean


def _middles(ground: Ground, fraction: Floats, t: Floats) -> tuple[Floats, Floats]:
    """Point, and unit vector up the frame, (S, C, 3) at each strake's middle."""
    middle = (t[1:] + t[:-1]) / 2
    frame = np.broadcast_to(np.arange(middle.shape[1]), middle.shape)
    value, slope = ground.on_frames(middle, frame)
    ends = (fraction[1:, [0, -1]] + fraction[:-1, [0, -1]]) / 2
    line = np.broadcast_to([0, len(ground.u) - 1], ends.shape)
    end_value, end_slope = (part[..., :3] for part in ground.lines.at(ends, line))
    point = np.concatenate([end_value[:, :1], value, end_value[:, 1:]], axis=1)
    up = np.concatenate([end_slope[:, :1], slope, end_slope[:, 1:]], axis=1)
    return point, _unit(up)


def _sine(tangent: Floats, up: Floats) -> Floats:
    """Sine (S, C) of the angle between the strake and the frame, at the strake's middle."""
    cosine = np.einsum("...i,...i->...", _unit(tangent[1:] + tangent[:-1]), up)
    sine: Floats = np.sqrt(np.maximum(1.0 - cosine**2, 0.0))
    return sine


def _unit(vector: Floats) -> Floats:
    length = np.sqrt(np.einsum("...i,...i->...", vector, vector)) + 1e-300
    unit: Floats = vector / length[..., None]
    return unit
