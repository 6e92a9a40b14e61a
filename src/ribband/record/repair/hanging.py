"""The order in which the new planks of a repair are hung, and what each lies against.

Around every opening the old planks hang, so a new plank waits for no neighbour: it waits for the
turn before its own to be fast, and in its strake for the new plank forward of it; scarfed, for the
one aft of it, which its tip lies over. Within a turn
the sides go by turns, and on each side the longest comes first, as the turns were made.

Not known here: what moulds, shores and cradle hold. The surveyor's word comes first.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import zip_longest

from ribband.findings import Finding, Severity
from ribband.record.repair.model import Renewal, Repair
from ribband.shop import Against, Hanging, Place, against, seams, seats

__all__ = ["check_turns_kept", "hang_in_turns", "lies_against"]


def hang_in_turns(repair: Repair) -> Hanging:
    """Give the order of hanging, turn by turn."""
    places: list[Place] = []
    before: tuple[str, ...] = ()
    for turn in sorted({r.turn for r in repair.renewals}):
        own = list(_level([r for r in repair.renewals if r.turn == turn]))
        for renewal in own:
            places += _of_renewal(renewal, before, len(places))
        before = tuple(name for renewal in own for name in renewal.planks)
    new = {place.plank for place in places}
    pairs = seams(seats(repair.around, repair.lining))
    touching = tuple(pair for pair in pairs if new.issuperset(pair))
    return Hanging(tuple(places), (), (), touching, _ahead(places))


def _level(renewals: Sequence[Renewal]) -> Iterator[Renewal]:
    """Take the sides by turns, the longest of each first."""
    sides = [
        sorted((r for r in renewals if r.side == side), key=lambda r: -r.length_mm)
        for side in ("port", "starboard")
    ]
    for pair in zip_longest(*sides):
        yield from (r for r in pair if r is not None)


def _of_renewal(renewal: Renewal, before: tuple[str, ...], hung: int) -> Iterator[Place]:
    """Hang a renewal from forward; scarfed from aft, as the fore plank's tip lies outside."""
    planks = renewal.planks[::-1] if renewal.joint == "scarf" else renewal.planks
    for n, plank in enumerate(planks):
        along = planks[n - 1 : n] if n else ()
        when = f"when turn {renewal.turn - 1} is fast" if before else "of those opened first"
        says = f"{when}; the old planks around it hang"
        yield Place(
            plank, renewal.side, hung + n + 1, f"turn {renewal.turn}", (*before, *along), says
        )


def _ahead(places: Sequence[Place]) -> int:
    """Give how far one side is ahead of the other at most, while both have planks left."""
    left = {side: sum(p.side == side for p in places) for side in {p.side for p in places}}
    hung, most = dict.fromkeys(left, 0), 0
    for place in places:
        hung[place.side] += 1
        left[place.side] -= 1
        if all(left.values()):
            most = max(most, max(hung.values()) - min(hung.values()))
    return most


def lies_against(repair: Repair) -> Mapping[str, Against]:
    """Give what every new plank lies against once she is closed, old planks with it."""
    return against(seats(repair.around, repair.lining))


def check_turns_kept(repair: Repair, hanging: Hanging) -> tuple[Finding, ...]:
    """Look that every new plank is hung once, and none before the turn before it is whole."""
    place = {p.plank: p.place for p in hanging.places}
    turn = {plank: r.turn for r in repair.renewals for plank in r.planks}
    if sorted(place.values()) != list(range(1, len(turn) + 1)) or place.keys() != turn.keys():
        says = "planks are missing from the order, or in it twice"
        return (Finding("R049", Severity.FAULT, "record", "order of hanging", says),)
    return tuple(
        Finding("R049", Severity.FAULT, "record", plank, f"hung before {other}, of an earlier turn")
        for plank in turn
        for other in turn
        if turn[other] < turn[plank] and place[other] > place[plank]
    )
