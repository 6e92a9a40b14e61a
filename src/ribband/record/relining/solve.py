"""Re-lining: the opening that is left is divided anew, fair with what hangs.

Hung seams are held where they are. Planks already cut keep their widths and move as they are; a
cut plank between two hung neighbours can only be told whether it fits. All else is free; but
strakes enough to take a drift up, each about so much as the rule says, do: seams beyond them lie
still as planned, where the limits allow it. The butts of planks that hang or are cut stay; the
others stay too while the rules are kept, so that stock is kept, and are laid again only where they
are not.

Not checked here: the result; `check_relined` does that apart.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ribband import butts
from ribband.butts.model import Butt, ButtWish, Layout, Ways
from ribband.butts.rules import ButtRules
from ribband.findings import Finding
from ribband.hull.model import Floats, Hull
from ribband.lining.again import divide_again
from ribband.lining.model import KEPT_MM, Lining, Wish
from ribband.lining.rules import LiningRules
from ribband.planks.model import Plank
from ribband.record.hung import drifts, hung_seams, seam_girths
from ribband.record.log import columns_of
from ribband.record.model import HungPoint, Moved, Opening, Relined, Standing
from ribband.record.relining.rules import ReliningRules

__all__ = ["Planned", "most_moved", "moved_planks", "openings_left", "reline"]

_OURS = ReliningRules()

FIRM = 1.0  # the weight from which on a width is held, not only wished for
HELD_TWICE = {"fix", "width"}


@dataclass(frozen=True, slots=True, eq=False)
class Planned:
    """What was planned, with the rules and wishes it was planned by."""

    hull: Hull
    lining: Lining
    ways: Ways
    layout: Layout
    planks: tuple[Plank, ...]
    lining_rules: LiningRules
    butt_rules: ButtRules
    wishes: tuple[Wish, ...] = ()


def reline(
    planned: Planned,
    standing: Standing,
    points: Sequence[HungPoint],
    rules: ReliningRules = _OURS,
    by: Mapping[str, Lining] | None = None,
) -> Relined:
    """Divide one side anew round what hangs.

    Parameters
    ----------
    standing : where planks of that side hang and are cut
    points : measured seams; those of the other side are left out
    by : the lining each plank has its shape of, where that is not the plan's

    Returns
    -------
    Relined; its lining is not ``feasible`` where what is left cannot keep the limits
    """
    began = time.perf_counter()
    found = drifts(standing.side, points, planned.lining)
    held = hung_seams(planned.hull, planned.lining, standing, found)
    anew = _divided(planned, standing, held, rules)
    moved = moved_planks(planned, anew, standing, rules, by or {})
    ways, layout = _laid(planned, anew, standing)
    return Relined(
        side=standing.side,
        standing=standing,
        lining=anew,
        ways=ways,
        layout=layout,
        seam_held=held,
        drifts=found,
        openings=openings_left(planned.lining, held, standing, {(d.seam, d.frame) for d in found}),
        changed=tuple(one.plank for one in moved),
        findings=_own(anew),
        seconds=time.perf_counter() - began,
        moved=moved,
    )


def _divided(planned: Planned, standing: Standing, held: Floats, rules: ReliningRules) -> Lining:
    """Divide anew with seams far from any drift lying still; all free if that breaks a limit.

    A limit that the plan broke already is no reason. Where so many strakes as should take a drift
    up cannot, by the limits, fewer are tried.
    """
    for still in _lying_still(planned.lining, standing, held, rules):
        girths = held.copy()
        girths[still] = seam_girths(planned.lining)[still]
        wishes = (*_free_wishes(planned, girths, standing),
                  *_holding(planned.lining, girths, standing))  # fmt: skip
        anew = divide_again(planned.lining, planned.hull, planned.lining_rules, wishes, girths)
        if anew.feasible or not planned.lining.feasible:
            break
    return anew


def _lying_still(
    planned: Lining, standing: Standing, held: Floats, rules: ReliningRules
) -> Iterator[list[int]]:
    """Give the seams that need not move, for as many strakes as take a drift up, then for fewer."""
    off = np.nan_to_num(np.abs(held - seam_girths(planned))).max(axis=1)
    drifted = np.flatnonzero(off > rules.as_it_was_mm).tolist()
    done = np.asarray((standing.held | standing.cut).any(axis=1))
    free = [not bool(each) for each in done]
    whole = [s for s in range(1, len(held) - 1) if not np.isfinite(held[s]).any()]
    if rules.takes_up_mm > 0 and not drifted:
        yield whole  # the plan in force was divided round these already
    elif rules.takes_up_mm > 0:
        many = {seam: int(np.ceil(off[seam] / rules.takes_up_mm)) for seam in drifted}
        before: list[int] = []
        for fewer in range(max(many.values())):
            wanted = {seam: max(1, n - fewer) for seam, n in many.items()}
            beyond = [s for s in whole if _taken_up(s, wanted, free)]
            if beyond != before:
                yield beyond
            before = beyond
    yield []


def _taken_up(seam: int, wanted: Mapping[int, int], free: Sequence[bool]) -> bool:
    """Tell whether strakes enough lie free between a seam and each that drifted."""
    return all(
        sum(free[min(seam, drifted) : max(seam, drifted)]) >= many
        for drifted, many in wanted.items()
    )


def openings_left(
    planned: Lining, held: Floats, standing: Standing, measured: set[tuple[int, str]]
) -> tuple[Opening, ...]:
    """Give every opening between hung neighbours of a strake that does not hang itself.

    The rabbet and the sheer count as hung: a garboard's opening is from the rabbet to strake 2.
    """
    edges = held.copy()
    fixed = seam_girths(planned)
    edges[[0, -1]] = fixed[[0, -1]]
    out = []
    for row, strake in enumerate(planned.strakes):
        for column, frame in enumerate(planned.columns):
            width = planned.width_mm[row, column]
            left = edges[row + 1, column] - edges[row, column]
            if not np.isfinite(width) or not np.isfinite(left) or standing.fast[row, column]:
                continue
            girth = fixed[row + 1, column] - fixed[row, column]
            square = width / girth if girth > 0 else 1.0  # seams lean: girth is not width
            seen = {(row, frame), (row + 1, frame)} <= measured | _ends(planned, frame)
            out.append(Opening(strake.name, frame, float(width), float(left * square), seen))
    return tuple(out)


def _ends(planned: Lining, frame: str) -> set[tuple[int, str]]:
    return {(0, frame), (len(planned.strakes), frame)}


def _free_wishes(planned: Planned, held: Floats, standing: Standing) -> Iterator[Wish]:
    """Keep the wishes that say nothing of what hangs or is cut."""
    rows = {strake.name: row for row, strake in enumerate(planned.lining.strakes)}
    columns = {name: column for column, name in enumerate(planned.lining.columns)}
    for wish in planned.wishes:
        if wish.kind not in {*HELD_TWICE, "master"}:
            if wish.kind not in {"strakes", "stealer"}:
                yield wish
            continue
        row, column = rows.get(wish.strake, -1), columns.get(wish.frame, -1)
        done = standing.held[row, column] or standing.cut[row, column]
        if not done and not np.isfinite(held[row + 1, column]):
            yield wish


def _holding(planned: Lining, held: Floats, standing: Standing) -> Iterator[Wish]:
    """Hold the widths of cut planks, and free what hangs from the limits of width."""
    edges = held.copy()
    edges[[0, -1]] = seam_girths(planned)[[0, -1]]  # the rabbet and the sheer do not move
    for row, strake in enumerate(planned.strakes):
        for column, frame in enumerate(planned.columns):
            if not standing.held[row, column] and not standing.cut[row, column]:
                continue
            width = float(planned.width_mm[row, column])
            between = np.isfinite(edges[row : row + 2, column]).all()
            if standing.cut[row, column] and not between and width > KEPT_MM:
                yield Wish("width", width, strake.name, frame, weight=FIRM, note="cut")
            else:
                yield from _as_it_is(strake.name, frame, width)


def _as_it_is(strake: str, frame: str, width: float) -> Iterator[Wish]:
    """Let what hangs, or must fit between what hangs, be as wide or narrow as it is."""
    yield Wish("least", 0.0, strake, frame)
    yield Wish("greatest", 2.0 * width + 100.0, strake, frame)


def _laid(planned: Planned, anew: Lining, standing: Standing) -> tuple[Ways, Layout]:
    """Keep the butts as they are while the rules allow, else lay the free ones again."""
    before = planned.ways
    stock = (before.stock_mm, before.stock_count)
    known = stock if before.stock_mm is not None and before.stock_count is not None else ()
    wishes = tuple(_butt_wishes(planned, standing))
    ways = butts.ways(planned.hull, anew, planned.butt_rules, wishes, known)  # type: ignore[arg-type]
    ways = replace(ways, open=ways.open & before.open | _at(ways, ways.fixed))
    kept = replace(planned.layout, butts=_marked(planned.layout.butts, ways.fixed))
    old = {(b.code, b.butts) for b in butts.clashes(before, planned.butt_rules, planned.layout)}
    new = {(b.code, b.butts) for b in butts.clashes(ways, planned.butt_rules, kept)}
    if new <= old:
        return ways, kept
    return ways, butts.lay(ways, planned.butt_rules, seconds=0.3, start=kept)


def _butt_wishes(planned: Planned, standing: Standing) -> Iterator[ButtWish]:
    """Fix every butt that a hung or cut plank ends in."""
    names = planned.ways.strakes
    done = {
        (plank.strake, place, "block" if landing == "block" else "frame")
        for plank in planned.planks
        if plank.side == standing.side and standing.planks.get(plank.name, "free") != "free"
        for place, landing in ((plank.fore, plank.fore_landing), (plank.aft, plank.aft_landing))
    }
    for butt in planned.layout.butts:
        strake, frame = names[butt.strake], planned.ways.frames[butt.landing // 2]
        landing = "block" if butt.landing % 2 else "frame"
        if butt.fixed or (strake, frame, landing) in done:
            kind = "block" if landing == "block" else "frame"
            yield ButtWish("fix", strake, frame, landing=kind, reason="hung or cut")  # type: ignore[arg-type]


def _at(ways: Ways, fixed: Sequence[Butt]) -> np.ndarray:
    there = np.zeros(ways.open.shape, dtype=bool)
    for butt in fixed:
        there[butt.strake, butt.landing] = True
    return there


def _marked(old: Sequence[Butt], fixed: Sequence[Butt]) -> tuple[Butt, ...]:
    held = {(butt.strake, butt.landing) for butt in fixed}
    return tuple(replace(b, fixed=(b.strake, b.landing) in held) for b in sorted(old))


def moved_planks(
    planned: Planned,
    anew: Lining,
    standing: Standing,
    rules: ReliningRules,
    by: Mapping[str, Lining],
) -> tuple[Moved, ...]:
    """Give the planks still to be got out with an edge that moved further than the rule allows."""
    found = []
    for plank in planned.planks:
        if plank.side == standing.side and standing.planks.get(plank.name) == "free":
            most = most_moved(plank, by.get(plank.name, planned.lining), anew)
            if abs(most.mm) > rules.as_it_was_mm:
                found.append(most)
    return tuple(found)


def most_moved(plank: Plank, was: Lining, now: Lining) -> Moved:
    """Give where an edge of a plank lies furthest from where it lay, and which way."""
    row = [strake.name for strake in was.strakes].index(plank.strake)
    there = np.flatnonzero(columns_of(plank, was))
    pairs = ((was.lower_girth_mm, now.lower_girth_mm), (was.upper_girth_mm, now.upper_girth_mm))
    off = np.nan_to_num(np.array([(b - a)[row, there] for a, b in pairs]))
    edge, column = np.unravel_index(int(np.abs(off).argmax()), off.shape)
    return Moved(plank.name, float(off[edge, column]), ("lower", "upper")[int(edge)],
                 was.columns[int(there[column])])  # fmt: skip


def _own(anew: Lining) -> tuple[Finding, ...]:
    return tuple(replace(finding, stage="record") for finding in anew.findings)
