"""Timber in the book: the pile, what it dresses to, how seams move, planks on boards, the order.

Not checked here: the laying and the order; their own checks do that.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

import numpy as np

from ribband.drawing.book.flow import Box, Story, bullet, heading, say
from ribband.drawing.book.model import Book
from ribband.drawing.book.plates import plates
from ribband.drawing.book.table import Col, Line, Sum, Table
from ribband.drawing.book.words import bare, count, in_unit, joined, length
from ribband.findings import Severity
from ribband.timber.laid import Laid
from ribband.timber.order.model import Order
from ribband.timber.order.words import delivery_note, how_least, how_sure, size_said
from ribband.timber.pile import Pile
from ribband.units import format_bare, format_small, format_volume, format_weight

__all__ = ["timber"]

LOOK = (
    "Look at the real board before it is laid out: a knot, a check or sap that was not tallied is "
    "a weak plank. Mark each plank with its name before it leaves the board."
)
SAW = (
    "Boards are heavy and bind on the saw: plan the lift, support both parts, stand clear of the "
    "line. Draw the dust off at the tool and wear a mask; some timbers are sensitisers. Local "
    "codes come first. §"
)
WEAK = (
    "The bound knows little of sweep and of wavy edges, so that part of the distance is the "
    "bound’s own weakness; how much is not known."
)


def timber(book: Book) -> Story:
    """Set everything about the boards, or say why there is nothing."""
    story: Story = [heading("Timber", "timber")]
    if book.pile is None or not book.pile.boards:
        story.append(say("No boards were tallied for this book: everything is bought."))
    else:
        story += [*_pile(book, book.pile), *_dressing(book, book.pile)]
    if book.pile is not None:
        story += _seams(book, book.pile)
    if book.laid is not None:
        story += _laying(book, book.laid)
    story += _order(book)
    story += [*_cautions(book), *plates(book, "boards")]
    return story


def _pile(book: Book, pile: Pile) -> Story:
    unit, tally = book.unit, pile.tally
    kg = "of a weight not known of every board" if tally.kg is None else (
        f"about {format_weight(tally.kg, unit)} as they lie"
    )  # fmt: skip
    spoilt = [board.name for board in pile.boards if board.state != "sound"]
    out = f" Not used: {joined(spoilt)}." if spoilt else ""
    unfit = joined([f"{name} ({why})" for name, why in pile.unfit[:8]])
    kept = f" Kept out of the laying: {unfit}." if pile.unfit else ""
    return [
        say(
            f"{count(len(pile.boards), 'board')} tallied, {tally.sound} sound: "
            f"{format_volume(tally.volume_m3, unit)}, {kg}. Flaws are not deducted.{out}{kept}"
        )
    ]


def _dressing(book: Book, pile: Pile) -> Story:
    """Set the yard's sum for each rough thickness: the board with least to spare."""
    unit = book.unit
    cols = [
        Col("rough", "right"), Col("boards", "right"), Col("dries by", "right"),
        Col("planed off", "right"), Col("dressed", "right"), Col("to spare", "right"),
        Col("dress", "right"),
    ]  # fmt: skip
    rows: list[Line] = []
    pairs = list(zip(pile.boards, pile.dressings, strict=True))
    for thick in sorted({board.thickness_mm for board, _ in pairs}):
        own = [d.dressing for b, d in pairs if b.thickness_mm == thick and b.state == "sound"]
        known = [d for d in own if d is not None and d.to_spare_mm is not None]
        if not known:
            continue
        worst = min(known, key=lambda d: d.to_spare_mm or 0.0)
        rows.append((
            bare(thick, unit), str(len(own)), format_small(worst.dries_by_mm or 0.0, unit),
            format_small(worst.planed_mm, unit), bare(worst.dressed_mm, unit),
            format_small(worst.to_spare_mm or 0.0, unit).replace("-", "−"),
            f"{sum(bool(d.dresses) for d in known)} of {len(own)}",
        ))  # fmt: skip
    if not rows:
        return [say("Whether the boards dress cannot be told: their shrinkage is not known.")]
    to = pile.dressings[0].moisture_to
    title = f"Will it dress, at {to:g} % moisture: of each thickness the board with least to spare"
    return [Table(cols, rows, fives=False, title=title)]


def _seams(book: Book, pile: Pile) -> Story:
    """Set the movement of each strake's widest place beside what the rules allow."""
    seams, unit = pile.seams, book.unit
    story: Story = [heading("Movement of the seams", "seam movement", 1)]
    if seams is None or seams.widest_mm is None:
        return [*story, say("How the planking’s timber moves is not known.")]
    widths = book.lining.full_width_mm
    between = (widths[:-1] + widths[1:]) / 2
    opens, closes = (float(np.nanmean(m / between)) for m in (seams.standing_mm, -seams.afloat_mm))
    rows: list[Line] = [
        (
            name, bare(float(np.nanmax(row)), unit),
            format_small(opens * float(np.nanmax(row)), unit),
            format_small(closes * float(np.nanmax(row)), unit),
            "over the widest" if float(np.nanmax(row)) > seams.widest_mm else "",
        )
        for name, row in reversed(list(zip(pile.strakes, widths, strict=True)))
    ]  # fmt: skip
    cols = [Col("strake"), Col("widest", "right"), Col("shrinks before\nlaunching", "right"),
            Col("grows by\nafloat", "right"), Col("")]  # fmt: skip
    said = (
        f"Both from the day of hanging: by the driest day before launching, and by when she has "
        f"lain afloat. Up to "
        f"{length(seams.widest_mm, unit)} wide a plank neither gapes nor crushes by the rules ¶: a "
        f"seam may close {format_small(seams.crush_mm, unit)}. It compares widths and timbers and "
        "promises nothing of one seam: the caulker and the surveyor judge it."
    )
    return [*story, say(said), Table(cols, rows, across=2 if len(rows) > 14 else 1)]


def _out(lie: Sequence[str], gone: Sequence[str]) -> str:
    """Say of planks got out already, by the log, where they count."""
    said = ""
    if lie:
        said += f" {count(len(lie), 'plank')} got out already stay on their boards as sawn."
    if gone:
        said += (
            f" Of {joined(gone)}, got out already, the board is not told: none is looked for and "
            "none is bought."
        )
    return said


def _laying(book: Book, laid: Laid) -> Story:
    own, unit = laid.laying, book.unit
    boards = len({cut.board for cut in own.cuts})
    said = (
        f"{count(len(own.cuts), 'plank')} on {count(boards, 'board')}: "
        f"{format_volume(own.used_m3, unit)} of timber used up, a yield of {own.yield_part:.0%}; "
        f"{count(len(own.offcuts), 'end')} long enough for another plank kept. "
    )
    if own.unlaid:
        said += f"{count(len(own.unlaid), 'plank')} found no board: {joined(own.unlaid)}. "
        said += "So no bound stands here: the least timber is proved for all planks together. "
    elif own.bound_m3:
        said += (
            f"No laying can use less than {format_volume(own.bound_m3, unit)}, proved; this one "
            f"is {own.gap:.0%} above it. {WEAK}"
        )
    said += _out(laid.out, laid.gone)
    rules = laid.rules
    kept = (
        f"Kerf {length(rules.kerf_mm, unit)}; {length(rules.allowance_mm, unit)} left on each "
        f"edge and {length(rules.end_allowance_mm, unit)} on each end. The board sheets at the "
        "end of this section show every board."
    )
    return [
        heading("Planks on boards", "laying", 1),
        say(said), say(kept), _by_board(laid, unit),
    ]  # fmt: skip


def _by_board(laid: Laid, unit: str) -> Table:
    on: dict[str, list[tuple[float, str]]] = {}
    for cut in laid.laying.cuts:
        on.setdefault(cut.board, []).append((cut.x_mm, cut.plank))
    rows: list[Line] = [
        (board.name, bare(float(np.ptp(board.outline[:, 0])), unit),
         bare(board.thickness_mm, unit), ", ".join(plank for _, plank in sorted(on[board.name])))
        for board in laid.boards if board.name in on
    ]  # fmt: skip
    cols = [Col("board"), Col("length", "right"), Col("rough", "right"), Col("planks")]
    across = (
        3 if max((len(row[3]) for row in rows if isinstance(row, tuple)), default=0) < 20 else 2
    )
    return Table(cols, rows, across=across if len(rows) > 12 else 1, title="Boards cut into")


def _order(book: Book) -> Story:
    story: Story = [heading("The order", "order", 1)]
    if book.bought is None:
        return [*story, say("Nothing has been ordered for this book yet.")]
    order = book.bought.order
    if order is None:
        return [*story, say("Nothing need be bought: every plank has a board of the pile.")]
    guessed = "" if book.bought.from_shapes else (
        " No flat shape is known: lengths and widths of the plank list, with a breadth for sweep, "
        "stand for them."
    )  # fmt: skip
    lacking = sum(len(need.planks) for need in book.bought.needs)
    why = how_sure(order, book.unit)
    said = (
        f"{order.confidence:.0%} sure to be enough{f' ({why})' if why else ''}; for "
        f"{count(lacking, 'plank')} without a board, {how_least(order)}, by these classes.{guessed}"
        f"{_out((), book.bought.gone) if book.laid is None else ''}"
    )
    ask = "ask for longer or wider boards, or lay the butts anew."
    unmet = [f"No class holds {joined(order.unmet)}: {ask}"] if order.unmet else []
    return [
        *story, say(said), *map(say, unmet), _lines(book, order), _allowances(order),
        heading("Delivery", "delivery", 1),
        *_packs(order, book.unit),
    ]  # fmt: skip


def _packs(order: Order, unit: str) -> Story:
    """Set the packs of a delivery, alike ones that follow each other in one row, and the whole."""
    whole = [bullet(text) for text in delivery_note(order, unit)[len(order.packs) :]]
    if not order.packs:
        return whole
    rows: list[Line] = []
    numbered = list(enumerate(order.packs, start=1))
    for _, run in groupby(numbered, lambda pair: (pair[1].boards, pair[1].kg)):
        alike = list(run)
        first, last, pack = alike[0][0], alike[-1][0], alike[0][1]
        for n, (line, boards) in enumerate(pack.boards):
            each = "not known" if pack.kg is None else format_weight(pack.kg, unit)
            names = str(first) if first == last else f"{first} to {last}"
            rows.append((
                names if n == 0 else "", str(boards), size_said(order.lines[line].of, unit),
                each if n == 0 else "",
            ))  # fmt: skip
    cols = [
        Col("pack"),
        Col("boards in\neach", "right"),
        Col("of"),
        Col("weight\nof each", "right"),
    ]
    across = 2 if len(rows) > 10 else 1
    return [Table(cols, rows, fives=False, across=across, title="Packs, each for one lift"), *whole]


def _lines(book: Book, order: Order) -> Table:
    unit = book.unit
    priced = order.price is not None
    cols = [
        Col("length", "right"), Col("width", "right"), Col("thickness", "right"),
        Col("boards", "right"), Col("spare\nof them", "right"), Col("timber", "right"),
        Col("weight", "right"), *([Col("price", "right")] if priced else []),
    ]  # fmt: skip
    rows: list[Line] = [
        (
            *(format_bare(x, unit) for x in (
                line.of.length_mm, line.of.width_mm, line.of.thickness_mm)),
            str(line.count), str(line.spare or ""), format_volume(line.volume_m3, unit),
            "" if line.kg is None else format_weight(line.kg, unit),
            *([f"{line.price:.2f}" if line.price is not None else ""] if priced else []),
        )
        for line in order.lines
    ]  # fmt: skip
    whole = (
        "All", "", "", str(sum(line.count for line in order.lines)),
        str(sum(line.spare for line in order.lines) or ""), format_volume(order.volume_m3, unit),
        "" if order.kg is None else format_weight(order.kg, unit),
        *([f"{order.price:.2f}"] if priced else []),
    )  # fmt: skip
    return Table(cols, [*rows, Sum(whole)], fives=False, title="Boards to buy")


def _allowances(order: Order) -> Table:
    rows: list[Line] = [(a.name, f"{a.percent:.1f} %", a.says) for a in order.allowances]
    cols = [Col("allowance"), Col("of the planks’ own", "right"), Col("for", share=1)]
    return Table(cols, rows, fives=False, title="What is bought over the planks’ own rough timber")


def _cautions(book: Book) -> Story:
    mine: Sequence[str] = [
        f"{f.where}: {f.says}."
        for f in book.findings
        if f.stage == "timber" and f.severity is not Severity.NOTE
    ]
    said = [bullet(in_unit(text, book.unit)) for text in mine[:12]]
    more = [bullet(f"and {len(mine) - 12} more, under findings")] if len(mine) > 12 else []
    return [
        heading("Look out for", "timber cautions", 1), *said, *more,
        Box([say(LOOK, "boxed"), say(SAW, "boxed")]),
    ]  # fmt: skip
