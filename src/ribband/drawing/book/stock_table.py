"""Which stock length each plank comes from, and whether there are boards enough.

A plank with its trim comes from the shortest stock that holds it; where that runs out, from the
next. The longest planks choose first, so that if this fails no other sharing would do. One plank
a board: two short planks out of one long board are not looked for.
"""

from __future__ import annotations

from collections.abc import Sequence

from ribband.drawing.book.flow import Story, heading, say
from ribband.drawing.book.model import Book
from ribband.drawing.book.table import Col, Line, Loud, Table
from ribband.drawing.book.words import bare, count, length, unit_words
from ribband.planks.model import Plank

__all__ = ["shared_out", "stock"]


def shared_out(
    planks: Sequence[float], stock: Sequence[float], counts: Sequence[int]
) -> list[int | None]:
    """Give each plank, its length with trim on, the number of the stock it comes from, or None.

    `stock` increases; a count below zero means enough.

    >>> shared_out([3.0, 5.0, 2.9], [3.0, 6.0], [1, 9])
    [0, 1, 1]
    >>> shared_out([7.0], [3.0, 6.0], [-1, -1])
    [None]
    """
    left, chosen = list(counts), [None] * len(planks)  # type: list[int], list[int | None]
    for i in sorted(range(len(planks)), key=lambda i: -planks[i]):
        for k, long in enumerate(stock):
            if long >= planks[i] - 0.05 and left[k] != 0:
                chosen[i], left[k] = k, left[k] - (left[k] > 0)
                break
    return chosen


def stock(book: Book) -> Story:
    """Set the table of stock lengths; nothing where the job has none."""
    ways, planks = book.ways, book.planks
    if ways is None or planks is None or ways.stock_mm is None or not len(ways.stock_mm):
        return []
    trim = next((r.value for r in book.rules.get("butts", ()) if r.name == "trim_mm"), 0.0)
    trim_mm = float(trim) if isinstance(trim, (int, float)) else 0.0
    lengths = [float(mm) for mm in ways.stock_mm]
    every = [-1] * len(lengths) if ways.stock_count is None else [int(c) for c in ways.stock_count]
    chosen = shared_out([p.length_mm + trim_mm for p in planks.planks], lengths, every)
    rows = _rows(book, lengths, every, chosen)
    short = [p for p, k in zip(planks.planks, chosen, strict=True) if k is None]
    if short:
        rows.append(Loud(("none left", "", str(len(short)), "", _names(short))))
    cols = [Col("stock\nlength", "right"), Col("boards in\nhand", "right"),
            Col("planks\nfrom it", "right"), Col("boards\nleft", "right"),
            Col("planks", share=1)]  # fmt: skip
    return [
        heading("Boards from stock, by length", "stock", 1),
        say(_said(book, trim_mm, len(short))),
        Table(cols, rows, fives=False, title=f"Lengths in {unit_words(book.unit)}"),
    ]


def _said(book: Book, trim_mm: float, short: int) -> str:
    end = "There is a board for each, by length."
    if not book.hull.in_space:
        end = (
            "There is a board for each by these lengths, which are on the flat expansion: the true "
            "planks are longer, and near the length of a board may not come out of it."
        )
    if short:
        end = f"Boards are short for {count(short, 'plank')}: buy them, or shift butts."
    trim = f", with {length(trim_mm, book.unit)} of trim" if trim_mm else ""
    return (
        f"Each plank{trim}, from the shortest stock that holds it, one plank a board. {end} Widths "
        "and flaws are not looked at here: lay the planks on the boards themselves for that."
    )


def _rows(
    book: Book, lengths: list[float], counts: list[int], chosen: Sequence[int | None]
) -> list[Line]:
    rows: list[Line] = []
    planks = book.planks.planks if book.planks else ()
    for k, (mm, have) in enumerate(zip(lengths, counts, strict=True)):
        mine = [p for p, at in zip(planks, chosen, strict=True) if at == k]
        in_hand, left = ("enough", "enough") if have < 0 else (str(have), str(have - len(mine)))
        rows.append((bare(mm, book.unit), in_hand, str(len(mine)), left, _names(mine)))
    return rows


def _names(planks: Sequence[Plank], most: int = 40) -> str:
    """Name planks, a pair of port and starboard as "both"."""
    sides: dict[str, list[str]] = {}
    for p in planks:
        sides.setdefault(f"{p.strake}-{p.number}", []).append(p.name)
    said = [key if len(names) > 1 else names[0] for key, names in sides.items()]
    more = f" and {len(said) - most} more" if len(said) > most else ""
    return ", ".join(said[:most]) + more or "none"
