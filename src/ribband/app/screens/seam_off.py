"""A seam as it is being written down, against the one plan there is of it.

Of a repair that plan is the seams she was recorded with, as on its tickets and papers; else the
lining out. What lies further off than half its strake is wide is asked about before it is believed;
what lies beyond the frame's own girth is refused. Nothing is made: the newest kept is looked at.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from ribband.app.entering.jobs import job_path
from ribband.app.screens.kept import Lying, lying
from ribband.errors import InputError, Problem
from ribband.units import format_bare, format_length, parse_length

if TYPE_CHECKING:
    from ribband.lining.model import Lining
    from ribband.record import HungPoint, Repair
    from ribband.record.hung import Edge

__all__ = ["NEAR_MM", "SeamOff", "planned_lining", "seam_doubted", "seam_off"]

NEAR_MM = 0.8  # a thirty-second of an inch: no tape reads finer at a hull


@dataclass(frozen=True, slots=True)
class SeamOff:
    """How far a measured seam lies off its plan; `ask` is what is to be asked before it is kept."""

    says: str
    near: bool
    ask: str


def planned_lining(on: Lying) -> Lining | None:
    """Give the lining that seams are planned by: the old one where a repair has new planks."""
    repair: Repair | None = on.result("repair")
    return repair.lining if repair is not None and repair.planks.planks else on.lining


def seam_off(path: Path, said: Mapping[str, str]) -> SeamOff:
    """Say how far a measured seam lies off its plan; `said` is a row of the form `as_hung`.

    Raises
    ------
    InputError : a girth that cannot be read or is beyond the frame, or a seam that is not there
    """
    on = lying(path, ("hull", "lining", "repair"))
    try:
        point = _point(said, on.unit)
    except ValueError as wrong:
        example = format_bare(711.2, on.unit)
        problem = Problem("as_hung", 0, "girth", said["girth"], str(wrong), example)
        raise InputError([problem]) from None
    edge = _edge(point, on)
    if edge is None:
        wanted = f"a frame that strake {point.strake} reaches"
        raise InputError([Problem("as_hung", 0, "frame", point.frame, wanted)])
    _within_the_frame(point, edge, said["girth"], on.unit)
    return _said(point, edge, on.unit)


def seam_doubted(path: Path, said: Mapping[str, str]) -> tuple[str, ...]:
    """Say what is to be asked about a row of the form `as_hung`; nothing where it is near its plan.

    Nothing either where it cannot be read, which is told as it is written, or is not planned.

    Raises
    ------
    InputError : the girth is beyond the frame
    """
    on = lying(job_path(path), ("hull", "lining", "repair"))
    try:
        point = _point(said, on.unit)
    except ValueError:
        return ()
    edge = _edge(point, on)
    if edge is None:
        return ()
    _within_the_frame(point, edge, said["girth"], on.unit)
    ask = _said(point, edge, on.unit).ask
    return (f"{ask} If not, measure again: the new figure stands in place of this.",) if ask else ()


def _point(said: Mapping[str, str], unit: str) -> HungPoint:
    from ribband.record import HungPoint

    edge: Literal["lower", "upper"] = "lower" if said.get("edge") == "lower" else "upper"
    girth = parse_length(said["girth"], unit)
    return HungPoint(said["side"], said["strake"], edge, said["frame"], girth)


def _edge(point: HungPoint, on: Lying) -> Edge | None:
    from ribband.record import edge_of

    lining = planned_lining(on)
    return edge_of(point, lining) if lining is not None else None


def _within_the_frame(point: HungPoint, edge: Edge, typed: str, unit: str) -> None:
    if edge.beyond(point):
        most = format_bare(edge.frame_mm, unit)
        wanted = f"0 to {most}, the girth of frame {point.frame} itself"
        example = format_bare(edge.planned_mm, unit)
        raise InputError([Problem("as_hung", 0, "girth", typed, wanted, example)])


def _said(point: HungPoint, edge: Edge, unit: str) -> SeamOff:
    off = point.girth_mm - edge.planned_mm
    if abs(off) <= NEAR_MM:
        return SeamOff("as planned", near=True, ask="")
    says = f"{format_length(abs(off), unit)} {'above' if off > 0 else 'below'} the plan"
    if not edge.doubted(point):
        return SeamOff(says, near=False, ask="")
    plan, read = (format_length(mm, unit) for mm in (edge.planned_mm, point.girth_mm))
    ask = (
        f"{read} is {says}, {plan}: more than half of strake {point.strake} there, "
        f"{format_length(edge.wide_mm, unit)} from edge to edge. Was the tape read so?"
    )
    return SeamOff(says, near=False, ask=ask)
