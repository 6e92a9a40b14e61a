"""The later goals as sums in an exact model, by which CP-SAT proves and betters them.

A *sum* is of whole numbers times yes-or-no variables (or small counts). It is never more than
the goal's own value and reaches down to it, so a bound on the sum is a bound on the goal. Lengths
are reckoned in hundredths of a millimetre, squares in square millimetres, rounded down. Every
term also says what it is *now*, in the layout at hand; from that come hints and what is held.

*Planks* are variables too where lengths count: one for each plank a strake may have in a layout
with no more than so many butts.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ribband.butts.crowding import counts_from_ends
from ribband.butts.proof import Model, one_at_most, runs
from ribband.butts.tables import Tables
from ribband.hull.model import Floats

__all__ = ["Aims", "Plank", "Term", "now", "total"]

HUNDREDTHS = 100.0
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]


class Term(NamedTuple):
    """A cost, its variable, and the variable's value in the layout at hand."""

    cost: int
    var: Any
    now: int


class Plank(NamedTuple):
    """A plank that may be: strake, length and waste (mm), its variable, whether it is there now."""

    strake: int
    length: float
    waste: float
    var: Any
    now: int


def total(terms: Sequence[Term]) -> Any:
    """Give the sum as an expression."""
    return sum(term.cost * term.var for term in terms)


def now(terms: Sequence[Term]) -> int:
    """Give the sum in the layout at hand."""
    return sum(term.cost * term.now for term in terms)


@dataclass(slots=True)
class Aims:
    """Sums of the goals over the strakes `rows` of a model, and of these with what stands beside.

    laid : (S, k) columns of the layout at hand (n = none)
    most : (S,) most butts of each strake
    standing : (S, k) columns of strakes outside `rows` that stand as they are (n = none)
    """

    model: Model
    t: Tables
    rows: Sequence[int]
    laid: Ints
    most: Floats
    standing: Ints
    planks: list[Plank] = field(default_factory=list)
    counts: list[tuple[int, int, Any, int]] = field(default_factory=list)

    def beyond(self, per_frame: int) -> list[Term]:
        """Sum the butts beyond `per_frame` on every column, those of other strakes among them."""
        terms, n = [], self.t.open.shape[1]
        on = np.bincount(self.standing.ravel(), minlength=n + 1)[:n]
        for j, others in enumerate(on.tolist()):
            here = [self.model.at[s, j] for s in self.rows if (s, j) in self.model.at]
            if here and len(here) + others > per_frame:
                stand = sum(self._stands(s, j) for s in self.rows) + others - per_frame
                over = self.model.cp.new_int_var(0, len(here) + others, "")
                self.model.cp.add(over >= sum(here) + others - per_frame)
                terms.append(self._term(1, over, max(stand, 0)))
        return terms

    def pairs(self, marked: Bools) -> list[Term]:
        """Sum the pairs of butts marked (S, 2 D, n, n), each pair once."""
        terms: list[Term] = []
        for k, offset in enumerate(self.t.reach.tolist()):
            for s in self.rows:
                if s + offset not in self.rows:
                    terms += self._with_standing(s, s + offset, marked[s, k])
                elif offset > 0:
                    terms += self._of_two(s, s + offset, marked[s, k], self.t.clash[s, k])
        return terms

    def waste(self) -> list[Term]:
        """Sum the stock wasted, hundredths of a millimetre."""
        return [Term(int(HUNDREDTHS * p.waste), p.var, p.now) for p in self._planks()]

    def unevenness(self) -> list[Term]:
        """Sum the squares of the planks' differences from their strake's mean, mm2."""
        t, about = self.t, self.t.strake_length / (self.most + 1)
        terms = [Term(int((p.length - about[p.strake]) ** 2), p.var, p.now) for p in self._planks()]
        for s, k, var, is_now in self.counts:
            off = (t.strake_length[s] - (k + 1) * about[s]) ** 2 / (k + 1)
            terms.append(Term(-int(np.ceil(off)), var, is_now))
        return terms

    def _stands(self, s: int, j: int) -> int:
        return int(j in self.laid[s])

    def _term(self, cost: int, var: Any, is_now: int) -> Term:
        self.model.cp.add_hint(var, is_now)
        return Term(cost, var, is_now)

    def _with_standing(self, s: int, u: int, marked: Bools) -> Iterable[Term]:
        """Give every place of strake s the pairs it would make with the butts of u that stand."""
        if not 0 <= u < len(self.t.open):
            return
        there = self.standing[u][self.standing[u] < self.t.open.shape[1]]
        cost = marked[:, there].sum(axis=1)
        for a in np.flatnonzero(self.t.open[s] & (cost > 0)).tolist():
            yield Term(int(cost[a]), self.model.at[s, a], self._stands(s, a))

    def _of_two(self, s: int, u: int, marked: Bools, clash: Bools) -> Iterable[Term]:
        t, at, cp = self.t, self.model.at, self.model.cp
        here, there = t.open[s], t.open[u]
        both = {}
        for a, b in np.argwhere(marked & here[:, None] & there[None]).tolist():
            var = cp.new_bool_var("")
            cp.add(var >= at[s, a] + at[u, b] - 1)
            both[a, b] = self._term(1, var, self._stands(s, a) * self._stands(u, b))
        if len(both) > 1:
            near = marked | clash | ~(here[:, None] & there[None])
            for a, b in runs(near & near.T & one_at_most(t, s) & one_at_most(t, u)):
                inside = [v.var for (i, j), v in both.items() if a <= i < b and a <= j < b]
                butts = [at[r, j] for r in (s, u) for j in range(a, b) if t.open[r, j]]
                if len(inside) > 1:
                    cp.add(sum(inside) >= sum(butts) - 1)
        return both.values()

    def _planks(self) -> list[Plank]:
        """Put the planks into the model, once."""
        if not self.planks:
            fore, aft = (counts_from_ends(self.t, forward=forward) for forward in (True, False))
            for s in self.rows:
                self._planks_of(s, fore[s], aft[s])
                self._counts_of(s)
        return self.planks

    def _planks_of(self, s: int, fore: Floats, aft: Floats) -> None:
        t, most, cp, n = self.t, int(self.most[s]), self.model.cp, self.t.open.shape[1]
        stand = [-1, *(int(j) for j in self.laid[s] if j < n), n]
        there = set(pairwise(stand))
        begins: dict[int, list[Any]] = {}
        ends: dict[int, list[Any]] = {}
        for i, j, length, waste in _may_be(t, s, fore, aft, most):
            var, is_now = cp.new_bool_var(""), int((i, j) in there)
            cp.add_hint(var, is_now)
            self.planks.append(Plank(s, length, waste, var, is_now))
            begins.setdefault(i, []).append(var)
            ends.setdefault(j, []).append(var)
        for j in np.flatnonzero(t.open[s]).tolist():
            cp.add(sum(begins.get(j, [])) == self.model.at[s, j])
            cp.add(sum(ends.get(j, [])) == self.model.at[s, j])
        cp.add(sum(begins.get(-1, [])) == 1)

    def _counts_of(self, s: int) -> None:
        cp, n = self.model.cp, self.t.open.shape[1]
        stand = [v for (r, _), v in self.model.at.items() if r == s]
        laid = int((self.laid[s] < n).sum())
        is_k = []
        for k in range(int(self.most[s]) + 1):
            var = cp.new_bool_var("")
            cp.add_hint(var, int(k == laid))
            is_k.append((s, k, var, int(k == laid)))
        cp.add(sum(var for _, _, var, _ in is_k) == 1)
        cp.add(sum(stand) == sum(k * var for _, k, var, _ in is_k))
        self.counts += is_k


def _may_be(
    t: Tables, s: int, fore: Floats, aft: Floats, most: int
) -> Iterable[tuple[int, int, float, float]]:
    """Give planks (from column, to column, length, waste) of layouts with `most` butts or fewer.

    -1 is the strake's fore end, n its after end.
    """
    n = t.open.shape[1]
    if t.whole[s]:
        yield -1, n, float(t.strake_length[s]), float(t.whole_waste[s])
    for j in np.flatnonzero(t.open[s]).tolist():
        if t.first[s, j] and aft[j] <= most:
            yield -1, j, float(t.ends_length[0, s, j]), float(t.ends_waste[0, s, j])
        if t.last[s, j] and fore[j] <= most:
            yield j, n, float(t.ends_length[1, s, j]), float(t.ends_waste[1, s, j])
        for w, back in enumerate(t.back.tolist()):
            i = j - back
            if i >= 0 and t.open[s, i] and t.arc[w, s, j] and fore[i] + aft[j] <= most:
                yield i, j, float(t.length[w, s, j]), float(t.waste[w, s, j])
