"""What was measured: doubtful readings, gaps, how the sides differ, lines and girths."""

from __future__ import annotations

from ribband.drawing.book.flow import Story, bullet, heading, say
from ribband.drawing.book.model import Book
from ribband.drawing.book.plates import plates
from ribband.drawing.book.table import Col, Loud, Table
from ribband.drawing.book.words import (
    at_stations,
    bare,
    blank_cells,
    count,
    decided,
    far_between,
    gaps,
    length,
    open_doubts,
    out_by,
    ranges,
    stations_of,
    unit_words,
)
from ribband.hull.model import Doubt
from ribband.units import format_bare, format_length, format_small

__all__ = ["doubts", "far_said", "gaps_and_sides", "lines"]


def doubts(book: Book) -> Story:
    """Set the table of doubtful readings."""
    story: Story = [heading("Doubtful measurements", "doubts")]
    what = "surface" if book.hull.in_space else "line of girths"
    reached, asked = (
        format_small(v, book.unit) for v in (book.hull.rms_mm, book.hull.tolerance_mm)
    )
    fit = (
        f"The fair {what} passes the readings it believes within {reached} (root mean square); it "
        f"was asked to keep within {asked}."
    )
    if not book.hull.doubts:
        return [*story, say(f"No reading is doubtful. {fit}")]
    waiting = len(open_doubts(book))
    left = (
        f"{count(waiting, 'reading')} still {'waits' if waiting == 1 else 'wait'} for a decision: "
        "left out of the fairing until then, and kept on record."
        if waiting
        else "Every one has been decided on."
    )
    story.append(say(f"Readings the fair surface does not believe, with what would lie fair and "
                     f"the slip that would account for it. {left} Measure again where you can "
                     f"reach. {fit}"))  # fmt: skip
    cols = [
        Col("at"),
        Col("line", share=1.1),
        Col("as typed", "right"),
        Col("would lie\nfair at", "right"),
        Col("out by", "right"),
        Col("explained by", share=1),
        Col("decision", share=0.9),
        Col("cell", share=1.5, ink="faint"),
    ]
    ordered = sorted(book.hull.doubts, key=lambda d: (bool(d.decision), -abs(d.off_mm)))
    rows = [_doubt(book, d) for d in ordered]
    return [*story, Table(cols, rows, size=8.2)]


def _doubt(book: Book, d: Doubt) -> Loud | tuple[str, ...]:
    fair = format_length(abs(d.fair_mm), book.unit)
    cells = (
        d.where,
        d.line,
        d.as_typed or "all",
        f"{fair} {'less' if d.fair_mm > 0 else 'more'}"
        if d.whole
        else format_length(d.fair_mm, book.unit),
        out_by(d.off_mm, book.unit),
        d.explains or "nothing simple",
        decided(d),
        ", ".join(p for p in (d.file, f"row {d.row}" if d.row else "", d.column) if p),
    )
    return cells if d.decision else Loud(cells)


def gaps_and_sides(book: Book) -> Story:
    """Say where nothing was measured, and how port differs from starboard."""
    order, missing, blanks = book.hull.frames.names, gaps(book), blank_cells(book)
    said = (
        f"Nothing was measured at {count(len(missing), 'frame')} of {len(order)}: "
        f"{ranges(missing, order)}. Their girths come from the fairing. Check them with a batten "
        "before a seam is marked."
        if missing
        else _stations(book)
    )
    story: Story = [heading("Gaps", "gaps"), say(said)]
    story += [bullet(f"{f.where}: {f.says}.") for f in blanks]
    story.append(heading("How the sides differ", "sides"))
    if not book.hull.sides:
        return [*story, say("Only one side was measured, or both were given as one; the other side "
                            "is taken as its mirror. An old hull is seldom the same on both "
                            "sides: try the girths across before getting out pairs.")]  # fmt: skip
    worst = max(book.hull.sides, key=lambda s: s.greatest_mm)
    story.append(say(f"Port less starboard. The sides differ most at frame {worst.frame}, "
                     f"{worst.at}: {length(worst.greatest_mm, book.unit)}."))  # fmt: skip
    cols = [
        Col("frame"),
        Col("girth\nto port", "right"),
        Col("farthest\napart", "right"),
        Col("where"),
    ]
    unit = book.unit
    rows = [
        (s.frame, _more_or_less(s.girth_mm, unit), format_bare(s.greatest_mm, unit), s.at)
        for s in book.hull.sides
    ]
    return [*story, Table(cols, rows, across=2, title=f"In {unit_words(book.unit)}")]


def _stations(book: Book) -> str:
    """Say where she was measured when no frame is wanting."""
    if not at_stations(book):
        return "Every frame was measured."
    names = [name for name, _ in stations_of(book)]
    return (
        f"She was measured at {count(len(names), 'station')} ({', '.join(names)}); her frames "
        f"stand between them, and their girths are cut from the fair surface. {far_said(book)} "
        "Check the girth of a few frames on the hull before a seam is marked."
        + (" Blanks in the table, faired across:" if blank_cells(book) else "")
    )


def far_said(book: Book) -> str:
    """Say how many frames stand far from any station."""
    most, far = far_between(book)
    space = format_length(most, book.unit)
    if not far:
        return f"None stands further than {space} from a station."
    which = ranges(far, book.hull.frames.names)
    stand = "stands" if len(far) == 1 else "stand"
    return f"{count(len(far), 'frame')} ({which}) {stand} further than {space} from any station."


def _more_or_less(mm: float, unit: str) -> str:
    said = format_bare(abs(mm), unit)
    zero = said == format_bare(0.0, unit)
    return "same" if zero else f"{said} {'more' if mm > 0 else 'less'}"


_BASIS = (
    "Measured: moved by fairing no further than the tolerance; faired: moved further; between: "
    "nothing was measured there."
)


def _along(book: Book) -> str:
    if book.hull.in_space or book.hull.particulars.measured_to == "frame":
        return "along the outside of the frame"
    return "along the outside of the planking, from which nothing is deducted,"


def lines(book: Book) -> Story:
    """Set the lines and the body plan, and the girths at every frame."""
    story: Story = [heading("Lines and girths", "lines")]
    drawn = plates(book, "lines") + plates(book, "body")
    if book.hull.in_space:
        said = ("Profile, half-breadth and body plan of the fair surface, with the measured points."
                if drawn else "No drawing of the lines was made for this book.")  # fmt: skip
    else:
        said = ("Only girths were measured, so there are no lines to draw. The planking is lined "
                "out on the expansion, girth against position.")  # fmt: skip
    story.append(say(f"{said} The table gives the girth {_along(book)} at every frame, from "
                     f"its lower end to the sheer. {_BASIS}"))  # fmt: skip
    f, unit = book.hull.frames, book.unit
    rows = [
        (name, bare(x, unit), bare(girth, unit), start, basis)
        for name, x, girth, start, basis in zip(
            f.names, f.x_mm, f.girth_mm, f.starts, f.basis, strict=True
        )
    ]
    cols = [
        Col("frame"),
        Col("position", "right"),
        Col("girth", "right"),
        Col("from"),
        Col("basis"),
    ]
    table = Table(cols, rows, across=2, title=f"Girths, in {unit_words(unit)}")
    return [*story, table, *drawn]
