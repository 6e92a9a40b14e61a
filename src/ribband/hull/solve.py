"""From survey to hull: fair each side, take the mean, cut the frames.

With both sides measured each is fitted alone, their difference is reported at every frame and
the plan is made on the mean, so that one set of moulds serves both. Planking that was measured
over is deducted square to the surface before anything is cut.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Literal

import numpy as np

from ribband.findings import Finding, Severity
from ribband.hull.bodily import set_right
from ribband.hull.cuts import cut_frames, girth_lines, own_lines
from ribband.hull.endpoints import judged_ends
from ribband.hull.likely import likely_out
from ribband.hull.misplaced import position_cell, repositioned
from ribband.hull.model import Doubt, GirthLines, Hull, SideDifference
from ribband.hull.other_side import borne_out_over_there
from ribband.hull.patch import even_girth
from ribband.hull.rules import HullRules
from ribband.hull.sections import decided
from ribband.hull.side import SideFit, fit_side
from ribband.hull.sides import side_findings
from ribband.hull.surface import Inside, SplineSurface
from ribband.hull.tape import fit_tape
from ribband.numerics.bspline import Tensor, even_basis, tensor_through
from ribband.survey.model import FrameMark, Particulars, Reading, Survey, place_of
from ribband.units import format_length, format_small

__all__ = ["fit", "under_planking"]

Progress = Callable[[float, str], None]
_NEAR_STATION = 10.0


def fit(survey: Survey, rules: HullRules | None = None, progress: Progress | None = None) -> Hull:
    """Fair the hull and name doubtful readings.

    Raises
    ------
    InputError : too little was measured to make a hull of
    NotConverged : the fairing equations have no answer
    """
    rules = HullRules() if rules is None else rules
    tell = progress or (lambda share, words: None)
    if survey.girths_only:
        return fit_tape(survey, rules)
    survey = repositioned(survey)
    survey = replace(survey, readings=set_right(survey.readings, survey.decisions))
    survey, of_ends = judged_ends(survey, rules)
    tell(0.0, "fairing the surface")
    fits = _fit_sides(survey, rules, tell)
    tell(0.7, "cutting the frames")
    tensors = [under_planking(f.patch.tensor, survey.particulars) for f in fits]
    tensors = [even_girth(t) for t in tensors]
    hull = _cut(survey, rules, fits, tensors)
    hull = replace(hull, doubts=(*of_ends, *(_placed(d, survey) for d in hull.doubts)))
    tell(1.0, "hull faired")
    return hull


def _placed(doubt: Doubt, survey: Survey) -> Doubt:
    """Say at which frame or station a doubt is; show a doubted column where its position was typed.

    Where no frames were listed the stations are the frames. Points have no column: what is doubted
    of them as a whole is shown on their own form.
    """
    doubt = replace(doubt, place=place_of(doubt.frame, doubt.x_mm, _listed(survey)))
    cell = position_cell(survey, doubt.frame) if doubt.line == "position" or doubt.whole else None
    if cell is None or (doubt.whole and cell.file != doubt.file):
        return doubt
    return replace(doubt, file=cell.file, row=cell.row, column=cell.column)


def _fit_sides(survey: Survey, rules: HullRules, tell: Progress) -> list[SideFit]:
    readings, said = decided(survey.readings, survey.decisions)
    own = sorted({r.side for r in readings} - {"both"})
    sides = [(side, "both") for side in own] if len(own) == 2 else [("both", *own)]
    chosen = [tuple(r for r in readings if r.side in side) for side in sides]
    unit, fits = survey.particulars.unit, []
    for k, some in enumerate(chosen):
        fits.append(fit_side(some, survey.ends, said, rules, unit))
        tell(0.7 * (k + 1) / len(sides), "fairing the surface")
    for k in range(len(fits) if len(fits) == 2 else 0):
        one, other = fits[k], fits[1 - k]
        borne = borne_out_over_there(one.doubts, other.doubts, chosen[k], chosen[1 - k])
        if borne:
            fits[k] = fit_side(chosen[k], survey.ends, said, rules, unit, borne=borne)
    return fits


def under_planking(tensor: Tensor, particulars: Particulars) -> Tensor:
    """Give the surface of the frames: moved in by the planking if that was measured over.

    The moved surface is splined anew on breaks twice as fine.
    """
    thick = particulars.planking_mm
    if particulars.measured_to == "frame" or thick <= 0:
        return tensor
    inside = Inside(SplineSurface(tensor), thick)
    along = even_basis(2 * (tensor.along.size - 3))
    across = even_basis(2 * (tensor.across.size - 3))
    u, v = np.meshgrid(along.greville, across.greville, indexing="ij")
    return tensor_through(along, across, inside.point(u, v))


def _mean(tensors: list[Tensor]) -> Tensor:
    if len(tensors) == 1:
        return tensors[0]
    first = max(tensors, key=lambda t: t.coefficients.size)
    u, v = first.along.greville, first.across.greville
    values = np.mean([t.grid(u, v) for t in tensors], axis=0)
    return even_girth(tensor_through(first.along, first.across, values), 1)


def _cut(survey: Survey, rules: HullRules, fits: list[SideFit], tensors: list[Tensor]) -> Hull:
    tensor = _mean(tensors)
    marks, frames = _frames(tensor, survey, fits, rules)
    sides = _differences(tensors, marks, rules)
    rms = float(np.sqrt(np.mean([f.rms_mm**2 for f in fits])))
    doubts = tuple({d.key: d for f in fits for d in f.doubts}.values())
    has_stem = all(f.edges.has_stem for f in fits)
    has_stern = all(f.edges.has_stern for f in fits)
    lines = own_lines(tensor, rules.lines, rules.samples)
    return Hull(
        survey.particulars, marks, lines, frames,
        has_stem, has_stern, SplineSurface(tensor), rules.tolerance_mm, rms, doubts, sides,
        tuple(_findings(survey, rules, fits, marks, sides=sides, rms=rms)),
        likely_out(fits, lines, rules),
    )  # fmt: skip


def _listed(survey: Survey) -> tuple[FrameMark, ...]:
    """Give the frames; where none were listed, the stations stand for them."""
    if survey.frames:
        return tuple(sorted(survey.frames, key=lambda m: m.x_mm))
    stations = {r.station: r.x_mm for r in survey.readings}
    return tuple(FrameMark(n, x) for n, x in sorted(stations.items(), key=lambda s: s[1]))


def _frames(
    tensor: Tensor, survey: Survey, fits: list[SideFit], rules: HullRules
) -> tuple[tuple[FrameMark, ...], GirthLines]:
    listed = _listed(survey)
    x = np.array([m.x_mm for m in listed])
    which, starts, u, v, girth = cut_frames(tensor, x, rules.samples)
    marks = tuple(listed[i] for i in which)
    basis = tuple(_basis(m, fits, rules) for m in marks)
    names = tuple(m.name for m in marks)
    return marks, girth_lines(
        tensor, names, x[which], (u, v), girth=girth, starts=tuple(starts), basis=basis
    )


def _basis(
    mark: FrameMark, fits: list[SideFit], rules: HullRules
) -> Literal["measured", "faired", "between"]:
    """Tell how a frame's girth is known: "faired" if a reading there moved out of tolerance."""
    known = False
    for f in fits:
        here = np.abs(f.points.xyz[:, 0] - mark.x_mm) < _NEAR_STATION
        known = known or bool(here.any())
        if np.any(np.abs(f.off[here]) > rules.tolerance_mm):
            return "faired"
        if any(abs(d.x_mm - mark.x_mm) < _NEAR_STATION for d in f.doubts) and here.any():
            return "faired"
    return "measured" if known else "between"


def _differences(
    tensors: list[Tensor], marks: tuple[FrameMark, ...], rules: HullRules
) -> tuple[SideDifference, ...]:
    """Give port less starboard at each frame both sides have."""
    if len(tensors) < 2:
        return ()
    x = np.array([m.x_mm for m in marks])
    cuts = [cut_frames(t, x, rules.samples) for t in tensors]  # port sorts before starboard
    rows = [{i: k for k, i in enumerate(c[0])} for c in cuts]
    runs = [t.at(c[2], c[3]) for t, c in zip(tensors, cuts, strict=True)]
    found = []
    for i, mark in enumerate(marks):
        if i in rows[0] and i in rows[1]:
            a, b = rows[0][i], rows[1][i]
            gap = np.linalg.norm(runs[0][a] - runs[1][b], axis=-1)
            at = int(np.argmax(gap))
            girth = float(cuts[0][4][a] - cuts[1][4][b])
            found.append(SideDifference(mark.name, girth, float(gap[at]), _place(at, len(gap))))
    return tuple(found)


def _place(at: int, samples: int) -> str:
    share = at / (samples - 1)
    if share == 0:
        return "rabbet"
    return "sheer" if share == 1 else f"{100 * share:.0f} % of the girth up from the rabbet"


def _findings(
    survey: Survey,
    rules: HullRules,
    fits: list[SideFit],
    marks: tuple[FrameMark, ...],
    *,
    sides: tuple[SideDifference, ...],
    rms: float,
) -> list[Finding]:
    unit = survey.particulars.unit
    found = list({(f.code, f.where): f for fit_ in fits for f in fit_.findings}.values())
    lost = [m.name for m in _listed(survey) if m not in marks]
    if lost:
        says = f"frames {', '.join(lost)} lie outside the planking that was measured; left out"
        found.append(Finding("H015", Severity.CAUTION, "hull", "frames", says))
    found += [_against(r, off, survey) for fit_ in fits for r, off in fit_.against]
    found += side_findings(sides, rules, unit)
    if rms > rules.tolerance_mm:
        says = (
            f"the readings scatter by {format_small(rms, unit)} about the fair surface, more than"
            f" the tolerance of {format_small(rules.tolerance_mm, unit)}"
        )
        found.append(Finding("H013", Severity.CAUTION, "hull", "readings", says))
    return found


def _against(reading: Reading, off: float, survey: Survey) -> Finding:
    """Say that a reading the shipwright stands by is not borne out by those about it."""
    by = format_length(abs(off), survey.particulars.unit)
    way = "great" if off > 0 else "small"
    says = (
        f"{reading.line or 'a point'}, which you stand by, is {by} too {way} by the readings about"
        " it; the surface is drawn to it, and they are not doubted for its sake"
    )
    where = place_of(reading.station, reading.x_mm, _listed(survey))
    return Finding("H020", Severity.NOTE, "hull", where, says)
