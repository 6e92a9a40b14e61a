"""Checking flat shapes against the hull and the lining, apart from the code that made them.

*Complete*: every plank of the layout has one shape, in order. *Seams*: the edges of a strake's
planks together are as long as its seams, run close along the hull's surface; so neighbours' edges
are alike in length. *Scarfs*: planks joined by one overlap by its length, and lie on each other
there. *Widths*: square across the flat plank, as the lining has them, and along every frame's line
as far as the marks set off on the frame are apart. *Outlines*:
closed, lower edge below the upper, and no hooks. *Blanks*: the outline turned
little by little.
*Bevels*: from the seams' crossings with the frames alone, chord against chord.

Not checked: left-over strain and bend; grades.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby, pairwise

import numpy as np

from ribband.butts.model import Layout, Ways
from ribband.findings import Finding, Severity
from ribband.hull.model import Floats, Hull, Surface
from ribband.lining.model import Lining
from ribband.planks.shape_model import Shape, Shapes
from ribband.planks.shape_rules import ShapeRules

__all__ = ["check_shapes"]

LENGTH_ERROR = 2e-5  # of a seam's length
LENGTH_MM = 0.5
LAP_MM = 0.5  # by which two planks' edges may lie apart where they overlap
LAP_PART = 0.05  # of a scarf, by which the sweep makes it longer on one edge than the other
WIDTH_ERROR, WIDTH_MM = 0.04, 2.0
MARKS_ERROR, MARKS_MM = 0.005, 2.0  # for strain, and lines far apart near a hood end
ON_EDGE_MM = 0.5
BEVEL_RAD = np.radians(2.0)
HOOK_RAD = np.radians(12.0)  # turn in one step of an edge
HOOKED = 3.0  # times the sweep's own turn, in one step
FINE = 40  # points of a seam for each line of the solver


def check_shapes(  # noqa: PLR0917 - the inputs of the stage and its result
    hull: Hull, lining: Lining, ways: Ways, layout: Layout, rules: ShapeRules, shapes: Shapes
) -> tuple[Finding, ...]:
    """Look for shapes that are missing, or do not fit. No finding means everything agreed."""
    if hull.surface is None:
        return ()
    lap = _scarf(hull, rules)
    return (
        *_complete(ways, layout, shapes),
        *_seams(hull, hull.surface, lining, lap, shapes),
        *_scarfs(lap, rules.nib_part / rules.scarf_slope * lap, shapes),
        *_widths(lining, shapes),
        *_marks(lining, shapes),
        *_outlines(lining, shapes),
        *_blanks(shapes),
        *_bevels(lining, rules, shapes),
    )


def _fault(code: str, where: str, says: str) -> Finding:
    return Finding(code, Severity.FAULT, "planks", where, says)


def _complete(ways: Ways, layout: Layout, shapes: Shapes) -> Iterator[Finding]:
    wanted = []
    for row, name in enumerate(ways.strakes):
        count = 1 + sum(b.strake == row for b in layout.butts)
        wanted += [f"{name}-{number + 1}" for number in range(count)]
    found = [shape.name for shape in shapes.shapes]
    for name in sorted(set(wanted) - set(found)):
        yield _fault("P041", f"plank {name}", "has no flat shape")
    if len(found) != len(set(found)) or set(found) - set(wanted):
        yield _fault("P041", "the shapes", "a plank is there twice, or is not in the layout")


def _run(points: Floats) -> float:
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


def _seams(
    hull: Hull, surface: Surface, lining: Lining, lap: float, shapes: Shapes
) -> Iterator[Finding]:
    """Compare strakes that run from end to end, seam by seam; stealers and their like are left.

    Where no hood end was measured a seam is measured to the last frame's plane.
    """
    x = dict(zip(hull.frames.names, hull.frames.x_mm.tolist(), strict=True))
    notched = {k + d for k, s in enumerate(lining.strakes) if s.stealer for d in (0, 1)}
    for row, group in groupby(shapes.shapes, lambda s: s.strake):
        if row in notched:
            continue
        planks = list(group)
        strake = lining.strakes[row]
        span = (x.get(strake.first, -np.inf), x.get(strake.last, np.inf))
        error = sum(s.seam_error_mm for s in planks) + LENGTH_MM
        lapped = lap * (len(planks) - 1)
        off = []
        for name, seam, edges in (
            ("lower", row, [s.lower for s in planks]),
            ("upper", row + 1, [s.upper for s in planks]),
        ):
            on_hull = _seam_length(surface, lining, seam, span)
            flat = sum(_run(edge) for edge in edges) - lapped
            off.append(flat - on_hull)
            if abs(off[-1]) > error + LENGTH_ERROR * on_hull + LAP_PART * lapped:
                says = f"{name} edges are {flat:.1f} mm long, their seam {on_hull:.1f} mm"
                yield _fault("P042", f"strake {strake.name}", says)
        if abs(np.mean(off)) > error + LENGTH_ERROR * on_hull:
            says = f"its planks are {np.mean(off):+.1f} mm off the strake's length, scarfs counted"
            yield _fault("P042", f"strake {strake.name}", says)


def _scarf(hull: Hull, rules: ShapeRules) -> float:
    """Give the length planks should overlap by, from the rules and the vessel form."""
    if rules.join != "scarf":
        return 0.0
    return rules.scarf_slope * (rules.dressed_mm or hull.particulars.planking_mm or 0.0)


def _scarfs(lap: float, nib: float, shapes: Shapes) -> Iterator[Finding]:
    """Lay each plank's fore end on the one before it, by so much: their edges must coincide."""
    for _, group in groupby(shapes.shapes, lambda s: s.strake):
        for a, b in pairwise(group):
            if abs(a.nib_mm - nib) + abs(b.nib_mm - nib) > 0.01:
                yield _fault("P047", f"plank {b.name}", f"its nibs are not {nib:.1f} mm thick")
            if abs(a.aft_scarf_mm - lap) + abs(b.fore_scarf_mm - lap) > 0.01:
                yield _fault("P047", f"plank {b.name}", f"not joined by a scarf of {lap:.0f} mm")
            elif lap and (gap := _apart(a, b, lap)) > LAP_MM:
                says = f"lies {gap:.1f} mm beside {a.name} where the two overlap"
                yield _fault("P047", f"plank {b.name}", says)


def _apart(a: Shape, b: Shape, lap: float) -> float:
    """Give how far the edges of two planks lie apart over their scarf, one laid on the other.

    Points of the one are held against what lies abreast of them on the other, which is found
    anew as the other is laid better: the sweep makes one edge of a scarf longer than the other.
    """
    fixed = [_tail(edge[::-1], lap, 0.05, 0.95) for edge in (a.lower, a.upper)]
    moving = [_tail(edge, 1.2 * lap, 0.0, 1.0) for edge in (b.lower, b.upper)]
    abreast = [_tail(edge, lap, 0.05, 0.95)[::-1] for edge in (b.lower, b.upper)]
    p = np.concatenate(fixed)
    way = fixed[0][0] - fixed[0][-1]
    ahead = way / np.linalg.norm(way)
    for _ in range(4):
        q = np.concatenate(abreast)
        left, _, right = np.linalg.svd((q - q.mean(axis=0)).T @ (p - p.mean(axis=0)))
        turn = left @ right
        shift = p.mean(axis=0) - q.mean(axis=0) @ turn
        off = q @ turn + shift - p
        abreast = [
            _at((edge @ turn + shift) @ ahead, edge, points @ ahead)
            for edge, points in zip(moving, fixed, strict=True)
        ]
    return float(np.abs(off[:, 1] * ahead[0] - off[:, 0] * ahead[1]).max())


def _tail(edge: Floats, long: float, first: float, last: float) -> Floats:
    """Give 9 points of an edge from its first one on, over part of a length."""
    run = np.concatenate([[0.0], np.linalg.norm(np.diff(edge, axis=0), axis=1).cumsum()])
    return _at(run, edge, long * np.linspace(first, last, 9))


def _at(along: Floats, edge: Floats, at: Floats) -> Floats:
    """Read an edge's points (n, 2) at lengths."""
    return np.stack([np.interp(at, along, edge[:, k]) for k in (0, 1)], axis=1)


def _seam_length(surface: Surface, lining: Lining, seam: int, span: tuple[float, float]) -> float:
    """Measure a seam on the hull by close chords, from one x to another."""
    from scipy.interpolate import PchipInterpolator  # noqa: PLC0415 - heavy

    u = np.linspace(lining.seam_u[0], lining.seam_u[-1], FINE * (len(lining.seam_u) - 1) + 1)
    v = np.clip(PchipInterpolator(lining.seam_u, lining.seam_v[seam])(u), 0.0, 1.0)
    points = surface.point(u, v)
    if not np.isfinite(span).any():
        return _run(points)
    run = np.concatenate([[0.0], np.linalg.norm(np.diff(points, axis=0), axis=1).cumsum()])
    x = np.maximum.accumulate(points[:, 0])
    first, last = np.interp(np.clip(span, x[0], x[-1]), x, run)
    return float(last - first)


def _widths(lining: Lining, shapes: Shapes) -> Iterator[Finding]:
    """Compare widths square across at the frames; a nib's own frame has two and is left."""
    column = {name: c for c, name in enumerate(lining.columns)}
    for shape in shapes.shapes:
        if len(shape.frames) < 3:
            continue
        width, slope = _square_across(shape)
        lined = lining.width_mm[shape.strake, [column[f] for f in shape.frames]]
        off = np.abs(width - lined) - WIDTH_ERROR * lined - WIDTH_MM
        off[slope**2 > 0.05] = 0.0  # where a plank lies aslant, so that squares across differ
        off[[0, -1]] = 0.0
        if shape.strake and lining.strakes[shape.strake - 1].nib in shape.frames:
            off[shape.frames.index(lining.strakes[shape.strake - 1].nib)] = 0.0
        if np.nanmax(off) > 0:
            worst = int(np.nanargmax(off))
            says = (
                f"is {width[worst]:.1f} mm wide at frame {shape.frames[worst]}, "
                f"lined out {lined[worst]:.1f} mm"
            )
            yield _fault("P043", f"plank {shape.name}", says)


def _marks(lining: Lining, shapes: Shapes) -> Iterator[Finding]:
    """Compare frames' lines from edge to edge with the marks on the frames; not beside a nib."""
    girth = lining.upper_girth_mm - lining.lower_girth_mm
    for shape in shapes.shapes:
        if shape.frame_lines is None:
            continue
        nib = lining.strakes[shape.strake - 1].nib if shape.strake else ""
        for frame, line in zip(shape.frames, shape.frame_lines, strict=True):
            column = lining.columns.index(frame)
            beside = nib in lining.columns[column - 1 : column + 2]
            edges = (shape.lower, line[0]), (shape.upper, line[-1])
            if beside or max(_off_edge(*ends) for ends in edges) > ON_EDGE_MM:
                continue
            wide, marked = _run(line), float(girth[shape.strake, column])
            if abs(wide - marked) > MARKS_ERROR * marked + MARKS_MM:
                says = (
                    f"is {wide:.1f} mm wide along frame {frame}, whose marks are "
                    f"{marked:.1f} mm apart"
                )
                yield _fault("P043", f"plank {shape.name}", says)


def _off_edge(edge: Floats, point: Floats) -> float:
    """Give how far a point lies from an edge (k, 2)."""
    step = np.diff(edge, axis=0)
    part = np.einsum("ki,ki->k", point - edge[:-1], step) / np.sum(step**2, axis=1)
    foot = edge[:-1] + np.clip(part, 0.0, 1.0)[:, None] * step
    return float(np.linalg.norm(foot - point, axis=1).min())


def _square_across(shape: Shape) -> tuple[Floats, Floats]:
    """Give widths square across where frames cross the plank's middle, and its slope there.

    The figures of the batten give the edges; from a batten that lies beside the plank they meet
    it elsewhere than the frame does, so each edge is read where the square meets it.
    """
    at = shape.along_mm
    middle = (shape.lower_mm + shape.upper_mm) / 2
    slope = np.gradient(middle, at)
    if shape.frame_lines is not None:
        at = (shape.frame_lines[:, 0, 0] + shape.frame_lines[:, -1, 0]) / 2
    height = np.interp(at, shape.along_mm, middle)
    ends = []
    for figure in (shape.lower_mm, shape.upper_mm):
        x = at
        for _ in range(20):  # the square from (at, height) has x = at - slope (y - height)
            x = at - slope * (np.interp(x, shape.along_mm, figure) - height)
        ends.append(np.stack([x, np.interp(x, shape.along_mm, figure)], axis=1))
    return np.linalg.norm(ends[1] - ends[0], axis=1), slope


def _outlines(lining: Lining, shapes: Shapes) -> Iterator[Finding]:
    for shape in shapes.shapes:
        notched = shape.strake > 0 and lining.strakes[shape.strake - 1].stealer
        for says in _ill_shaped(shape, notched=notched):
            yield _fault("P044", f"plank {shape.name}", says)


def _ill_shaped(shape: Shape, *, notched: bool) -> Iterator[str]:
    corners = (
        (shape.lower[0], shape.fore[0]), (shape.upper[0], shape.fore[-1]),
        (shape.lower[-1], shape.aft[0]), (shape.upper[-1], shape.aft[-1]),
    )  # fmt: skip
    if max(float(np.abs(a - b).max()) for a, b in corners) > 0.01:
        yield "its edges and ends do not meet"
    if (shape.lower_mm > shape.upper_mm + 0.01).any() or (np.diff(shape.along_mm) <= 0).any():
        yield "its edges cross, or its frames are out of order"
    for name, edge in (("lower", shape.lower), ("upper", shape.upper)):
        if _hooked(edge) and not (notched and name == "lower"):
            yield f"its {name} edge has a hook"


def _hooked(edge: Floats) -> bool:
    """Tell whether an edge turns sharply back against its own sweep, in one step."""
    step = np.diff(edge, axis=0)
    way = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    turn = np.diff(way)
    usual = np.abs(turn).mean()
    back = np.abs(turn) > max(HOOKED * usual, HOOK_RAD)
    return bool(back.any() or np.abs(way).max() > np.pi / 2)


def _blanks(shapes: Shapes) -> Iterator[Finding]:
    for shape in shapes.shapes:
        length, width = _smallest(np.vstack([shape.lower, shape.upper]))
        if abs(shape.blank_width_mm - width) > 0.5 or abs(shape.blank_length_mm - length) > 5.0:
            says = (
                f"its blank is {shape.blank_length_mm:.1f} by {shape.blank_width_mm:.1f} mm, the "
                f"narrowest {length:.1f} by {width:.1f} mm"
            )
            yield _fault("P045", f"plank {shape.name}", says)


def _smallest(outline: Floats) -> tuple[float, float]:
    """Give length and width of the narrowest rectangle round a slender outline, by trying turns."""
    ahead = float(np.arctan2(np.ptp(outline[:, 1]), np.ptp(outline[:, 0])))
    middle = 0.0
    for reach in (ahead, ahead / 100, ahead / 4000):
        turn = middle + reach * np.linspace(-1, 1, 241)
        across = outline @ np.stack([-np.sin(turn), np.cos(turn)])
        middle = float(turn[np.ptp(across, axis=0).argmin()])
    way = np.array([np.cos(middle), np.sin(middle)])
    return float(np.ptp(outline @ way)), float(np.ptp(outline @ [-way[1], way[0]]))


def _bevels(lining: Lining, rules: ShapeRules, shapes: Shapes) -> Iterator[Finding]:
    """Compare upper bevels with half the angle between chords at a frame, seen along the seam."""
    if lining.lower_xyz is None or lining.upper_xyz is None:
        return
    column = {name: c for c, name in enumerate(lining.columns)}
    opened = np.arctan2(rules.opening_part, 1 - rules.tight_part)
    opened *= {"both": 0.5, "upper": 1.0, "lower": 0.0}[rules.outgauge_on]
    for shape in shapes.shapes:
        if shape.strake + 1 >= len(lining.strakes):
            continue
        for k in range(1, len(shape.frames) - 1):
            at = column[shape.frames[k]]
            angle = _chord_angle(lining.lower_xyz, lining.upper_xyz, shape.strake, at)
            if (
                np.isfinite(angle)
                and abs(opened - angle / 2 - shape.upper_bevel_rad[k]) > BEVEL_RAD
            ):
                says = (
                    f"its upper bevel at frame {shape.frames[k]} is "
                    f"{np.degrees(shape.upper_bevel_rad[k]):.1f} degrees, by the chords "
                    f"{np.degrees(opened - angle / 2):.1f}"
                )
                yield _fault("P046", f"plank {shape.name}", says)
                break


def _chord_angle(lower: Floats, upper: Floats, row: int, at: int) -> float:
    """Give the turn from a strake's chord to the next one's; NaN where either does not stand."""
    if np.abs(lower[row + 1, at] - upper[row, at]).max() > 1.0:
        return float("nan")
    ahead = upper[row, at + 1] - upper[row, at - 1]
    ahead = ahead / np.linalg.norm(ahead)
    own, other = upper[row, at] - lower[row, at], upper[row + 1, at] - lower[row + 1, at]
    own, other = (c - (c @ ahead) * ahead for c in (own, other))
    size = np.linalg.norm(own) * np.linalg.norm(other)
    out = np.cross(ahead, own)
    out = out if out[1] > 0 else -out
    turn = float(np.arccos(np.clip(own @ other / size, -1, 1))) if size > 100.0 else np.nan
    return -turn if float(out @ other) > 0 else turn
