"""Laying the butts: search, proof, and the reasons when nothing fits.

`lay` is pure: the same problem, rules and seed give the same layout, as long as the clock does
not stop it (its limits are counts of sweeps and of proof work; `seconds` is a stop on top).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import count
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from ribband.butts.bounds import UNEVEN, Bound, Limits, Task, quick
from ribband.butts.check import clashes
from ribband.butts.goals import NAMES
from ribband.butts.model import Butt, Goal, Layout, Relief, Ways
from ribband.butts.problem import greatest_mm, part_of, stock_in_hand
from ribband.butts.rules import ButtRules
from ribband.butts.search import Found, Prices, Score, Search, fewest_alone
from ribband.butts.tables import Tables, tables
from ribband.hull.model import Floats

__all__ = ["lay"]

Ints = NDArray[np.int64]
NOT_PROVED = (
    "no layout was found that keeps every rule, but it is not proved that there is none; "
    "the best attempt is shown with what it breaks"
)
Tell = Callable[[float, str], None] | None
FIRST = 150  # sweeps before the proof, which may show that they were enough
SWEEPS = 700  # sweeps after it, for the goals that come after the count
POLISH = 250  # of those, once the count and the crowding are as low as they can be
MORE = 1500  # further sweeps where the proof says that fewer butts may do
FIND = Prices(crowd=0.02, near=0.004)  # prices while the count comes first
EVEN = Prices(crowd=0.15, memory=0.8, near=0.04)  # prices once the count stands
STAY = Prices(keep=0.25, memory=0.6)  # prices when starting from a layout
POLISH_SHARE = 0.5  # of the time allowed, what the goals after the count may take by the clock
ELSEWHERE = 7919  # between the seeds of one search and the next
AGAIN = 80  # sweeps when starting from a layout


def lay(  # noqa: PLR0917 - a stage says all it needs
    ways: Ways,
    rules: ButtRules,
    seed: int = 0,
    seconds: float = 30.0,
    start: Layout | None = None,
    progress: Tell = None,
) -> Layout:
    """Lay the butts: fewest planks that keep the rules, then the goals of `ribband.butts.goals`.

    Parameters
    ----------
    seconds : stop by this time, with what has been found and proved
    start : a layout to begin from and stay near, as when a butt has been moved and fixed; the
        search is short then, and only quick bounds are given
    progress : told the fraction done and what is being done

    Returns
    -------
    Layout : `feasible` is False where no layout keeps every rule (or none was found); it then
        holds the best attempt, what clashes, and the ways out
    """
    begun = monotonic()
    until = begun + seconds
    t = tables(ways, rules)
    alone = fewest_alone(t)
    if not np.isfinite(alone).all():
        attempt = _attempt(ways, rules, alone, seed, until)
        failing = _failing(ways, rules, attempt, seed, until)
        return _no_way(ways, rules, attempt, failing, seed, begun, until)
    search = _search(ways, rules, t, seed, start)
    run = _Run(search, until, progress)
    run.sweep(AGAIN if start else FIRST, "laying the butts", 0.0, 0.3)
    if search.best is None:
        run.sweep(SWEEPS, "laying the butts", 0.3, 0.5)
    shut = any(not ways.open[b.strake, b.landing] for b in ways.fixed)
    if search.best is None or shut:
        anew = not shut and start is None
        search, nearest, failing = _otherwise(ways, rules, t, seed, run, anew=anew)
        if failing is not None or search.best is None:
            return _no_way(ways, rules, nearest, failing, seed, begun, until)
        run = replace(run, search=search)
    task = _task(ways, rules, search, alone, seconds, until)
    bounds = _bettered(task, run) if start is None else _quickly(task, search.best)
    goals = _goals(search.best, *bounds)
    return Layout(_butts(t, search.best.laid), True, goals, monotonic() - begun, seed)


def _otherwise(
    ways: Ways, rules: ButtRules, t: Tables, seed: int, run: _Run, *, anew: bool
) -> tuple[Search, tuple[Butt, ...], tuple[int, ...] | None]:
    """Look on where nothing was found: whether strakes are proved to fail, else (`anew`) elsewhere.

    Gives the search to go on with, the butts that came nearest, and the strakes that fail.
    """
    search = run.search
    found = search.best or search.nearest
    attempt = _butts(t, found.laid) if found else ()
    failing = _failing(ways, rules, attempt, seed, run.until)
    if failing is None and anew:
        search = _begun_anew(ways, rules, t, seed, run)
    return search, _butts(t, search.nearest.laid) if search.nearest else attempt, failing


def _bettered(task: Task, run: _Run) -> tuple[float, tuple[float, ...]]:
    """Prove how few there can be, then seek fewer and better the goals after; gives the bounds."""
    bound = _prove(task, run)
    low = float(bound.value)
    run.sweep(MORE, "seeking fewer butts", 0.5, 0.6, (low,), longer=0)
    run.search.reprice(EVEN)
    run.sweep(SWEEPS, "evening the butts", 0.6, 0.7)
    until = min(task.until, monotonic() + POLISH_SHARE * task.seconds)
    best = run.search.best
    butts = int(best.score[0]) if best else task.butts
    return low, _polished(replace(task, butts=butts, known=bound.known, until=until), run)


def _quickly(task: Task, best: Found) -> tuple[float, tuple[float, ...]]:
    """Give the bounds that come at once, where a layout was begun from."""
    low = float(task.limits.alone.sum())
    near = replace(task, butts=int(best.score[0]))
    return low, tuple(quick(near, goal) for goal in range(UNEVEN + 1))


def _begun_anew(ways: Ways, rules: ButtRules, t: Tables, seed: int, run: _Run) -> Search:
    """Begin from elsewhere, again and again, until a layout fits or half of what is left is gone.

    The other half is for the goals after it. Gives the search that found one, or came nearest.
    """
    now = monotonic()
    until = now + 0.5 * (run.until - now)
    nearest = run.search
    for turn in count(1):
        if monotonic() >= until:
            return nearest
        search = _search(ways, rules, t, seed + ELSEWHERE * turn, None)
        another = replace(run, search=search, until=until)
        another.sweep(FIRST + SWEEPS, f"laying the butts anew, {turn + 1}", 0.3, 0.5)
        if search.best is not None:
            return search
        if _nearer(search.nearest, nearest.nearest):
            nearest = search
    return nearest


def _nearer(one: Found | None, two: Found | None) -> bool:
    return one is not None and (two is None or one.score < two.score)


@dataclass(frozen=True, slots=True)
class _Run:
    """A search, when it has to stop, and whom to tell."""

    search: Search
    until: float
    tell: Tell

    def say(self, words: str, begin: float, end: float) -> Callable[[float], None]:
        def told(part: float) -> None:
            if self.tell:
                self.tell(begin + (end - begin) * min(part, 1.0), words)

        return told

    def sweep(
        self,
        most: int,
        words: str,
        begin: float,
        end: float,
        bounds: Score = (),
        *,
        longer: int = POLISH,
    ) -> None:
        """Search on; with `bounds` of the first goals met, only `longer` sweeps more."""
        after = self.search.swept + longer

        def enough(found: Found) -> bool:
            met = bool(bounds) and found.score[: len(bounds)] <= bounds
            return met and self.search.swept >= after

        if not (longer == 0 and self.search.best and enough(self.search.best)):
            self.search.run(most, self.until, enough, self.say(words, begin, end))


def _prove(task: Task, run: _Run) -> Bound:
    """Bound the butts; take over a better layout where the proof comes upon one."""
    from ribband.butts.proof import fewest  # noqa: PLC0415 - OR-Tools loads when needed

    best = run.search.best
    if best is None:
        return Bound(task.butts, task.known)
    told = run.say("proving how few there can be", 0.3, 0.5)
    bound = fewest(task.t, task.limits, best.laid, run.until, told)
    if bound.better is not None:
        run.search.offer(bound.better)
    return bound


def _polished(task: Task, run: _Run) -> tuple[float, ...]:
    """Prove and better the goals after the count; gives their bounds."""
    from ribband.butts.polish import polish  # noqa: PLC0415 - OR-Tools loads when needed

    return polish(task, run.search, run.say("bettering the butts", 0.7, 1.0))


def _search(ways: Ways, rules: ButtRules, t: Tables, seed: int, start: Layout | None) -> Search:
    yields, counts = stock_in_hand(ways, rules)
    prices = FIND if start is None else STAY
    search = Search(t, rules.per_frame, yields, counts, seed, prices)
    if start is not None:
        search.begin_from(_laid(t, start))
    return search


def _task(  # noqa: PLR0917
    ways: Ways, rules: ButtRules, search: Search, alone: Floats, seconds: float, until: float
) -> Task:
    """Set out what is to be proved; the number of butts is not known yet."""
    limits = Limits(greatest_mm(ways, rules), alone, *stock_in_hand(ways, rules))
    known = {(s, s + 1): int(least) for s, least in enumerate(alone)}
    return Task(search.t, limits, rules.per_frame, int(alone.sum()), known, seconds, until)


def _goals(best: Found, bound: float, least: tuple[float, ...]) -> tuple[Goal, ...]:
    lows = (0.0, bound, *least)
    return tuple(
        Goal(name, value, min(low, value), value <= low)
        for name, value, low in zip(NAMES, (0.0, *best.score), lows, strict=True)
    )


def _butts(t: Tables, laid: Ints) -> tuple[Butt, ...]:
    n = t.open.shape[1]
    return tuple(
        Butt(s, int(t.columns[j]), bool(t.must[s, j]))
        for s, row in enumerate(laid)
        for j in row
        if j < n
    )


def _laid(t: Tables, layout: Layout) -> Ints:
    """Give (S, k) columns of a layout, leaving out butts that may no longer stand."""
    count, n = t.open.shape
    at = {int(landing): j for j, landing in enumerate(t.columns)}
    rows: list[list[int]] = [[] for _ in range(count)]
    for butt in layout.butts:
        j = at.get(butt.landing, -1)
        if butt.strake < count and j >= 0 and t.open[butt.strake, j]:
            rows[butt.strake].append(j)
    laid = np.full((count, max(map(len, rows), default=0) + 1), n)
    for s, row in enumerate(rows):
        laid[s, : len(row)] = sorted(row)
    return laid


def _failing(
    ways: Ways, rules: ButtRules, butts: tuple[Butt, ...], seed: int, until: float
) -> tuple[int, ...] | None:
    """Find neighbouring strakes that no layout fits; None where none was proved to fail."""
    from ribband.butts.explain import group_that_fails  # noqa: PLC0415 - loads OR-Tools

    broken = clashes(ways, rules, Layout(butts, False, (), 0.0, seed))
    suspects = sorted({b.strake for each in broken for b in each.butts} or {0})
    return group_that_fails(ways, rules, suspects, until)


def _no_way(  # noqa: PLR0917
    ways: Ways,
    rules: ButtRules,
    butts: tuple[Butt, ...],
    rows: tuple[int, ...] | None,
    seed: int,
    begun: float,
    until: float,
) -> Layout:
    """Say why nothing fits, with the best attempt and the ways out."""
    from ribband.butts.explain import reasons  # noqa: PLC0415 - loads OR-Tools

    bare = Layout(butts, False, (), 0.0, seed)
    broken = clashes(ways, rules, bare)
    told: tuple[str, ...] = (NOT_PROVED,)
    reliefs: tuple[Relief, ...] = ()
    if rows is not None:
        why = reasons(ways, rules, rows, until)
        told, reliefs = why.clashes, why.reliefs
    shown = rows is not None  # that no layout can keep every rule
    goals = (Goal(NAMES[0], float(len(broken)), float(shown), shown and len(broken) == 1),)
    return replace(bare, clashes=told, reliefs=reliefs, goals=goals, seconds=monotonic() - begun)


def _attempt(
    ways: Ways, rules: ButtRules, alone: Floats, seed: int, until: float
) -> tuple[Butt, ...]:
    """Lay what can be laid when some strake cannot be by itself; that one is divided evenly."""
    can = tuple(int(s) for s in np.flatnonzero(np.isfinite(alone)))
    butts = [b for s in np.flatnonzero(~np.isfinite(alone)) for b in _evenly(ways, rules, int(s))]
    if can:
        part = part_of(ways, can)
        few = tables(part, rules)
        search = _search(part, rules, few, seed, None)
        search.run(FIRST, until)
        found = search.best or search.nearest
        laid = _butts(few, found.laid) if found else ()
        butts += [Butt(can[b.strake], b.landing, b.fixed) for b in laid]
    return tuple(sorted(butts))


def _evenly(ways: Ways, rules: ButtRules, s: int) -> list[Butt]:
    """Divide strake s as evenly as its open places allow, its fixed butts among them."""
    fixed = [b for b in ways.fixed if b.strake == s]
    places = np.flatnonzero(ways.open[s])
    pieces = int(np.ceil(ways.length_mm[s] / greatest_mm(ways, rules)))
    wanted = ways.length_mm[s] * np.arange(1, pieces) / pieces
    if places.size:
        off = np.abs(ways.along_mm[s, places][None] - wanted[:, None])
        near = {int(j) for j in places[off.argmin(axis=1)]} - {b.landing for b in fixed}
        fixed += [Butt(s, j) for j in near]
    return sorted(fixed)
