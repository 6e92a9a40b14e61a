"""What is free in each slot, and the first place a task fits: whole numbers as rows of bits.

For each resource and each amount a there is a row of bits, one a slot: set where at least a are
free. Rows are shifted and joined as whole numbers, so that a thousand slots are looked at in one
step: a run of n set bits is found by joining the row with itself shifted, by doubling, n times.

Not checked here: that what is taken was free.
"""

from __future__ import annotations

import numpy as np

from ribband.shop.work.project import Ints, Project, Span, Task

__all__ = ["Slots"]

WINDOW = 1024  # slots looked at in one go


class Slots:
    """The slots of a project's resources, and what is still free in them.

    >>> from ribband.shop.work.project import Use
    >>> task = Task("hang", 4, (Use(0, 3, 0, 4),))
    >>> slots = Slots(Project((), (), np.full((1, 99), 6)))
    >>> [slots.take(task, slots.first_fit(task, 0)) for _ in range(3)]
    [0, 0, 4]
    """

    def __init__(self, project: Project) -> None:
        self.project, self.horizon = project, project.horizon
        self.free = [_rows(own) for own in project.capacity]
        self.cold: dict[int, int] = {}
        self.hot: dict[int, int] = {}

    def copy(self) -> Slots:
        """Give slots that can be taken without these being taken."""
        other = Slots.__new__(Slots)
        other.project, other.horizon = self.project, self.horizon
        other.cold, other.hot = self.cold, self.hot
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
        fits &= self._unbroken(task, at)
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

    def _unbroken(self, task: Task, at: int) -> int:
        """Give a row of bits, from `at` on: set where neither span of a task is cut."""
        row = -1  # all set
        if task.span != (0, 0):
            row &= self._uncut(task.span, self.cold) >> (at + task.span[0])
        if task.hot != (0, 0):
            row &= self._uncut(task.hot, self.hot) >> (at + task.hot[0])
        return row

    def _uncut(self, span: Span, kept: dict[int, int]) -> int:
        """Give the row of slots from which as many as a span's are not cut."""
        long = span[1] - span[0]
        if long not in kept:
            ok = np.ones(self.horizon, dtype=bool)
            project = self.project
            for edge in project.edges(long) if kept is self.hot else project.breaks:
                ok[max(0, edge - long + 1) : edge] = False
            kept[long] = _bits(ok)
        return kept[long]


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
