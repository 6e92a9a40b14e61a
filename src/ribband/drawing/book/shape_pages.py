"""The flat shapes in the book: how each plank is got to the hull, and what to look out for.

A shape stands for the planks of both sides where the planking is mirrored, and is then named
without a side. Not checked here: the shapes; their own check does that.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

import numpy as np

from ribband.drawing.book.flow import Story, bullet, heading, say
from ribband.drawing.book.model import Book
from ribband.drawing.book.table import Col, Group, Line, Table
from ribband.drawing.book.words import bare, count, in_unit, joined, length, unit_words
from ribband.findings import Severity
from ribband.planks.shape_model import Shape
from ribband.units import format_small, imperial

__all__ = ["flat_shapes", "tightest_bend"]

ABOUT_SHAPES = re.compile(r"P02[1-9]|P03\d")  # the codes of what is said of flat shapes
GRADES = ("cold", "steam", "steam and force", "split or laminate", "")
HEAVIEST = 8
NAMED = 8  # planks told by name


def flat_shapes(book: Book) -> Story:
    """Set the grade, left-over strain and seam error of every plank, and the heaviest bends."""
    story: Story = [heading("Flat shapes", "shapes")]
    sides = list(_sides(book))
    if not sides:
        return [*story, say(_why_none(book))]
    story.append(say(_lead(book, sides)))
    for side, shapes in sides:
        story += [_table(book, side, shapes)]
    return [*story, *_bends(book, sides), *_cautions(book)]


def _sides(book: Book) -> Iterator[tuple[str, tuple[Shape, ...]]]:
    for side, made in (("", book.shapes), (" to starboard", book.starboard_shapes)):
        if made and made.shapes:
            other = book.starboard_shapes if not side else None
            yield (" to port" if other else side, made.shapes)


def _why_none(book: Book) -> str:
    if not book.hull.in_space:
        return (
            "Not known: only girths were measured, and a flat shape needs the hull in space. Spile "
            "each plank from the hull itself."
        )
    return "No flat shapes have been made for this book."


def _lead(book: Book, sides: list[tuple[str, tuple[Shape, ...]]]) -> str:
    every = [s for _, shapes in sides for s in shapes]
    worst = max(every, key=lambda s: s.seam_error_mm)
    each = [(g, sum(s.grade == g for s in every)) for g in GRADES]
    graded = joined([f"{n} {g or 'not graded'}" for g, n in each if n])
    error = format_small(worst.seam_error_mm, book.unit)
    return (
        f"{count(len(every), 'shape')}: {graded}. Bent back on to the hull every plank closes its "
        f"seams within {error} (the worst is {worst.name}). Strain left is what stays in a "
        "plank’s own plane when it lies on the frames; the outer strain is that of its outer "
        "fibres in bending over the dressed thickness. A grade is a guide: try a strip of the "
        f"same thickness first.{_turned(book, every)} {_near_said(every)}"
    )


def _turned(book: Book, every: Sequence[Shape]) -> str:
    """Name the planks that are steamed though their bend alone is graded cold."""
    cold = {s.name for s in every if s.grade == "cold"}
    steamed = book.shop.steaming.planks if book.shop else ()
    names = [p.plank for p in steamed if p.needed and p.plank[1:] in cold]
    if not names:
        return ""
    want = "wants" if len(names) == 1 else "want"
    who = joined(names) if len(names) <= NAMED else f"{count(len(names), 'plank')} graded cold"
    return f" It is of the bend alone: {who} {want} steam for the twist, as Steaming says."


def _near_said(every: list[Shape]) -> str:
    if not _known(tuple(every)):
        return (
            "How near edges and bevels are to the true ones is not known: the readings are too few "
            "to tell their own error."
        )
    return (
        "Within: 95 of 100 points of a plank’s edges, and of its bevels, are likely to lie no "
        "further from the true ones, by how the survey’s readings scatter; a tape that is short "
        "or a frame in a wrong place does not show in it. In the rabbet and at the sheer bevels "
        "are given, not found. A plank divided anew or renewed has no figure."
    )


def _table(book: Book, side: str, shapes: tuple[Shape, ...]) -> Table:
    small = "in" if imperial(book.unit) else "mm"
    cols = [
        Col("plank"), Col("grade"), Col("tightest\nbend", "right"), Col("at\nframe", "right"),
        Col("outer\nstrain %", "right"), Col("strain\nleft %", "right"),
        Col(f"seam\nerror, {small}", "right"), Col("edge set if\ngot out straight", "right"),
        Col("thickness\nneeded", "right"),
        *((Col(f"edges\nwithin, {small}", "right"), Col("bevels\nwithin, °", "right"))
          if _known(shapes) else ()),
    ]  # fmt: skip
    names = [s.name for s in book.lining.strakes]
    rows: list[Line] = []
    for row in reversed(range(len(names))):
        mine = [s for s in shapes if s.strake == row]
        if mine:
            known = _known(shapes)
            set_ = [(*_row(book, s), *(_likely(book, s) if known else ())) for s in mine]
            rows += [Group(f"Strake {names[row]}"), *set_]
    title = f"Every plank{side}; radius, edge set and thickness in {unit_words(book.unit)}"
    return Table(cols, rows, fives=False, size=8.4, title=title)


def _row(book: Book, s: Shape) -> tuple[str, ...]:
    radius, frame = tightest_bend(s)
    fibre = f"{100 * s.fibre_strain:.2f}" if s.fibre_strain > 0 else "–"
    error = s.seam_error_mm / 25.4 if imperial(book.unit) else s.seam_error_mm
    return (
        s.name, s.grade or "not graded", _radius(radius, book.unit), frame, fibre,
        f"{100 * s.strain:.2f}", f"{error:.2f}" if imperial(book.unit) else f"{error:.1f}",
        bare(s.edge_set_mm, book.unit), bare(s.thickness_mm, book.unit),
    )  # fmt: skip


def _known(shapes: tuple[Shape, ...]) -> bool:
    """Tell whether it is known of any shape how near it is likely to be."""
    return any(s.within for s in shapes)


def _likely(book: Book, s: Shape) -> tuple[str, str]:
    """Give what 95 of 100 of its edges' points and of its bevels are likely to be within."""
    if s.within is None:
        return "–", "–"
    edges = s.within.edges_mm / 25.4 if imperial(book.unit) else s.within.edges_mm
    bevels = np.degrees(s.within.bevels_rad)
    said = f"{bevels:.1f}" if np.isfinite(bevels) else "–"
    return f"{edges:.2f}" if imperial(book.unit) else f"{edges:.1f}", said


def tightest_bend(s: Shape) -> tuple[float, str]:
    """Give the least radius a plank is bent to, mm, and the frame; infinite and "" if straight."""
    radius = np.abs(s.bend_radius_mm)
    at = int(np.argmin(np.where(np.isnan(radius), np.inf, radius))) if len(radius) else -1
    if at < 0 or not np.isfinite(radius[at]):
        return float("inf"), ""
    return float(radius[at]), s.frames[at]


def _radius(mm: float, unit: str) -> str:
    return bare(mm, unit) if np.isfinite(mm) else "straight"


def _bends(book: Book, sides: list[tuple[str, tuple[Shape, ...]]]) -> Story:
    bent = [(s, side) for side, shapes in sides for s in shapes if tightest_bend(s)[1]]
    bent.sort(key=lambda pair: (-pair[0].fibre_strain, tightest_bend(pair[0])[0]))
    if not bent:
        return []
    per = "ft" if imperial(book.unit) else "m"
    cols = [Col("plank"), Col("bent to", "right"), Col("at frame"), Col("outer\nstrain %", "right"),
            Col(f"most twist,\ndegrees per {per}", "right"), Col("how", share=1)]  # fmt: skip
    rows: list[Line] = [_bend_row(book, s, side) for s, side in bent[:HEAVIEST]]
    return [heading("Heaviest bends", "bends", 1), Table(cols, rows, fives=False)]


def _bend_row(book: Book, s: Shape, side: str) -> Line:
    radius, frame = tightest_bend(s)
    per = 0.3048 if imperial(book.unit) else 1.0
    twist = float(np.degrees(np.nanmax(np.abs(s.twist_rad_per_m), initial=0.0))) * per
    fibre = f"{100 * s.fibre_strain:.2f}" if s.fibre_strain > 0 else "–"
    how = s.grade or "not graded"
    why = f": {in_unit(s.why_grade, book.unit)}" if s.why_grade not in {"", s.grade} else ""
    return (s.name + side, length(radius, book.unit), frame, fibre, f"{twist:.1f}", how + why)


def _cautions(book: Book) -> Story:
    mine = [
        f
        for f in book.findings
        if ABOUT_SHAPES.fullmatch(f.code) and f.severity is not Severity.NOTE
    ]
    story: Story = [heading("Look out for", "shape cautions", 1)]
    said = [bullet(in_unit(f"{f.where}: {f.says}.", book.unit)) for f in mine]
    if not said:
        said = [bullet("No plank asks for more than the rules of flat shapes allow.")]
    trial = (
        "Make a pattern in thin stuff of the first plank of each kind and offer it up before good "
        "timber is cut: the hull is right, the paper is not."
    )
    return [*story, *said, bullet(trial)]
