"""Planks no board bought would hold, parted by one more butt: where it may stand, and what it does.

For every such plank each landing between its ends is looked at: the flat shape is parted there, the
two parts are sized as planks to be bought are, and the rules of butts are asked whether a butt may
stand there. Of the places where both parts are held, the one with the narrowest parts is named, one
that keeps the rules before any other.

Nothing in the job is changed; the parts are of the shape as it is rolled out now, and come out a
little otherwise when they are rolled out by themselves.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ribband.findings import Finding, Severity
from ribband.units import format_length

if TYPE_CHECKING:
    from ribband.app.plan.making import Bench
    from ribband.butts.model import Layout, Ways
    from ribband.butts.rules import ButtRules
    from ribband.planks.shape_model import Shape
    from ribband.timber.board_model import Piece
    from ribband.timber.buying import Bought
    from ribband.timber.order.model import Need

__all__ = ["with_butts_said"]

TURN = 0.3  # rad; most a part's own batten line may run from that of the whole
STEPS = 25


def with_butts_said(
    bench: Bench, bought: Bought, pieces: Sequence[Piece], found: Sequence[Finding]
) -> tuple[Finding, ...]:
    """Say of every plank no class holds where a butt would make it fit (T037)."""
    if bought.order is None or not bought.order.unmet or not bought.from_shapes:
        return tuple(found)
    unmet = set(bought.order.unmet)
    alike: dict[tuple[str, str], list[str]] = {}
    for piece in pieces:
        if own := [p for p in piece.planks if p in unmet]:
            alike.setdefault(_said(bench, bought, piece), []).extend(own)
    return (*found, *(_finding(planks, *said) for said, planks in alike.items()))


def _finding(planks: Sequence[str], says: str, why: str) -> Finding:
    """Say it of the planks of one piece, or of several of which the same is to be said."""
    each = len({plank[1:] for plank in planks}) > 1
    *most, last = planks
    where = f"planks {', '.join(most)} and {last}" if most else f"plank {last}"
    return Finding("T037", Severity.NOTE, "timber", where, f"each: {says}" if each else says, why)


def _said(bench: Bench, bought: Bought, piece: Piece) -> tuple[str, str]:
    """Say which butt would make a plank fit, and what it would break."""
    shape = _shape(bench, piece)
    if shape is None:
        return "no class holds it, and its shape was changed at the hull: part it there", ""
    from ribband.butts.check import clashes
    from ribband.butts.problem import landing_name

    ways, layout = _butts(bench, piece)
    rules = bench.rules["butts"]
    now = frozenset((b.code, b.butts) for b in clashes(ways, rules, layout))
    broken_at = partial(_broken, ways, rules, layout, shape.strake, now=now)
    fitting = [
        (len(broken_at(landing)), _widest(parts), landing, parts)
        for landing, parts in _parted(bench, ways, shape, piece)
        if _held(bought, parts)
    ]
    if not fitting:
        return "no class holds it, and no one butt makes it fit; two might, or a wider board", ""
    broken, _, landing, parts = min(fitting, key=lambda one: one[:3])
    sizes = " and ".join(
        f"{format_length(p.length_mm, bench.unit)} x {format_length(p.width_mm, bench.unit)}"
        for p in parts
    )
    name = landing_name(ways, landing)
    if not broken:
        return f"a butt at {name} keeps the rules and makes two of it of about {sizes} that fit", ""
    first = broken_at(landing)[0]
    return (
        f"a butt at {name} would make two of it of about {sizes} that fit, but breaks a rule",
        f"{first}; lay the butts anew with a shorter longest plank (butts.greatest_plank)",
    )


def _shape(bench: Bench, piece: Piece) -> Shape | None:
    """Find the shape a piece was made of, as planned."""
    port, starboard = bench.made["shapes"].result
    own = port if starboard is None or piece.planks[0][:1] == "P" else starboard
    name = piece.planks[0][1:]
    return next((s for s in own.shapes if s.name == name), None)


def _butts(bench: Bench, piece: Piece) -> tuple[Ways, Layout]:
    ways, layout, other = bench.butts
    return ways, layout if other is None or piece.planks[0][:1] == "P" else other


def _parted(
    bench: Bench, ways: Ways, shape: Shape, piece: Piece
) -> Iterator[tuple[int, tuple[Need, Need]]]:
    """Give every landing inside a plank, and what its two parts need."""
    from ribband.numerics.polygons import clipped

    ends = float(piece.outline[:, 0].min()), float(piece.outline[:, 0].max())
    for landing, x in _places(ways, shape):
        parts = [clipped(piece.outline, a, b) for a, b in ((ends[0], x), (x, ends[1]))]
        if all(len(part) > 2 for part in parts):
            fore, aft = (_need(bench, replace(piece, outline=part)) for part in parts)
            yield landing, (fore, aft)


def _places(ways: Ways, shape: Shape) -> Iterator[tuple[int, float]]:
    """Give the landings within a shape and where they are along its batten, mm."""
    known = [ways.frames.index(f) for f in shape.frames if f in ways.frames]
    if len(known) != len(shape.frames) or len(known) < 3:
        return
    first, last = known[0], known[-1]
    for landing in range(2 * first + 1, 2 * last):
        yield landing, float(np.interp(landing / 2, known, shape.along_mm))


def _need(bench: Bench, part: Piece) -> Need:
    """Size a part by its own batten line, which runs as its longest way does."""
    from ribband.numerics.profiles import turned
    from ribband.timber.order.needs import needs_of_pieces, over_all

    turns = np.linspace(-TURN, TURN, STEPS)
    turn = float(turns[np.argmin(over_all(part.outline, turns)[1])])
    straight = replace(part, outline=turned(part.outline, turn))
    lean = bench.rules["laying"].greatest_turn_rad
    return needs_of_pieces([straight], lean)[0]


def _held(bought: Bought, parts: tuple[Need, Need]) -> bool:
    from ribband.timber.order.solve import is_held

    return all(is_held(part, bought.classes, bought.rules) for part in parts)


def _widest(parts: tuple[Need, Need]) -> float:
    return max(part.width_mm for part in parts)


def _broken(
    ways: Ways,
    rules: ButtRules,
    layout: Layout,
    strake: int,
    landing: int,
    *,
    now: Collection[object],
) -> tuple[str, ...]:
    """Say what one more butt would break that is not broken now."""
    from ribband.butts.check import clashes, in_words
    from ribband.butts.model import Butt

    more = replace(layout, butts=(*layout.butts, Butt(strake, landing)))
    new = [b for b in clashes(ways, rules, more) if (b.code, b.butts) not in now]
    return tuple(in_words(ways, rules, b).says for b in new)
