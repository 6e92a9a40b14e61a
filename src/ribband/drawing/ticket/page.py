"""The plank's ticket: one page for the bench.

From the top: name, vessel and code; what is in doubt; the shape to scale; the spiling as figures;
what timber it wants and how it is hung; cautions; room for notes. Figures are 2.6 mm high where
there is room, to be read at arm's length, and never under 1.8 mm.

A sheet whose drawing is the shape in full-size millimetres; everything else is on the paper. Where
the figures are many the shape is drawn lower, then the facts are set smaller; a plank that crosses
more frames than a page has lines even so goes on to a second.

Not checked: any of the figures. What is not known is said to be so, never left to be guessed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ribband.drawing.bench import Bench, few
from ribband.drawing.book.words import LEGEND
from ribband.drawing.lettering import width_mm, wrap
from ribband.drawing.sheet import Box, Fill, Item, Page, Polyline, Sheet, Text, rectangle
from ribband.drawing.ticket.code import code
from ribband.drawing.ticket.facts import Beside, Facts, plank_link
from ribband.drawing.ticket.look import CAP, LOOK, PITCH, RED, TINT, row_pitch
from ribband.drawing.ticket.small import LOW_MM, TALL_MM, Small, shape_to_scale
from ribband.drawing.ticket.table import HEAD_MM, WIDE_MM, head, line, rows
from ribband.drawing.ticket.words import Pair, cautions, diagonals, hanging, timber, within
from ribband.planks.model import Plank
from ribband.planks.shape_model import Shape

__all__ = ["ticket"]

MARGIN_MM = 12.0
_CODE_MM = 27.0
_HEAD_MM = 30.0
CLOSER = 0.751  # of the facts' lettering, where only so the figures need no second page


def ticket(
    shape: Shape,
    plank: Plank,
    bench: Bench,
    facts: Facts = Facts(),  # noqa: B008 - frozen
    *,
    paper: str = "A4",
    base: str = "",
) -> tuple[Sheet, ...]:
    """Make the ticket of `plank`: one sheet, or more where it crosses very many frames.

    Parameters
    ----------
    paper : "A4" or "letter", upright
    base : address of the running app, in which the code opens the plank; see `plank_link`

    Raises
    ------
    ValueError : a paper we do not know
    """
    page = Page.of(paper, landscape=False, margin_mm=MARGIN_MM)
    inner, every = page.inner, rows(shape, bench.unit)
    said = _Said(facts, plank_link(bench.job or bench.vessel, plank.name, base))
    top, foot, pitch, first = _fitted(inner, shape, plank, bench, said, len(every))
    under = top.small.under
    table = [*head(inner.left, under, bench.unit)]
    under -= HEAD_MM
    table += _rows(inner, under, every[:first], pitch)
    under -= pitch * first
    lift = under - inner.lower - foot_tall(foot, inner)
    body = [
        *top.items,
        *table,
        *_notes(inner, under, lift, _check(shape, bench, every[first:])),
        *foot,
    ]
    blank = Sheet(
        plank.name, page, bench.title(f"Ticket of plank {plank.name}", plank.side), top.small.items,
        tuple(body), top.small.scale, top.small.scale, origin=top.small.origin, styles=LOOK,
    )  # fmt: skip
    rest = every[first:]
    if not rest:
        return (blank,)
    return (
        replace(blank, of=2),
        replace(blank, number=2, of=2, items=(), paper=tuple(_second(inner, plank, bench, rest))),
    )


def _fitted(  # noqa: PLR0917
    inner: Box, shape: Shape, plank: Plank, bench: Bench, said: _Said, lines: int
) -> tuple[_Top, list[Item], float, int]:
    """Draw the shape lower, then set the foot closer, where that saves a second page.

    Gives head and foot of the page, the pitch of the figures and how many go between.
    """
    tried = []
    for tall_mm, closer in ((TALL_MM, 1.0), (LOW_MM, CLOSER), (LOW_MM, 1.0)):
        foot = list(_foot(inner, shape, plank, bench, said.facts, closer))
        top = _Top.of(inner, shape, plank, bench, said, tall_mm)
        free_mm = top.small.under - inner.lower - foot_tall(foot, inner) - HEAD_MM
        tried.append((top, foot, *row_pitch(free_mm, lines)))
        if tried[-1][-1] == lines and closer == 1.0:
            return tried[-1]
    return tried[1] if tried[1][-1] == lines else tried[2]


@dataclass(frozen=True, slots=True)
class _Top:
    """The upper part of the page: what stands on the paper, the shape, and the y under it."""

    items: tuple[Item, ...]
    small: Small

    @classmethod
    def of(  # noqa: PLR0917
        cls, inner: Box, shape: Shape, plank: Plank, bench: Bench, said: _Said, tall_mm: float
    ) -> _Top:
        """Set name, doubts and shape, down to the spiling's table."""
        items = list(_name(inner, plank, bench, said))
        y = inner.upper - _HEAD_MM
        if said.facts.doubts:
            box, y = _doubts(inner, y, few(said.facts.doubts))
            items += box
        room = Box(inner.left, inner.lower, inner.right, y)
        small = shape_to_scale(shape, plank, bench.unit, room, tall_mm)
        return cls((*items, *small.paper), small)


@dataclass(frozen=True, slots=True)
class _Said:
    """The facts of a plank, and its link in full."""

    facts: Facts
    link: str


def _name(inner: Box, plank: Plank, bench: Bench, said_of: _Said) -> Iterator[Item]:
    facts, link = said_of.facts, said_of.link
    left, top = inner.left, inner.upper
    yield Text("name", (left, top - 14.0), plank.name, 14.0, face="Sans-Semibold")
    beside = left + width_mm(plank.name, 14.0, "Sans-Semibold") + 8.0
    room = inner.right - _CODE_MM - 4.0 - beside
    yield Text("kicker", (beside, top - 4.2), "Plank ticket", 3.0, face="Serif-Italic")
    yield Text("name", (beside, top - 11.2), bench.vessel, _fit(bench.vessel, 4.6, room),
               face="Serif-Semibold")  # fmt: skip
    edition = f"revision {bench.revision}" if bench.revision else ""
    said = ", ".join(part for part in (bench.yard, bench.date, edition) if part)
    yield Text("labels", (beside, top - 16.0), said, 2.2)
    called = f" ({facts.called})" if facts.called else ""
    where = f"{plank.side}, strake {plank.strake}{called}, plank {plank.number} from forward"
    yield Text("figures", (left, top - 21.4), where, 2.8, face="Sans-Semibold")
    ends = f"from {_fore_end(plank)} to {_aft_end(plank, facts)}"
    yield Text("figures", (left, top - 26.4), ends, 2.8)
    at = (inner.right - _CODE_MM, top - _CODE_MM + 3.4)
    yield from code(link, at, _CODE_MM, "code", "#000000")
    yield Text("labels", (inner.right, at[1] + 1.0), link, 1.8, "right", "top")


def _fit(text: str, height: float, room: float, face: str = "Serif-Semibold") -> float:
    return max(1.8, height * min(1.0, room / max(width_mm(text, height, face), 1e-9)))


def _fore_end(plank: Plank) -> str:
    return _end(plank.fore, plank.fore_landing, plank.fore_scarf_mm, butted=plank.number > 1)


def _aft_end(plank: Plank, facts: Facts) -> str:
    alone = facts.beside != Beside() and not facts.beside.aft
    return _end(plank.aft, plank.aft_landing, plank.aft_scarf_mm, butted=not alone)


def _end(at: str, landing: str, scarf_mm: float, *, butted: bool) -> str:
    """Say where a plank ends; not `butted`, it is the last the strake is known to."""
    if scarf_mm:
        return f"a scarf {'aft of' if landing == 'block' else 'on'} frame {at}"
    known = {
        "hood": f"the hood end at the {at}",
        "nib": f"the nib at frame {at}",
        "block": f"a butt on the block aft of frame {at}",
    }
    return known.get(landing) or (f"a butt on frame {at}" if butted else f"frame {at}")


def _doubts(inner: Box, top: float, doubts: Sequence[str]) -> tuple[list[Item], float]:
    """Frame what is in doubt, heavy and red; give it and the y under it."""
    lines = [text for doubt in doubts for text in wrap(f"– {doubt}", inner.width - 12.0, 2.3)]
    tall = 8.2 + 3.9 * len(lines)
    box = Box(inner.left, top - tall, inner.right, top)
    items: list[Item] = [Fill("tint", _ring(box), TINT)]
    items += [Fill("tint", _ring(Box(box.left, box.lower, box.left + 1.8, box.upper)), RED)]
    items += [rectangle("warning", box)]
    heading = "In doubt: look before cutting"
    items += [Text("warning", (box.left + 5, top - 4.8), heading, 2.6, face="Sans-Semibold")]
    items += [
        Text("figures", (box.left + 5, top - 9.2 - 3.9 * k), text, 2.3)
        for k, text in enumerate(lines)
    ]
    return items, box.lower - 2.0


def _ring(box: Box) -> tuple[tuple[float, float], ...]:
    return rectangle("tint", box).points


def _rows(inner: Box, top: float, every: Sequence[tuple[str, ...]], pitch: float) -> list[Item]:
    items: list[Item] = []
    for k, cells in enumerate(every):
        y = top - pitch * (k + 1)
        items += line(inner.left, y, pitch, cells)
        heavy = (k + 1) % 5 == 0 and k + 1 < len(every)
        rule = "rules" if heavy or k + 1 == len(every) else "hair"
        items.append(Polyline(rule, ((inner.left, y), (inner.left + WIDE_MM, y))))
    return items


def _check(shape: Shape, bench: Bench, rest: Sequence[tuple[str, ...]]) -> str:
    more = "figures go on overleaf; " if rest else ""
    return more + diagonals(shape, bench.unit)


def _notes(inner: Box, top: float, room: float, check: str) -> Iterator[Item]:
    """Rule what is left of the page for a pencil; at its head, how to check what was struck."""
    yield Text("figures", (inner.right, top - 4.6), check, 2.3, "right", face="Sans-Semibold")
    yield Text("labels", (inner.left, top - 4.6), "Notes, and as hung", 2.3, face="Serif-Italic")
    count = int((room - 7.0) // 7.0)
    for k in range(count):
        y = top - 12.0 - 7.0 * k
        yield Polyline("hair", ((inner.left, y), (inner.right, y)))


def foot_tall(foot: Sequence[Item], inner: Box) -> float:
    """Give how far the foot of the page reaches up from the margin, mm."""
    return max(i.at[1] + i.height_mm for i in foot if isinstance(i, Text)) + 3.0 - inner.lower


def _foot(  # noqa: PLR0917 - a plank, and how close its facts are set
    inner: Box, shape: Shape, plank: Plank, bench: Bench, facts: Facts, closer: float
) -> Iterator[Item]:
    """Set timber and hanging side by side, and the cautions under them, up from the margin."""
    half = (inner.width - 8.0) / 2
    y = inner.lower
    told = wrap(LEGEND, inner.width, 1.8)
    for text in reversed(told):
        yield Text("labels", (inner.left, y + 0.4), text, 1.8)
        y += 2.9
    y += 1.2
    lines = [text for said in cautions(shape, plank, bench, facts)
             for text in wrap(f"– {said}", inner.width - 10.0, 2.1)]  # fmt: skip
    box = Box(inner.left, y, inner.right, y + 3.6 * len(lines) + 7.6)
    yield Fill("tint", _ring(box), TINT)
    yield rectangle("hair", box)
    yield Text("figures", (box.left + 4, box.upper - 4.6), "Cautions", 2.4, face="Sans-Semibold")
    for k, text in enumerate(lines):
        yield Text("figures", (box.left + 4, box.upper - 8.7 - 3.6 * k), text, 2.1)
    right = inner.left + half + 8.0
    sure = Pair("within", within(shape, bench.unit))
    columns = [
        (inner.left, "Timber", timber(shape, plank, bench, facts)),
        (right, "Hanging", hanging(shape, bench, facts, plank)),
    ]
    ways = [  # it goes where it makes the page no longer
        [
            _column(x, half, title, (*pairs, sure) if x == at else pairs, closer)
            for x, title, pairs in columns
        ]
        for at in (inner.left, right)
    ]
    set_ = min(ways, key=lambda way: max(high for _, high in way))
    tall = max(high for _, high in set_)
    for items, _ in set_:
        yield from (_raised(item, box.upper + 3.0 + tall) for item in items)


def _column(
    x: float, width: float, title: str, pairs: Sequence[Pair], closer: float
) -> tuple[list[Item], float]:
    """Set labels with what is said of them, down from y = 0; give that and how deep it is.

    `closer` is what the lettering and its lines are of their usual size.
    """
    label, cap, pitch = 21.0 * closer, CAP * closer, PITCH * closer
    items: list[Item] = [Text("kicker", (x, -3.0), title, 3.0, face="Serif-Italic")]
    y = -5.2
    items.append(Polyline("rules", ((x, y), (x + width, y))))
    for pair in pairs:
        layer, face = ("warning", "Sans-Semibold") if pair.loud else ("figures", "Sans")
        said = wrap(pair.says, width - label, cap, face)
        low = max(2.1 * closer, 1.8)
        items.append(Text("labels", (x, y - pitch + 1.2), pair.label, low, face="Sans-Italic"))
        for k, text in enumerate(said):
            items.append(Text(layer, (x + label, y - pitch * (k + 1) + 1.2), text, cap, face=face))
        y -= pitch * len(said) + 0.4
        items.append(Polyline("hair", ((x, y), (x + width, y))))
    return items, -y


def _raised(item: Item, by: float) -> Item:
    match item:
        case Text():
            return replace(item, at=(item.at[0], item.at[1] + by))
        case Polyline():
            return replace(item, points=tuple((x, y + by) for x, y in item.points))
    raise TypeError(f"a column is made of text and lines, not {type(item).__name__}")


def _second(
    inner: Box, plank: Plank, bench: Bench, rest: Sequence[tuple[str, ...]]
) -> Iterator[Item]:
    yield Text("name", (inner.left, inner.upper - 10.0), plank.name, 10.0, face="Sans-Semibold")
    beside = inner.left + width_mm(plank.name, 10.0, "Sans-Semibold") + 8.0
    says = f"{bench.vessel}: spiling, continued"
    yield Text("kicker", (beside, inner.upper - 10.0), says, 3.6, face="Serif-Italic")
    top = inner.upper - 18.0
    yield from head(inner.left, top, bench.unit)
    pitch = min(5.2, (top - HEAD_MM - inner.lower) / len(rest))
    yield from _rows(inner, top - HEAD_MM, rest, pitch)
