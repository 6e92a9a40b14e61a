"""Revisions of the inputs, and where undo and redo lead.

A revision is never changed or removed. Undo makes a *new* revision that says what an earlier one
said, and so does redo, so the history is a straight line anyone can read back. Where undo and
redo lead is worked out by replaying the line: entering something new after an undo forgets the
way forward, but not the revisions.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

__all__ = ["Revision", "redo_to", "undo_to"]


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


def undo_to(history: Sequence[Revision]) -> int | None:
    """Give the revision that undo would repeat, or None at the beginning.

    >>> line = [Revision(1, None, "new", "", "", ""), Revision(2, 1, "new", "", "", "")]
    >>> undo_to(line), undo_to([*line, Revision(3, 1, "undo", "", "", "")])
    (1, None)
    """
    way, at = _replay(history)
    return way[at - 1] if at > 0 else None


def redo_to(history: Sequence[Revision]) -> int | None:
    """Give the revision that redo would repeat, or None where nothing was undone.

    >>> line = [Revision(1, None, "new", "", "", ""), Revision(2, 1, "new", "", "", "")]
    >>> redo_to([*line, Revision(3, 1, "undo", "", "", "")])
    2
    """
    way, at = _replay(history)
    return way[at + 1] if at + 1 < len(way) else None


def _replay(history: Sequence[Revision]) -> tuple[list[int], int]:
    way: list[int] = []
    at = -1
    for revision in history:
        if revision.kind == "new":
            way[at + 1 :] = [revision.number]
        at += -1 if revision.kind == "undo" else 1
    return way, at
