"""Naming the hands: who is at each step, slot by slot.

From one change to the next (a step begins or ends, a day begins) hands stay at what they are at
where they can; a place left open is filled by a hand who is free, the one who can do least first,
or by moving others along a chain of places each can take over. `work/build.py` keeps numbers such
that this always succeeds.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ribband.errors import NotConverged
from ribband.shop.work.days import Days
from ribband.shop.work.model import Hand, Step, Stint

__all__ = ["name_hands"]


def name_hands(steps: Sequence[Step], crew: Sequence[Hand], days: Days) -> tuple[Stint, ...]:
    """Give the stints of every hand.

    Raises
    ------
    NotConverged : there are too few hands at some moment

    >>> days = Days(("2027-03-01",), 96, 7.5)
    >>> name_hands([Step("P1-1", "hang", 0, 12, 1, 1.0)], [Hand("Ann")], days)
    (Stint(hand='Ann', step=0, start=0, end=12),)
    """
    end = max((step.end for step in steps), default=0)
    marks = {0, end, *(s.start for s in steps), *(s.end for s in steps)}
    mornings = (0, *days.breaks())
    marks |= {at for b in mornings for hand in crew for at in _comes_and_goes(hand, days, b)}
    edges = sorted(edge for edge in marks if edge <= end)
    began, ended = _changes(steps)
    at: dict[str, int] = {}
    active: set[int] = set()
    open_since: dict[str, tuple[int, int]] = {}
    stints: list[Stint] = []
    for edge in edges:
        active = (active - ended[edge]) | began[edge]
        there = _there(crew, days, edge) if edge < end else []
        at = _placed(active, steps, there, at)
        for hand in [h for h, (step, _) in open_since.items() if at.get(h) != step]:
            step, since = open_since.pop(hand)
            stints.append(Stint(hand, step, since, edge))
        for hand, step in at.items():
            open_since.setdefault(hand, (step, edge))
    return tuple(sorted(stints, key=lambda s: (s.start, s.hand)))


def _changes(steps: Sequence[Step]) -> tuple[Mapping[int, set[int]], Mapping[int, set[int]]]:
    began: dict[int, set[int]] = defaultdict(set)
    ended: dict[int, set[int]] = defaultdict(set)
    for n, step in enumerate(steps):
        if step.hands:
            began[step.start].add(n)
            ended[step.end].add(n)
    return began, ended


def _there(crew: Sequence[Hand], days: Days, slot: int) -> list[Hand]:
    day = slot // days.slots
    return [
        hand
        for hand in crew
        if hand.there(days.days[day], days.weekday(day))
        and slot % days.slots in range(*days.hours_within(hand.clock))
    ]


def _comes_and_goes(hand: Hand, days: Days, begins: int) -> tuple[int, ...]:
    """Give the slots of a day, told by its first, at which a hand comes and goes."""
    return (begins, *(begins + at for at in days.hours_within(hand.clock)))


@dataclass(slots=True)
class _Moment:
    """One moment: who can take which step, who is at which."""

    can: dict[int, list[str]]
    at: dict[str, int]

    def fill(self, step: int, asked: set[str]) -> bool:
        """Put a hand at a step, moving others along where none is free."""
        able = sorted(self.can[step], key=lambda name: name in self.at)
        for name in able:
            if name in asked or self.at.get(name) == step:
                continue
            asked.add(name)
            before = self.at.get(name)
            if before is None or self.fill(before, asked):
                self.at[name] = step
                return True
        return False


def _placed(
    active: set[int], steps: Sequence[Step], there: Sequence[Hand], before: Mapping[str, int]
) -> dict[str, int]:
    ranked = sorted(there, key=lambda hand: len(hand.does))
    can = {n: [hand.name for hand in ranked if steps[n].operation in hand.does] for n in active}
    names = {hand.name for hand in there}
    kept = {h: n for h, n in before.items() if n in active and h in names}
    moment = _Moment(can, kept)
    for n in sorted(active):
        lacking = steps[n].hands - sum(step == n for step in moment.at.values())
        for _ in range(lacking):
            if not moment.fill(n, set()):
                raise NotConverged(f"too few hands for {steps[n].operation} {steps[n].plank}")
    return moment.at
