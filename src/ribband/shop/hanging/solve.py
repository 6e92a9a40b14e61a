"""The order of hanging: garboard and sheer first, both sides level, the easiest opening last.

On each side two faces are worked: up from the garboard and down from the sheer. A plank of the
lower face needs every plank it lies on, one of the upper face every plank it lies under, and both
the plank next forward in their own strake, so that only one end of a plank is fitted to what
hangs. A plank whose after end is scarfed over the outside of the next one needs that one instead,
so a scarfed strake goes on from aft forward. They meet at the shutter strake, which is filled from
its ends towards the shutter. The face that is the less far on comes next, and the side that has
fewer planks hung.

Not checked here: that a hull so opened keeps its shape; the moulds, shores and the surveyor do.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ribband.findings import Finding, Severity
from ribband.hull.model import Hull
from ribband.lining.model import Lining
from ribband.planks.model import Plank
from ribband.planks.shape_model import Shape
from ribband.shop.hanging.model import Hanging, Look, Place, Seat
from ribband.shop.hanging.rules import HangingRules
from ribband.shop.hanging.seats import lapped, seams, seats
from ribband.shop.hanging.shutter import look_at, may_shut, places_in_space

__all__ = ["in_order", "order_hanging", "shapes_by_plank"]

SHOWN = 6  # planks looked at for the shutter that are kept, a side


def shapes_by_plank(
    planks: Sequence[Plank], shapes: Sequence[Shape], starboard: Sequence[Shape] | None = None
) -> dict[str, Shape]:
    """Give the flat shape of every plank by the plank's name; both sides share where mirrored."""
    port = {shape.name: shape for shape in shapes}
    other = port if starboard is None else {shape.name: shape for shape in starboard}
    found = {}
    for plank in planks:
        own = (other if plank.side == "starboard" else port).get(f"{plank.strake}-{plank.number}")
        if own is not None:
            found[plank.name] = own
    return found


def order_hanging(  # noqa: PLR0917 - the hull, what hangs, and the rules
    hull: Hull,
    lining: Lining,
    planks: Sequence[Plank],
    shapes: Mapping[str, Shape],
    rules: HangingRules = HangingRules(),  # noqa: B008 - frozen
    hung: Sequence[str] = (),
) -> Hanging:
    """Give the order in which to hang the planks, with the shutter chosen.

    Parameters
    ----------
    planks : every plank of the list
    shapes : flat shapes by plank name (`shapes_by_plank`); may be empty
    hung : planks that hang already, in the order they were hung: they come first
    """
    there = set(hung)
    own = seats(planks, lining)
    stealers = [row for row, strake in enumerate(lining.strakes) if strake.stealer]
    at = places_in_space(own, lining, hull)
    by_name = {plank.name: plank for plank in planks}
    looks = [
        look_at(by_name[s.plank], s, shapes.get(s.plank), at.get(s.plank), rules)
        for s in may_shut(own, rules, stealers)
        if s.plank not in there
    ]
    return in_order(own, looks, rules, hung)


def in_order(
    own: Sequence[Seat],
    looks: Sequence[Look],
    rules: HangingRules = HangingRules(),  # noqa: B008 - frozen
    hung: Sequence[str] = (),
) -> Hanging:
    """Give the order for planks on these seats; `looks` are the planks that may be the shutter.

    `hung` are those that hang already, in their order; the shutter is one that does not.

    >>> own = [Seat(f"P{row + 1}-{n + 1}", "port", row, 4 * n, 4 * n + 4)
    ...        for row in range(3) for n in range(2)]
    >>> looks = [Look("P2-1", 1.0, *[None] * 5, False, "straight")]
    >>> [place.plank for place in in_order(own, looks).places]
    ['P1-1', 'P3-1', 'P1-2', 'P3-2', 'P2-2', 'P2-1']
    """
    names = {seat.plank for seat in own}
    hung = tuple(dict.fromkeys(name for name in hung if name in names))
    pairs = seams(own)
    shutters = _shutters(own, looks, hung)
    needs, face = _needs(own, pairs, shutters)
    places, ahead = _taken(own, needs, face, shutters, hung)
    kept = [look for side in _sides(own) for look in _best(own, looks, side)[:SHOWN]]
    return Hanging(places, tuple(shutters.values()), tuple(kept), pairs, ahead,
                   _doubts(kept, len(hung) == len(own)), hung)  # fmt: skip


def _sides(own: Sequence[Seat]) -> list[str]:
    return list(dict.fromkeys(seat.side for seat in own))


def _best(own: Sequence[Seat], looks: Sequence[Look], side: str) -> list[Look]:
    side_of = {seat.plank: seat.side for seat in own}
    return sorted((x for x in looks if side_of[x.plank] == side), key=lambda x: (x.points, x.plank))


def _shutters(
    own: Sequence[Seat], looks: Sequence[Look], hung: Sequence[str] = ()
) -> dict[str, str]:
    """Give the shutter of each side: the fewest points; in the middle where none was looked at.

    Where all of a side hangs it was the last one hung.
    """
    found = {}
    for side in _sides(own):
        best = _best(own, looks, side)
        its = sorted((s for s in own if s.side == side), key=lambda s: (s.row, s.fore))
        left = [s for s in its if s.plank not in hung]
        under = lapped(left)
        left = [s for s in left if s.plank not in under]
        if left:
            found[side] = best[0].plank if best else left[len(left) // 2].plank
        else:
            found[side] = max((s.plank for s in its), key=hung.index)
    return found


@dataclass(frozen=True, slots=True)
class _Strake:
    """The planks of one strake on one side, from forward, and where the shutter stands in it."""

    planks: tuple[str, ...]
    shutter: int
    scarfed: bool = False

    def before(self, n: int) -> str | None:
        """Give the plank in the strake that must hang before plank `n`."""
        if self.scarfed:
            return self.planks[n + 1] if n + 1 < len(self.planks) else None
        if self.shutter < 0:
            return self.planks[n - 1] if n else None
        step = -1 if n < self.shutter else 1
        return self.planks[n + step] if 0 <= n + step < len(self.planks) else None


def _needs(
    own: Sequence[Seat], pairs: Sequence[tuple[str, str]], shutters: Mapping[str, str]
) -> tuple[dict[str, tuple[str, ...]], dict[str, str]]:
    below, above = defaultdict(list), defaultdict(list)
    for low, high in pairs:
        below[high].append(low)
        above[low].append(high)
    row_of = {seat.plank: seat.row for seat in own}
    needs, face = {}, {}
    for (side, row), strake in _strakes(own, shutters).items():
        level = row - row_of[shutters[side]]
        for n, plank in enumerate(strake.planks):
            face[plank] = "shutter" if level == 0 else "lower" if level < 0 else "upper"
            along = _beside(strake, n)
            lies = (below[plank] if level <= 0 else []) + (above[plank] if level >= 0 else [])
            needs[plank] = (*lies, *along)
    return needs, face


def _beside(strake: _Strake, n: int) -> list[str]:
    if n == strake.shutter and not strake.scarfed:
        return [strake.planks[k] for k in (n - 1, n + 1) if 0 <= k < len(strake.planks)]
    before = strake.before(n)
    return [before] if before else []


def _strakes(own: Sequence[Seat], shutters: Mapping[str, str]) -> dict[tuple[str, int], _Strake]:
    rows = defaultdict(list)
    for seat in sorted(own, key=lambda s: s.fore):
        rows[seat.side, seat.row].append(seat.plank)
    scarfed = {(seat.side, seat.row) for seat in own if seat.over}
    return {
        key: _Strake(
            tuple(its),
            its.index(shutters[key[0]]) if shutters[key[0]] in its else -1,
            key in scarfed,
        )
        for key, its in rows.items()
    }


def _taken(
    own: Sequence[Seat],
    needs: Mapping[str, tuple[str, ...]],
    face: Mapping[str, str],
    shutters: Mapping[str, str],
    there: Sequence[str] = (),
) -> tuple[tuple[Place, ...], int]:
    """Take planks one by one: the side with the larger part left, the face that is less far on.

    Those that are `there` already come first.
    """
    hung = set(there)
    sides, ahead = _sides(own), 0
    left = {side: [s for s in own if s.side == side and s.plank not in hung] for side in sides}
    counted = {side: sum(s.side == side and s.plank in hung for s in own) for side in sides}
    whole = {side: _whole([s for s in own if s.side == side], face) for side in sides}
    side_of = {seat.plank: seat.side for seat in own}
    places = [
        Place(name, side_of[name], n, face[name], needs[name], "hangs already")
        for n, name in enumerate(there, 1)
    ]
    while any(left.values()):
        side = min((s for s in sides if left[s]), key=lambda s: counted[s])
        ready = [seat for seat in left[side] if hung.issuperset(needs[seat.plank])]
        seat = min(ready, key=lambda s: _turn(s, face, left[side], whole[side], shutters[side]))
        left[side].remove(seat)
        hung.add(seat.plank)
        counted[side] += 1
        if all(left.values()):
            ahead = max(ahead, max(counted.values()) - min(counted.values()))
        says = _why(seat, face[seat.plank], needs[seat.plank], shutters[side])
        own_needs = needs[seat.plank]
        places.append(Place(seat.plank, side, len(places) + 1, face[seat.plank], own_needs, says))
    return tuple(places), ahead


def _whole(own: Sequence[Seat], face: Mapping[str, str]) -> dict[str, int]:
    return {name: sum(face[s.plank] == name for s in own) for name in ("lower", "upper", "shutter")}


def _turn(
    seat: Seat,
    face: Mapping[str, str],
    left: Sequence[Seat],
    whole: Mapping[str, int],
    shutter: str,
) -> tuple[bool, bool, float, bool, int, int]:
    """Give when a ready plank's turn comes; the least is next."""
    name = face[seat.plank]
    done = 1 - sum(face[s.plank] == name for s in left) / whole[name]
    out = -seat.row if name == "upper" else seat.row
    return seat.plank == shutter, name == "shutter", done, name == "upper", out, seat.fore


def _why(seat: Seat, face: str, needs: Sequence[str], shutter: str) -> str:
    if seat.plank == shutter:
        return "the shutter: closes this side"
    if face == "shutter":
        return "in the shutter strake, from its end towards the shutter"
    if not needs:
        return "first of the garboard" if face == "lower" else "first of the sheer strake"
    on = "lies on" if face == "lower" else "lies under"
    joint = "is scarfed over" if seat.over else "butts against"
    return f"{on} or {joint} {', '.join(needs)}"


def _doubts(looks: Sequence[Look], all_hung: bool) -> tuple[Finding, ...]:
    if all_hung:
        return ()
    if not looks:
        says = "no plank could be looked at for the shutter; the middle one is left to the last"
        return (Finding("W401", Severity.CAUTION, "hanging", "shutter", says),)
    if all(look.height_mm is None for look in looks):
        says = "chosen without heights: only girths were measured; see that it is in reach"
        return (Finding("W402", Severity.NOTE, "hanging", "shutter", says),)
    return ()
