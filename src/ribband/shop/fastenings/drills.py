"""The drill in the rack nearest a hole that was reckoned: the largest that is no larger.

Drills go by thirty-seconds of an inch where the job is in feet or inches, else by half
millimetres: sets so spaced are what a shop has, and are the house's choice. *At or under*: a hole a
little tight can be eased, one too large cannot be filled.

Not checked: whether a drill of that size is in the shop, or cuts to its size in wet wood.
"""

from __future__ import annotations

from fractions import Fraction

from ribband.units import INCH, format_small, imperial

__all__ = ["DRILLS", "hole_said", "nearest_drill"]

DRILLS = "In brackets the nearest standard drill at or under it"
NEAR_MM = 0.01  # a hole short of a drill by less is the drill's: sizes are rounded on their way


def nearest_drill(mm: float, unit: str) -> str:
    """Name the largest standard drill no larger than a hole; empty where there is none so small.

    >>> nearest_drill(8.73125, "ft-in-8ths"), nearest_drill(8.73125, "mm")
    ('11/32 in', '8.5 mm')
    >>> nearest_drill(0.3, "mm")
    ''
    """
    own = imperial(unit)
    step = INCH / 32 if own else Fraction(1, 2)
    steps = int(Fraction(mm + NEAR_MM) / step)
    if steps < 1:
        return ""
    if not own:
        return f"{float(steps * step):g} mm"
    whole, part = divmod(Fraction(steps, 32), 1)
    return " ".join(str(one) for one in (int(whole), part) if one) + " in"


def hole_said(mm: float | None, unit: str) -> str:
    """Say a hole's size, with the drill for it in brackets; empty where it is not known.

    >>> hole_said(4.1, "ft-in-8ths"), hole_said(4.1, "m"), hole_said(None, "mm")
    ('0.16 in (5/32)', '4.1 mm (4)', '')
    """
    if mm is None:
        return ""
    drill = nearest_drill(mm, unit).rpartition(" ")[0]
    return f"{format_small(mm, unit)} ({drill})" if drill else format_small(mm, unit)
