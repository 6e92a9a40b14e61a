"""Revisions of the inputs, and where undo and redo lead.

A revision is never changed or removed. Undo makes a *new* revision that says what an earlier one
said, and so does redo, so the history is a straight line anyone can read back. Where undo and
redo lead is followed from the end of the line by what each revision was made from: entering
something new after an undo forgets the way forward, but not the revisions.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

__all__ = ["Revision", "redo_to", "stepped", "undo_to"]


@dataclass(frozen=True, slots=True)
class Revision:
    """One state of the inputs: `parent` is the revision whose forms it started from.

    For "undo" and "redo" the parent is the revision it repeats.
    """

    number: int
    parent: int | None
    kind: Literal["new", "undo", "redo"]
    at: str
    who: str
    why: str


def undo_to(newest: Revision, find: Find) -> int | None:
    """Give the revision that undo would repeat, or None at the beginning.

    `find` gives a revision by its number; only a few are looked at, however long the history is.

    >>> line = [Revision(1, None, "new", "", "", ""), Revision(2, 1, "new", "", "", "")]
    >>> line.append(Revision(3, 1, "undo", "", "", ""))
    >>> undo_to(line[1], lambda n: line[n - 1]), undo_to(line[2], lambda n: line[n - 1])
    (1, None)
    """
    return _before(_entered(newest), find)


def redo_to(newest: Revision, find: Find) -> int | None:
    """Give the revision that redo would repeat, or None where nothing was undone.

    >>> line = [Revision(1, None, "new", "", "", ""), Revision(2, 1, "new", "", "", "")]
    >>> line.append(Revision(3, 1, "undo", "", "", ""))
    >>> redo_to(line[2], lambda n: line[n - 1])
    2
    """
    undone, last = 0, newest
    while last.kind != "new":  # back to what was entered last
        undone += 1 if last.kind == "undo" else -1
        last = find(last.number - 1)
    target: int | None = last.number if undone > 0 else None
    for _ in range(undone - 1):
        target = None if target is None else _before(target, find)
    return target


def stepped(kind: Literal["undo", "redo"], newest: Revision, target: int, find: Find) -> str:
    """Say what an undo takes back or a redo brings back, from what was said when it was entered.

    >>> line = [Revision(1, None, "new", "", "", ""), Revision(2, 1, "new", "", "", "16 strakes")]
    >>> stepped("undo", line[1], 1, lambda n: line[n - 1])
    'as revision 1 (undone: 16 strakes)'
    """
    what = find(_entered(newest) if kind == "undo" else target).why
    done = "undone" if kind == "undo" else "done again"
    return f"as revision {target}" + (f" ({done}: {what})" if what else "")


Find = Callable[[int], Revision]


def _entered(revision: Revision) -> int:
    """Give the number of the revision in which was entered what this one says."""
    if revision.kind == "new" or revision.parent is None:
        return revision.number
    return revision.parent


def _before(entered: int, find: Find) -> int | None:
    """Give the number of what was entered before it; None at the beginning."""
    parent = find(entered).parent
    return None if parent is None else _entered(find(parent))
