"""Looking a laying over: from the cuts and the dressed shapes alone, ring against ring.

A plank is its dressed ring, with a strip on each end for the end allowance (the steep edges of
that end set out along the plank's x axis, or its point); each must be its allowance clear of the
board's edge and of flaws, and two planks both allowances and a kerf apart. Nothing of the search
is used.

Not checked: whether less timber would do; whether a crew can turn the board at the saw.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from ribband.findings import Finding, Severity
from ribband.hull.model import Floats
from ribband.numerics.polygons import distance, enclosed_area, holds, laid_out, rings_meet
from ribband.timber.board_model import Board, Cut, Laying, Piece
from ribband.timber.laying.check_twins import unmatched
from ribband.timber.laying.rules import LayingRules
from ribband.timber.species import species_named

__all__ = ["check"]

NEAR = 0.01  # mm
THIN = 0.1  # mm by which a plank may be planed barer before it is told
ALONG, ACROSS = 25.0, 2.0  # mm between the points at which an off-cut is looked at for flaws


def check(
    pieces: Sequence[Piece],
    boards: Sequence[Board],
    rules: LayingRules,
    laying: Laying,
    timber: str = "",
    *,
    out: Collection[str] = (),
    wishes: Collection[tuple[str, str]] = (),
    claimed: Collection[str] = (),
) -> tuple[Finding, ...]:
    """Give everything wrong with a laying, and cautions about it.

    timber : the planking's; empty where any will do
    out : planks got out already; a board turned bad after that is no fault of the laying
    wishes : "pair" or "book" and a plank or strake; claimed : planks said to lie as so wished

    >>> check((), (), LayingRules(), Laying((), (), 0.0, 0.0, 0.0, 0.0, 0.0, 0))
    ()
    """
    piece_of = {plank: piece for piece in pieces for plank in piece.planks}
    board_of = {board.name: board for board in boards}
    found = [*_count(piece_of, board_of, laying, set(out)), *_bowed(board_of, rules, laying)]
    found += _unfit(board_of, rules, laying, timber)
    known = [c for c in laying.cuts if c.plank in piece_of and c.board in board_of]
    for cut in known:
        found += _one(piece_of[cut.plank], board_of[cut.board], rules, cut)
    for name in sorted({cut.board for cut in known}):
        on = [cut for cut in known if cut.board == name]
        found += _apart(piece_of, rules, on)
    found += unmatched(piece_of, board_of, known, wishes, claimed)
    return tuple(found + _sums(piece_of, board_of, rules, laying, known))


def _fault(code: str, where: str, says: str) -> Finding:
    return Finding(code, Severity.FAULT, "timber", where, says)


def _count(
    piece_of: dict[str, Piece], board_of: dict[str, Board], laying: Laying, out: set[str]
) -> Iterable[Finding]:
    """Find planks laid twice, forgotten or unknown, and boards unknown or not to be used."""
    times = Counter([cut.plank for cut in laying.cuts]) + Counter(laying.unlaid)
    for plank in sorted(set(piece_of) | set(times)):
        if plank not in piece_of:
            yield _fault("T101", f"plank {plank}", "no such plank is to be got out")
        elif times[plank] != 1:
            yield _fault("T102", f"plank {plank}", f"is laid {times[plank]} times")
    for name in sorted({cut.board for cut in laying.cuts}):
        if name not in board_of:
            yield _fault("T103", f"board {name}", "no such board is tallied")
        elif board_of[name].state != "sound" and not out.issuperset(
            cut.plank for cut in laying.cuts if cut.board == name
        ):
            yield _fault("T104", f"board {name}", f"is {board_of[name].state}, yet cut into")
    for plank in laying.unlaid:
        yield Finding(
            "T105", Severity.CAUTION, "timber", f"plank {plank}", "found no board in the pile"
        )


def _bowed(board_of: dict[str, Board], rules: LayingRules, laying: Laying) -> Iterable[Finding]:
    for name in sorted({cut.board for cut in laying.cuts} & set(board_of)):
        board = board_of[name]
        if board.bow_mm >= rules.bow_mm > 0:
            says = f"bowed {board.bow_mm:.0f} mm: see that it still planes to thickness"
            yield Finding("T106", Severity.CAUTION, "timber", f"board {name}", says)


def _unfit(
    board_of: dict[str, Board], rules: LayingRules, laying: Laying, timber: str
) -> Iterable[Finding]:
    """Find boards cut into that the rules leave alone: of another timber, or too wet."""
    for name in sorted({cut.board for cut in laying.cuts} & set(board_of)):
        board = board_of[name]
        if board.state != "sound":
            continue  # said already
        known = {_timber(board.species), _timber(timber)} - {""}
        if len(known) > 1 and not rules.other_timber:
            says = f"is {board.species}, yet cut into for planking of {timber}"
            yield _fault("T122", f"board {name}", says)
        wet = board.moisture_percent or 0.0
        if 0.0 < rules.wettest_percent < wet:
            says = f"is at {wet:g} % moisture, over {rules.wettest_percent:g}, yet cut into"
            yield _fault("T123", f"board {name}", says)


def _timber(name: str) -> str:
    """Give the one name of a timber that goes by several; as typed where it is not known."""
    kind = species_named(name)
    return " ".join(name.casefold().split()) if kind is None else kind.name


def _one(piece: Piece, board: Board, rules: LayingRules, cut: Cut) -> Iterable[Finding]:
    """Look over one plank on its board."""
    where = f"plank {cut.plank}, board {cut.board}"
    lean = abs((cut.turn_rad + np.pi / 2) % np.pi - np.pi / 2)
    if lean > rules.greatest_turn_rad + 1e-9:
        yield _fault("T107", where, f"leans {np.degrees(lean):.2f} degrees from the grain")
    if board.thickness_mm < piece.thickness_mm - 1e-9:
        yield _fault("T108", where, f"board {board.thickness_mm:g} mm thick is too thin")
    left = board.thickness_mm - board.lost_mm
    if left < piece.planed_mm - THIN:
        says = f"the board planes to {left:.1f} mm, and {piece.planed_mm:.1f} is wanted"
        yield _fault("T108", where, says)
    if not piece.may_flip and cut.flipped != cut.plank.startswith("S"):
        yield _fault("T109", where, "lies with the wrong face up")
    rings = _rings(piece, cut)
    edge = piece.allowance_mm + (rules.live_edge_mm if board.live_edges else 0.0)
    clear = min(_inside(board.outline, ring) for ring in rings)
    if clear < edge - NEAR:
        yield _fault("T110", where, f"{clear:.2f} mm inside the board's edge, wanted {edge:g}")
    for flaw in board.flaws:
        if flaw.kind == "sap" and rules.sap_allowed:
            continue
        gap = min(_gap(ring, flaw.ring) for ring in rings)
        if gap < piece.allowance_mm - NEAR:
            yield _fault("T111", where, f"{gap:.2f} mm from a {flaw.kind}")


def _apart(
    piece_of: dict[str, Piece], rules: LayingRules, cuts: Sequence[Cut]
) -> Iterable[Finding]:
    """Look over every two planks on a board."""
    rings = {cut.plank: _rings(piece_of[cut.plank], cut) for cut in cuts}
    for one, two in combinations(rings, 2):
        wanted = rules.kerf_mm + piece_of[one].allowance_mm + piece_of[two].allowance_mm
        gap = min(_gap(a, b) for a in rings[one] for b in rings[two])
        if gap < wanted - NEAR:
            says = f"{gap:.2f} mm apart, wanted {wanted:g}"
            yield _fault("T112", f"planks {one} and {two}", says)


def _rings(piece: Piece, cut: Cut) -> list[Floats]:
    """Give a plank as it lies: its dressed ring, and the strips at its ends."""
    flat = [piece.outline, *_strips(piece.outline, piece.end_allowance_mm)]
    return [laid_out(ring, cut.flipped, cut.turn_rad, cut.x_mm, cut.y_mm) for ring in flat]


def _strips(ring: Floats, by: float) -> list[Floats]:
    """Give what lies between each end's steep edges, or its point, and their places set out."""
    if by <= 0:
        return []
    a, b = ring, np.roll(ring, -1, axis=0)
    steep = np.abs(b[:, 1] - a[:, 1]) > np.abs(b[:, 0] - a[:, 0])
    middle = (ring[:, 0].min() + ring[:, 0].max()) / 2
    fore, aft = np.array([-by, 0.0]), np.array([by, 0.0])
    strips = [
        np.array([p, q, q + out, p + out])
        for p, q in zip(a[steep], b[steep], strict=True)
        for out in [fore if (p[0] + q[0]) / 2 < middle else aft]
    ]
    first, last = ring[ring[:, 0].argmin()], ring[ring[:, 0].argmax()]
    return [*strips, np.array([first, first + fore]), np.array([last, last + aft])]


def _inside(outline: Floats, ring: Floats) -> float:
    """Give how far a ring lies inside an outline, below nothing where it sticks out."""
    if not holds(outline, ring).all():
        return -1.0
    return distance(outline, ring)


def _gap(one: Floats, two: Floats) -> float:
    """Give the distance between two rings, below nothing where they overlap."""
    box = max(*(one.min(axis=0) - two.max(axis=0)), *(two.min(axis=0) - one.max(axis=0)))
    if box > 200.0:
        return float(box)
    return -1.0 if rings_meet(one, two) else distance(one, two)


def _sums(
    piece_of: dict[str, Piece],
    board_of: dict[str, Board],
    rules: LayingRules,
    laying: Laying,
    known: Sequence[Cut],
) -> list[Finding]:
    """Reckon the timber used again, and look at the off-cuts."""
    found = []
    whole = sum(
        enclosed_area(board_of[name].outline) * board_of[name].thickness_mm
        for name in {cut.board for cut in known}
    )
    kept = sum(enclosed_area(b.outline) * b.thickness_mm for b in laying.offcuts)
    used = (whole - kept) / 1e9
    if abs(used - laying.used_m3) > 1e-6 * max(1.0, used):
        says = f"said to be {laying.used_m3:.6f} m3, reckoned {used:.6f}"
        found.append(_fault("T113", "timber used", says))
    if laying.bound_m3 > laying.used_m3 + 1e-9 and not laying.unlaid:
        found.append(_fault("T114", "bound", "above what was used, so it is no bound"))
    for offcut in laying.offcuts:
        on = [cut for cut in known if cut.board == offcut.name.split("/")[0]]
        rings = [ring for cut in on for ring in _rings(piece_of[cut.plank], cut)]
        if any(rings_meet(offcut.outline, ring) for ring in rings):
            found.append(_fault("T115", f"off-cut {offcut.name}", "a plank lies across it"))
        length = float(np.ptp(offcut.outline[:, 0]))
        if length < rules.offcut_length_mm - NEAR:
            found.append(_fault("T116", f"off-cut {offcut.name}", f"only {length:.0f} mm long"))
        sound = _least_sound(offcut, rules)
        if sound < rules.offcut_width_mm - ACROSS:
            says = f"flaws leave {sound:.0f} mm of its breadth sound"
            found.append(_fault("T124", f"off-cut {offcut.name}", says))
    return found


def _longest_run(sound: NDArray[np.bool_]) -> int:
    """Give how many points next to each other are sound."""
    many = longest = 0
    for one in sound.tolist():
        many = many + 1 if one else 0
        longest = max(longest, many)
    return longest


def _least_sound(offcut: Board, rules: LayingRules) -> float:
    """Give the least, along the flaws, of the broadest strip no flaw covers, by points across."""
    least = float("inf")
    flaws = [f for f in offcut.flaws if not (f.kind == "sap" and rules.sap_allowed)]
    low, high = offcut.outline[:, 1].min(), offcut.outline[:, 1].max()
    across = np.arange(low + ACROSS / 2, high, ACROSS)
    for flaw in flaws:
        for x in np.arange(flaw.ring[:, 0].min() + 1.0, flaw.ring[:, 0].max(), ALONG):
            points = np.column_stack([np.full(len(across), x), across])
            sound = holds(offcut.outline, points)
            for other in flaws:
                sound &= ~holds(other.ring, points)
            least = min(least, ACROSS * _longest_run(sound))
    return least
