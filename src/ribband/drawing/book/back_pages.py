"""The back of the book: rules in force, sources, cautions."""

from __future__ import annotations

from ribband.drawing.book.flow import Box, Story, bullet, heading, say
from ribband.drawing.book.model import Book
from ribband.drawing.book.plank_pages import heaviest, weight_head, weight_of
from ribband.drawing.book.rule_table import rule_table
from ribband.drawing.book.table import Col, Line, Table
from ribband.drawing.book.words import LEGEND, SIGNS, bare, count, unit_words, written
from ribband.sources import MARKS, Source, source
from ribband.units import imperial

__all__ = ["cautions", "cited", "rules_in_force", "sources_cited"]

LIFT_SAID = ("23 kg", "51 lb")  # as printed there
LIFT_KG = 23.0  # the load constant of the lifting equation, niosh-94-110
STAGES = {
    "hull": "Rules of the hull",
    "lining": "Rules of lining out",
    "blocks": "Rules of butt blocks",
}
USED_HERE = ("niosh-94-110", "common-practice", "house")


def rules_in_force(book: Book) -> Story:
    """Set every rule of every stage."""
    story: Story = [heading("Rules in force", "rules")]
    if not book.rules:
        return [*story, say("No rules came with this book.")]
    said = (
        "Every number the program worked to, its default, the range it may be set in, and where "
        "it comes from. To change one, write it in the form “rules”."
    )
    story.append(say(said))
    for stage, rules in book.rules.items():
        shown = [r for r in rules if r.name != "name"]
        if shown:
            story += [heading(STAGES.get(stage, f"Rules of {stage}"), f"rules {stage}", 1)]
            story += [rule_table(shown, book.unit, "")]
    return story


def cited(book: Book) -> tuple[Source, ...]:
    """Give the sources this book leans on, the read ones first, then by author."""
    keys = {r.source for rules in book.rules.values() for r in rules}
    keys |= {f.source for f in book.findings} | set(USED_HERE)
    found = [source(key) for key in sorted(keys) if key]
    return tuple(sorted(found, key=lambda s: (MARKS.index(s.mark), s.author or s.title, s.year)))


def sources_cited(book: Book) -> Story:
    """List the sources cited, with how far each was read."""
    rows: list[Line] = [(SIGNS[s.mark], written(s), s.mark) for s in cited(book)]
    cols = [Col(""), Col("source", share=4), Col("how far read")]
    return [
        heading("Sources", "sources"),
        say("What this book leans on. A figure marked “read” was seen in the work itself; nothing "
            "here is better than its mark."),
        Table(cols, rows, fives=False, foot=LEGEND),
    ]  # fmt: skip


STRENGTH = (
    (
        "Planking holds her together. Agree with the surveyor which planks may come off, how "
        "many at once, and in what order; shore her and hold her shape before the first."
    ),
    (
        "Do not take off neighbouring strakes in one place, nor port and starboard across from "
        "each other, until the surveyor agrees. Watch the sheer and the keel line as you go."
    ),
    (
        "The shift of butts bears on her strength; a rule eased in this book is eased in her. "
        "Thickness, fastenings and caulking follow the vessel’s own rules and survey."
    ),
)
SHOP = (
    (
        "A steam box is always vented and never sealed. Gloves and sleeves; keep face and hands "
        "clear of the door; say aloud when it opens. Hot planks are hung in a hurry: clear the "
        "way and agree the words first. §"
    ),
    (
        "Long, sprung planks bind on a saw. Guards and riving knife on, support at both ends, "
        "nobody in line with the kick. §"
    ),
    (
        "Wood dust harms lungs, and some timbers are sensitisers: draw it off at the tool and "
        "wear a mask to your local limits. Old planking may carry lead paint and old oils: have "
        "it tested before sanding or burning. §"
    ),
)


def cautions(book: Book) -> Story:
    """Say the usual cautions where the work can hurt someone, deferring to those who answer."""
    first = (
        "This book is a plan, not a permission. Local codes, the surveyor and licensed practice "
        "come before anything printed here."
    )
    return [
        heading("Cautions", "cautions"),
        Box([say(first, "boxhead")]),
        heading("The vessel’s strength", "strength", 1),
        *map(bullet, STRENGTH),
        heading("Lifting", "lifting", 1),
        *_lifting(book),
        heading("Steam, saws and dust", "steam", 1),
        *map(bullet, SHOP),
    ]


def _lifting(book: Book) -> Story:
    unit, heavy = book.unit, heaviest(book)
    said = (
        f"The lifting equation of NIOSH starts from {LIFT_SAID[imperial(unit)]} for one person in "
        "the best posture and comes down from there with reach, height and turning. A plank above "
        "a bench or overhead is never the best posture: use tackle, stands and people."
    )
    if not heavy or book.planks is None:
        unknown = "The weights of these planks are not known: weigh one before lifting many."
        return [bullet(said), bullet(unknown)]
    over = sum((p.rough_kg or 0.0) > LIFT_KG for p in book.planks.planks)
    number = (
        f"{over} of the {count(len(book.planks.planks), 'plank')} {'is' if over == 1 else 'are'} "
        "heavier than that in the rough. Wet or green timber is heavier than shown."
    )
    weight = weight_head(book)
    cols = [
        Col("plank"),
        Col("length", "right"),
        Col(f"rough, {weight}", "right"),
        Col(f"dressed, {weight}", "right"),
    ]
    rows: list[Line] = [
        (
            p.name,
            bare(p.length_mm, unit),
            *(weight_of(kg, unit) for kg in (p.rough_kg, p.dressed_kg)),
        )
        for p in heavy
    ]
    title = f"The heaviest planks; lengths in {unit_words(unit)}"
    return [bullet(said), bullet(number), Table(cols, rows, title=title)]
