"""The butts: the set of rules, what was reached against the bound, and the rule check."""

from __future__ import annotations

import numpy as np
from reportlab.platypus import Paragraph

from ribband.butts.model import Butt, Goal, Layout, Ways
from ribband.drawing.book.flow import Story, bullet, heading, say
from ribband.drawing.book.model import Book, Proof
from ribband.drawing.book.plank_pages import short_lengths
from ribband.drawing.book.rule_table import rule_table
from ribband.drawing.book.table import Col, Line, Loud, Table
from ribband.drawing.book.tightest import Pair, pairs, place
from ribband.drawing.book.words import count, in_unit, joined, unit_words
from ribband.units import format_bare, format_length

__all__ = ["butts", "pair_row"]

TIGHTEST = 8  # pairs shown of each kind


def butts(book: Book) -> Story:
    """Set the section on butts."""
    story: Story = [heading("Butts", "butts")]
    if book.ways is None or book.layout is None:
        story.append(say("No butts have been laid out; the strakes are still whole."))
        return story + _rules(book)
    story += [_lead(book, book.ways), *short_lengths(book), *_no_way(book), *_rules(book)]
    for side, layout in book.layouts:
        story += _goals(book, side, layout)
    story += _check(book, book.ways)
    for side, layout in book.layouts:
        story += _where(book.ways, side, layout)
    return story + _closed(book.ways)


def _lead(book: Book, ways: Ways) -> Paragraph:
    each = [f"{count(len(layout.butts), 'butt')} {side}" for side, layout in book.layouts]
    said = f"{joined(each)} in {count(len(ways.strakes), 'strake')}"
    fixed = sum(b.fixed for _, layout in book.layouts for b in layout.butts)
    if fixed:
        said += f", {fixed} of them fixed by you"
    fits = all(layout.feasible for _, layout in book.layouts)
    end = "" if fits else " This is the best attempt, not a layout that keeps the rules."
    return say(
        f"{said}.{end} How butts are shifted bears on the strength of the vessel: the surveyor’s "
        "word comes before any rule printed here."
    )


def _no_way(book: Book) -> Story:
    unit, wrong = book.unit, [layout for _, layout in book.layouts if not layout.feasible]
    if not wrong:
        return []
    story: Story = [heading("Why nothing fits, and the ways out", "clashes", 1)]
    story += [bullet(in_unit(clash, unit)) for layout in wrong for clash in layout.clashes]
    rows = [(r.rule.replace("_", " "), in_unit(r.where, unit), in_unit(r.says, unit), str(r.count))
            for layout in wrong for r in layout.reliefs]  # fmt: skip
    cols = [Col("ease this rule", share=1), Col("where", share=1), Col("to what", share=1.5),
            Col("butts that\nbreak it now", "right")]  # fmt: skip
    return [*story, Table(cols, rows, fives=False)] if rows else story


def _rules(book: Book) -> Story:
    rules = book.rules.get("butts", ())
    if not rules:
        return []
    asked = [r for r in rules if r.value not in {0, ""} and r.name != "name"]
    name = f"Rules of butts: the set “{book.butt_set}”" if book.butt_set else "Rules of butts"
    left = len([r for r in rules if r.name != "name"]) - len(asked)
    foot = f" {count(left, 'rule')} of the set not asked for; see “Rules in force”." if left else ""
    return [rule_table(asked, book.unit, name, foot)]


def _goals(book: Book, side: str, layout: Layout) -> Story:
    if not layout.goals:
        return []
    rows: list[Line] = [_goal_row(g, book.unit, book.ways) for g in layout.goals]
    cols = [Col("goal, in order of weight", share=2), Col("reached", "right"),
            Col("bound", "right"), Col("proved best", share=1)]  # fmt: skip
    title = f"What the search reached{_of(side)}, each goal after the one above"
    told = {f"butts: {g.name}" for g in layout.goals}
    others = [_proof(p, book.unit) for p in book.proofs if p.search not in told]
    foot = ". ".join([f"The search took {layout.seconds:.1f} s", *others]) + "."
    return [Table(cols, rows, fives=False, title=title, foot=foot)]


def _of(side: str) -> str:
    return "" if side == "a side" else f" {side}"


def _goal_row(g: Goal, unit: str, ways: Ways | None) -> Line:
    """Set a goal; one reckoned in mm is printed in the vessel's unit."""
    name, mm, _ = g.name.partition(", mm")
    if ways is not None and (says := g.instead(ways)):
        return (name, says, "", "")

    def said(value: float) -> str:
        return format_length(value, unit) if mm else f"{value:g}"

    bound = said(g.bound) if np.isfinite(g.bound) else "none"
    better = f"no, may be up to {said(abs(g.value - g.bound))} better"
    return (name, said(g.value), bound, "yes" if g.proved else better)


def _proof(p: Proof, unit: str) -> str:
    proved = "proved" if p.proved else "not proved"
    said = f"{p.search}: {p.value:g}, bound {p.bound:g}, {proved}, {p.seconds:.1f} s"
    return f"{said}, {in_unit(p.says, unit)}" if p.says else said


def _check(book: Book, ways: Ways) -> Story:
    said = "Measured from the layout itself, apart from the search that made it."
    story: Story = [heading("Rule check: the tightest pairs", "tightest", 1), say(said)]
    for side, layout in book.layouts:
        found = pairs(ways, layout)
        if found:
            story += _tightest(book, ways, side, found)
    return story if len(story) > 2 else []


def _tightest(book: Book, ways: Ways, side: str, found: list[Pair]) -> Story:
    same = [p for p in found if p.spaces == 0]
    shown = [[p for p in found if p.passing == passing][:TIGHTEST] for passing in (0, 1)]
    shown += [[p for p in same if p.passing > 1][:TIGHTEST]]
    rows: list[Line] = [pair_row(book, ways, p) for kind in shown for p in kind]
    cols = [Col("strakes\nbetween", "right"), Col("strake"), Col("butt", share=1), Col("strake"),
            Col("butt", share=1), Col("frame\nspaces", "right"), Col("along the\nstrake", "right"),
            Col("rule", share=1.2, ink="faint")]  # fmt: skip
    title = f"Pairs{_of(side)}; distances in {unit_words(book.unit)}"
    return [Table(cols, rows, title=title), say(_on_one_frame(ways, same))]


def pair_row(book: Book, ways: Ways, p: Pair) -> Line:
    """Set a pair as a row, one that must be seen where it breaks a rule."""
    wanted, kept = _wanted(book, p)
    cells = (
        str(p.passing),
        ways.strakes[p.first.strake],
        place(ways, p.first),
        ways.strakes[p.second.strake],
        place(ways, p.second),
        f"{p.spaces:g}",
        format_bare(p.along_mm, book.unit),
        wanted,
    )
    return cells if kept else Loud(cells)


def _wanted(book: Book, p: Pair) -> tuple[str, bool]:
    """Say what the rules ask of a pair, and whether it is kept."""
    rules = {r.name: r.value for r in book.rules.get("butts", ())}
    kind = {0: "adjacent", 1: "between"}.get(p.passing, "")
    spaces, mm = rules.get(f"{kind}_spaces", 0), rules.get(f"{kind}_mm", 0.0)
    passing = rules.get("passing", 0) if p.spaces == 0 else 0
    asked = [
        (f"at least {spaces:g} spaces", p.spaces >= spaces) if spaces else None,
        (f"at least {format_bare(mm, book.unit)}", p.along_mm >= mm - 0.5) if mm else None,
        (f"{passing:g} passing", p.passing >= passing) if passing else None,
    ]
    said = [a for a in asked if a]
    kept = all(k for _, k in said)
    text = " and ".join(text for text, _ in said) or "no rule"
    return (text if kept else f"broken: {text}", kept)


def _on_one_frame(ways: Ways, same: list[Pair]) -> str:
    if not same:
        return "No two butts stand on one frame or in one bay within five strakes of each other."
    least = min(p.passing for p in same)
    closest = [
        f"{ways.strakes[p.first.strake]} and {ways.strakes[p.second.strake]} at "
        f"{place(ways, p.first)}"
        for p in same
        if p.passing == least
    ]
    more = f", and {len(closest) - 4} more" if len(closest) > 4 else ""
    return (
        f"{count(len(same), 'pair')} within five strakes of each other "
        f"{'shares' if len(same) == 1 else 'share'} a frame or bay; the nearest with "
        f"{count(least, 'strake')} passing between: {joined(closest[:4])}{more}."
    )


def _where(ways: Ways, side: str, layout: Layout) -> Story:
    rows: list[tuple[str, ...]] = []
    for i in reversed(range(len(ways.strakes))):
        here = sorted(b for b in layout.butts if b.strake == i)
        on, off = ([b for b in here if b.landing % 2 == bay] for bay in (0, 1))
        rows.append((ways.strakes[i], str(len(here)), _listed(ways, on), _listed(ways, off)))
    cols = [Col("strake"), Col("butts", "right"), Col("on frames", share=1),
            Col("on blocks in the bays aft of", share=1)]  # fmt: skip
    bays = [b.landing % 2 for b in layout.butts]
    if not any(bays):
        cols, rows = cols[:3], [row[:3] for row in rows]
    elif all(bays):
        cols, rows = [*cols[:2], cols[3]], [(*row[:2], row[3]) for row in rows]
    title = f"Butts of every strake{_of(side)}, from the sheer down"
    return [Table(cols, list(rows), title=title, across=2 if len(rows) > 24 else 1)]


def _listed(ways: Ways, butts: list[Butt]) -> str:
    named = (ways.frames[b.landing // 2] + (" (fixed)" if b.fixed else "") for b in butts)
    return ", ".join(named) or "–"


def _closed(ways: Ways) -> Story:
    if not ways.why_closed:
        return []
    rows = [
        (strake or "every strake", first if last in {"", first} else f"{first} to {last}", why)
        for strake, first, last, why in ways.why_closed
    ]
    cols = [Col("strake"), Col("frames"), Col("why no butt may stand there", share=1)]
    return [Table(cols, rows, title="Stretches kept free of butts")]
