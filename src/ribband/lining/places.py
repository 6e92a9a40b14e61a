"""Findings of many places told together: a wish that cannot be kept is said once, not per frame.

A *place* is a strake at a frame. A few strakes are told one by one, each with its frames; more are
told as one. What is said is of the worst place; every width is in the table of strake edges.

Not checked: what is wrong there; the caller tells it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from ribband.findings import Finding, Severity
from ribband.hull.model import Floats
from ribband.lining.model import Lining
from ribband.units import counted

__all__ = ["frame_named", "frames_named", "told_together"]

APART = 3  # strakes told of one by one; more are told together
RUNS = 3  # stretches of frames or strakes named; beyond that their whole extent
_ENDS = ("stem", "stern")


def told_together(
    code: str,
    severity: Severity,
    lining: Lining,
    wrong: NDArray[np.bool_],
    *,
    by: Floats,
    says: Callable[[int, int], str],
) -> list[Finding]:
    """Say what is wrong at places (S, C) of a lining, of the worst of them by `by` (S, C)."""
    rows = np.flatnonzero(wrong.any(axis=1))
    alone = [np.array([k]) for k in rows] if len(rows) <= APART else [rows]
    return [_told(code, severity, lining, _only(wrong, own), by=by, says=says) for own in alone]


def _only(wrong: NDArray[np.bool_], rows: NDArray[np.int64]) -> NDArray[np.bool_]:
    own = np.zeros_like(wrong)
    own[rows] = wrong[rows]
    return own


def _told(
    code: str,
    severity: Severity,
    lining: Lining,
    wrong: NDArray[np.bool_],
    *,
    by: Floats,
    says: Callable[[int, int], str],
) -> Finding:
    names = [strake.name for strake in lining.strakes]
    rows, columns = (np.flatnonzero(wrong.any(axis=axis)).tolist() for axis in (1, 0))
    where = f"{_run('strake', names, rows)}, {frames_named(lining.columns, columns)}"
    worst = np.unravel_index(int(np.where(wrong, np.abs(by), -np.inf).argmax()), wrong.shape)
    k, c = (int(at) for at in worst)
    said, many = says(k, c), int(wrong.sum())
    if many > 1:
        at = frame_named(lining.columns[c])
        worst_at = f"strake {names[k]}, {at}" if len(rows) > 1 else at
        said = f"{said}: the worst of {counted(many, 'place')}, {worst_at}"
    return Finding(code, severity, "lining", where, said)


def frame_named(column: str) -> str:
    """Name a column: a frame, or a hood end by its own name.

    >>> frame_named("12"), frame_named("stem")
    ('frame 12', 'stem')
    """
    return column if column in _ENDS else f"frame {column}"


def frames_named(columns: Sequence[str], at: Sequence[int]) -> str:
    """Name columns, some stretches of them.

    >>> columns = ["stem", "1", "2", "3", "4", "stern"]
    >>> frames_named(columns, [0, 1, 2]), frames_named(columns, [1, 2, 4])
    ('stem to frame 2', 'frames 1 to 2, 4')
    >>> frames_named(["stem", "st1", "st2", "stern"], [1, 2])  # a name like a hood end's is none
    'frames st1 to st2'
    """
    ends = columns[at[0]], columns[at[-1]]
    if not set(_ENDS) & set(ends):
        return _run("frame", columns, at)
    first, last = map(frame_named, ends)
    return first if first == last else f"{first} to {last}"


def _run(what: str, names: Sequence[str], at: Sequence[int]) -> str:
    """Name what stands at places in order, stretch by stretch.

    >>> names = [str(n) for n in range(1, 20)]
    >>> _run("frame", names, [3]), _run("frame", names, [3, 4, 5, 8])
    ('frame 4', 'frames 4 to 6, 9')
    >>> _run("strake", names, [0, 2, 4, 6, 8, 9])
    'strakes 1 to 10'
    """
    starts = [i for i in at if i - 1 not in set(at)]
    stops = [i for i in at if i + 1 not in set(at)]
    if len(starts) > RUNS:
        starts, stops = [at[0]], [at[-1]]
    said = [
        names[a] if a == b else f"{names[a]} to {names[b]}"
        for a, b in zip(starts, stops, strict=True)
    ]
    return f"{what}{'s' if len(at) > 1 else ''} {', '.join(said)}"
