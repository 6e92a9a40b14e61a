"""The hull in her own axes: centreline, length, upright, bow; the shipwright's word is the last.

*Mirror*: the plane in which one side is the other; found by trying planes along the hull's length,
then fitted by laying the mirrored points on the surface of the others, trusting the many. *Trim*:
how she lies fore and aft, which no cloud can tell: it is taken from level picks, from `up`, from
the floor she stands over, or, with a caution, square to her longest way. *Up*: the side where she
is open and broad. *Bow*: the finer end. Where one of these is not clear the question is put back.

Sources: point-to-plane fitting as in Y. Chen and G. Medioni, 1992 (from memory); the rest is ours.

Not checked here: picks against the cloud; `scan_cut` does that.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ribband.errors import Ambiguous, InputError, Problem
from ribband.findings import Finding, Severity
from ribband.survey.scan_clean import Cleaned, clean
from ribband.survey.scan_model import Cloud, Floats, Pick, Placed, Placing

__all__ = ["place"]

MATCHED = 0.75  # least part of the points that must find their mirror
ALIKE = 1.15  # two mirrors so near in quality are both good
BROADER = 1.25  # an end or side must be so much broader to be told by it
TURNS, NEAR_TURNS = 25, 8  # of fitting a plane: at the most, and of them with some points only
LEAST_MET = 50  # points that must have their like on the other side
SETTLED_MM = 1e-3  # a step that moves the mirror less is the last; a scan scatters by millimetres
_LINES = ("rabbet", "sheer", "stem", "stern")


@dataclass(frozen=True, slots=True, eq=False)
class _Mirror:
    """A plane normal . p = height, and how well it mirrors.

    off_mm : usual distance of mirrored points from the surface of the others
    matched : the part of the points that has others near its mirror image; gap_mm : how near
    """

    normal: Floats
    height: float
    off_mm: float
    matched: float
    gap_mm: float


def place(cloud: Cloud, said: Placing | None = None) -> Placed:
    """Find the hull in a scan and set her upright, x aft from the bow.

    Raises
    ------
    Ambiguous : the cloud cannot tell the centreline, the bow or what is up, and nothing was said
    InputError : what was said is no direction, or picks are too close to tell one
    """
    said = said or Placing()
    _sensible(said)
    points = cloud.points * said.scale
    hull = clean(points, said.floor)
    findings = [*cloud.findings, *_of_cleaning(hull)]
    factor = cloud.unit_mm * said.scale
    mirror = _centreline(hull, said, factor, findings)
    turn = _turn(hull, mirror, said, factor, findings)
    shift = _shift(hull, turn @ (mirror.height * mirror.normal), turn, said, factor, findings)
    placed = hull.fine @ turn.T + shift
    lines = {name: _picks(getattr(said, name), factor, turn, shift) for name in _LINES}
    dropped = hull.in_flats + hull.in_posts + hull.in_pieces
    return Placed(placed, turn, shift, **lines, dropped=dropped, asymmetry_mm=mirror.off_mm,
                  findings=tuple(findings))  # fmt: skip


def _picks(picks: tuple[Pick, ...], factor: float, turn: Floats, shift: Floats) -> Floats:
    at = np.array(picks, float).reshape(-1, 3) * factor
    return np.asarray(at @ turn.T + shift, float)


def _sensible(said: Placing) -> None:
    problems = []
    if not 1e-4 < said.scale < 1e4:
        problems.append(
            Problem("placing", 0, "scale", f"{said.scale:g}", "a number near 1", "1.002")
        )
    for name in ("bow", "up"):
        way = getattr(said, name)
        if way is not None and not (np.isfinite(way).all() and np.linalg.norm(way) > 1e-9):
            problems.append(Problem("placing", 0, name, str(way), "a direction", "0, 0, 1"))
    problems += [
        Problem("placing", 0, name, "not a number", "picks of three numbers")
        for name in (*_LINES, "centreline")
        if not np.isfinite(np.array(getattr(said, name), float)).all()
    ]
    if 0 < len(said.centreline) < 3:
        found = f"{len(said.centreline)} picks"
        problems.append(Problem("placing", 0, "centreline", found, "three or more, not in a line"))
    if problems:
        raise InputError(problems)


def _of_cleaning(hull: Cleaned) -> list[Finding]:
    findings = []
    for code, count, what in (
        ("S102", hull.in_flats, f"points of {len(hull.floors)} flats (floor or walls)"),
        ("S103", hull.in_posts, "points of posts (shores, staging)"),
        ("S104", hull.in_pieces, f"points of {hull.pieces} loose pieces (people, gear)"),
    ):
        if count:
            findings.append(_finding(code, Severity.NOTE, f"{count} {what} left out"))
    return findings


def _finding(code: str, severity: Severity, says: str, why: str = "") -> Finding:
    return Finding(code, severity, "survey", "scan", says, why)


# --- centreline ------------------------------------------------------------------------------


def _centreline(hull: Cleaned, said: Placing, factor: float, findings: list[Finding]) -> _Mirror:
    if not said.centreline:
        return _found_mirror(hull)
    picks = np.array(said.centreline, float) * factor
    spread, axes = np.linalg.eigh(np.cov(picks.T))
    if spread[1] < (2.0 * hull.cube_mm) ** 2:
        wanted = "picks spread along the keel and up the stem or stern"
        raise InputError([Problem("placing", 0, "centreline", "picks nearly in a line", wanted)])
    given = _Mirror(axes[:, 0], float(picks.mean(axis=0) @ axes[:, 0]), float("nan"), 0.0, 0.0)
    start = _Fit(hull).fitted(given)
    if start.matched > MATCHED:
        findings.extend(_against(hull, given, start))
    return replace(start, normal=given.normal, height=given.height)


def _against(hull: Cleaned, given: _Mirror, found: _Mirror) -> list[Finding]:
    """Say if the centreline given is not the one the two sides show."""
    gap = np.abs(
        _away(hull.coarse, given) - np.sign(given.normal @ found.normal) * _away(hull.coarse, found)
    )
    if gap.max() < 15.0:
        return []
    says = f"the centreline given stands up to {gap.max():.0f} mm from the middle of the two sides"
    return [_finding("S106", Severity.CAUTION, says, "the shipwright's picks are followed")]


def _away(points: Floats, mirror: _Mirror) -> Floats:
    return np.asarray(points @ mirror.normal - mirror.height, float)


def _found_mirror(hull: Cleaned) -> _Mirror:
    fit = _Fit(hull)
    tried = fit.tried()
    best = [fit.fitted(start) for start in tried[:3]]
    best.sort(key=lambda m: m.off_mm * m.gap_mm)
    first = best[0]
    if first.matched < MATCHED:
        raise Ambiguous(
            f"no centreline: only {first.matched:.0%} of the scan has its like on another side;"
            " give three picks or more on the centreline"
        )
    for other in best[1:]:
        if abs(other.normal @ first.normal) < np.cos(np.radians(20)) and (
            other.off_mm < ALIKE * first.off_mm and other.gap_mm < ALIKE * first.gap_mm
        ):
            raise Ambiguous(
                "two planes mirror the scan equally well;"
                " give three picks or more on the centreline"
            )
    return first


class _Fit:
    """Mirrors of one hull's coarse cloud, tried and fitted."""

    def __init__(self, hull: Cleaned) -> None:
        from scipy.spatial import cKDTree  # noqa: PLC0415 - heavy

        self.points, self.cube = hull.coarse, hull.cube_mm
        self.tree: Any = cKDTree(self.points)
        self.middle = self.points.mean(axis=0)
        away = self.points - self.middle
        self.axes = np.linalg.eigh(away.T @ away)[1][:, ::-1]
        rng = np.random.default_rng(0)
        self.some = self.points[rng.choice(len(self.points), min(1200, len(self.points)), False)]
        near = self.tree.query(self.points, k=min(9, len(self.points)))[1]
        patch = self.points[near] - self.points[near].mean(axis=1, keepdims=True)
        self.normals = np.linalg.eigh(np.einsum("nki,nkj->nij", patch, patch))[1][:, :, 0]

    def tried(self) -> list[_Mirror]:
        """Try planes along the length all round, the best first and each well apart."""
        rated = []
        for angle in np.radians(np.arange(0.0, 180.0, 3.0)):
            normal = np.cos(angle) * self.axes[:, 1] + np.sin(angle) * self.axes[:, 2]
            along = self.points @ normal
            height = float(np.quantile(along, 0.01) + np.quantile(along, 0.99)) / 2
            rated.append(self._rated(normal, height))
        rated.sort(key=lambda m: m.off_mm)
        apart: list[_Mirror] = []
        for mirror in rated:
            if all(abs(mirror.normal @ m.normal) < np.cos(np.radians(20)) for m in apart):
                apart.append(mirror)
        return apart

    def _rated(self, normal: Floats, height: float) -> _Mirror:
        turned = self.some - 2 * (self.some @ normal - height)[:, None] * normal
        off = self.tree.query(turned, distance_upper_bound=4 * self.cube)[0]
        off = np.minimum(off, 4 * self.cube)
        gap = float(off.mean())
        return _Mirror(normal, height, gap, float(np.mean(off < 1.5 * self.cube)), gap)

    def fitted(self, start: _Mirror) -> _Mirror:
        """Fit the plane so that mirrored points lie on the surface of the others.

        Some of the points bring it near, then all of them to where it settles.
        """
        normal, height = start.normal, start.height - float(start.normal @ self.middle)
        every, some = self.points - self.middle, self.some - self.middle
        r, reach = np.zeros(1), 6.0 * self.cube
        for turn in range(TURNS):
            met = self._met(some if turn < NEAR_TURNS else every, normal, height, reach)
            if len(met[0]) < LEAST_MET and turn < NEAR_TURNS:
                met = self._met(every, normal, height, reach)
            if len(met[0]) < LEAST_MET:
                return replace(start, off_mm=float("inf"), matched=0.0)
            r, rows, side = self._off(*met, normal, height)
            size = 3.0 * 1.4826 * float(np.median(np.abs(r))) + 0.5
            weight = np.maximum(1 - (r / size) ** 2, 0.0) ** 2
            step = np.linalg.lstsq(rows * weight[:, None], -r * weight, rcond=None)[0]
            normal = normal + step[:2] @ side
            normal /= np.linalg.norm(normal)
            height += float(step[2])
            reach = max(2.0 * self.cube, 0.8 * reach)
            if turn > NEAR_TURNS and np.abs(step[2]) < SETTLED_MM:
                break
        off = 1.4826 * float(np.median(np.abs(r)))
        full = self._rated(normal, height + float(normal @ self.middle))
        return replace(full, off_mm=off)

    def _met(
        self, points: Floats, normal: Floats, height: float, reach: float
    ) -> tuple[Floats, Any]:
        """Give the points (n, 3) whose mirrored ones have others near, and which others (n,)."""
        turned = points - 2 * (points @ normal - height)[:, None] * normal
        gap, at = self.tree.query(turned + self.middle, distance_upper_bound=reach)
        met = np.isfinite(gap)
        return points[met], at[met]

    def _off(
        self, points: Floats, at: Any, normal: Floats, height: float
    ) -> tuple[Floats, Floats, Floats]:
        """Give how far mirrored points lie off the surface (n,), and by what that goes (n, 3).

        By two leans of the plane, along the axes given with it (2, 3), and by its height.
        """
        away = points @ normal - height
        n = self.normals[at]
        turned = points - 2 * away[:, None] * normal
        r = np.sum((turned - (self.points[at] - self.middle)) * n, axis=1)
        cosine = n @ normal
        moves = -2 * (away[:, None] * n + cosine[:, None] * points)
        side = np.linalg.svd(normal[None])[2][1:]
        return r, np.column_stack([moves @ side.T, 2 * cosine]), side


# --- trim, up and bow ------------------------------------------------------------------------


def _turn(
    hull: Cleaned, mirror: _Mirror, said: Placing, factor: float, findings: list[Finding]
) -> Floats:
    """Give the rows x aft, y to starboard, z up, in the axes of the scan."""
    away = hull.coarse - hull.coarse.mean(axis=0)
    flat = away - (away @ mirror.normal)[:, None] * mirror.normal
    long = np.linalg.eigh(flat.T @ flat)[1][:, -1]
    up = np.cross(mirror.normal, long)
    rough = _up_sign(hull, said, away, mirror.normal, long=long, up=up, findings=findings)
    exact = _trimmed(
        hull, mirror.normal, said, factor=factor, up=rough, long=long, findings=findings
    )
    aft = np.cross(mirror.normal, exact)
    aft = aft * _aft_sign(said, away, mirror.normal, aft, findings)
    return np.stack([aft, np.cross(exact, aft), exact])


def _up_sign(
    hull: Cleaned, said: Placing, away: Floats, across: Floats, *, long: Floats, up: Floats,
    findings: list[Finding],
) -> Floats:  # fmt: skip
    """Point `up` from keel to deck: as said, or to the side where the hull is the broader."""
    told = said.up or _between(said.rabbet, said.sheer)
    if told is not None:
        return _towards(up, np.array(told, float), "up")
    amidships = np.abs(away @ long) < 0.6 * np.abs(away @ long).max()
    height, breadth = (away @ up)[amidships], np.abs((away @ across)[amidships])
    low, high = np.quantile(height, (0.02, 0.98))
    top = np.quantile(breadth[height > high - 0.15 * (high - low)], 0.5)
    bottom = np.quantile(breadth[height < low + 0.15 * (high - low)], 0.5)
    ratio = top / max(bottom, 1.0)
    if 1 / BROADER < ratio < BROADER:
        raise Ambiguous("keel or deck up? neither side is clearly the broader; say which way is up")
    way = up if ratio > 1 else -up
    floor = _floor(hull, way)
    if floor is not None and floor @ way < 0:
        findings.append(_finding("S107", Severity.CAUTION, "she lies keel up over the floor found"))
    else:
        says = f"up is taken as the broader side, {max(ratio, 1 / ratio):.1f} times the other"
        findings.append(_finding("S108", Severity.NOTE, says))
    return way


def _between(here: tuple[Pick, ...], there: tuple[Pick, ...]) -> Pick | None:
    """Give the way from one line's picks to another's, if both were picked."""
    if not here or not there:
        return None
    x, y, z = np.mean(np.array(there, float), axis=0) - np.mean(np.array(here, float), axis=0)
    return float(x), float(y), float(z)


def _towards(axis: Floats, said: Floats, name: str) -> Floats:
    said = said / np.linalg.norm(said)
    if abs(axis @ said) < 0.3:
        wanted = f"a direction within 70 degrees of the way found for {name}"
        raise InputError([Problem("placing", 0, name, "a direction across it", wanted)])
    return np.asarray(axis * np.sign(axis @ said), float)


def _floor(hull: Cleaned, up: Floats) -> Floats | None:
    """Give the normal of the flat that is a floor: within 25 degrees of square to `up`."""
    level = [n for n in hull.floors if abs(n @ up) > np.cos(np.radians(25))]
    return np.asarray(level[0], float) if level else None


def _trimmed(
    hull: Cleaned, across: Floats, said: Placing, *, factor: float, up: Floats, long: Floats,
    findings: list[Finding],
) -> Floats:  # fmt: skip
    """Give exactly up: square to level picks, or as said, or from the floor, or from her length."""
    floor = _floor(hull, up)
    if said.level is not None:
        run = (np.array(said.level[1], float) - np.array(said.level[0], float)) * factor
        exact = np.cross(across, run - (run @ across) * across)
        if abs(run @ long) < 0.8 * np.linalg.norm(run) + hull.cube_mm:
            wanted = "two picks far apart, one forward and one aft"
            raise InputError([Problem("placing", 0, "level", "picks across the hull", wanted)])
    elif said.up is not None:
        exact = np.array(said.up, float)
    elif floor is not None:
        exact = floor
        says = "upright fore and aft is taken square to the floor; on a slope say what is level"
        findings.append(_finding("S109", Severity.CAUTION, says))
    else:
        exact = up
        says = "nothing tells how she trims; frames are taken square to her longest way"
        findings.append(_finding("S110", Severity.CAUTION, says, "give two level picks, or up"))
    exact = exact - (exact @ across) * across
    exact = exact / np.linalg.norm(exact)
    return np.asarray(exact * np.sign(exact @ up), float)


def _aft_sign(
    said: Placing, away: Floats, across: Floats, aft: Floats, findings: list[Finding]
) -> float:
    """Give 1 where `aft` points aft, -1 where it points to the bow, the finer end."""
    way = said.bow or _between(said.stern, said.stem)
    if way is not None:
        return -float(np.sign(aft @ _towards(aft, np.array(way, float), "bow")))
    along, breadth = away @ aft, np.abs(away @ across)
    low, high = np.quantile(along, (0.002, 0.998))
    part = 0.06 * (high - low)
    fore, after = (
        np.quantile(breadth[end], 0.9) for end in (along < low + part, along > high - part)
    )
    ratio = after / max(fore, 1.0)
    if 1 / BROADER < ratio < BROADER:
        raise Ambiguous("bow or stern? both ends are as fine as each other; say where the bow is")
    times = max(ratio, 1 / ratio)
    says = f"the bow is taken as the finer end; the other is {times:.1f} times as broad"
    findings.append(_finding("S111", Severity.CAUTION, says))
    return 1.0 if ratio > 1 else -1.0


def _shift(  # noqa: PLR0917 - all that tells where 0 is
    hull: Cleaned, centre: Floats, turn: Floats, said: Placing, factor: float,
    findings: list[Finding],
) -> Floats:  # fmt: skip
    """Give what is added after turning: y from the mirror, x and z from the datum."""
    if said.datum is not None:
        at = turn @ (np.array(said.datum.pick, float) * factor)
        return np.array([said.datum.x_mm - at[0], -centre[1], said.datum.z_mm - at[2]])
    turned = hull.coarse @ turn.T
    says = "0 is the foremost and the lowest point of the scan; give a datum to use the yard's own"
    findings.append(_finding("S112", Severity.NOTE, says))
    return np.array([-turned[:, 0].min(), -centre[1], -turned[:, 2].min()])
