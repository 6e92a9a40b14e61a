"""The planked hull in space as the seams lie now, for the screen, again and again in a drag.

Every plank is a net of stations across it, inner and outer face. Along the strake a station stays
where it was when the net was made; across, it lies between the seams as they are now. So a drag
moves points and changes nothing else, and points alone are sent.

Where both sides are alike one side is sent, and mirrored on the screen. Axes: x aft, y to
starboard, z up, metres.

Not checked: that butts are where the rules want them with the seams as they are.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ribband.app.screens.drag_planks import as_dragged, butts_on, why_none
from ribband.app.screens.kept import Lying
from ribband.app.screens.planks import packed_hull
from ribband.errors import InputError, Problem
from ribband.hull.model import Floats

if TYPE_CHECKING:
    from ribband.lining.lineout import Drag
    from ribband.planks.opening import Opening

__all__ = ["Net", "net_of", "points_now", "whole_now"]

Ints = NDArray[np.intp]
STATIONS, ACROSS = 3, 2  # every so many of an opening's lines and rows
LEAST_MM = 6.0  # of thickness, so that a face is seen where none is known
MOST_NETS = 2
_NETS: dict[Any, Net] = {}


@dataclass(frozen=True, slots=True, eq=False)
class Net:
    """Stations of P planks: u (P, n, m), parts of the width t (m,), rows of strakes (P,).

    side : (P,) 1 as made (starboard), -1 mirrored; planks : name, side, strake of each
    mirrored : the other side is the mirror of this one
    """

    u: Floats
    t: Floats
    strake: Ints
    side: Floats
    planks: tuple[tuple[str, str, str], ...]
    mirrored: bool
    dressed_mm: float


def net_of(on: Lying, drag: Drag) -> Net:
    """Give the net for these strakes and butts, made once for a state of the job.

    Raises
    ------
    InputError : there are no planks yet, or only girths are known
    """
    if why := why_none(on, drag):
        raise InputError([Problem("planks", 0, "", "no planks", why)])
    lining = as_dragged(on, drag)
    names = tuple((s.name, s.first, s.last) for s in lining.strakes)
    key = (on.path, tuple(on.marks.values()), names, on.rules("shapes"))
    if key not in _NETS:
        while len(_NETS) >= MOST_NETS:
            _NETS.pop(next(iter(_NETS)))
        _NETS[key] = _made(on, drag)
    return _NETS[key]


def whole_now(on: Lying, drag: Drag) -> bytes:
    """Give the hull: a heading in JSON, points and triangles, as `screens.planks.hull_bytes`.

    The heading's `mirrored` tells that points and triangles are of the first half of the planks.
    """
    net = net_of(on, drag)
    points = points_now(on, drag)
    quads = _quads(*net.u.shape[1:])
    a, b, c, d = quads.T
    facets = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    each = 2 * net.u[0].size
    triangles = (facets[None] + each * np.arange(len(net.u))[:, None, None]).astype("<u4")
    planks = [
        {"name": name, "side": side, "strake": strake, "points": each, "triangles": len(facets)}
        for name, side, strake in net.planks
    ]
    heading = {
        "planks": planks, "points": each * len(net.u), "triangles": triangles.size // 3,
        "mirrored": net.mirrored,
    }  # fmt: skip
    return packed_hull(heading, points, triangles.tobytes())


def points_now(on: Lying, drag: Drag) -> bytes:
    """Give the net's points (float32, metres) as the seams lie now: inner and outer in turn."""
    from ribband.hull.surface import points_and_normals
    from ribband.planks.opening import seams_of

    net = net_of(on, drag)
    assert on.hull is not None and on.hull.surface is not None  # noqa: S101, PT018 - net_of saw it
    seams = seams_of(on.hull.surface, as_dragged(on, drag), on.hull)
    lower, upper = seams.edges(net.strake[:, None, None] + np.zeros(net.u.shape, int), net.u)
    inner, normal = points_and_normals(on.hull.surface, net.u, lower + (upper - lower) * net.t)
    outer = inner + net.dressed_mm * normal
    both = np.stack([inner, outer], axis=3)
    both[..., 1] *= net.side[:, None, None, None]
    points: bytes = (both / 1000.0).astype("<f4").tobytes()
    return points


def _made(on: Lying, drag: Drag) -> Net:
    from ribband.planks.shapes import thickness_of

    assert on.hull is not None  # noqa: S101 - why_none saw it
    ways, layout, other = on.result("butts") or (None, None, None)
    rules = on.rules("shapes")
    alike = on.rules("butts").sides == "mirrored"
    sides = [("port", "P", -1.0, layout)]
    if alike or other is not None:
        sides = [("starboard", "S", 1.0, other or layout), *([] if alike else sides)]
    cut = [_opened(on, drag, (ways, laid, None)) for *_, laid in sides]
    opened = [o for o, _ in cut]
    said = [
        (f"{letter}{name}", side, names[piece.strake])
        for (side, letter, *_), (one, names) in zip(sides, cut, strict=True)
        for name, piece in zip(one.name, one.piece, strict=True)
    ]
    if alike:
        said += [(f"P{name[1:]}", "port", strake) for name, _, strake in said]
    u = np.concatenate([o.u[:, ::STATIONS, ::ACROSS] for o in opened])
    rows = np.concatenate([o.strake for o in opened])
    sign = np.concatenate([np.full(len(o.name), s[2]) for o, s in zip(opened, sides, strict=True)])
    t = np.linspace(0.0, 1.0, u.shape[2])
    thick = max(thickness_of(on.hull, rules), LEAST_MM)
    return Net(u, t, rows, sign, tuple(said), alike, thick)


def _opened(on: Lying, drag: Drag, kept: Any) -> tuple[Opening, list[str]]:
    """Cut all strakes into planks, by the butts of one side."""
    from ribband.planks.opening import openings

    assert on.hull is not None  # noqa: S101 - why_none saw it
    lining = as_dragged(on, drag)
    ways, layout = butts_on(lining, drag, kept)
    return openings(on.hull, lining, ways, layout), [s.name for s in lining.strakes]


def _quads(n: int, m: int) -> Ints:
    """Give the facets (q, 4) of a net of n stations of m points, inner and outer in turn."""
    from ribband.drawing.model3d import net

    at = np.arange(n * m * 2).reshape(n, m, 2)
    faces = (at[..., 0], at[..., 1], at[:, 0], at[:, -1], at[0], at[-1])
    return np.concatenate([net(face) for face in faces])
