"""The four edges of the planking, faired on their own before the surface.

The surface is held hard to the edges; `ribband.hull.profile` parts stem, keel and stern. An end
that was not measured is no edge: the planking is then known only to the first or last station,
whose section is free to be faired in its own plane.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ribband.findings import Finding, Severity
from ribband.hull.fairrun import FairRun, Judge, fair_run
from ribband.hull.model import Floats
from ribband.hull.profile import profile
from ribband.hull.sections import EdgeStations
from ribband.numerics.polyline import along
from ribband.survey.model import EndPoint
from ribband.units import format_length, format_small

__all__ = ["Edges", "fair_edges"]

_FAR = 2.0  # times the tolerance: points of an end further than this off its line are told of
_SHORT = 0.12  # an end may stop this share of its height short of the sheer


@dataclass(frozen=True, eq=False)
class Edges:
    """Keel rabbet and sheer, fore to aft; stem and stern, keel to sheer; each (k, 3), closely.

    `stem` or `stern` is a straight line between keel and sheer where that end is free.
    `rabbet_runs`, `sheer_run` tell how the readings lay; `astray` as in `profile.Profile`.
    """

    keel: Floats
    sheer: Floats
    stem: Floats
    stern: Floats
    has_stem: bool
    has_stern: bool
    rabbet_runs: tuple[FairRun, ...]
    sheer_run: FairRun
    findings: tuple[Finding, ...]
    astray: tuple[tuple[float, float], ...] = ()


def fair_edges(
    rabbet: EdgeStations,
    sheer: EdgeStations,
    ends: tuple[EndPoint, ...],
    judge: Judge | None = None,
    unit: str = "mm",
) -> Edges:
    """Fair the edges from the readings of rabbet and sheer and the points of stem and stern.

    `unit` is the vessel's own, for what the findings say.
    """
    stem = _end(ends, "stem")
    stern = _end(ends, "stern")
    findings: list[Finding] = []
    has_stem = _reaches(stem, (rabbet.xyz[0], sheer.xyz[0]), "stem", unit, findings)
    has_stern = _reaches(stern, (rabbet.xyz[-1], sheer.xyz[-1]), "stern", unit, findings)
    stem, stern = stem if has_stem else stem[:0], stern if has_stern else stern[:0]
    sheer_run = _sheer(sheer, stem, stern, judge and judge.by(sheer.sure))
    corners = (_corner(ends, "stem"), _corner(ends, "stern"))
    seen = profile(rabbet, stem, stern, judge and judge.by(rabbet.sure), unit, corners=corners)
    keel, head = seen.keel, sheer_run.xyz
    ends_of = [
        np.stack([foot, top]) if line is None else _joined_ends(line, foot, top)
        for line, foot, top in ((seen.stem, keel[0], head[0]), (seen.stern, keel[-1], head[-1]))
    ]
    if judge:
        rabbet_line = np.concatenate([ends_of[0][::-1], keel, ends_of[1]])
        for which, points in (("stem", stem), ("stern", stern)):
            findings += _astray(which, points, rabbet_line, _FAR * judge.least_mm, unit)
    return Edges(
        keel, head, ends_of[0], ends_of[1], has_stem, has_stern,
        seen.runs, sheer_run, (*findings, *seen.findings), seen.astray,
    )  # fmt: skip


def _astray(which: str, points: Floats, line: Floats, least_mm: float, unit: str) -> list[Finding]:
    """Say which points (k, 3) of an end the fair line (m, 3) leaves by more than `least_mm`."""
    off = np.array([_beside(point, line) for point in points])
    out = np.flatnonzero(off > least_mm)
    if not len(out):
        return []
    worst = int(off.argmax())
    heights = ", ".join(format_length(float(z), unit) for z in points[out, 2])
    says = (
        f"the fair line runs as much as {format_small(float(off[worst]), unit)} beside the measured"
        f" points of the {which} (of {len(points)}, those at height {heights}): they turn more"
        " sharply than a fair line does, or one of them is out; hood ends there are out by as much"
        " if the points are right"
    )
    why = (
        "measure points closer together there; where keel and end meet at one of them, call that"
        f" `{'forefoot' if which == 'stem' else 'heel'}` on the form `ends` and the line keeps it"
    )
    return [Finding("H027", Severity.CAUTION, "hull", which, says, why)]


def _beside(point: Floats, line: Floats) -> float:
    """Give how far a point (3,) lies beside a polyline (m, 3)."""
    step = np.diff(line, axis=0)
    ahead = np.einsum("mi,mi->m", point - line[:-1], step) / np.maximum(
        np.einsum("mi,mi->m", step, step), 1e-12
    )
    foot = line[:-1] + np.clip(ahead, 0.0, 1.0)[:, None] * step
    return float(np.linalg.norm(point - foot, axis=1).min())


def _end(ends: tuple[EndPoint, ...], which: str) -> Floats:
    """Points of an end from the keel up, (k, 3)."""
    found = [(p.x_mm, p.y_mm, p.z_mm) for p in ends if p.end == which]
    return np.array(sorted(found, key=lambda p: p[2]), float).reshape(-1, 3)


def _corner(ends: tuple[EndPoint, ...], which: str) -> Floats | None:
    """Give the point (3,) at which the shipwright says an end's rabbet meets the keel's."""
    found = [(p.x_mm, p.y_mm, p.z_mm) for p in ends if p.end == which and p.corner]
    return np.array(found[0], float) if found else None


def _reaches(
    end: Floats, last: tuple[Floats, Floats], which: str, unit: str, findings: list[Finding]
) -> bool:
    """Tell whether an end's points reach the sheer, and say so if they do not.

    `last` is the rabbet and the sheer at the station next to it.
    """
    place = "first" if which == "stem" else "last"
    if len(end) == 0:
        says = (
            f"the {which} rabbet was not measured; the planking is known only to the"
            f" {place} station, and nothing beyond it is made up"
        )
        findings.append(Finding("H010", Severity.CAUTION, "hull", which, says))
        return False
    rabbet, sheer = last
    short = float(sheer[2] - end[-1, 2])
    if len(end) >= 2 and short < _SHORT * (sheer[2] - min(rabbet[2], end[0, 2])):
        return True
    stop = f"stop {format_length(short, unit)} short of the sheer"
    found = stop if len(end) >= 2 else "are one only"
    says = f"the points of the {which} {found}; the planking is taken only to the {place} station"
    findings.append(Finding("H011", Severity.CAUTION, "hull", which, says))
    return False


def _sheer(sheer: EdgeStations, stem: Floats, stern: Floats, judge: Judge | None) -> FairRun:
    """Fair the sheer, with the heads of stem and stern, held, before and after it."""
    fore, aft = stem[-1:], stern[-1:]
    ones = [np.ones((len(end), 2)) for end in (fore, aft)]
    none = [np.full(len(end), -1) for end in (fore, aft)]
    return fair_run(
        np.concatenate([fore, sheer.xyz, aft]),
        np.concatenate([ones[0], sheer.use, ones[1]]),
        (len(fore) > 0, len(aft) > 0),
        np.concatenate([none[0], np.arange(len(sheer.xyz)), none[1]]),
        judge,
    )


def _joined_ends(line: Floats, first: Floats, last: Floats) -> Floats:
    """Shift a line, growing along it, so that it meets its corners exactly."""
    t = (along(line) / along(line)[-1])[:, None]
    return np.asarray(line + (1 - t) * (first - line[0]) + t * (last - line[-1]), float)
