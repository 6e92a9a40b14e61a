"""The plank list, the quantities, and the old planking beside the new."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby

import numpy as np

from ribband.drawing.book.flow import Box, Story, heading, say
from ribband.drawing.book.model import Book
from ribband.drawing.book.stock_table import stock
from ribband.drawing.book.table import Col, Group, Line, Sum, Table
from ribband.drawing.book.tightest import place
from ribband.drawing.book.words import LEGEND, count, joined, mark, unit_words, weight_sign
from ribband.planks.model import Plank, Total
from ribband.record.old import OldNew
from ribband.units import (
    BOARD_FEET_PER_M3,
    POUND,
    format_bare,
    format_length,
    format_volume,
    imperial,
)

__all__ = [
    "allowances",
    "heaviest",
    "old_planking",
    "paired",
    "plank_list",
    "quantities",
    "short_lengths",
    "weight_head",
    "weight_of",
]

Joints = Mapping[str, Sequence[str]]


def plank_list(book: Book) -> Story:
    """Set every plank, grouped by strake; two that are a pair share a line."""
    story: Story = [heading("Plank list", "planks")]
    if book.planks is None or not book.planks.planks:
        return [*story, say("The strakes have not been divided into planks.")]
    shaped = (
        " The blank is the least rectangle the flat shape goes in, nothing left on for fitting."
        if _shaped(book)
        else ""
    )
    story.append(say(
        f"Lengths and widths in {unit_words(book.unit)}, as dressed and without allowance for "
        "fitting. Planks on one line are a pair, alike but for the hand. "
        f"{_ends_note(book.planks.planks)}{shaped}"))  # fmt: skip
    story += short_lengths(book)
    note = (
        "Weights are for the species and moisture given in the findings; green or wet timber is "
        "heavier. Lift with enough people or with tackle: see “Cautions”."
    )
    note += f" {LEGEND}" if weight_sign(book) else ""
    return [
        *story,
        Table(
            _plank_cols(book),
            _plank_rows(book, book.planks.planks),
            fives=False,
            size=7.6 if _shaped(book) else 8.4,
            foot=note,
        ),
    ]


def _shaped(book: Book) -> bool:
    return any(made and made.shapes for made in (book.shapes, book.starboard_shapes))


def short_lengths(book: Book) -> Story:
    """Warn, where only girths are known, that true planks are longer than the figures."""
    if book.hull.in_space:
        return []
    said = (
        "Only girths were measured: lengths here are along the strakes on the flat expansion. The "
        "true planks are longer, most of all towards the ends. Take every length off the hull with "
        "a batten before a board is bought or cut."
    )
    return [Box([say("Lengths are too short", "boxhead"), say(said, "boxed")], loud=True)]


def _ends_note(planks: Sequence[Plank]) -> str:
    scarf = max((max(p.fore_scarf_mm, p.aft_scarf_mm) for p in planks), default=0.0)
    if scarf:
        return (
            "Planks of a strake are joined by scarfs: each runs on past its landing by half the "
            "scarf's length, which its length and rough timber here have in it; dressed weights "
            "have each scarf once."
        )
    blocks = any("block" in (p.fore_landing, p.aft_landing) for p in planks)
    return "An end in a bay lands on a butt block." if blocks else "Every butt lands on a frame."


def weight_head(book: Book) -> str:
    """Give the unit of weights for a heading, with the sign of what they rest on."""
    return ("lb" if imperial(book.unit) else "kg") + weight_sign(book)


def weight_of(kg: float | None, unit: str) -> str:
    """Print a weight without its unit, to a whole one over ten."""
    if kg is None:
        return "–"
    value = kg / float(POUND) if imperial(unit) else kg
    return f"{value:.0f}" if value >= 9.95 else f"{value:.1f}"


def _plank_cols(book: Book) -> list[Col]:
    weight = weight_head(book)
    timber = "rough\nboard ft" if imperial(book.unit) else "rough\nm³"
    blank = [Col("blank\nlength", "right"), Col("blank\nwidth", "right"), Col("sweep", "right")]
    return [
        Col("plank"), Col(""), Col("fore end", share=1), Col("aft end", share=1),
        Col("length", "right"), Col("widest", "right"), Col("narrowest", "right"),
        *(blank if _shaped(book) else ()),
        Col(timber, "right"), Col(f"rough\n{weight}", "right"), Col(f"dressed\n{weight}", "right"),
    ]  # fmt: skip


def _plank_rows(book: Book, planks: Sequence[Plank]) -> list[Line]:
    order = {s.name: i for i, s in enumerate(book.lining.strakes)}
    called = {s.name: s.called for s in book.lining.strakes}
    ranked = sorted(planks, key=lambda p: (-order.get(p.strake, -1), p.number, p.side, p.name))
    rows: list[Line] = []
    for strake, group in groupby(ranked, key=lambda p: p.strake):
        these = list(group)
        of = f"Strake {strake}" + (f", {called[strake]}" if called.get(strake) else "")
        rows.append(Group(of, count(len(these), "plank")))
        rows += [_plank_row(book, pair) for pair in paired(these)]
    return rows


def paired(planks: Sequence[Plank]) -> list[tuple[Plank, ...]]:
    """Put a port plank and a starboard one together where they are alike but for the hand."""
    lines: dict[tuple[object, ...], list[Plank]] = {}
    for p in planks:
        alike = (p.strake, p.number, p.fore, p.fore_landing, p.aft, p.aft_landing,
                 *(round(v, 1) for v in (p.length_mm, p.width_max_mm, p.width_min_mm)))  # fmt: skip
        lines.setdefault(alike, []).append(p)
    return [tuple(group) for group in lines.values()]


def _plank_row(book: Book, pair: Sequence[Plank]) -> Line:
    p, unit = pair[0], book.unit
    timber = (
        f"{p.rough_board_feet:.1f}"
        if imperial(unit)
        else f"{p.rough_board_feet / BOARD_FEET_PER_M3:.4f}"
    )
    return (
        p.name, pair[1].name if len(pair) > 1 else "",
        _landing(p.fore, p.fore_landing, p.fore_scarf_mm),
        _landing(p.aft, p.aft_landing, p.aft_scarf_mm), format_bare(p.length_mm, unit),
        format_bare(p.width_max_mm, unit), format_bare(p.width_min_mm, unit),
        *(_blank(book, p) if _shaped(book) else ()),
        timber, weight_of(p.rough_kg, unit), weight_of(p.dressed_kg, unit),
    )  # fmt: skip


def _blank(book: Book, plank: Plank) -> tuple[str, ...]:
    """Give length and width of the least blank, and its sweep."""
    shape = book.shape_of(plank)
    if shape is None:
        return ("", "", "")
    found = (shape.blank_length_mm, shape.blank_width_mm, shape.sweep_mm)
    return tuple(format_bare(mm, book.unit) for mm in found)


def _landing(end: str, kind: str, scarf_mm: float) -> str:
    if kind == "hood" or end in {"stem", "stern"}:
        return end
    if kind == "block":
        where = f"aft of {end.removeprefix('block aft of ')}"
        return f"scarf {where}" if scarf_mm else f"block {where}"
    if scarf_mm:
        return f"scarf on {end}"
    return f"nib, frame {end}" if kind == "nib" else f"frame {end}"


def quantities(book: Book) -> Story:
    """Set the totals by side, strake and length class, and the timber to look for."""
    story: Story = [heading("Quantities", "quantities")]
    if book.planks is None or not book.planks.planks:
        return [*story, say("There are no planks to add up yet.")]
    planks = book.planks
    scarfed = any(p.aft_scarf_mm for p in planks.planks)
    story.append(say("Areas are of the planks as shaped"
                     f"{', what overlaps in scarfs once' if scarfed else ''}. Rough timber is "
                     f"that area {'with the scarfs of both planks ' if scarfed else ''}"
                     f"{allowances(book)}at the rough thickness, before anything is lost in "
                     "cutting planks out of boards."))  # fmt: skip
    story += short_lengths(book)
    tables = (
        ("By side", planks.by_side),
        ("By length of plank", planks.by_length),
        ("By strake", planks.by_strake),
    )
    everything = planks.totals[0] if planks.totals else None
    for title, totals in tables:
        if totals:
            story.append(_totals(book, title, totals, everything))
        if title == "By length of plank":
            guess = [] if book.bought else _timber(book)  # an order is better than a guess
            story += [*guess, *stock(book)]
    return story


def allowances(book: Book) -> str:
    """Say what the rough timber has on it for fitting: "with 6 mm left on each edge and ... "."""
    rules = {r.name: r.value for r in book.rules.get("planks", ())}
    left = [
        f"{format_length(float(mm), book.unit)} left on each {where}"
        for where, mm in (
            ("edge", rules.get("edge_allowance_mm")),
            ("end", rules.get("end_allowance_mm")),
        )
        if isinstance(mm, (int, float)) and mm > 0
    ]
    return f"with {joined(left)} for fitting, " if left else ""


def _totals(book: Book, title: str, totals: Sequence[Total], everything: Total | None) -> Table:
    unit = book.unit
    cols = [
        Col(title.lower().removeprefix("by ")), Col("planks", "right"),
        Col("run of plank", "right"), Col("ft²" if imperial(unit) else "m²", "right"),
        Col("rough, board ft" if imperial(unit) else "rough, m³", "right"),
        Col(f"rough, {weight_head(book)}", "right"),
    ]  # fmt: skip
    rows: list[Line] = [_total_row(book, t) for t in totals]
    if everything:
        cells = _total_row(book, everything)
        rows.append(Sum(("All", *cells[1:])))
    return Table(cols, rows, title=title, fives=title == "By strake")


def _total_row(book: Book, t: Total) -> tuple[str, ...]:
    unit = book.unit
    area = t.area_m2 / 0.09290304 if imperial(unit) else t.area_m2
    timber = f"{t.rough_board_feet:.0f}" if imperial(unit) else f"{t.rough_m3:.3f}"
    return (t.of, str(t.planks), format_bare(t.length_mm, unit), f"{area:.1f}", timber,
            weight_of(t.rough_kg, unit))  # fmt: skip


def _timber(book: Book) -> Story:
    """Say how much timber to look for, as an order of size, from the yield the rules give."""
    share = next((r for r in book.rules.get("planks", ()) if r.name == "yield_part"), None)
    totals = book.planks.totals if book.planks else ()
    if share is None or not totals:
        return []
    net, sign = totals[0].rough_m3, mark(share.source)
    said = (
        f"As an order of size, {_round(net / share.value, book.unit)} of sawn boards: the "
        f"{format_volume(net, book.unit)} of rough planks at a yield of "
        f"{100 * share.value:.0f} % {sign}. It is "
        "not an order: boards, flaws and sweep decide, when the planks are laid on boards that "
        "have been measured. Trial layings of curved planks on uneven boards gave 45 to 65 % ¶."
    )
    return [Box([say("Timber to look for", "boxhead"), say(said.replace(" .", "."), "boxed")])]


def _round(m3: float, unit: str) -> str:
    """Round to two figures: more would pretend to know."""
    value = m3 * BOARD_FEET_PER_M3 if imperial(unit) else m3
    step = 10.0 ** (np.floor(np.log10(max(value, 1e-9))) - 1)
    rounded = float(np.round(value / step) * step)
    return f"{rounded:,.0f} board feet".replace(",", " ") if imperial(unit) else f"{rounded:g} m³"


# -- old and new ----------------------------------------------------------------------------


def old_planking(book: Book, repaired: Joints | None = None) -> Story:
    """Set what was recorded of the old planking beside the new.

    `repaired` are the new joints of a repair by strake: all others stay as they were.
    """
    survey = book.survey
    story: Story = [heading("Old planking and new", "old")]
    if not (survey.old_widths or survey.old_butts or survey.old_fastenings):
        return [*story, say("Nothing of the old planking was recorded for this book.")]
    story.append(say("Strakes are counted from the keel in both; where their number has changed, "
                     "the same number is not the same place on the frame."))  # fmt: skip
    if survey.old_widths:
        story += [*_old_widths(book), *_old_strakes(book)]
    if survey.old_butts:
        story += _old_butts(book, repaired)
    if survey.old_fastenings:
        story += _old_fastenings(book)
    return story


def _old_widths(book: Book) -> Story:
    old = book.old
    if not old:
        return [say("The widths recorded are set beside the new ones once she is lined out.")]
    every = [Col("strake"), Col("frame"), Col("side"), Col("old width", "right"),
             Col("new width", "right")]  # fmt: skip
    one_side = len({row.side for row in old}) == 1
    used = [0, 1, 3, 4] if one_side else [0, 1, 2, 3, 4]
    cells = [_old_width(row, book.unit) for row in old]
    rows: list[Line] = [tuple(row[k] for k in used) for row in cells]
    of = f", {_sides(old[0].side)}" if one_side else ""
    return [Table([every[k] for k in used], rows, across=2 if len(rows) > 12 else 1,
                  title=f"Widths, in {unit_words(book.unit)}{of}")]  # fmt: skip


def _old_width(row: OldNew, unit: str) -> tuple[str, ...]:
    new = "none there" if row.new_mm is None else format_bare(row.new_mm, unit)
    said = "stays" if row.stays else new
    return row.strake, row.frame, row.side, format_bare(row.old_mm, unit), said


def _sides(side: str) -> str:
    return "both sides" if side == "both" else side


def _old_strakes(book: Book) -> Story:
    """Set thickness, timber and fastening of every recorded strake; what is blank is said.

    What is new alike in all strakes is said once, and its column left out.
    """
    from ribband.record.old import old_by_strake  # noqa: PLC0415

    unit, old = book.unit, old_by_strake(book.old)
    more: Story = []
    if not any(s.old_timber or s.old_fastening or s.condition for s in old):
        more = [say("Of what timber the old planks were, how each was fastened and in what "
                    "condition it was, was not recorded.")]  # fmt: skip
    if not old:
        return more
    rows = [
        (s.strake, s.side, _thick(s.old_thick_mm, unit), _thick(s.new_thick_mm, unit),
         s.old_timber, s.new_timber, s.old_fastening, s.new_fastening, s.condition)
        for s in old
    ]  # fmt: skip
    every = [
        Col("strake"), Col("side"), Col("old\nthickness", "right"), Col("new\nthickness", "right"),
        Col("old timber", share=0.5), Col("new timber", share=0.5), Col("old fastening", share=1),
        Col("new fastening", share=1), Col("condition", share=1),
    ]  # fmt: skip
    alike = {k for k in (1, 3, 5, 7) if len({row[k] for row in rows}) == 1}
    used = [k for k in range(9) if k not in alike and any(row[k] for row in rows)]
    new = [rows[0][k] for k in (3, 5, 7) if k in alike and rows[0][k] not in {"", "stays"}]
    foot = "A blank is what was not recorded; frames stand in brackets where a strake differs."
    said = f" New, all alike: {', '.join(new)}." if new else ""
    of = f", {_sides(old[0].side)}" if 1 in alike else ""
    lines: list[Line] = [tuple(row[k] for k in used) for row in rows]
    title = f"Thickness, timber, fastening and condition{of}"
    return [*more, Table([every[k] for k in used], lines, title=title, foot=foot + said)]


def _thick(ends: tuple[float, ...], unit: str) -> str:
    return " to ".join(format_bare(mm, unit) for mm in ends)


def _old_butts(book: Book, repaired: Joints | None) -> Story:
    old = {b.strake: _old_landings(book, b.strake) for b in book.survey.old_butts}
    new, none = (_new_butts(book), "none") if repaired is None else (repaired, "stays as it was")
    names = [s.name for s in reversed(book.lining.strakes) if s.name in old]
    names += [name for name in old if name not in names]
    rows = [(n, old[n], ", ".join(new.get(n, ())) or none) for n in names]
    scarfed = any(p.aft_scarf_mm for p in book.planks.planks) if book.planks else False
    head = "new scarfs at" if scarfed else "new butts at"
    title = "Butts and scarfs, by frame" if scarfed else "Butts, by frame"
    cols = [Col("strake"), Col("old butts at", share=1), Col(head, share=1)]
    return [Table(cols, rows, title=title)]


def _old_landings(book: Book, strake: str) -> str:
    """Say where a strake's old butts stood: frames, then bays, each side by itself."""
    said, order = [], {name: i for i, name in enumerate(book.hull.frames.names)}
    for side in ("both", "port", "starboard"):
        for landing, words in (("frame", ""), ("block", "bays aft of ")):
            frames = [
                b.frame
                for b in book.survey.old_butts
                if (b.strake, b.side, b.landing) == (strake, side, landing)
            ]
            frames.sort(key=lambda name: order.get(name, len(order)))
            if frames:
                of = "" if side == "both" else f" ({side})"
                said.append(words + ", ".join(frames) + of)
    return "; ".join(said)


def _new_butts(book: Book) -> dict[str, list[str]]:
    new: dict[str, list[str]] = {}
    if book.ways is None:
        return new
    for side, layout in book.layouts:
        of = "" if side == "a side" else f" {side}"
        for butt in sorted(layout.butts):
            said = place(book.ways, butt).removeprefix("frame ")
            new.setdefault(book.ways.strakes[butt.strake], []).append(said + of)
    return new


def _old_fastenings(book: Book) -> Story:
    every = [(f.where, f.kind, f.gauge,
              format_length(f.length_mm, book.unit) if f.length_mm else "", f.per_frame,
              f.condition) for f in book.survey.old_fastenings]  # fmt: skip
    most = 6 if any(row[5] for row in every) else 5
    cols = [Col("where", share=1), Col("kind", share=1), Col("gauge"), Col("length", "right"),
            Col("to a frame", share=1), Col("condition", share=1)]  # fmt: skip
    return [Table(cols[:most], [row[:most] for row in every], title="Fastenings, as recorded")]


def heaviest(book: Book, most: int = 8) -> tuple[Plank, ...]:
    """Give the planks that are heaviest as brought to the hull, port and starboard alike once."""
    known = [p for p in (book.planks.planks if book.planks else ()) if p.rough_kg is not None]
    first = [pair[0] for pair in paired(known)]
    return tuple(sorted(first, key=lambda p: (-(p.rough_kg or 0.0), p.name))[:most])
