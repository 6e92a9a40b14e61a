"""Round the corner: the longest plank that goes from one passage into another.

The moving ladder, with a width: a plank carried level, its footprint a rectangle, through a right
angle from a passage of one width into one of another. At an angle t its outer side touches both
outer walls and the inner corner must clear its inner side; the longest that clears at every t is
the answer. A door in a thin wall is a passage as wide as the door.

Not reckoned: tilting, lifting over, and the hands beside the plank.
"""

from __future__ import annotations

import math

__all__ = ["longest_turn"]

STEPS = 200
GOLD = (math.sqrt(5) - 1) / 2


def longest_turn(one_mm: float, other_mm: float, wide_mm: float = 0.0) -> float:
    """Give the longest plank, mm, of a footprint so wide, between passages so wide.

    Nothing goes through a passage no wider than the plank.

    Raises
    ------
    ValueError : a measure below nothing

    >>> round(longest_turn(1000.0, 1000.0), 1)
    2828.4
    """
    if min(one_mm, other_mm, wide_mm) < 0:
        raise ValueError("a passage has no measure below nothing")
    if min(one_mm, other_mm) <= wide_mm:
        return 0.0

    def clear(t: float) -> float:
        across = one_mm * math.cos(t) + other_mm * math.sin(t) - wide_mm
        return across / (math.sin(t) * math.cos(t))

    angles = [math.pi / 2 * (k + 0.5) / STEPS for k in range(STEPS)]
    near = min(range(STEPS), key=lambda k: clear(angles[k]))
    low, high = angles[max(near - 1, 0)], angles[min(near + 1, STEPS - 1)]
    for _ in range(60):
        a, b = high - GOLD * (high - low), low + GOLD * (high - low)
        low, high = (low, b) if clear(a) < clear(b) else (a, high)
    return clear((low + high) / 2)
