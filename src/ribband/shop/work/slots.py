"""What is free in each slot, and the first place a task fits: whole numbers as rows of bits.

For each resource and each amount a there is a row of bits, one a slot: set where at least a are
free. Rows are shifted and joined as whole numbers, so that a thousand slots are looked at in one
step: a run of n set bits is found by joining the row with itself shifted, by doubling, n times.

Not checked here: that what is taken was free.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from ribband.shop.work.project import Ints, Task

__all__ = ["Slots"]

WINDOW = 1024  # slots looked at in one go


class Slots:
    """The slots of a project's resources, and what is still free in them.

    >>> from ribband.shop.work.project import Use
    >>> task = Task("hang", 4, (Use(0, 3, 0, 4),))
    >>> slots = Slots(np.full((1, 99), 6), lambda _: ())
    >>> [slots.take(task, slots.first_fit(task, 0)) for _ in range(3)]
    [0, 0, 4]
    """

    def __init__(self, capacity: Ints, edges: Callable[[int], Sequence[int]]) -> None:
        self.horizon = int(capacity.shape[1])
        self.free = [_rows(own) for own in capacity]
        self.edges = edges
        self.whole: dict[int, int] = {}

    def copy(self) -> Slots:
        """Give slots that can be taken without these being taken."""
        other = Slots.__new__(Slots)
        other.horizon, other.edges, other.whole = self.horizon, self.edges, self.whole
        other.free = [list(rows) for rows in self.free]
        return other

    def first_fit(self, task: Task, at: int) -> int | None:
        """Give the first slot from `at` where all a task uses is free; None: not before the end."""
        last = self.horizon - task.duration
        while at <= last:
            reach = min(WINDOW, last - at + 1)
            fits = self._fits(task, at, reach)
            if fits:
                return at + (fits & -fits).bit_length() - 1
            at += reach
        return None

    def take(self, task: Task, at: int) -> int:
        """Put a task at a slot; gives the slot."""
        for use in task.uses:
            rows = self.free[use.resource]
            window = ((1 << (use.end - use.begin)) - 1) << (at + use.begin)
            for k, row in enumerate(rows):
                above = rows[k + use.amount] if k + use.amount < len(rows) else 0
                rows[k] = (row & ~window) | (above & window)
        return at

    def _fits(self, task: Task, at: int, reach: int) -> int:
        """Give a row of bits, from `at` on: set where the task may start."""
        fits = (1 << reach) - 1
        if task.whole:
            fits &= self._unbroken(task.duration) >> at
        for use in task.uses:
            rows = self.free[use.resource]
            if use.amount > len(rows):
                return 0
            long = use.end - use.begin
            row = (rows[use.amount - 1] >> (at + use.begin)) & ((1 << (reach + long)) - 1)
            fits &= _runs(row, long)
            if not fits:
                return 0
        return fits

    def _unbroken(self, duration: int) -> int:
        """Give the row of starts from which a task of a duration runs over no break."""
        if duration not in self.whole:
            ok = np.ones(self.horizon, dtype=bool)
            for edge in self.edges(duration):
                ok[max(0, edge - duration + 1) : edge] = False
            self.whole[duration] = _bits(ok)
        return self.whole[duration]


def _rows(capacity: Ints) -> list[int]:
    return [_bits(capacity >= k) for k in range(1, int(capacity.max(initial=0)) + 1)]


def _bits(row: np.typing.NDArray[np.bool_]) -> int:
    return int.from_bytes(np.packbits(row, bitorder="little").tobytes(), "little")


def _runs(row: int, long: int) -> int:
    """Give the bits from which so many set bits follow.

    >>> bin(_runs(0b0111_0110, 3))
    '0b10000'
    """
    done = 1
    while done < long and row:
        step = min(done, long - done)
        row &= row >> step
        done += step
    return row
