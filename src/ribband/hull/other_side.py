"""What one side says of the other: whether a station that stands out whole is borne out over there.

A column read off the wrong staff is out on the side it was read on. Where a station stands out as
a whole on one side only, though its readings on both sides lie on one and the same section, it is
the surface that is out about there, as next to a full or raking end, and not the station. Where it
stands out on both, or the two sides differ, this says nothing.

Not checked: a slip made alike on both sides that shows on one only.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ribband.hull.model import Doubt, Floats
from ribband.survey.model import Reading

__all__ = ["borne_out_over_there"]

ALIKE = 0.25  # of what it is out by: the readings of the sides lie no further apart
FEWEST = 4  # readings of the other side


def borne_out_over_there(
    doubts: Sequence[Doubt],
    others: Sequence[Doubt],
    own: Sequence[Reading],
    over: Sequence[Reading],
) -> frozenset[str]:
    """Name stations doubted as wholes on one side that the other side's readings bear out.

    Parameters
    ----------
    doubts, others : of this side and of the other
    own, over : readings of this side and of the other
    """
    there = {doubt.frame for doubt in others if doubt.whole}
    return frozenset(
        doubt.frame
        for doubt in doubts
        if doubt.whole
        and doubt.frame not in there
        and _apart(_section(own, doubt.frame), _section(over, doubt.frame))
        <= ALIKE * abs(doubt.off_mm)
    )


def _section(readings: Sequence[Reading], station: str) -> Floats:
    """Give the readings of a station from the keel up, (n, 2): out and up."""
    points = [(r.y_mm, r.z_mm) for r in readings if r.station == station and r.role != "rabbet"]
    return np.array(sorted(points, key=lambda p: p[1] + 0.3 * p[0])).reshape(-1, 2)


def _apart(one: Floats, other: Floats) -> float:
    """Give how far the middling point of one section lies from another; endless of too few.

    >>> wall = np.array([[100.0, z] for z in range(0, 500, 100)])
    >>> _apart(wall + [3.0, 40.0], wall)
    3.0
    """
    if len(other) < FEWEST or not len(one):
        return float("inf")
    a, along = other[:-1], np.diff(other, axis=0)
    long2 = np.maximum((along**2).sum(axis=1), 1e-9)
    part = np.clip(((one[:, None] - a) * along).sum(axis=2) / long2, 0.0, 1.0)
    near = a + part[..., None] * along
    return float(np.median(np.sqrt(((one[:, None] - near) ** 2).sum(axis=2)).min(axis=1)))
