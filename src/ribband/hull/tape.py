"""Girths only: the girth line faired over the frames' positions, and doubtful girths named.

There is no surface. Lines are the frames themselves, with the hood ends before and after them
where their girths were measured too. A hood end's girth runs along the stem or post, not along a
frame, so it stands as measured; it is faired with the others only where frames without a girth
lie between it and the nearest frame that has one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ribband.findings import Finding, Severity
from ribband.hull.girthline import GirthLine, fair_girths
from ribband.hull.model import Doubt, Floats, GirthLines, Hull, SideDifference
from ribband.hull.rules import FEWER, HullRules
from ribband.hull.sides import side_findings
from ribband.hull.slips import explain
from ribband.survey.model import Decision, FrameMark, Girth, Survey
from ribband.survey.taped import by_side, enough, to_fair
from ribband.units import format_small, parse_length

__all__ = ["fit_tape"]

_ENDS = ("stem", "stern")


@dataclass(frozen=True, eq=False)
class _Faired:
    """One side's girth line over x, and what was made of each reading."""

    girths: tuple[Girth, ...]
    faired: GirthLine
    doubts: tuple[Doubt, ...]

    @property
    def residual(self) -> Floats:
        """Give each girth less the fair line."""
        return self.faired.batten.residual

    @property
    def rms(self) -> float:
        """Give the usual error of the girths in use."""
        return float(np.sqrt(np.mean(self.residual[self.faired.use > 0] ** 2)))

    def at(self, x: Floats) -> Floats:
        """Give the girth at positions x (m,)."""
        return self.faired.batten.at(x)


def fit_tape(survey: Survey, rules: HullRules) -> Hull:
    """Fair the girths of a survey that has no points.

    Raises
    ------
    InputError : girths at fewer than five frames on a side
    """
    survey = enough(survey)
    said = {d.key: d for d in survey.decisions}
    faired = [
        _fair(to_fair(girths, survey.frames), said, rules, survey.particulars.unit)
        for girths in by_side(survey.girths).values()
    ]
    marks = _marks(survey, faired)
    ends = [next((g for g in survey.girths if g.frame == end), None) for end in _ENDS]
    stem, stern = ((g.x_mm,) if g else () for g in ends)
    x = np.array([*stem, *(m.x_mm for m in marks), *stern])
    girth = np.mean([f.at(x) for f in faired], axis=0)
    for place, end in ((0, "stem"), (-1, "stern")):
        own = [_value(g, said) for g in survey.girths if g.frame == end]
        if own:
            girth[place] = np.mean(own)
    names = (*("stem" for _ in stem), *(m.name for m in marks), *("stern" for _ in stern))
    lines = _lines(names, x, girth, _basis(names, faired, rules), rules.samples)
    frames = _part(lines, slice(len(stem), len(lines.names) - len(stern)))
    differences = _differences(faired, marks)
    return Hull(
        survey.particulars, marks, lines, frames, bool(stem), bool(stern), None,
        rules.tolerance_mm, float(np.sqrt(np.mean([f.rms**2 for f in faired]))),
        tuple(d for f in faired for d in f.doubts), differences,
        tuple(_findings(survey, faired, marks, differences, rules)),
    )  # fmt: skip


def _fair(girths: list[Girth], said: dict[str, Decision], rules: HullRules, unit: str) -> _Faired:
    x = np.array([g.x_mm for g in girths])
    x = x + 1e-6 * np.arange(len(x))  # two girths at one frame are two readings of it
    value = np.array([_value(g, said) for g in girths])
    use = np.array([0.0 if _is(g, said, "accept") else 1.0 for g in girths])
    certain = np.array([_is(g, said, "keep") or _is(g, said, "correct") for g in girths])
    faired = fair_girths(
        x, value, use, certain, times=rules.doubt_times + FEWER, least_mm=rules.tolerance_mm
    )
    off = faired.batten.residual
    doubts = [
        _doubt(g, v, float(off[i]), 2.5 * faired.spread + 1.0, said=said, unit=unit)
        for i, (g, v) in enumerate(zip(girths, value, strict=True))
        if faired.use[i] == 0
    ]
    return _Faired(tuple(girths), faired, tuple(doubts))


def _value(girth: Girth, said: dict[str, Decision]) -> float:
    d = said.get(girth.key)
    if d is not None and d.decision == "correct" and d.value_mm is not None:
        return d.value_mm
    return girth.girth_mm


def _is(girth: Girth, said: dict[str, Decision], what: str) -> bool:
    return girth.key in said and said[girth.key].decision == what


def _doubt(
    g: Girth,
    value: float,
    off: float,
    uncertain: float,
    *,
    said: dict[str, Decision],
    unit: str,
) -> Doubt:
    decision = said[g.key].decision if g.key in said else ""
    return Doubt(
        g.key, g.frame, "girth", g.as_typed, value, value - off, off,
        explain(off, uncertain, g.as_typed, unit, parse_length), decision,
        g.cell.file, g.cell.row, g.cell.column, g.x_mm,
        g.frame if g.frame in _ENDS else f"frame {g.frame}",
    )  # fmt: skip


def _marks(survey: Survey, faired: list[_Faired]) -> tuple[FrameMark, ...]:
    """Give the frames within what was taped, or one for each girth if none were listed."""
    low = min(f.girths[0].x_mm for f in faired)
    high = max(f.girths[-1].x_mm for f in faired)
    listed = [m for m in survey.frames if low - 1.0 <= m.x_mm <= high + 1.0]
    if not survey.frames:
        found = {g.frame: g.x_mm for f in faired for g in f.girths if g.frame not in _ENDS}
        listed = [FrameMark(name, x) for name, x in found.items()]
    return tuple(sorted(listed, key=lambda m: m.x_mm))


def _basis(names: tuple[str, ...], faired: list[_Faired], rules: HullRules) -> tuple[str, ...]:
    moved: dict[str, float] = {}
    for f in faired:
        for g, off, use in zip(f.girths, f.residual, f.faired.use, strict=True):
            out = abs(off) if use > 0 else np.inf
            moved[g.frame] = max(moved.get(g.frame, 0.0), out)
    return tuple(
        "between" if name not in moved
        else "measured" if moved[name] <= rules.tolerance_mm else "faired"
        for name in names
    )  # fmt: skip


def _lines(
    names: tuple[str, ...], x: Floats, girth: Floats, basis: tuple[str, ...], samples: int
) -> GirthLines:
    span = max(x[-1] - x[0], 1.0)
    v = np.repeat(np.linspace(0, 1, samples)[None], len(x), 0)
    u = np.repeat(((x - x[0]) / span)[:, None], samples, 1)
    starts = ("keel",) * len(x)
    return GirthLines(names, x, girth, starts, u, v, None, None, None, basis)  # type: ignore[arg-type]


def _part(lines: GirthLines, rows: slice) -> GirthLines:
    return GirthLines(
        lines.names[rows], lines.x_mm[rows], lines.girth_mm[rows], lines.starts[rows],
        lines.u[rows], lines.v[rows], None, None, None, lines.basis[rows],
    )  # fmt: skip


def _differences(faired: list[_Faired], marks: tuple[FrameMark, ...]) -> tuple[SideDifference, ...]:
    if len(faired) < 2:
        return ()
    x = np.array([m.x_mm for m in marks])
    gap = faired[0].at(x) - faired[1].at(x)  # port sorts before starboard
    return tuple(
        SideDifference(m.name, float(d), float(abs(d)), "girth")
        for m, d in zip(marks, gap, strict=True)
    )


def _findings(
    survey: Survey,
    faired: list[_Faired],
    marks: tuple[FrameMark, ...],
    differences: tuple[SideDifference, ...],
    rules: HullRules,
) -> list[Finding]:
    known = {end for end in _ENDS for g in survey.girths if g.frame == end}
    found = [
        Finding(
            "H010", Severity.CAUTION, "hull", end,
            f"no girth was taken at the {end}; the planking is known only to the"
            f" {'first' if end == 'stem' else 'last'} frame taped",
        )
        for end in _ENDS if end not in known
    ]  # fmt: skip
    lost = [m.name for m in survey.frames if m not in marks]
    if lost:
        says = f"frames {', '.join(lost)} lie outside what was taped and are left out"
        found.append(Finding("H015", Severity.CAUTION, "hull", "frames", says))
    found += side_findings(differences, rules, survey.particulars.unit)
    rms = max(f.rms for f in faired)
    if rms > rules.tolerance_mm:
        unit = survey.particulars.unit
        by, most = format_small(rms, unit), format_small(rules.tolerance_mm, unit)
        says = f"the girths scatter by {by} about the fair line, more than the tolerance of {most}"
        found.append(Finding("H013", Severity.CAUTION, "hull", "girths", says))
    return found
