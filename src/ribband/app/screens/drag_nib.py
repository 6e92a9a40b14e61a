"""A stealer's squared end in a hand: where it is wanted, and what stands in its way, in words.

Not checked: that the shape of the hull wants a stealer there; the score of the lining says so.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from ribband.app.screens.kept import Lying
from ribband.errors import InputError, Problem

if TYPE_CHECKING:
    from ribband.hull.model import Hull
    from ribband.lining.division import Stealer
    from ribband.lining.lineout import Drag

__all__ = ["clashes", "nib_at", "where_asked"]

SHORTEST = 3  # bays: less is no stealer
NEAR_END = 0.12  # of the length: lining out by itself puts no nib nearer to a hood end


def where_asked(drag: Drag, name: str, above: str, frame: str) -> tuple[int, Stealer]:
    """Give which of the drag's stealers `name` is, and it with its nib where it is wanted.

    Raises
    ------
    InputError : there is no such stealer, strake or frame
    """
    hull, names = drag.asked.ground.hull, [s.name for s in drag.strakes if s.stealer]
    whole, frames = drag.settled.division.whole, hull.frames.names
    problems = []
    if name not in names:
        wanted = f"one of {', '.join(names)}" if names else "a stealer; there are none"
        problems.append(Problem("lining", 0, "stealer", name, wanted))
    if not above.isdecimal() or not 1 <= int(above) < whole:
        problems.append(Problem("lining", 0, "strake", above, f"a strake from 1 to {whole - 1}"))
    if frame not in frames:
        wanted = f"a frame from {frames[0]} to {frames[-1]}"
        problems.append(Problem("lining", 0, "frame", frame, wanted))
    if problems:
        raise InputError(problems)
    which, at = names.index(name), frames.index(frame)
    own = drag.stealers[which]
    nib = {"fore": at} if own.fore >= 0 else {"aft": at}
    return which, replace(own, above=int(above) - 1, **nib)


def clashes(on: Lying, drag: Drag, which: int, wanted: Stealer) -> tuple[list[str], bool]:
    """Say what stands in the way of a stealer's nib, and whether it can stand there at all."""
    hull = drag.asked.ground.hull
    never = [*_too_short(wanted, len(hull.frames.names)), *_upon_another(drag, which, wanted)]
    return [*never, *_near_end(hull, wanted), *_butts_near(on, drag, wanted)], not never


def nib_at(drag: Drag, wanted: Stealer, name: str, *, stands: bool) -> dict[str, Any]:
    """Give the stealer's name as it is now, and the wishes that would set it down so."""
    if stands:
        here = [s.name for s in drag.strakes if s.stealer]
        name = here[drag.stealers.index(wanted)]
    wishes = [
        {"wish": "stealer", "strake": w.strake, "frame": w.frame, "to_frame": w.to_frame}
        for w in drag.asked.wishes
        if w.kind == "stealer"
    ]
    return {"stealer": name, "wishes": wishes}


def _too_short(wanted: Stealer, frames: int) -> list[str]:
    fore, aft = max(wanted.fore, -1), min(wanted.aft, frames)
    if aft - fore >= SHORTEST:
        return []
    return [f"a stealer is no shorter than {SHORTEST} bays"]


def _upon_another(drag: Drag, which: int, wanted: Stealer) -> list[str]:
    names = [s.name for s in drag.strakes if s.stealer]
    return [
        f"stealer {names[n]} lies there: two cannot lie one upon another"
        for n, other in enumerate(drag.stealers)
        if n != which
        and other.above == wanted.above
        and wanted.fore <= other.aft
        and other.fore <= wanted.aft
    ]


def _near_end(hull: Hull, wanted: Stealer) -> list[str]:
    x = hull.lines.x_mm
    part = (hull.frames.x_mm[_nib(wanted)] - x[0]) / (x[-1] - x[0])
    if NEAR_END < part < 1 - NEAR_END:
        return []
    return ["the squared end is near a hood end, where planks bend and twist most"]


def _butts_near(on: Lying, drag: Drag, wanted: Stealer) -> list[str]:
    """Say where the strake that takes the notch has a butt by it: a notch lies inside one plank."""
    kept = on.result("butts")
    if kept is None or kept[1] is None:
        return []
    ways, layout, _ = kept
    above, name = str(wanted.above + 2), drag.asked.ground.hull.frames.names[_nib(wanted)]
    near = [
        b.landing
        for b in layout.butts
        if ways.strakes[b.strake] == above and abs(b.landing - 2 * _nib(wanted)) <= 1
    ]
    return [
        f"strake {above} takes the notch and has a butt "
        f"{'on' if landing % 2 == 0 else 'beside'} frame {name}: a notch must lie inside one plank"
        for landing in near
    ]


def _nib(stealer: Stealer) -> int:
    return stealer.fore if stealer.fore >= 0 else stealer.aft
