"""Laying planks on boards: which plank from which board, and where on it.

*Rough shape*: the flat shape with its allowances. *Laying*: every plank's cut, or that it found no
board. *Off-cut*: an end of a board, sawn square off, long and wide enough to be kept; it counts as
not used. Boards of state other than "sound" are not touched.

Where every board has a price, least money is looked for, else least timber; see `laying/choice.py`.

Not checked: that the flat shapes are right, nor that the boards are as tallied.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from time import perf_counter, process_time

import numpy as np

from ribband.findings import Finding, Severity
from ribband.numerics.polygons import clipped, enclosed_area
from ribband.numerics.profiles import Floats, columns, open_ring
from ribband.planks.model import PlankList
from ribband.planks.shape_model import Shape
from ribband.timber.board_model import Board, Cut, Flaw, Laying, Piece
from ribband.timber.laying.bound import least_timber
from ribband.timber.laying.choice import chosen, cost_of, rates, with_boards_said
from ribband.timber.laying.ends import broken, sound_spans
from ribband.timber.laying.fill import Pattern, Place, cost_mm3
from ribband.timber.laying.ground import (
    FINE,
    LEANS,
    STEP,
    Kind,
    Lies,
    Plot,
    as_lain,
    cut_of,
    kinds_of,
    lies_of,
    plot_of,
    rough_ring,
)
from ribband.timber.laying.pace import LONG, ByClock, Pace
from ribband.timber.laying.rules import LayingRules
from ribband.timber.laying.search import search
from ribband.timber.laying.state import Progress, Search, State, empty, put
from ribband.units import counted

__all__ = ["PROVED", "bounds_of", "lay_planks", "offcuts_of", "pieces", "timber_used"]

PROVED = "the pile cannot bear them all, proved"
SAME_LEAN = 1e-9
LEAST_BREADTH = 30.0  # mm; nothing narrower goes between a flaw and an edge


def pieces(shapes: Sequence[Shape], plank_list: PlankList, rules: LayingRules) -> tuple[Piece, ...]:
    """Give what is to be got out: a piece a shape, with the planks of the list it serves.

    The least thickness is the rough thickness on the list, or what the shape's hollow and round
    need where that is more.
    """
    found = []
    for shape in shapes:
        planks = [p for p in plank_list.planks if f"{p.strake}-{p.number}" == shape.name]
        if not planks:
            continue
        outline = np.concatenate([shape.lower, shape.aft, shape.upper[::-1], shape.fore[::-1]])
        found.append(
            Piece(
                name=shape.name,
                outline=outline,
                planks=tuple(p.name for p in planks),
                thickness_mm=max(shape.thickness_mm, *(p.rough_mm for p in planks)),
                allowance_mm=rules.allowance_mm,
                end_allowance_mm=rules.end_allowance_mm,
                may_flip=rules.may_flip,
                planed_mm=shape.thickness_mm,
            )
        )
    return tuple(found)


def lay_planks(
    pieces: Sequence[Piece],
    boards: Sequence[Board],
    rules: LayingRules,
    *,
    seed: int = 0,
    seconds: float = 30.0,
    start: Laying | None = None,
    pinned: Sequence[tuple[str, str]] = (),
    fixed: Sequence[Cut] = (),
    progress: Progress = None,
    clock: Callable[[], float] = perf_counter,
    barred: Sequence[tuple[str, str]] = (),
    timber: str = "",
    pace: Pace | None = None,
) -> Laying:
    """Lay planks on boards so that least timber is used up, or least money where all have prices.

    Parameters
    ----------
    start : a laying to go on from; what of it still can be is kept to begin with
    pinned : (plank, board) pairs; the plank is laid on that board or not at all
    fixed : cuts that stay as they are, because they are sawn already or wanted so
    barred : (plank, board) pairs; the plank is not laid on that board
    timber : of the planking; boards of another are left alone unless the rules allow them
    seconds : by the clock given, the one on the wall; the same seed gives the same laying only
        where as much was tried in the time
    pace : when the search ends, in place of seconds and clock; `ByCount` gives the same laying for
        the same planks and boards, whatever else the machine does

    Planks that find no board are named in `unlaid`; that is a result, not an error.
    """
    pace, begun = ByClock(seconds, clock) if pace is None else pace, process_time()
    held = {cut.board for cut in fixed}
    sound = chosen(boards, rules, timber)
    sound += [b for b in boards if b.state == "sound" and b.name in held and b not in sound]
    whole = [*sound, *(b for b in boards if b.state != "sound" and b.name in held)]
    kinds = kinds_of(pieces, rules, pinned, tuple(cut.plank for cut in fixed), barred)
    if not kinds or not sound:
        empty_handed = laying_of(
            pieces, boards, rules, tuple(fixed), spent=0.0, seed=seed, bound=0.0
        )
        return with_boards_said(empty_handed, boards, rules, timber)
    lies = lies_of(kinds, rules, _leans(rules, pace, start, len(sound)))
    plots = plots_of(pieces, sound, rules, fixed)
    ground = Search(kinds, plots, lies, rules, np.random.default_rng(seed), pace, progress)
    bare = plots_of(pieces, sound, rules) if fixed else plots
    bounds = bounds_of(kinds_of(pieces, rules, pinned, (), barred), bare, rules)
    state = search(ground, _state(ground, start) if start is not None else None)
    cuts = (*fixed, *cuts_of(kinds, lies, plots, state))
    laying = laying_of(
        pieces, whole, rules, cuts, spent=process_time() - begun, seed=seed, bound=bounds[0]
    )
    return with_boards_said(replace(laying, cost_bound=bounds[1]), boards, rules, timber)


def _leans(rules: LayingRules, pace: Pace, start: Laying | None, boards: int) -> int:
    """Give how many leans to look at: all those of the laying to go on from, too."""
    few = np.linspace(-1, 1, LEANS) * rules.greatest_turn_rad
    turns = np.array([cut.turn_rad for cut in start.cuts] if start is not None else [])
    leans = np.minimum(np.abs(turns[:, None] - few), np.abs(turns[:, None] - few - np.pi))
    known = bool((leans.min(axis=1) < SAME_LEAN).all()) if len(turns) else True
    return LEANS if pace.reach < LONG * boards and known else FINE


def bounds_of(
    kinds: Sequence[Kind], plots: Sequence[Plot], rules: LayingRules
) -> tuple[float, float | None]:
    """Give the least timber, mm3, and the least money where every board has a price."""
    plain = [replace(plot, rate=1.0) for plot in plots]
    timber = least_timber(kinds, plain, rules)
    if any(not plot.board.price for plot in plots) or not np.isfinite(timber):
        return timber, None
    price = sum(plot.board.price or 0.0 for plot in plots)
    volume = sum(enclosed_area(p.board.outline) * p.board.thickness_mm for p in plots)
    return timber, least_timber(kinds, plots, rules) * price / volume


def plots_of(
    pieces: Sequence[Piece], boards: Sequence[Board], rules: LayingRules, fixed: Sequence[Cut] = ()
) -> tuple[Plot, ...]:
    """Put boards on cells with the planks fixed on them."""
    piece_of = {plank: piece for piece in pieces for plank in piece.planks}
    there: dict[str, list[Floats]] = {}
    for cut in fixed:
        there.setdefault(cut.board, []).append(as_lain(piece_of[cut.plank], cut))
    return tuple(
        replace(plot_of(board, rules, LEAST_BREADTH, there.get(board.name, ())), rate=float(rate))
        for board, rate in zip(boards, rates(boards), strict=True)
    )


def cuts_of(
    kinds: Sequence[Kind], lies: Lies, plots: Sequence[Plot], state: State
) -> tuple[Cut, ...]:
    """Name the planks of a state, board by board, and say where they lie."""
    names = [list(reversed(kind.planks)) for kind in kinds]
    return tuple(
        cut_of(lies, plots[at], names[place.kind].pop(), lie=place.lie, cell=place.cell, y=place.y)
        for at in sorted(state.patterns)
        for place in state.patterns[at].places
    )


def laying_of(
    pieces: Sequence[Piece],
    boards: Sequence[Board],
    rules: LayingRules,
    cuts: tuple[Cut, ...],
    *,
    spent: float,
    seed: int,
    bound: float,
) -> Laying:
    """Reckon what cuts use and leave."""
    piece_of = {plank: piece for piece in pieces for plank in piece.planks}
    laid = {cut.plank for cut in cuts}
    unlaid = tuple(plank for plank in piece_of if plank not in laid)
    kept = offcuts_of(pieces, boards, rules, cuts)
    used = timber_used(boards, cuts, kept)
    rough = sum(
        enclosed_area(rough_ring(piece_of[c.plank])) * piece_of[c.plank].thickness_mm for c in cuts
    )
    proved = bound / 1e9 if np.isfinite(bound) else 0.0
    return Laying(
        cuts=cuts,
        unlaid=unlaid,
        used_m3=used,
        yield_part=rough / 1e9 / used if used else 0.0,
        bound_m3=proved,
        gap=used / proved - 1 if proved and not unlaid else float("nan"),
        seconds=spent,
        seed=seed,
        offcuts=kept,
        findings=tuple(_findings(unlaid, bound)),
        cost=cost_of(boards, {cut.board for cut in cuts}, kept),
    )


def timber_used(boards: Sequence[Board], cuts: Sequence[Cut], kept: Sequence[Board]) -> float:
    """Give the timber of the boards cut into less the off-cuts kept, m3."""
    names = {cut.board for cut in cuts}
    whole = sum(enclosed_area(b.outline) * b.thickness_mm for b in boards if b.name in names)
    return (whole - sum(enclosed_area(b.outline) * b.thickness_mm for b in kept)) / 1e9


def offcuts_of(
    pieces: Sequence[Piece], boards: Sequence[Board], rules: LayingRules, cuts: Sequence[Cut]
) -> tuple[Board, ...]:
    """Give what is sound of the ends of boards and worth keeping, "A7/1", "A7/2" from the butt on.

    They lie in the axes of the board they come from. A flaw that crosses an end parts it; of a
    spoilt board none is kept.
    """
    piece_of = {plank: piece for piece in pieces for plank in piece.planks}
    kept = []
    for board in boards:
        on = [cut for cut in cuts if cut.board == board.name]
        if not on or board.state == "spoilt":
            continue
        x = np.concatenate([as_lain(piece_of[c.plank], c)[:, 0] for c in on])
        ends = board.outline[:, 0].min(), board.outline[:, 0].max()
        spans = [(ends[0], x.min() - rules.kerf_mm), (x.max() + rules.kerf_mm, ends[1])]
        bad = broken(board, rules.offcut_width_mm, rules.sap_allowed)
        parts = [part for a, b in spans for part in sound_spans(float(a), float(b), bad)]
        for number, (first, last) in enumerate(parts, 1):
            part = _end_of(board, f"{board.name}/{number}", first, last, rules)
            kept += [part] if part is not None else []
    return tuple(kept)


def _end_of(board: Board, name: str, first: float, last: float, rules: LayingRules) -> Board | None:
    """Saw an end off, or give None where it is not worth keeping."""
    if last - first < rules.offcut_length_mm:
        return None
    ring = clipped(board.outline, first, last)
    lower, upper = _least_width(ring)
    if upper - lower < rules.offcut_width_mm:
        return None
    flaws = [Flaw(f.kind, clipped(f.ring, first, last)) for f in board.flaws]
    return replace(board, name=name, outline=ring, flaws=tuple(f for f in flaws if len(f.ring) > 2))


def _least_width(ring: Floats) -> tuple[float, float]:
    """Give the edges where a ring is narrowest, a hand's breadth clear of its ends."""
    x = np.linspace(ring[:, 0].min() + 50.0, ring[:, 0].max() - 50.0, 41)
    low, high = columns(open_ring(ring), x)
    at = int(np.argmin(high - low))
    return float(low[at]), float(high[at])


def _findings(unlaid: Collection[str], bound: float) -> list[Finding]:
    """Say what did not fit."""
    if not unlaid:
        return []
    why = "none was found" if np.isfinite(bound) else PROVED
    says = f"{counted(len(unlaid), 'plank')} found no board: {', '.join(sorted(unlaid)[:12])}"
    says += " ..." if len(unlaid) > 12 else ""
    return [Finding("T117", Severity.FAULT, "timber", "the pile", says, why)]


def _state(ground: Search, start: Laying) -> State:
    """Take up a laying again: boards whose every cut lies as the search would lay it."""
    kind_of = {plank: k for k, kind in enumerate(ground.kinds) for plank in kind.planks}
    state = empty(ground)
    for at, plot in enumerate(ground.plots):
        on = [cut for cut in start.cuts if cut.board == plot.board.name]
        places = [_place(ground, plot, kind_of.get(cut.plank), cut) for cut in on]
        known = [place for place in places if place is not None]
        if on and len(known) == len(on):
            cost = cost_mm3(plot, ground.lies, known, ground.rules)
            put(state, Pattern(at, tuple(known), cost))
    return state


def _place(ground: Search, plot: Plot, kind: int | None, cut: Cut) -> Place | None:
    """Find the lie and the cell of a cut, if it is one the search knows."""
    lies = ground.lies
    same = (lies.kind == (-1 if kind is None else kind)) & (lies.flipped == cut.flipped)
    same &= np.abs(lies.turn - cut.turn_rad) < 1e-9
    for lie in np.flatnonzero(same):
        cell = (cut.x_mm + lies.start[lie] - plot.left) / STEP
        if abs(cell - round(cell)) < 1e-6 and round(cell) >= 0:
            return Place(int(lie), int(lies.kind[lie]), round(cell), cut.y_mm)
    return None
