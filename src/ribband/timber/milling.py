"""The milling list and the labels: what the saw and the planer do to each plank, in their order.

*Order*: boards as they are tallied, planks along a board from its butt. *Plane to*: the dressed
thickness and what backing out takes; the outer face is rounded within it. *Marked face*: the face
the board was tallied on; a port plank laid as drawn has its outer face there, turned over its
inner one; a starboard plank the other way about.

Not checked here: the laying; `check_laying` does that. Measure the board before it is planed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Literal

import numpy as np

from ribband.numerics.polygons import laid_out
from ribband.numerics.profiles import Floats, columns, open_ring
from ribband.planks.model import Plank
from ribband.planks.shape_model import Shape
from ribband.timber.board_model import Board, Cut, Laying, Piece
from ribband.units import format_length, format_weight, rounded_up

__all__ = ["AS_TALLIED_WET", "Label", "MillingLine", "batten_ends", "batten_on", "is_wet", "labels",
           "milling_list"]  # fmt: skip

WET = 20.0  # per cent; air-dried timber is under it (common practice, no source)
AS_TALLIED_WET = (
    "Of a board over 20 % all figures hold as it was tallied, wet: strike the batten lines before "
    "it dries and set its planks off from them after, or tally it again when dry and lay anew."
)


@dataclass(frozen=True, slots=True)
class MillingLine:
    """One plank on the milling list; lengths in mm.

    place : 1 for the plank nearest the butt of its board, and so on
    from_butt_mm : where its nearest end begins, allowance and all; `long_mm` over all, `wide_mm` of
        the narrowest straight piece it comes out of
    up_butt_mm, up_top_mm : where its batten line is struck: up from the board's lower edge, at the
        plank's end nearest the butt and at its other end, allowances not counted
    rough_mm : of the board; plane_to_mm : before backing out; hollow_mm, round_mm : taken after
    edge_mm, end_mm : allowances left on; spare_mm : over what is planed to, when drying and planing
        of both faces are taken off where they are known
    marked_face : which face of the plank the marked face of the board becomes
    mate : what it is got out with, where it was so wished: the other side's plank, and whence
    """

    board: str
    lies: str
    place: int
    plank: str
    species: str
    moisture_percent: float | None
    from_butt_mm: float
    long_mm: float
    wide_mm: float
    up_butt_mm: float
    up_top_mm: float
    rough_mm: float
    plane_to_mm: float
    dressed_mm: float
    hollow_mm: float
    round_mm: float
    edge_mm: float
    end_mm: float
    spare_mm: float
    marked_face: Literal["outer", "inner"]
    mate: str = ""


@dataclass(frozen=True, slots=True)
class Label:
    """What is written on the plank itself: its name, and lines under it."""

    plank: str
    lines: tuple[str, ...]


def milling_list(
    laying: Laying,
    pieces: Sequence[Piece],
    boards: Sequence[Board],
    planks: Sequence[Plank],
    shapes: Sequence[Shape] = (),
    *,
    mates: Mapping[str, str] = MappingProxyType({}),
) -> tuple[MillingLine, ...]:
    """Give the planks of a laying as the saw takes them.

    Without its flat shape's hollow a plank is planed to the dressed thickness.

    mates : by plank, what is said of its other side where the two are got out together
    """
    piece_of = {name: piece for piece in pieces for name in piece.planks}
    plank_of = {plank.name: plank for plank in planks}
    shape_of = {shape.name: shape for shape in shapes}
    cuts: dict[str, list[Cut]] = {}
    for cut in laying.cuts:
        cuts.setdefault(cut.board, []).append(cut)
    lines = []
    for board in boards:
        own = sorted(cuts.get(board.name, ()), key=lambda c: _span(c, piece_of[c.plank])[0])
        for place, cut in enumerate(own, start=1):
            piece = piece_of[cut.plank]
            line = _line(board, cut, piece, plank_of[cut.plank], shape_of.get(piece.name), place)
            lines.append(replace(line, mate=mates.get(cut.plank, "")))
    return tuple(lines)


def _line(  # noqa: PLR0917 - one line of the list, from all it is about
    board: Board, cut: Cut, piece: Piece, plank: Plank, shape: Shape | None, place: int
) -> MillingLine:
    hollow = float(np.max(shape.hollow_mm, initial=0.0)) if shape else 0.0
    rounding = float(np.max(shape.round_mm, initial=0.0)) if shape else 0.0
    plane_to = plank.dressed_mm + hollow  # the round is taken off within it
    long, wide = np.ptp(piece.outline, axis=0)
    wide = min(float(wide), shape.blank_width_mm) if shape else float(wide)
    (_, butt), (_, top) = batten_ends(board, cut, piece)
    return MillingLine(
        board=board.name,
        lies=board.lies,
        place=place,
        plank=cut.plank,
        species=board.species,
        moisture_percent=board.moisture_percent,
        from_butt_mm=_span(cut, piece)[0],
        long_mm=float(long) + 2 * (piece.end_allowance_mm + piece.allowance_mm),
        wide_mm=wide + 2 * piece.allowance_mm,
        up_butt_mm=butt,
        up_top_mm=top,
        rough_mm=board.thickness_mm,
        plane_to_mm=plane_to,
        dressed_mm=plank.dressed_mm,
        hollow_mm=hollow,
        round_mm=rounding,
        edge_mm=piece.allowance_mm,
        end_mm=piece.end_allowance_mm,
        spare_mm=board.thickness_mm - board.lost_mm - plane_to,
        marked_face="inner" if cut.flipped == (plank.side != "starboard") else "outer",
    )


def batten_on(cut: Cut, piece: Piece) -> Floats:
    """Give both ends (2, 2) of a plank's batten line in the axes of its board, the butt's first."""
    first, last = float(piece.outline[:, 0].min()), float(piece.outline[:, 0].max())
    batten = np.array([[first, 0.0], [last, 0.0]])
    ends = laid_out(batten, cut.flipped, cut.turn_rad, cut.x_mm, cut.y_mm)
    return ends[np.argsort(ends[:, 0])]


def batten_ends(
    board: Board, cut: Cut, piece: Piece
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Give where a plank's batten line is struck on its board, mm: the butt's end, then the other.

    Of each end how far it is from the butt, and how far up from the board's lower edge there.
    """
    ends = batten_on(cut, piece)
    butt = float(board.outline[:, 0].min())
    low, _ = columns(open_ring(board.outline), ends[:, 0])
    (a, b), (p, q) = ends - np.stack([[butt, butt], low], axis=1)
    return (float(a), float(b)), (float(p), float(q))


def _span(cut: Cut, piece: Piece) -> tuple[float, float]:
    """Give where a plank begins and ends along its board, as it is sawn out.

    The edge allowance is kept all round, at the ends on top of theirs.
    """
    ring = laid_out(piece.outline, cut.flipped, cut.turn_rad, cut.x_mm, cut.y_mm)
    over = (piece.end_allowance_mm + piece.allowance_mm) * abs(float(np.cos(cut.turn_rad)))
    return float(ring[:, 0].min()) - over, float(ring[:, 0].max()) + over


def labels(
    lines: Iterable[MillingLine], planks: Sequence[Plank], vessel: str, unit: str = "mm"
) -> tuple[Label, ...]:
    """Give a label for every line of the milling list, in the same order."""
    plank_of: Mapping[str, Plank] = {plank.name: plank for plank in planks}
    return tuple(_label(line, plank_of[line.plank], vessel, unit) for line in lines)


def is_wet(moisture_percent: float | None) -> bool:
    """Tell whether a plank got out of a board so wet shrinks in breadth and thickness yet."""
    return (moisture_percent or 0.0) > WET


def _label(line: MillingLine, plank: Plank, vessel: str, unit: str) -> Label:
    weight = "" if plank.rough_kg is None else f", rough {format_weight(plank.rough_kg, unit)}"
    kept = (
        f"keep {format_length(line.edge_mm, unit)} on the edges, "
        f"{format_length(line.end_mm, unit)} on the ends"
    )
    thickness = (
        f"plane to {format_length(rounded_up(line.plane_to_mm, unit), unit)}, "
        f"dressed {format_length(line.dressed_mm, unit)}"
    )
    return Label(
        line.plank,
        (
            vessel,
            f"{plank.side}, strake {plank.strake}, {plank.fore} to {plank.aft}",
            f"board {line.board}, {_ordinal(line.place)} from the butt{_wet(line)}",
            thickness,
            f"{format_length(line.long_mm, unit)} long{weight}; {kept}",
            f"marked face of the board: {line.marked_face} face of the plank",
            *([line.mate] if line.mate else []),
        ),
    )


def _wet(line: MillingLine) -> str:
    wet = is_wet(line.moisture_percent)
    if not wet:
        return ""
    return f"; {line.moisture_percent:g} %: dry it first, its lines struck wet or tallied again dry"


def _ordinal(place: int) -> str:
    """Say a place in a row.

    >>> [_ordinal(n) for n in (1, 2, 3, 4, 11, 21)]
    ['1st', '2nd', '3rd', '4th', '11th', '21st']
    """
    last = {1: "st", 2: "nd", 3: "rd"}.get(place % 10, "th")
    return f"{place}{'th' if place % 100 in {11, 12, 13} else last}"
