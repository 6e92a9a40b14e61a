"""Whether the shutter will fit: how its opening stands against what was planned for it.

An opening is *closed* where both strakes beside it hang. Only then can it be measured; until then
the plan is all there is to go by. The rabbet and the sheer count as hung.

Not checked: the opening between the frames, and its depth.
"""

from __future__ import annotations

from ribband.planks.model import Plank
from ribband.record.model import Opening
from ribband.record.whole import SideLeft
from ribband.units import counted, format_length, format_off

__all__ = ["shutter_fit", "shutters_of"]


def shutters_of(one: SideLeft, shutters: tuple[str, ...]) -> tuple[Plank, ...]:
    """Give the planks of a side that close it, as they are now."""
    return tuple(plank for plank in (*one.done, *one.planks) if plank.name in shutters)


def shutter_fit(plank: Plank, one: SideLeft, unit: str) -> str:
    """Say in words how the opening of a shutter stands.

    Parameters
    ----------
    one : what is left of the plank's side
    unit : of the job
    """
    planned = f"planned {format_length(plank.width_max_mm, unit)} at the widest"
    if one.standing.planks.get(plank.name) == "held":
        return f"hangs; {planned}"
    own = [opening for opening in one.openings if opening.strake == plank.strake]
    if not own:
        return f"opening not closed yet; {planned}"
    seen = [opening for opening in own if opening.measured]
    if not seen:
        return f"opening closed, not measured yet; {planned}: measure it before the plank is cut"
    how = "measured" if len(seen) == len(own) else (
        f"measured at {len(seen)} of {counted(len(own), 'frame')}"
    )  # fmt: skip
    worst = max(seen, key=lambda opening: abs(_off(opening)))
    off = format_off(_off(worst), unit, "wider", "narrower")
    return f"opening {how}: {off}, at frame {worst.frame} most; {planned}"


def _off(opening: Opening) -> float:
    return opening.left_mm - opening.planned_mm
