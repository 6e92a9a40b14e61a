"""Check a lining out apart from what made it.

Only the hull's tables and the result's tables are used, by other formulas than the solver's:
widths as shortest distances from the middle of a strake to its edges, backing out as the rise of
three points on the frame, geodesic curvature from splines through the edges at the frames.

Codes: L001 sums, L002 order, L003 too wide, L004 too narrow, L005 backing out, L006 nib, L007
unfair seam, L008 wish not kept, L009 width misstated, L010 sweep misstated, L011 shape of tables,
L012 taper missed, L013 blanks wider than the boards, L014 strakes wider than the greatest by their
own proportion.
Not checked: whether another division would be better.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ribband.findings import Finding, Severity
from ribband.hull.model import Floats, Hull
from ribband.lining.groups import is_group, strakes_named
from ribband.lining.model import Lining, Wish
from ribband.lining.places import frame_named, told_together
from ribband.lining.rules import LiningRules, WidthLimits, limits_of
from ribband.lining.words import Words

__all__ = ["check", "edge_curvature"]

SUM_MM = 0.01
HELD_MM = 0.15
LIMIT_MM = 0.5  # measured by another formula than the solver's, so a hair more than KEPT_MM
TAPER_OFF = 0.1  # of the taper asked for
FAIR_JUMP_PER_M = 0.03  # bend of a seam against the mean of its bends two frames either way
SEEN_MM = 1.0  # a wave lower than this is planed out


def check(
    hull: Hull, rules: LiningRules, wishes: Sequence[Wish], lining: Lining
) -> tuple[Finding, ...]:
    """Give everything that is wrong or doubtful in a lining; empty where nothing is.

    Where `lining.feasible` is False, limits and wishes off their mark are cautions, for the
    lining says so itself; sums and order are faults always.
    """
    shape = (len(lining.strakes), len(hull.frames.names) + 2)
    if lining.lower_girth_mm.shape != shape or lining.width_mm.shape != shape:
        says = f"tables are {lining.lower_girth_mm.shape}, wanted {shape}"
        return (_finding("L011", Severity.FAULT, "tables", says),)
    limits = limits_of(rules, hull.particulars)
    found = [*_sums(hull, lining), *_order(lining), *_nibs(hull, lining, limits)]
    found += _widths(hull, rules, limits, wishes, lining)
    found += _backing(hull, limits, lining)
    found += _measured(hull, lining)
    found += _kept(hull, wishes, lining)
    found += _tapers(hull, wishes, lining)
    found += _boards(hull, rules, lining)
    found += _by_proportion(hull, rules, limits, lining)
    return (*found, *_fair(hull, lining))


def edge_curvature(points: Floats, normals: Floats) -> Floats:
    """Geodesic curvature at points (n, 3) of a curve on a surface with normals (n, 3), 1/mm.

    From a cubic spline by chord length: (r' x r'') . n / |r'|^3. Needs four points or more.

    >>> a = np.linspace(0, 1, 40)
    >>> ring = np.stack([1000 * np.cos(a), 1000 * np.sin(a), 0 * a], axis=1)
    >>> up = np.tile([0.0, 0.0, 1.0], (40, 1))
    >>> edge_curvature(ring, up)[20].round(6)
    np.float64(0.001)
    """
    from scipy.interpolate import CubicSpline  # noqa: PLC0415 - heavy

    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    curve = CubicSpline(run, points)
    first, second = curve(run, 1), curve(run, 2)
    turned = np.sum(np.cross(first, second) * normals, axis=1)
    bend: Floats = turned / np.linalg.norm(first, axis=1) ** 3
    return bend


def _words(hull: Hull) -> Words:
    return Words(hull.particulars.unit)


def _finding(code: str, severity: Severity, where: str, says: str, why: str = "") -> Finding:
    return Finding(code, severity, "lining", where, says, why)


def _place(lining: Lining, k: int, c: int) -> str:
    return f"strake {lining.strakes[k].name}, {frame_named(lining.columns[c])}"


def _there(lining: Lining) -> NDArray[np.bool_]:
    return np.isfinite(lining.upper_girth_mm) & np.isfinite(lining.lower_girth_mm)


def _girths(hull: Hull) -> Floats:
    lines = hull.lines.girth_mm
    return np.concatenate([lines[:1], hull.frames.girth_mm, lines[-1:]])


def _sums(hull: Hull, lining: Lining) -> list[Finding]:
    """Add up the strakes of each frame: they make its girth."""
    small = _words(hull).small
    total = np.nansum(lining.upper_girth_mm - lining.lower_girth_mm, axis=0)
    off = np.where(_there(lining).any(axis=0), total - _girths(hull), 0.0)
    return [
        _finding(
            "L001",
            Severity.FAULT,
            lining.columns[c],
            f"strakes add up {small(abs(off[c]))} {'over' if off[c] > 0 else 'short of'} the girth",
        )
        for c in np.flatnonzero(np.abs(off) > SUM_MM)
    ]


def _order(lining: Lining) -> list[Finding]:
    """Each strake begins where the one below it ends, and has some width."""
    there = _there(lining)
    tables = lining.upper_girth_mm, lining.lower_girth_mm, lining.width_mm, lining.along_mm
    half = np.any([np.isfinite(table) != there for table in tables], axis=0)
    found = [
        _finding(
            "L002", Severity.FAULT, _place(lining, int(k), int(c)), "an edge without the other"
        )
        for k, c in np.argwhere(half)
    ]
    for c in range(there.shape[1]):
        here = np.flatnonzero(there[:, c])
        low, up = lining.lower_girth_mm[here, c], lining.upper_girth_mm[here, c]
        wrong = np.zeros(len(here), bool)
        wrong[1:] = np.abs(low[1:] - up[:-1]) > SUM_MM
        wrong |= up - low < (-SUM_MM if c in {0, there.shape[1] - 1} else SUM_MM)
        found += [
            _finding(
                "L002", Severity.FAULT, _place(lining, int(k), c), "edges out of order or apart"
            )
            for k in here[wrong]
        ]
    return found


def _nibs(hull: Hull, lining: Lining, limits: WidthLimits) -> list[Finding]:
    """See that each squared end stands on a frame and is wide enough to fasten."""
    found, length = [], _words(hull).length
    frames = lining.columns[1:-1]
    for k, strake in enumerate(lining.strakes):
        if not strake.stealer:
            continue
        where = f"strake {strake.name}"
        if strake.nib not in frames or strake.nib not in {strake.first, strake.last}:
            found.append(_finding("L006", Severity.FAULT, where, "its nib is not on a frame"))
            continue
        c = lining.columns.index(strake.nib)
        width = lining.width_mm[k, c]
        beyond = c - 1 if strake.nib == strake.first else c + 1
        if not width >= limits.nib - LIMIT_MM:
            says = f"nib {length(width)} wide, {length(limits.nib)} wanted"
            found.append(_finding("L006", _severity(lining), where, says))
        if _there(lining)[k, beyond]:
            found.append(_finding("L006", Severity.FAULT, where, "it runs on beyond its nib"))
    return found


def _severity(lining: Lining) -> Severity:
    return Severity.FAULT if lining.feasible else Severity.CAUTION


def _widths(
    hull: Hull, rules: LiningRules, limits: WidthLimits, wishes: Sequence[Wish], lining: Lining
) -> list[Finding]:
    """Widths against least and greatest; where a wish sets its own limit that one counts."""
    least, greatest = _plain_limits(hull, rules, limits, lining)
    for wish in wishes:
        if wish.kind in {"least", "greatest"}:
            rows, columns = _part(lining, wish, wishes)
            broad = wish.kind == "greatest" and is_group(wish.strake)
            wider = _broad(rules, lining)[rows] if broad else 1.0
            (least if wish.kind == "least" else greatest)[rows, columns] = wish.value * wider
    whole = _there(lining) & ~_cut_off(hull, lining)
    wide = lining.width_mm - greatest > LIMIT_MM
    least = np.minimum(least, greatest)
    narrow = whole & (least - lining.width_mm > LIMIT_MM)
    return [
        *_each(hull, lining, wide, greatest, "L003", says="wider than the greatest"),
        *_each(hull, lining, narrow, least, "L004", says="narrower than the least"),
    ]


def _by_proportion(
    hull: Hull, rules: LiningRules, limits: WidthLimits, lining: Lining
) -> list[Finding]:
    """Name the strakes that pass the greatest width asked for, as garboard and broads may."""
    widest = np.nanmax(lining.full_width_mm, axis=1, initial=0.0)
    over = np.flatnonzero(widest > limits.greatest + LIMIT_MM)
    broad = [k for k in over if _broad(rules, lining)[k, 0] > 1.0]
    if not broad or not rules.greatest_width_mm:
        return []
    length = _words(hull).length
    told = ", ".join(f"{lining.strakes[k].called} {length(float(widest[k]))}" for k in broad)
    says = f"wider than the greatest asked for, {length(limits.greatest)}: {told}"
    why = "by the rules garboard, first_broad and second_broad; set them to 1 to hold every strake"
    where = f"strakes {', '.join(lining.strakes[k].name for k in broad)}"
    return [_finding("L014", Severity.CAUTION, where, says, why)]


def _each(
    hull: Hull, lining: Lining, wrong: NDArray[np.bool_], limit: Floats, code: str, *, says: str
) -> list[Finding]:
    words, off = _words(hull), lining.width_mm - limit

    def said(k: int, c: int) -> str:
        width, wanted = words.length(lining.width_mm[k, c]), words.length(limit[k, c])
        return f"{width}, {says}, {wanted}, by {words.small(abs(off[k, c]))}"

    return told_together(code, _severity(lining), lining, wrong, by=off, says=said)


def _plain_limits(
    hull: Hull, rules: LiningRules, limits: WidthLimits, lining: Lining
) -> tuple[Floats, Floats]:
    """Limits (S, C) as the rules give them, written out strake by strake."""
    fore, aft = float(hull.lines.x_mm[0]), float(hull.lines.x_mm[-1])
    places = [fore, *hull.frames.x_mm, aft]
    eased = [min(1.0, min(x - fore, aft - x) / (0.16 * (aft - fore))) for x in places]
    ease = np.maximum(np.array(eased), 0.0)
    least = np.tile(
        limits.least_hood + (limits.least - limits.least_hood) * ease, (len(lining.strakes), 1)
    )
    most = limits.greatest_hood + (limits.greatest - limits.greatest_hood) * ease
    greatest = most * _broad(rules, lining)
    for k, strake in enumerate(lining.strakes):
        if strake.called == "garboard":
            least[k] *= ease
        if strake.stealer:
            least[k] = np.minimum(least[k], limits.nib)
            greatest[k + 1] += limits.nib
    return least, greatest


def _broad(rules: LiningRules, lining: Lining) -> Floats:
    by = {
        "garboard": rules.garboard,
        "first broad": rules.first_broad,
        "second broad": rules.second_broad,
    }
    first_three = [max(v, 1.0) for v in by.values()]
    wider = [first_three[k] if k < 3 else 1.0 for k in range(len(lining.strakes))]
    return np.array(wider)[:, None]


def _part(lining: Lining, wish: Wish, wishes: Sequence[Wish]) -> tuple[list[int], slice]:
    rows = list(strakes_named(wish.strake, lining.strakes, wishes))
    if not wish.frame:
        return rows, slice(None)
    ends = sorted(lining.columns.index(f) for f in (wish.frame, wish.to_frame or wish.frame))
    return rows, slice(ends[0], ends[1] + 1)


def _cut_off(hull: Hull, lining: Lining) -> NDArray[np.bool_]:
    """Strakes that the stem or stern cuts off below at a frame (S, C)."""
    cut = np.zeros(lining.width_mm.shape, bool)
    on_end = np.array([s != "keel" for s in hull.frames.starts])
    cut[:, 1:-1] = on_end & (lining.lower_girth_mm[:, 1:-1] <= SUM_MM)
    return cut


def _rise(hull: Hull, lining: Lining) -> Floats:
    """How far the frame rises over the chord of each strake (S, C), mm; 0 with girths only."""
    rise = np.zeros(lining.width_mm.shape)
    if lining.lower_xyz is None or lining.upper_xyz is None or hull.frames.xyz is None:
        return rise
    lines = [hull.lines.xyz[0], *hull.frames.xyz, hull.lines.xyz[-1]]  # type: ignore[index]
    girths = _girths(hull)
    for k, c in np.argwhere(_there(lining)):
        low, up = lining.lower_girth_mm[k, c] / girths[c], lining.upper_girth_mm[k, c] / girths[c]
        between = np.array([_on(lines[c], low + part * (up - low)) for part in (0.3, 0.5, 0.7)])
        rise[k, c] = max(
            _off_chord(p, lining.lower_xyz[k, c], lining.upper_xyz[k, c]) for p in between
        )
    sine = lining.width_mm / np.maximum(lining.upper_girth_mm - lining.lower_girth_mm, 1e-9)
    return rise * np.nan_to_num(sine**2)


def _off_chord(point: Floats, low: Floats, up: Floats) -> float:
    """Distance of a point from the straight line through two others."""
    chord = (up - low) / (np.linalg.norm(up - low) + 1e-300)
    return float(np.linalg.norm(np.cross(point - low, chord)))


def _on(line: Floats, fraction: float) -> Floats:
    """Give a point of a sampled line, by the parabola through the three nearest samples."""
    at = fraction * (len(line) - 1)
    i = int(np.clip(round(at), 1, len(line) - 2))
    t = at - i
    slope, bend = (line[i + 1] - line[i - 1]) / 2, line[i + 1] - 2 * line[i] + line[i - 1]
    point: Floats = line[i] + t * slope + t * t * bend / 2
    return point


def _backing(hull: Hull, limits: WidthLimits, lining: Lining) -> list[Finding]:
    """Measure the hollow backed out of each strake; one no wider than the least may need more."""
    rise, small = _rise(hull, lining), _words(hull).small
    narrow = lining.width_mm <= 1.06 * limits.least
    whole = _there(lining) & ~_cut_off(hull, lining)
    allowed = 1.15 * limits.hollow + 0.5  # the rise of an uneven bend is not quite w^2 k / 8
    wrong = whole & (rise > allowed) & ~narrow
    return told_together(
        "L005", Severity.CAUTION, lining, wrong, by=rise,
        says=lambda k, c: f"{small(rise[k, c])} to back out, {small(limits.hollow)} allowed",
    )  # fmt: skip


def _edges(hull: Hull, lining: Lining) -> tuple[Floats, Floats]:
    """Lower and upper edges in space, or on the expansion (S, C, 3)."""
    if lining.lower_xyz is not None and lining.upper_xyz is not None:
        return lining.lower_xyz, lining.upper_xyz
    x = np.concatenate([hull.lines.x_mm[:1], hull.frames.x_mm, hull.lines.x_mm[-1:]])

    def flat(girth: Floats) -> Floats:
        return np.stack([np.where(np.isnan(girth), np.nan, x), girth, 0 * girth], axis=-1)

    return flat(lining.lower_girth_mm), flat(lining.upper_girth_mm)


def _measured(hull: Hull, lining: Lining) -> list[Finding]:
    """Widths measured again as shortest distances, at frames clear of the ends.

    With girths alone, which tell no lean, straight up the frame.
    """
    lower, upper = _edges(hull, lining)
    found, length = [], _words(hull).length
    for k in range(len(lining.strakes)):
        at = np.flatnonzero(_there(lining)[k, 1:-1] & ~_cut_off(hull, lining)[k, 1:-1]) + 1
        for c in at[2:-2]:
            middle = (lower[k, c] + upper[k, c]) / 2
            near = [c - 1, c, c + 1] if hull.in_space else [c, c]
            width = sum(_distance(middle, edge[k, near]) for edge in (lower, upper))
            if abs(width - lining.width_mm[k, c]) > 2.0 + 0.025 * width:
                says = f"width given as {length(lining.width_mm[k, c])}, measured {length(width)}"
                found.append(_finding("L009", Severity.FAULT, _place(lining, k, int(c)), says))
    return found


def _distance(point: Floats, line: Floats) -> float:
    """Shortest distance from a point to a line through points (n, 3)."""
    a, b = line[:-1], line[1:]
    run = b - a
    t = np.clip(np.sum((point - a) * run, axis=1) / (np.sum(run**2, axis=1) + 1e-300), 0.0, 1.0)
    return float(np.linalg.norm(a + t[:, None] * run - point, axis=1).min())


def _kept(hull: Hull, wishes: Sequence[Wish], lining: Lining) -> list[Finding]:
    """Everything that was to be held is where it should be."""
    names = [s.name for s in lining.strakes]
    found = []
    for wish in wishes:
        off = _off(wish, names, lining)
        if off is not None and not abs(off) <= HELD_MM:
            where = f"strake {wish.strake}, frame {wish.frame}" if wish.strake else "number"
            by = f"{off:+.0f}" if wish.kind == "strakes" else _words(hull).small(abs(off))
            says = f"{wish.kind}: off by {by}"
            found.append(_finding("L008", _severity(lining), where, says, wish.note))
    return found


def _tapers(hull: Hull, wishes: Sequence[Wish], lining: Lining) -> list[Finding]:
    """Say of each taper asked for how near it came, taken over its strakes together."""
    found = []
    middle = 1 + int(np.argmax(hull.frames.girth_mm))
    for wish in (w for w in wishes if w.kind == "taper"):
        rows = list(strakes_named(wish.strake, lining.strakes, wishes))
        for end in [wish.frame] if wish.frame else ["stem", "stern"]:
            c = lining.columns.index(end)
            if np.isnan(lining.width_mm[:, c]).all():
                c = 1 if c == 0 else c - 1
            got = float(np.nanmedian(lining.width_mm[rows, c] / lining.width_mm[rows, middle]))
            if abs(got - wish.value) > TAPER_OFF * wish.value:
                says = f"hood ends are {got:.2f} of the width amidships, {wish.value:.2f} asked for"
                where = f"{wish.strake or 'all strakes'}, {end}"
                found.append(_finding("L012", Severity.NOTE, where, says, wish.note))
    return found


def _off(wish: Wish, names: list[str], lining: Lining) -> float | None:
    if wish.kind == "strakes":
        return float(len(names) - wish.value)
    firm = wish.kind in {"fix", "master"} or (wish.kind == "width" and wish.weight >= 1.0)
    if not firm:
        return None
    k, c = names.index(wish.strake), lining.columns.index(wish.frame)
    table = lining.width_mm if wish.kind == "width" else lining.upper_girth_mm
    return float(table[k, c] - wish.value)


def _fair(hull: Hull, lining: Lining) -> list[Finding]:
    """Each seam's curvature within the surface, from splines: no sudden bends."""
    curvature = [_seam(hull, lining, k) for k in range(len(lining.strakes) - 1)]
    known = np.array(curvature) * 1000.0
    if not np.isfinite(known).any():
        return []
    found: list[Finding] = []
    words = _words(hull)
    jump = np.full(known.shape, np.nan)
    jump[:, 2:-2] = known[:, 2:-2] - (known[:, :-4] + known[:, 4:]) / 2
    wave = np.abs(jump) * _wave_of(hull)
    seen = np.nan_to_num(np.minimum(np.abs(jump) / FAIR_JUMP_PER_M, wave / SEEN_MM)) > 1.0

    def says(k: int, c: int) -> str:
        more, out = words.sweep(abs(jump[k, c])), words.small(float(wave[k, c]))
        return f"the seam above rounds {more} more here than two frames off: a wave of about {out}"

    found += told_together(
        "L007", Severity.CAUTION, lining, seen, by=np.nan_to_num(wave), says=says
    )
    rms = float(np.sqrt(np.nanmean(known**2)))
    if rms > 2.0 * lining.sweep_rms_per_m + 0.004:
        given = words.sweep(lining.sweep_rms_per_m)
        told = f"sweep given as {given}, measured {words.sweep(rms)}"
        found.append(_finding("L010", Severity.FAULT, "all seams", told))
    return found


def _boards(hull: Hull, rules: LiningRules, lining: Lining) -> list[Finding]:
    """Say of each strake whose blank would be wider than the boards, where it is worst."""
    found: list[Finding] = []
    length = _words(hull).length
    if not rules.board_width_mm:
        return found
    lower, upper = _edges(hull, lining)
    for k in range(len(lining.strakes)):
        need = np.nan_to_num(_blank_width(rules, lining, k, (lower[k] + upper[k]) / 2, hull))
        c = int(np.argmax(need))
        if need[c] > rules.board_width_mm + LIMIT_MM:
            says = (
                f"a blank for {length(rules.plank_length_mm)} of it is about {length(need[c])} "
                f"wide, the widest boards are {length(rules.board_width_mm)}: a shorter plank here"
            )
            found.append(_finding("L013", Severity.CAUTION, _place(lining, k, c), says))
    return found


def _blank_width(rules: LiningRules, lining: Lining, k: int, middle: Floats, hull: Hull) -> Floats:
    """Width (C,) of strake k and the round of its middle over a usual plank, mm."""
    need = np.full(len(lining.columns), np.nan)
    at = np.flatnonzero(_there(lining)[k, 1:-1]) + 1
    if len(at) < 8:
        return need
    fraction = (lining.lower_girth_mm[k, at] + lining.upper_girth_mm[k, at]) / 2 / _girths(hull)[at]
    bend = edge_curvature(middle[at], _normals(hull, at - 1, fraction))
    inner = slice(2, -2)
    round_mm = np.abs(bend[inner]) * rules.plank_length_mm**2 / 8.0
    need[at[inner]] = lining.width_mm[k, at[inner]] + round_mm
    return need


def _wave_of(hull: Hull) -> Floats:
    """Give (C,) the height, mm, of a wave four frames long, for a bend of 1/m on its crest.

    A wave a sin(2 pi s / 4h) bends by a (pi / 2h)^2 on its crest, and as much the other way two
    frames off; ends have none.
    """
    x, high = hull.frames.x_mm, np.full(len(hull.frames.x_mm) + 2, np.nan)
    apart = (x[4:] - x[:-4]) / 4
    high[3:-3] = (2 * apart / np.pi) ** 2 / 2 / 1000.0
    return high


def _seam(hull: Hull, lining: Lining, k: int) -> Floats:
    """Curvature (C,) of the seam above strake k at frames clear of its ends, NaN elsewhere."""
    bend = np.full(len(lining.columns), np.nan)
    on = _there(lining)[k].copy()
    on[[0, -1]] = False
    at = np.flatnonzero(on)
    if len(at) < 8:
        return bend
    points = _edges(hull, lining)[1][k, at]
    fraction = lining.upper_girth_mm[k, at] / _girths(hull)[at]
    bend[at[2:-2]] = edge_curvature(points, _normals(hull, at - 1, fraction))[2:-2]
    return bend


def _normals(hull: Hull, frame: NDArray[np.int64], fraction: Floats) -> Floats:
    if hull.frames.normal is None:
        return np.tile([0.0, 0.0, 1.0], (len(frame), 1))
    normal = np.array([_on(hull.frames.normal[f], t) for f, t in zip(frame, fraction, strict=True)])
    unit: Floats = normal / np.linalg.norm(normal, axis=1, keepdims=True)
    return unit
