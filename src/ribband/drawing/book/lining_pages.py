"""The lining out: reasons, limits, alternatives; the expansion; girths and widths to set off."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import CondPageBreak

from ribband.drawing.book.flow import Story, bullet, heading, say
from ribband.drawing.book.model import Book
from ribband.drawing.book.plates import plates
from ribband.drawing.book.style import text_width
from ribband.drawing.book.table import Col, Line, Table
from ribband.drawing.book.words import (
    bare,
    count,
    in_unit,
    joined,
    length,
    metric_or_feet,
    narrowest,
    ranges,
    unit_words,
    widest,
)
from ribband.hull.model import Floats
from ribband.lining.model import Alternative
from ribband.units import format_area, format_bare

__all__ = ["expansion", "lining_out", "widths"]

TITLE = "Planking expansion"
PAGES = {"A4": 688.0, "letter": 638.0}  # height between the margins, points
LARGEST = 10.2  # size of figures, points
LEAST_LINE = 9.9
FIGURES = 11  # columns of figures on a page before the table goes on to another block


def lining_out(book: Book) -> Story:
    """Say which strakes there are and why."""
    lining, unit = book.lining, book.unit
    story: Story = [heading("Lining out", "lining")]
    if not lining.feasible:
        said = (
            "This lining out breaks a limit. The findings name the wish to give up; until then it "
            "is the best attempt and not to be built from."
        )
        story.append(say(said))
    story.append(say(f"{_strakes(book)} {_sweep(book)}"))
    if lining.reasons:
        story += [say("Why so:"), *(bullet(in_unit(reason, unit)) for reason in lining.reasons)]
    story += [_strake_table(book), heading("What binds", "binds", 1), *_binds(book)]
    story += [heading("Alternatives compared", "alternatives", 1), *_alternatives(book)]
    return story


def _strakes(book: Book) -> str:
    strakes = book.lining.strakes
    stealers = [s.name for s in strakes if s.stealer]
    said = f"{count(len(strakes) - len(stealers), 'strake')} a side run the length of her"
    if not stealers:
        return f"{said}; no stealer is wanted."
    return f"{said}, with {count(len(stealers), 'stealer')} ({', '.join(stealers)})."


def _sweep(book: Book) -> str:
    """Say the sweep as a batten shows it: the round of an edge over a length one can picture."""
    words, over = metric_or_feet(book.unit)
    per_mm = book.lining.sweep_rms_per_m / 1000.0
    bow = length(over**2 * per_mm / 8, book.unit)
    return (f"Over all planks the sweep is such that {words} of plank edge would show a round of "
            f"{bow} (root mean square).")  # fmt: skip


def _strake_table(book: Book) -> Table:
    unit, lining = book.unit, book.lining
    rows: list[Line] = []
    for i in reversed(range(len(lining.strakes))):
        s, wide = lining.strakes[i], lining.full_width_mm[i]
        seen = wide[np.isfinite(wide)]
        reach = f"{_end(s.first)} to {_end(s.last)}" + (f", nib at {s.nib}" if s.nib else "")
        most, least = (
            (format_bare(v, unit) for v in (seen.max(), seen.min())) if len(seen) else ("", "")
        )
        long = lining.along_mm[i][np.isfinite(lining.along_mm[i])]
        run = format_bare(float(np.ptp(long)), unit) if len(long) else ""
        rows.append((s.name, s.called, reach, most, least, run))
    cols = [Col("strake"), Col("called"), Col("reaches"), Col("widest", "right"),
            Col("narrowest", "right"), Col("length\nend to end", "right")]  # fmt: skip
    return Table(cols, rows, title=f"Strakes from the sheer down, in {unit_words(unit)}")


def _end(column: str) -> str:
    return column if column in {"stem", "stern"} else f"frame {column}"


def _binds(book: Book) -> Story:
    binds = book.lining.binds
    if not binds:
        return [say("No limit holds the seams; fairness alone shaped them.")]
    cols = [
        Col("limit or wish", share=1.3),
        Col("where", share=1.2),
        Col("what easing it gains", share=1.3),
    ]
    rows = [tuple(in_unit(t, book.unit) or "–" for t in (b.what, b.where, b.gain)) for b in binds]
    return [Table(cols, rows, fives=False)]


def _alternatives(book: Book) -> Story:
    if not book.lining.alternatives:
        return [say("The number of strakes was given, or no other division came near.")]
    words, _ = metric_or_feet(book.unit)
    cols = [
        Col("strakes", "right"),
        Col("stealers", "right"),
        Col("cost", "right"),
        Col(f"round in\n{words}", "right"),
        Col("widest", "right"),
        Col("narrowest", "right"),
        Col("blanks\na side", "right"),
        Col("what it means", share=1),
    ]
    rows = [_compared(a, book.unit) for a in (_chosen(book), *book.lining.alternatives)]
    said = (
        "Lower cost is fairer and evener; two costs within a fiftieth are as good as equal, and "
        "the choice is yours. Stealers are counted among the strakes. Blanks: planks of the usual "
        "length with their sweep, before allowances; an estimate."
    )
    return [say(said), Table(cols, rows, fives=False)]


def _chosen(book: Book) -> Alternative:
    """Put the lining itself in a line with its alternatives."""
    lining = book.lining
    stealers = sum(s.stealer for s in lining.strakes)
    return Alternative(
        strakes=len(lining.strakes),
        stealers=stealers,
        cost=lining.cost,
        sweep_rms_per_m=lining.sweep_rms_per_m,
        widest_mm=widest(lining).mm,
        narrowest_mm=narrowest(lining).mm,
        says="chosen",
        blank_m2=lining.blank_m2,
    )


def _compared(a: Alternative, unit: str) -> Line:
    _, over = metric_or_feet(unit)
    lengths = (over**2 * a.sweep_rms_per_m / 8000.0, a.widest_mm, a.narrowest_mm)
    figures = (format_bare(mm, unit) for mm in lengths)
    blanks = format_area(a.blank_m2, unit) if a.blank_m2 else ""
    counts = str(a.strakes), str(a.stealers), f"{a.cost:.3g}"
    return (*counts, *figures, blanks, in_unit(a.says, unit))


def expansion(book: Book) -> Story:
    """Set the planking expansion as fold-outs."""
    drawn = plates(book, "expansion", ("expansion", TITLE))
    return drawn or [heading(TITLE, "expansion"), say("No expansion was drawn for this book.")]


def widths(book: Book) -> Story:
    """Set the two tables a shipwright marks from: girths of the seams, widths of the strakes."""
    unit = unit_words(book.unit)
    girths, across = (
        _blocks(book, f) for f in (book.lining.upper_girth_mm, book.lining.full_width_mm)
    )
    story: Story = [
        heading("To set off on the frames", "widths"),
        say(f"In {unit}. Mark each seam by its girth from the rabbet, all in one laying of the "
            "tape, so that no error adds up; then prove the marks with a batten before a "
            "plank is got out. The sheer stands at the top, as on the hull."),
        CondPageBreak(min(_high(girths[0]) + 24.0, PAGES[book.paper] - 4.0)),
        heading("Girths of the seams, rabbet to upper edge", "girths", 1),
    ]  # fmt: skip
    story += [
        *_unbroken(girths),
        CondPageBreak(min(_high(across[0]) + 50.0, PAGES[book.paper] - 4.0)),
        heading(f"Widths of the strakes, {_across(book)}", "across", 1),
        say(
            "What the plank is got out to at each frame. A blank under a strake that has a girth: "
            "the stem or stern cuts it there, and its lower edge runs out on the rabbet."
        ),
        *_unbroken(across),
    ]
    for side in book.anew:
        story += _divided_anew(book, side)
    for name in book.sheets:
        if name not in {"lines", "body", "expansion", "boards"}:
            story += plates(book, name)
    return story


def _divided_anew(book: Book, side: str) -> Story:
    """Set the tables of a side divided anew, which stand in place of those before."""
    own = replace(book, lining=book.anew[side])
    lining = own.lining
    girths, across = (_blocks(own, f) for f in (lining.upper_girth_mm, lining.full_width_mm))
    key = f"anew-{side}"
    return [
        CondPageBreak(min(_high(girths[0]) + 40.0, PAGES[book.paper] - 4.0)),
        heading(f"{side.capitalize()}, divided anew", key, 1),
        say(f"Seams of planks that hang to {side} were measured, and what is left there was "
            "divided anew. These girths, and the widths after them, stand in place of those "
            f"above. {_as_hung(book, side)}"),
        *_unbroken(girths),
        CondPageBreak(min(_high(across[0]) + 40.0, PAGES[book.paper] - 4.0)),
        heading(f"Widths {side}, {_across(book)}", f"{key}-across", 1),
        *_unbroken(across),
    ]  # fmt: skip


def _across(book: Book) -> str:
    """Tell how widths are taken: girths alone do not say how a strake leans on the frame."""
    return "square across" if book.hull.in_space else "along the frame"


def _as_hung(book: Book, side: str) -> str:
    """Say which figures of hung planks were measured, and where the others come from."""
    seams: dict[str, set[str]] = {}
    for drift in book.measured.get(side, ()):
        seams.setdefault(drift.above, set()).add(drift.frame)
    columns = book.lining.columns
    told = [
        f"above strake {name} at {ranges(seams[name], columns)}"
        for name in (strake.name for strake in book.lining.strakes)
        if name in seams
    ]
    return (
        f"Measured on planks that hang: the seam {joined(told)}. Every other figure of them is "
        "reckoned: between and past the measured frames, from the next measured seam by the "
        "widths the planks were cut to, or as planned. Measure before a plank is fitted to it."
    )


def _unbroken(tables: list[Table]) -> Story:
    """Give the blocks, each begun on a new page where it would be broken on this one."""
    rest = [part for table in tables[1:] for part in (CondPageBreak(_high(table)), table)]
    return [*tables[:1], *rest]


def _blocks(book: Book, figures: Floats) -> list[Table]:
    columns = book.lining.columns
    used = [k for k in range(len(columns)) if np.isfinite(figures[:, k]).any()]
    number = -(-len(used) // FIGURES)
    each = -(-len(used) // max(number, 1))
    strakes = book.lining.strakes
    line = _line(len(strakes), PAGES[book.paper])
    size = min(0.77 * line, LARGEST, _size_for(book, figures, text_width(book.paper) / (each + 1)))
    return [
        Table(
            [Col("strake"), *(Col(columns[k], "right") for k in used[i : i + each])],
            _figures(book, figures, used[i : i + each]),
            even=each,
            fives=len(strakes) < 50,
            size=size,
            line=line,
        )
        for i in range(0, len(used), each)
    ]


def _line(rows: int, page: float) -> float:
    """Choose the step from row to row so that whole blocks fill a page, points."""
    for blocks in (4, 3, 2):
        line = (page / blocks - 47.0) / rows - 0.52
        if line >= LEAST_LINE:
            return min(line, 11.6)
    return max(min((page - 47.0) / rows - 0.52, 14.5), LEAST_LINE)


def _size_for(book: Book, figures: Floats, room: float) -> float:
    """Give the size at which the longest figure leaves air between columns `room` apart."""
    seen = figures[np.isfinite(figures)]
    longest = max((format_bare(float(mm), book.unit) for mm in seen), key=len, default="0")
    return float(room * 0.86 / stringWidth(longest, "Sans", 1.0))


def _high(table: Table) -> float:
    """Give the height a block wants, so that one that fits on a page is not broken over two."""
    return float(min(len(table.rows) * (table.line + 0.52) + 34.0, 640.0))


def _figures(book: Book, figures: Floats, columns: list[int]) -> list[Line]:
    strakes = book.lining.strakes
    rows: list[Line] = []
    for i in reversed(range(len(strakes))):
        cells = [bare(float(figures[i, k]), book.unit) for k in columns]
        rows.append((strakes[i].name, *cells))
    return rows
