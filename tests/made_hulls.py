"""Hulls made from formulas, so that every stage can be tried without the one before it.

`launch` is a 17 m round-bilged hull with a curved raking stem and a transom; `barrel` a cylinder
(every answer is known); `tape` a hull of which only girths are known.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import RectBivariateSpline

from ribband.hull.model import Floats, GirthLines, Hull
from ribband.survey.model import FrameMark, Particulars

Shape = Callable[[Floats, Floats], Floats]  # (u, v) -> (..., 3), any v from 0 to 1
M = 33


@dataclass(frozen=True)
class FormulaSurface:
    """A surface from a formula; derivatives by central differences, ample for tests."""

    shape: Shape

    def point(self, u: ArrayLike, v: ArrayLike) -> Floats:
        return self.shape(*np.broadcast_arrays(np.asarray(u, float), np.asarray(v, float)))

    def normal(self, u: ArrayLike, v: ArrayLike) -> Floats:
        du, dv = self._first(u, v)
        n = np.cross(dv, du)
        n /= np.linalg.norm(n, axis=-1, keepdims=True) + 1e-300
        return n * np.where(n[..., 1:2] < 0, -1.0, 1.0)

    def curvatures(self, u: ArrayLike, v: ArrayLike) -> tuple[Floats, Floats]:
        first, second = self.forms(u, v)
        shape = np.linalg.solve(first, second)
        trace = shape[..., 0, 0] + shape[..., 1, 1]
        det = np.linalg.det(shape)
        root = np.sqrt(np.maximum(trace**2 / 4 - det, 0.0))
        return trace / 2 + root, trace / 2 - root

    def forms(self, u: ArrayLike, v: ArrayLike) -> tuple[Floats, Floats]:
        u, v = np.broadcast_arrays(np.asarray(u, float), np.asarray(v, float))
        h = 1e-4
        u, v = np.clip(u, h, 1 - h), np.clip(v, h, 1 - h)
        n = self.normal(u, v)
        du, dv = self._first(u, v)
        s = self.shape
        uu = (s(u + h, v) - 2 * s(u, v) + s(u - h, v)) / h**2
        vv = (s(u, v + h) - 2 * s(u, v) + s(u, v - h)) / h**2
        uv = (s(u + h, v + h) - s(u + h, v - h) - s(u - h, v + h) + s(u - h, v - h)) / (4 * h**2)
        dot = lambda a, b: np.sum(a * b, axis=-1)  # noqa: E731
        first = np.stack([dot(du, du), dot(du, dv), dot(du, dv), dot(dv, dv)], -1)
        second = -np.stack([dot(uu, n), dot(uv, n), dot(uv, n), dot(vv, n)], -1)
        return first.reshape(*u.shape, 2, 2), second.reshape(*u.shape, 2, 2)

    def _first(self, u: ArrayLike, v: ArrayLike) -> tuple[Floats, Floats]:
        u, v = np.broadcast_arrays(np.asarray(u, float), np.asarray(v, float))
        h = 1e-5
        uc, vc = np.clip(u, h, 1 - h), np.clip(v, h, 1 - h)
        du = (self.shape(uc + h, vc) - self.shape(uc - h, vc)) / (2 * h)
        dv = (self.shape(uc, vc + h) - self.shape(uc, vc - h)) / (2 * h)
        return du, dv


def launch_shape(length: float = 17000.0, beam: float = 4200.0, depth: float = 2300.0) -> Shape:
    """A round-bilged launch; x aft, y out, z up; v is only roughly the girth fraction."""

    def shape(u: Floats, v: Floats) -> Floats:
        fore = (1 - u) ** 5
        z0 = 900.0 * fore + 420.0 * u**4
        z1 = depth + 700.0 * (1 - u) ** 2.2 + 250.0 * u**3
        half = beam / 2 * (1 - (1 - u) ** 2.6) * (1 - 0.22 * u**4)
        full = 0.30 + 0.42 * np.sin(np.pi * np.clip(0.08 + 0.84 * u, 0, 1)) ** 1.3
        angle = v * np.pi / 2
        out = np.sin(angle) ** (1.9 - 1.25 * full)
        up = (1 - np.cos(angle)) * (0.55 + 0.45 * full) + (0.45 - 0.45 * full) * v
        x = length * u - 1500.0 * (1 - u) ** 7 * v**1.2 + 90.0
        y = 60.0 + (half - 60.0 * (1 - fore)) * out * (1 - fore**3) - 60.0 * fore * out
        return np.stack([x, y, z0 + (z1 - z0) * up], axis=-1)

    return shape


def by_girth(shape: Shape, fine: int = 400) -> Shape:
    """The same surface with v the girth fraction along u = const, to about 0.01 mm."""
    u0, t0 = np.linspace(0, 1, 201), np.linspace(0, 1, fine + 1)
    run = shape(*np.meshgrid(u0, t0, indexing="ij"))
    s = np.cumsum(np.linalg.norm(np.diff(run, axis=1), axis=-1), axis=1)
    s = np.concatenate([np.zeros((len(u0), 1)), s], axis=1) / s[:, -1:]
    table = np.array([np.interp(t0, row, t0) for row in s])
    warp = RectBivariateSpline(u0, t0, table)

    def even(u: Floats, v: Floats) -> Floats:
        u, v = np.broadcast_arrays(np.asarray(u, float), np.asarray(v, float))
        return shape(u, np.clip(warp.ev(u, v), 0.0, 1.0))

    return even


def hull_of(
    shape: Shape,
    frame_x: Floats,
    lines: int = 61,
    *,
    vessel: str = "a made hull",
    planking_mm: float = 38.0,
    unit: str = "mm",
) -> Hull:
    """A `Hull` from a formula, with the frames cut where the formula meets each plane."""
    surface = FormulaSurface(shape)
    u = np.linspace(0, 1, lines)
    v = np.linspace(0, 1, M)
    own = _lines(surface, np.repeat(u[:, None], M, 1), np.repeat(v[None], lines, 0), ("",) * lines)
    cuts = [_cut(surface, x) for x in frame_x]
    names = tuple(str(i + 1) for i in range(len(frame_x)))
    framed = _lines(surface, np.array([c[0] for c in cuts]), np.array([c[1] for c in cuts]), names)
    marks = tuple(FrameMark(n, float(x), 90.0, 110.0) for n, x in zip(names, frame_x, strict=True))
    return Hull(
        particulars=Particulars(vessel, unit, planking_mm, planking_mm + 6.0),
        marks=marks,
        lines=own,
        frames=framed,
        has_stem=True,
        has_stern=True,
        surface=surface,
        tolerance_mm=3.0,
        rms_mm=0.0,
    )


def launch(frames: int = 44, lines: int = 61) -> Hull:
    """The made launch with `frames` frames, evenly spaced."""
    return hull_of(by_girth(launch_shape()), np.linspace(-700.0, 16700.0, frames), lines)


def barrel(radius: float = 1000.0, length: float = 12000.0, frames: int = 25) -> Hull:
    """A quarter cylinder, axis along x: girth pi R / 2 everywhere, curvature 1 / R."""

    def shape(u: Floats, v: Floats) -> Floats:
        a = v * np.pi / 2
        return np.stack(
            [length * u, radius * np.sin(a) + 0 * u, radius * (1 - np.cos(a)) + 0 * u], axis=-1
        )

    return hull_of(shape, np.linspace(300.0, length - 300.0, frames), 41)


def tape(frames: int = 36, spacing: float = 350.0) -> Hull:
    """Girths only: a canoe-like girth curve over even frames."""
    x = np.arange(frames) * spacing
    t = np.linspace(-1, 1, frames)
    girth = 2300.0 * (1 - 0.45 * np.abs(t + 0.1) ** 2.4)
    v = np.repeat(np.linspace(0, 1, M)[None], frames, 0)
    u = np.repeat(((x - x[0]) / (x[-1] - x[0]))[:, None], M, 1)
    names = tuple(str(i + 1) for i in range(frames))
    lines = GirthLines(
        names, x, girth, ("keel",) * frames, u, v, None, None, None, ("measured",) * frames
    )
    return Hull(
        particulars=Particulars("a taped hull", "mm", 32.0, 38.0),
        marks=tuple(FrameMark(n, float(a)) for n, a in zip(names, x, strict=True)),
        lines=lines,
        frames=lines,
        has_stem=False,
        has_stern=False,
        surface=None,
        tolerance_mm=3.0,
        rms_mm=0.0,
    )


def _lines(s: FormulaSurface, u: Floats, v: Floats, names: tuple[str, ...]) -> GirthLines:
    fine = 8 * (M - 1) + 1
    at = np.linspace(0, 1, M)
    dense = np.linspace(0, 1, fine)
    girth = np.empty(len(u))
    for i in range(len(u)):  # even out the samples along the true length
        for _ in range(3):
            ud, vd = np.interp(dense, at, u[i]), np.interp(dense, at, v[i])
            run = np.linalg.norm(np.diff(s.point(ud, vd), axis=0), axis=-1)
            arc = np.concatenate([[0.0], np.cumsum(run)])
            u[i], v[i] = np.interp(at * arc[-1], arc, ud), np.interp(at * arc[-1], arc, vd)
        girth[i] = arc[-1]
    xyz = s.point(u, v)
    normal = s.normal(u, v)
    ds = girth[:, None, None] / (M - 1)
    second = np.gradient(np.gradient(xyz, axis=1), axis=1) / ds**2
    curvature = -np.sum(second * normal, axis=-1)
    starts = tuple(
        "keel" if low < 1e-6 else "stem" if at < 0.5 else "stern"
        for at, low in zip(u[:, 0], v[:, 0], strict=True)
    )
    return GirthLines(
        names,
        xyz[..., 0].mean(axis=1),
        girth,
        starts,
        u,
        v,
        xyz,
        normal,
        curvature,
        ("measured" if names and names[0] else "between",) * len(u),
    )


def _cut(s: FormulaSurface, x: float, fine: int = 257) -> tuple[Floats, Floats]:
    v = np.linspace(0, 1, fine)
    low, high = np.zeros(fine), np.ones(fine)
    for _ in range(50):
        mid = (low + high) / 2
        short = s.point(mid, v)[..., 0] < x
        low, high = np.where(short, mid, low), np.where(short, high, mid)
    u = (low + high) / 2
    on = (s.point(0 * v, v)[..., 0] <= x) & (s.point(0 * v + 1, v)[..., 0] >= x)
    keep_u, keep_v = u[on], v[on]
    if not on[0]:  # starts on the stem or the sternpost: find where
        end = 0.0 if s.point(0.0, 0.0)[0] > x else 1.0
        lo, hi = v[np.argmax(on) - 1], v[np.argmax(on)]
        for _ in range(50):
            m = (lo + hi) / 2
            lo, hi = (m, hi) if (s.point(end, m)[..., 0] > x) == (end == 0.0) else (lo, m)
        keep_u, keep_v = np.concatenate([[end], keep_u]), np.concatenate([[hi], keep_v])
    t = np.linspace(0, 1, len(keep_v))
    at = np.linspace(0, 1, M)
    return np.interp(at, t, keep_u), np.interp(at, t, keep_v)


def wedge_shape(length: float = 14000.0, beam: float = 4200.0) -> Shape:
    """A fast launch: fine forward, her girth growing nearly all the way to a broad transom."""

    def shape(u: Floats, v: Floats) -> Floats:
        fore = 1 - u
        z0 = 450.0 * fore**6 + 250.0 * u**3
        z1 = 1500.0 + 350.0 * fore**2
        half = beam / 2 * (1 - fore**1.8) * (1 - 0.04 * u**4)
        full = 0.25 + 0.6 * u
        angle = v * np.pi / 2
        out = np.sin(angle) ** (1.7 - 1.0 * full)
        up = (1 - np.cos(angle)) * (0.6 + 0.4 * full) + (0.4 - 0.4 * full) * v
        x = length * u - 700.0 * fore**7 * v
        y = 60.0 + (half - 60.0) * out * (1 - fore**4) - 50.0 * fore**4 * out
        return np.stack([x, y, z0 + (z1 - z0) * up], axis=-1)

    return shape


def wedge(frames: int = 40, lines: int = 61) -> Hull:
    """The made fast launch, whose bow asks for fewer strakes than her stern."""
    return hull_of(by_girth(wedge_shape()), np.linspace(300.0, 13700.0, frames), lines)
