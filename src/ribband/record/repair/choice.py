"""Choosing the joints of renewals so that the least is renewed.

Each bad stretch is covered by a path over the landings of its strake: from a place where it may
begin to one where it may end, plank by plank. A renewal may reach to an old butt or the end of the
strake, which stays as it is, or to a new joint cut in sound wood. New butts keep the rules between
butts with each other and with every old butt that stays; two old butts are left as they are. A
scarf at an end of a renewal is no butt and keeps only its length of old plank. One plank is put in
where one can do; if that cannot be, joints are allowed anywhere in a renewal; and if that cannot
be, a clash is allowed at a price no length can pay, and told: so the rule and the old butt that
stand in the way are known.

Solved by CP-SAT, from what was chosen before where there is that and it is still allowed: that
stands unless better is found. The bound is its own; it is told that no stretch costs less than its
own cheapest path, other renewals and butts left aside. Not checked here: the result
(`repair/check.py`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from ribband import butts
from ribband.butts.check import Broken
from ribband.butts.model import Butt, Layout, Ways
from ribband.butts.problem import TOUCH_MM
from ribband.butts.rules import ButtRules
from ribband.record.forms import Bad
from ribband.record.repair.model import Renewal
from ribband.record.repair.rules import RepairRules

__all__ = ["Chosen", "choose_joints"]

PAIRED = {"B001", "B002", "B003"}
BROKEN_MM = 1_000_000  # what a clash costs: more than any vessel's planking is long
SECONDS = 20.0
INFINITE = float("inf")
_Path = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Chosen:
    """Renewals of a side; `clashes` are those nothing could avoid, `unplaced` have no place.

    bound_mm : less is not renewed by the rules, however many joints are made
    proved : no choice is worth more, a joint counted at its worth
    """

    renewals: tuple[Renewal, ...]
    clashes: tuple[Broken, ...]
    unplaced: tuple[Bad, ...]
    bound_mm: float
    proved: bool = True


@dataclass(slots=True)
class _Stretch:
    """A bad stretch with its places: row of its strake, first and last landing of what is bad."""

    row: int
    first: int
    last: int
    bad: tuple[Bad, ...]
    joint: Any
    fore: dict[int, Any] = field(default_factory=dict)
    aft: dict[int, Any] = field(default_factory=dict)
    arcs: dict[tuple[int, int], Any] = field(default_factory=dict)
    inner: dict[int, Any] = field(default_factory=dict)

    def hint(self, model: Any, path: _Path) -> None:
        """Say to the model which path was chosen before."""
        used = set(pairwise(path))
        for arc, var in self.arcs.items():
            model.add_hint(var, arc in used)
        for ends, at in ((self.fore, path[0]), (self.aft, path[-1])):
            for place, var in ends.items():
                model.add_hint(var, place == at)
        for place, var in self.inner.items():
            model.add_hint(var, place in path[1:-1])


def choose_joints(
    ways: Ways, rules: ButtRules, old: Sequence[Butt], bads: Sequence[Bad], repair: RepairRules,
    *, before: Sequence[Renewal] = (), firm: Collection[str] = (),
) -> Chosen:  # fmt: skip
    """Choose where the renewals of one side begin, end and are butted.

    Parameters
    ----------
    old : every old butt of the side
    bads : what is bad on it; frames as the lining names its columns
    before : renewals chosen earlier: never is worse chosen than they are, if still allowed
    firm : strakes of which new planks are got out: as chosen before they stay, if still allowed

    Raises
    ------
    InputError : a strake that is not there
    """
    tries = ((False, False), (True, False), (True, True))
    ground = _Ground(ways, rules, repair, tuple(old), frozenset(firm))
    found = (_try(ground, bads, before, inner=inner, soft=soft) for inner, soft in tries)
    return next((chosen for chosen in found if chosen), Chosen((), (), tuple(bads), 0.0))


def _try(
    ground: _Ground, bads: Sequence[Bad], before: Sequence[Renewal], *, inner: bool, soft: bool
) -> Chosen | None:
    """Choose with joints inside only where one plank cannot do, or anywhere; clashes at a price."""
    from ortools.sat.python import cp_model  # noqa: PLC0415

    model = cp_model.CpModel()
    stretches: list[_Stretch] = []
    unplaced: list[Bad] = []
    for stretch in ground.stretches(bads):
        if ground.lay(model, stretch, inner=inner):
            stretches.append(stretch)
        else:
            unplaced += stretch.bad
    if not _held(model, ground, stretches, before) and not soft:
        return None  # a joint that stands is not among those that may be, as yet
    _side_by_side(model, ground, stretches)
    slack = list(_keep_apart(model, ground, stretches, soft=soft))
    for s in stretches:
        model.add(sum(round(mm) * var for mm, var in ground.costs(s)) >= ground.cheapest(s))
    cost = [round(mm) * arc for s in stretches for mm, arc in ground.costs(s)]
    model.minimize(sum(cost) + BROKEN_MM * sum(var for var, _ in slack))
    known = sum(ground.cheapest(s) for s in stretches)
    found = _solved(model, stretches, ground.chosen_before(stretches, before), known)
    if found is None:
        return None
    solver, bound = found
    renewals = tuple(ground.renewal(solver, s) for s in stretches)
    broken = tuple(b for var, b in slack if solver.value(var))
    joints = sum(len(r.new) for r in renewals) * ground.repair.joint_mm
    least = max(bound - BROKEN_MM * len(broken) - joints, sum(map(ground.shortest, stretches)))
    proved = bound >= solver.objective_value - 0.5
    return Chosen(renewals, broken, tuple(unplaced), least, proved)


def _held(
    model: Any, ground: _Ground, stretches: Sequence[_Stretch], before: Sequence[Renewal]
) -> bool:
    """Hold the joints of strakes that planks are got out of; tell whether all can be."""
    every = True
    for s in stretches:
        if ground.ways.strakes[s.row] not in ground.firm or not ground.had(s, before):
            continue
        path = ground.path_before(s, before)
        if path is None:
            every = False
            continue
        used = set(pairwise(path))
        for arc, var in s.arcs.items():
            model.add(var == int(arc in used))
    return every


def _solved(
    model: Any, stretches: Sequence[_Stretch], before: Sequence[_Path], known: int
) -> tuple[Any, float] | None:
    """Search; what was chosen before stands, where it is allowed, unless better is found.

    Gives the solver that found it, and what no choice can cost less than; `known` is that already.
    """
    from ortools.sat.python import cp_model  # noqa: PLC0415

    good = {cp_model.OPTIMAL, cp_model.FEASIBLE}
    kept = None
    if before:
        for own, path in zip(stretches, before, strict=True):
            own.hint(model, path)
        kept = _solver()
        kept.parameters.fix_variables_to_their_hinted_value = True
        kept = kept if kept.solve(model) in good else None
    solver = _solver()
    solver.parameters.max_time_in_seconds = SECONDS
    if solver.solve(model) not in good:
        return None if kept is None else (kept, float(known))
    bound = max(solver.best_objective_bound, known)
    better = kept is None or solver.objective_value < kept.objective_value - 0.5
    return (solver if better else kept), bound


def _solver() -> Any:
    from ortools.sat.python import cp_model  # noqa: PLC0415

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 0
    return solver


@dataclass(frozen=True, slots=True)
class _Ground:
    """The old strakes and what may be done with them."""

    ways: Ways
    rules: ButtRules
    repair: RepairRules
    old: tuple[Butt, ...]
    firm: frozenset[str] = frozenset()

    @property
    def end(self) -> int:
        """Give the number that stands for the after end of a strake."""
        return int(self.ways.along_mm.shape[1])

    def along(self, row: int, landing: int) -> float:
        if landing < 0:
            return 0.0
        if landing >= self.end:
            return float(self.ways.length_mm[row])
        return float(self.ways.along_mm[row, landing])

    def joints(self, row: int) -> list[int]:
        """Give the old joints of a strake, its ends with them."""
        return [-1, *sorted(b.landing for b in self.old if b.strake == row), self.end]

    def stretches(self, bads: Sequence[Bad]) -> Iterator[_Stretch]:
        """Join what is bad in one strake and overlaps or lies too near for a piece between."""
        by_row: dict[int, list[tuple[int, int, Bad]]] = defaultdict(list)
        for bad in bads:
            row = self.ways.strakes.index(bad.strake)
            by_row[row].append((self.landing(bad.first), self.landing(bad.last), bad))
        for row, its in sorted(by_row.items()):
            groups: list[list[tuple[int, int, Bad]]] = []
            for one in sorted(its, key=lambda i: i[:2]):
                if groups and self._too_near(row, max(i[1] for i in groups[-1]), one[0]):
                    groups[-1].append(one)
                else:
                    groups.append([one])
            for group in groups:
                joint = "scarf" if all(b.joint == "scarf" for _, _, b in group) else "butt"
                first, last = min(i[0] for i in group), max(i[1] for i in group)
                yield _Stretch(row, first, last, tuple(i[2] for i in group), joint)

    def landing(self, column: str) -> int:
        if column == "stem":
            return -1
        return self.end if column == "stern" else 2 * self.ways.frames.index(column)

    def _too_near(self, row: int, last: int, first: int) -> bool:
        beyond = 2 * self.repair.beyond_spaces * 2
        gap = self.along(row, first) - self.along(row, last)
        least = self.repair.least_left_mm + self.rules.least_plank_mm
        return first - last <= beyond or gap < least

    def places(self, stretch: _Stretch, *, fore: bool) -> dict[int, bool]:
        """Give where a renewal may begin or end, and whether a new joint is made there."""
        row, joints = stretch.row, self.joints(stretch.row)
        beyond = 2 * self.repair.beyond_spaces
        if fore:
            olds = [j for j in joints if j <= stretch.first][-2:]
            news = range(max(olds[0], 0), stretch.first - beyond + 1)
        else:
            olds = [j for j in joints if j >= stretch.last][:2]
            news = range(stretch.last + beyond, min(olds[-1], self.end - 1) + 1)
        found = dict.fromkeys(olds, False)
        for place in news:
            if place not in found and self.ways.open[row, place] and self._leaves(row, place, fore):
                found[place] = True
        return found

    def _leaves(self, row: int, place: int, fore: bool) -> bool:
        """Tell whether enough of the old plank is left beside a new joint."""
        joints = self.joints(row)
        beside = (
            max(j for j in joints if j < place) if fore else min(j for j in joints if j > place)
        )
        apart = abs(self.along(row, place) - self.along(row, beside))
        return apart >= self.repair.least_left_mm - TOUCH_MM

    def lay(self, model: Any, s: _Stretch, *, inner: bool) -> bool:
        """Put the paths of a stretch into the model; False where none is possible."""
        fore, aft = self.places(s, fore=True), self.places(s, fore=False)
        alone = [(i, j) for i in fore for j in aft if i < j and self._plank(s, i, j)]
        s.fore = {i: model.new_bool_var("") for i in fore}
        s.aft = {j: model.new_bool_var("") for j in aft}
        between = [
            n for n in range(max(min(fore), 0), min(max(aft), self.end - 1) + 1)
            if self.ways.open[s.row, n] and (inner or not alone)
        ]  # fmt: skip
        nodes = sorted({*fore, *aft, *between})
        s.arcs = {
            (i, j): model.new_bool_var("")
            for n, i in enumerate(nodes)
            for j in nodes[n + 1 :]
            if (i in fore or i in between) and (j in aft or j in between) and self._plank(s, i, j)
        }
        if not s.arcs:
            return False
        model.add_exactly_one(s.fore.values())
        model.add_exactly_one(s.aft.values())
        for n in nodes:
            out = [v for (i, _), v in s.arcs.items() if i == n]
            into = [v for (_, j), v in s.arcs.items() if j == n]
            begun, done = s.fore.get(n, 0), s.aft.get(n, 0)
            model.add(begun + sum(into) == done + sum(out))
            if n in between:
                s.inner[n] = model.new_bool_var("")
                model.add(s.inner[n] >= sum(into) + sum(out) - 1)
        return _reaches(s)

    def _plank(self, s: _Stretch, i: int, j: int) -> bool:
        length = self.along(s.row, j) - self.along(s.row, i)
        if length > self.rules.greatest_plank_mm + TOUCH_MM:
            return False
        spaces = (min(j, self.end) - max(i, 0)) / 2
        short = length < self.rules.least_plank_mm or spaces < self.rules.least_plank_spaces
        whole = i in self.joints(s.row) and j in self.joints(s.row)
        return whole or not short  # an old plank that is short is renewed as it is

    def chosen_before(
        self, stretches: Sequence[_Stretch], before: Sequence[Renewal]
    ) -> tuple[_Path, ...]:
        """Give the paths chosen before, one a stretch; none where any is not there any more."""
        paths = [self.path_before(s, before) for s in stretches]
        known = tuple(path for path in paths if path is not None)
        return known if len(known) == len(paths) else ()

    def had(self, s: _Stretch, before: Sequence[Renewal]) -> list[_Path]:
        """Give the paths chosen before that a stretch lies on."""
        strake = self.ways.strakes[s.row]
        return [
            r.landings for r in before
            if r.strake == strake and r.landings[0] <= s.first and s.last <= r.landings[-1]
        ]  # fmt: skip

    def path_before(self, s: _Stretch, before: Sequence[Renewal]) -> _Path | None:
        """Give the path chosen before for a stretch; None where it may not be any more."""
        own = (p for p in self.had(s, before) if set(pairwise(p)) <= s.arcs.keys())
        path = next(own, None)
        if path is None or path[0] not in s.fore or path[-1] not in s.aft:
            return None
        return path

    def shortest(self, s: _Stretch) -> float:
        """Give the least that any path of a stretch renews."""
        return self._least(s, lambda i, j: self.along(s.row, j) - self.along(s.row, i), {})

    def cheapest(self, s: _Stretch) -> int:
        """Give the least that any path of a stretch costs, as the model counts it."""
        joints = self.joints(s.row)
        price = {n: round(self.repair.joint_mm) for n in {*s.fore, *s.aft, *s.inner}
                 if n in s.inner or n not in joints}  # fmt: skip
        least = self._least(
            s, lambda i, j: round(self.along(s.row, j) - self.along(s.row, i)), price
        )
        return round(least)

    def _least(
        self, s: _Stretch, cost: Callable[[int, int], float], price: Mapping[int, float]
    ) -> float:
        """Give the cheapest path from a place to begin to a place to end, arcs and joints paid."""
        olds = set(self.joints(s.row))
        own = {i: 0.0 if i in olds else price.get(i, 0.0) for i in s.fore}
        ends = []
        for i, j in sorted(s.arcs):
            if i not in own:
                continue
            reached = own[i] + cost(i, j)
            if j in s.aft:
                ends.append(reached + (0.0 if j in olds else price.get(j, 0.0)))
            if j in s.inner:
                own[j] = min(own.get(j, INFINITE), reached + price.get(j, 0.0))
        return min(ends, default=0.0)

    def costs(self, s: _Stretch) -> Iterator[tuple[float, Any]]:
        for (i, j), arc in s.arcs.items():
            yield self.along(s.row, j) - self.along(s.row, i), arc
        for place, var in self.new_joints(s, scarfs=True):
            del place
            yield self.repair.joint_mm, var

    def new_joints(self, s: _Stretch, *, scarfs: bool) -> Iterator[tuple[int, Any]]:
        """Give the new joints a stretch may have; its ends only if they count as butts."""
        olds = set(self.joints(s.row))
        yield from s.inner.items()
        if scarfs or s.joint == "butt":
            yield from ((n, v) for n, v in s.fore.items() if n not in olds)
            yield from ((n, v) for n, v in s.aft.items() if n not in olds)

    def renewal(self, solver: Any, s: _Stretch) -> Renewal:
        used = sorted(arc for arc, var in s.arcs.items() if solver.value(var))
        landings = (used[0][0], *(j for _, j in used))
        olds = set(self.joints(s.row))
        new = tuple(n for k, n in enumerate(landings) if n not in olds or 0 < k < len(landings) - 1)
        bad_mm = self.along(s.row, s.last) - self.along(s.row, s.first)
        length = self.along(s.row, landings[-1]) - self.along(s.row, landings[0])
        side, strake = s.bad[0].side, self.ways.strakes[s.row]
        return Renewal(side, strake, landings, new, s.joint, s.bad, bad_mm, length)


def _reaches(s: _Stretch) -> bool:
    """Tell whether some path leads from a place to begin to a place to end."""
    reached = set(s.fore)
    for i, j in sorted(s.arcs):
        if i in reached:
            reached.add(j)
    return bool(reached & set(s.aft))


def _side_by_side(model: Any, ground: _Ground, stretches: Sequence[_Stretch]) -> None:
    """Keep two renewals of one strake from overlapping or leaving too short a piece between."""
    for one in stretches:
        for other in (s for s in stretches if s.row == one.row and s.first > one.first):
            joints = ground.joints(one.row)
            for j, aft in one.aft.items():
                for i, fore in other.fore.items():
                    gap = ground.along(one.row, i) - ground.along(one.row, j)
                    between = any(j < old < i for old in joints)
                    short = not between and j != i and gap < ground.repair.least_left_mm
                    if j > i or short:
                        model.add(aft + fore <= 1)


def _keep_apart(
    model: Any, ground: _Ground, stretches: Sequence[_Stretch], *, soft: bool
) -> Iterator[tuple[Any, Broken]]:
    """Keep new butts clear of each other and of old butts that stay; at a price, if need be."""
    new = [(s, n, v) for s in stretches for n, v in ground.new_joints(s, scarfs=False)]
    at = {(s.row, n) for s, n, _ in new} | {(b.strake, b.landing) for b in ground.old}
    every = Layout(tuple(Butt(*place) for place in sorted(at)), True, (), 0.0, 0)
    hits: dict[tuple[tuple[int, int], tuple[int, int]], Broken] = {}
    for broken in butts.clashes(ground.ways, ground.rules, every):
        if broken.code in PAIRED:
            a, b = sorted((x.strake, x.landing) for x in broken.butts)
            hits.setdefault((a, b), broken)
    there: dict[tuple[int, int], list[Any]] = defaultdict(list)
    for s, n, v in new:
        there[s.row, n].append(v)
    stays = {(b.strake, b.landing): _gone(stretches, b) for b in ground.old}
    for (a, b), broken in hits.items():
        for one in there[a]:
            for other in there[b]:
                yield from _not_both(model, [one, other], [], broken, soft=soft)
            if b in stays:
                yield from _not_both(model, [one], stays[b], broken, soft=soft)
        if a in stays:
            for other in there[b]:
                yield from _not_both(model, [other], stays[a], broken, soft=soft)


def _gone(stretches: Sequence[_Stretch], butt: Butt) -> list[Any]:
    """Give the arcs any of which takes an old butt away."""
    return [
        var
        for s in stretches
        if s.row == butt.strake
        for (i, j), var in s.arcs.items()
        if i < butt.landing < j
    ]


def _not_both(
    model: Any, new: list[Any], gone: list[Any], broken: Broken, *, soft: bool
) -> Iterator[tuple[Any, Broken]]:
    slack: Any = model.new_bool_var("") if soft else 0
    model.add(sum(new) <= (1 if len(new) == 2 else 0) + sum(gone) + slack)
    if soft:
        yield slack, broken
