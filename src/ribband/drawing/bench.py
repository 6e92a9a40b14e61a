"""What every paper for one plank at the bench has in common: the job, hands, bevels in words.

A *bevel* on paper is what fits an edge to its neighbour: its angle from square to the inner face,
right across. It is written in degrees and as its *rise*: so many millimetres on 100, or inches on
12 where the vessel is in feet, as set off on a bevel board. Plus means that the outer face is the
narrower, minus that it is the wider. The *caulking bevel* is taken off after it, from a line a part
of the thickness out, so that the seam stays tight inside that line.

Not checked: whether a plank and a shape given together belong together, beyond their names.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ribband.drawing.book.words import in_unit, joined
from ribband.drawing.sheet import Title
from ribband.findings import Finding, Severity
from ribband.hull.model import Doubt, Hull
from ribband.planks.model import Plank
from ribband.planks.shape_model import Shape
from ribband.units import UNITS, format_bare, format_length, format_small, imperial

__all__ = [
    "Bench",
    "bevel",
    "caulking_bevel",
    "degrees",
    "doubts_about",
    "few",
    "leans_out",
    "marked_minus",
    "outside_mm",
    "pairs",
    "rise",
    "rise_base",
]

LEAST_RAD = 0.0008  # what is printed as more than nothing
_FINER = {"ft": "ft-in-8ths"}
_BASE = {True: (304.8, "12 in"), False: (100.0, "100 mm")}


@dataclass(frozen=True, slots=True)
class Bench:
    """The job as the papers of its planks name it; `unit` is a key of `ribband.units.UNITS`."""

    vessel: str
    unit: str = "mm"
    yard: str = ""
    job: str = ""
    date: str = ""
    revision: str = ""

    @classmethod
    def of(cls, hull: Hull, job: str = "", date: str = "", revision: str = "") -> Bench:
        """Take vessel, yard and unit from the hull's particulars; decimal feet in sixteenths.

        A hundredth of a foot is too coarse to mark a plank by.
        """
        p = hull.particulars
        unit = _FINER.get(p.unit, p.unit) if p.unit in UNITS else "mm"
        return cls(p.vessel, unit, p.yard, job or p.vessel, date, revision)

    def title(self, drawing: str, side: str) -> Title:
        """Give what a title block says."""
        unit = UNITS[self.unit].says
        return Title(self.vessel, drawing, self.yard, self.date, self.revision, side, unit)


def degrees(angle_rad: float) -> str:
    """Write an angle to a tenth of a degree, with a true minus; nothing where not known.

    >>> degrees(0.1), degrees(-0.1), degrees(-0.0001), degrees(float("nan"))
    ('5.7°', '−5.7°', '0.0°', '')
    """
    if not math.isfinite(angle_rad):
        return ""
    text = f"{math.degrees(angle_rad):.1f}°"
    return "0.0°" if text == "-0.0°" else text.replace("-", "−")


def rise(angle_rad: float, unit: str) -> str:
    """Write a bevel as its rise on 100 mm (to half a millimetre) or on 12 in (to a sixteenth).

    >>> rise(0.1, "mm"), rise(0.1, "ft-in-8ths"), rise(-0.05, "mm")
    ('10', '1 3/16', '−5')
    """
    if not math.isfinite(angle_rad):
        return ""
    over, _ = _BASE[imperial(unit)]
    mm = over * math.tan(angle_rad)
    text = format_bare(mm, "in") if imperial(unit) else f"{round(2 * mm) / 2 + 0.0:g}"
    return text.replace("-", "−")


def rise_base(unit: str) -> str:
    """Say over what a rise is measured.

    >>> rise_base("mm"), rise_base("ft")
    ('100 mm', '12 in')
    """
    return _BASE[imperial(unit)][1]


def bevel(angle_rad: float, unit: str) -> str:
    """Write a bevel both ways, as on a pattern.

    >>> bevel(0.1, "mm"), bevel(0.1, "in")
    ('5.7°  10 on 100', '5.7°  1 3/16 on 12')
    """
    if not math.isfinite(angle_rad):
        return "?"
    return f"{degrees(angle_rad)}  {rise(angle_rad, unit)} on {rise_base(unit).split()[0]}"


def marked_minus(shape: Shape) -> bool:
    """Tell whether a bevel is printed minus anywhere: the outer face is the wider there."""
    return bool(np.nanmin([*shape.lower_fit_rad, *shape.upper_fit_rad, 0.0]) < -LEAST_RAD)


def leans_out(shape: Shape, plank: Plank, unit: str) -> bool:
    """Tell whether an edge reaches outside the outline by what is printed as more than nothing."""
    if not plank.dressed_mm:
        return marked_minus(shape)
    return outside_mm(shape, plank) >= (25.4 / 16 if imperial(unit) else 1.0)


def outside_mm(shape: Shape, plank: Plank) -> float:
    """Give how far an edge reaches outside the inner face's outline at most, mm."""
    fit = np.concatenate([shape.lower_fit_rad, shape.upper_fit_rad])
    opened = np.concatenate([shape.lower_bevel_rad, shape.upper_bevel_rad])
    at_line = -shape.tight_mm * np.tan(fit)
    at_face = at_line - (plank.dressed_mm - shape.tight_mm) * np.tan(opened)
    return float(np.nanmax([*at_line, *at_face, 0.0]))


def caulking_bevel(shape: Shape, plank: Plank, unit: str) -> str:
    """Say how the edges are opened for the caulking, after they fit; nothing where they are not."""
    out = plank.dressed_mm - shape.tight_mm
    edges = (("lower", shape.lower_bevel_rad, shape.lower_fit_rad),
             ("upper", shape.upper_bevel_rad, shape.upper_fit_rad))  # fmt: skip
    opened: dict[str, list[str]] = {}
    for name, bevels, fits in edges:
        off = out * float(np.median(np.tan(bevels) - np.tan(fits))) if len(fits) else 0.0
        if out > 0 and off > LEAST_RAD * out:
            angle = degrees(float(np.median(bevels - fits)))
            opened.setdefault(f"{format_small(off, unit)} ({angle})", []).append(name)
    if not opened:
        return ""
    each = [
        f"{'both edges' if len(names) > 1 else f'{names[0]} edge'} by {much}"
        for much, names in opened.items()
    ]
    return (
        f"Caulking bevel, once it fits: from a line {format_length(shape.tight_mm, unit)} off the "
        f"inner face out, {joined(each)}; tight inside it."
    )


def few(doubts: Sequence[str], most: int = 6) -> tuple[str, ...]:
    """Give the first of many doubts, and how many more there are: paper is small.

    >>> few(["one", "two", "three"], 2)
    ('one', 'and 2 more: see the planking book.')
    """
    if len(doubts) <= most:
        return tuple(doubts)
    return (*doubts[: most - 1], f"and {len(doubts) - most + 1} more: see the planking book.")


def pairs(planks: Sequence[Plank], shapes: Sequence[Shape]) -> tuple[tuple[Plank, Shape], ...]:
    """Give each plank with its flat shape, by name without the side; those without are left out.

    Of several shapes of one name the first is taken.
    """
    by_name = {shape.name: shape for shape in reversed(shapes)}
    named = ((plank, by_name.get(f"{plank.strake}-{plank.number}")) for plank in planks)
    return tuple((plank, shape) for plank, shape in named if shape is not None)


def doubts_about(hull: Hull, shape: Shape, findings: Sequence[Finding] = ()) -> tuple[str, ...]:
    """Say what is doubtful about a plank: open readings and unmeasured frames it crosses, findings.

    A finding counts where its place has the name of the plank in it, with or without the side.
    """
    crossed = set(shape.frames)
    open_ = [d for d in hull.doubts if not d.decision and _crosses(hull, crossed, d)]
    said = [_in_doubt(d) for d in open_]
    if gaps := _between(hull, crossed):
        said.append(f"Nothing was measured at {_frames(gaps)}: faired in between.")
    grave = [f for f in findings if f.severity is not Severity.NOTE and _names(f, shape)]
    told = [in_unit(f.says, hull.particulars.unit) for f in grave]
    said += [f"{says[:1].upper()}{says[1:].rstrip('.')}." for says in told]
    return tuple(said)


def _crosses(hull: Hull, crossed: set[str], doubt: Doubt) -> bool:
    """Tell whether a plank that crosses these frames passes where a doubted reading was taken."""
    if not doubt.place.startswith("station"):
        return doubt.frame in crossed
    x = [x for name, x in zip(hull.frames.names, hull.frames.x_mm, strict=True) if name in crossed]
    return bool(x) and min(x) <= doubt.x_mm <= max(x)


def _in_doubt(doubt: Doubt) -> str:
    place = doubt.where
    place = place[:1].upper() + place[1:]
    if doubt.whole or doubt.line == "position":
        what = doubt.line.partition(",")[0]
        return (
            f"{place}: its {what} {'are' if doubt.whole else 'is'} in doubt, all it reads left out."
        )
    return f"{place}: {doubt.line} read as {doubt.as_typed} is in doubt."


def _between(hull: Hull, crossed: set[str]) -> list[str]:
    """Name the frames without a measurement; none where she was measured at stations instead."""
    basis = dict(zip(hull.frames.names, hull.frames.basis, strict=True))
    gaps = [name for name in basis if basis[name] == "between"]
    return [n for n in gaps if n in crossed] if len(gaps) < len(basis) / 2 else []


def _frames(names: Sequence[str]) -> str:
    if len(names) > 4:
        return f"{len(names)} frames ({names[0]} to {names[-1]})"
    return f"frame{'s' if len(names) > 1 else ''} {', '.join(names)}"


def _names(finding: Finding, shape: Shape) -> bool:
    first = finding.where.replace(",", " ").replace(":", " ").split()
    said = {word for word in first if "-" in word}
    return bool(said & {shape.name, f"P{shape.name}", f"S{shape.name}"})
