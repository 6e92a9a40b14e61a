"""Finding a layout: strakes laid again and again against prices set by their neighbours.

Strakes out of each other's reach are laid together (`ribband.butts.relay`), exactly, at the
present prices: one for a butt, one for every clash with a butt of a neighbour, one for sharing a
frame, small ones for waste, tightness and unevenness. Clashes that stay are made dearer until
they go (a guided local search); once a layout fits, prices fall back part of the way and the
search goes on for a better one. The best layout is kept by its goals in order.

Random numbers only break ties, from the seed; the number of sweeps stops it. Nothing is proved
here: `ribband.butts.proof` does that.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from ribband.butts.goals import crowd, plank_lengths, stock_waste, unevenness
from ribband.butts.problem import TOUCH_MM
from ribband.butts.relay import Costs, Relay
from ribband.butts.tables import Tables
from ribband.hull.model import Floats

__all__ = ["Found", "Prices", "Score", "Search", "fewest_alone"]

Ints = NDArray[np.int64]
Score = tuple[float, ...]
LONG = 24  # no strake is thought to have more butts than this


@dataclass(frozen=True, slots=True)
class Prices:
    """What things cost while searching; a butt costs 1."""

    clash: float = 0.3
    dearer: float = 0.1
    memory: float = 0.3
    crowd: float = 0.1
    waste: float = 0.03
    near: float = 0.04
    tight: float = 0.01
    even: float = 0.05
    keep: float = 0.0
    noise: float = 0.02


@dataclass(slots=True)
class Found:
    """The best layout so far: laid (S, k) columns (n = none) and its score, goals in order."""

    laid: Ints
    score: Score
    sweeps: int = 0
    moved: int = 0  # butts that are not where the layout begun from has them


def fewest_alone(t: Tables) -> Floats:
    """Give (S,) the least butts of each strake with no thought of the others; inf if none."""
    costs = _costs(t, Prices(waste=0.0, even=0.0))
    return Relay(t, np.arange(len(t.open)), LONG, costs).least()


@dataclass(slots=True)
class Search:
    """A search under way.

    yields, counts : plank lengths the stock can yield and how many boards of each, for one side
    """

    t: Tables
    per_frame: int
    yields: Floats
    counts: Floats
    seed: int
    prices: Prices = field(default_factory=Prices)

    rng: np.random.Generator = field(init=False)
    laid: Ints = field(init=False)
    weight: NDArray[np.float32] = field(init=False)
    hits: NDArray[np.bool_] = field(init=False)
    near: NDArray[np.bool_] = field(init=False)
    tight: NDArray[np.bool_] = field(init=False)
    neighbour: Ints = field(init=False)
    relays: list[Relay] = field(init=False)
    swept: int = field(init=False, default=0)
    touched: list[Ints] = field(init=False, default_factory=list)
    scarce: Floats = field(init=False)
    best: Found | None = field(init=False, default=None)
    nearest: Found | None = field(init=False, default=None)
    home: NDArray[np.bool_] | None = field(init=False, default=None)

    def __post_init__(self) -> None:
        """Set up prices and a first layout, each strake by itself."""
        t, (count, n) = self.t, self.t.open.shape
        self.rng = np.random.default_rng(self.seed)
        self.scarce = np.zeros(len(self.yields))
        most = int(np.nan_to_num(fewest_alone(t), posinf=0.0).max()) + 2
        costs = _costs(t, self.prices)
        reach = int(np.abs(t.reach).max()) if len(t.reach) else 0
        self.relays = [
            Relay(t, np.arange(r, count, reach + 1), most, costs)
            for r in range(min(reach + 1, count))
        ]
        self.hits, self.near, self.tight = (_looked_up(x) for x in (t.clash, t.near, t.tight))
        self.weight = (self.prices.clash * self.hits[..., :n]).astype(np.float32)
        self.weight += (self.prices.near * self.near[..., :n]).astype(np.float32)
        self.weight += (self.prices.tight * self.tight[..., :n]).astype(np.float32)
        near = np.arange(count)[:, None] + t.reach[None]
        self.neighbour = np.where((near < 0) | (near >= count), count, near)
        self.laid = np.full((count + 1, most), n)
        for relay in self.relays:
            self.laid[relay.group] = relay.lay(self._tie(len(relay.group)))
        self._look(0)

    def begin_from(self, laid: Ints) -> None:
        """Start from a given layout (S, k) and stay near it where that costs no butt."""
        self._put(laid)
        n = self.t.open.shape[1]
        self.home = np.zeros(self.t.open.shape, dtype=bool)
        rows, k = np.nonzero(laid < n)
        self.home[rows, laid[rows, k]] = True

    def run(
        self,
        sweeps: int,
        until: float,
        good_enough: Callable[[Found], bool] = lambda found: False,
        progress: Callable[[float], None] | None = None,
    ) -> None:
        """Sweep over all strakes `sweeps` times, or until the clock `until`, or well enough."""
        for sweep in range(1, sweeps + 1):
            for which in self.rng.permutation(len(self.relays)):
                relay = self.relays[which]
                self.laid[relay.group] = relay.lay(self._prices_for(relay.group))
            self.swept += 1
            self._look(self.swept)
            if progress and sweep % 50 == 0:
                progress(sweep / sweeps)
            if monotonic() > until or (self.best and good_enough(self.best)):
                return

    def reprice(self, prices: Prices) -> None:
        """Search on against other prices; clashes stay as dear as they have become."""
        n, was = self.t.open.shape[1], self.prices
        self.weight += (prices.near - was.near) * self.near[..., :n].astype(np.float32)
        self.weight += (prices.tight - was.tight) * self.tight[..., :n].astype(np.float32)
        self.prices = prices

    def offer(self, laid: Ints) -> None:
        """Take over a layout found elsewhere, and search on from it.

        One with more butts in a strake than the search has room for is left alone.
        """
        if (laid[:, self.laid.shape[1] :] < self.t.open.shape[1]).any():
            return
        self._put(laid)
        self._look(self.swept)

    def _put(self, laid: Ints) -> None:
        width = min(laid.shape[1], self.laid.shape[1])
        self.laid[:-1] = self.t.open.shape[1]
        self.laid[:-1, :width] = laid[:, :width]

    def _tie(self, rows: int) -> Floats:
        return self.prices.noise * self.rng.random((rows, self.t.open.shape[1]))

    def _prices_for(self, group: Ints) -> Floats:
        n = self.t.open.shape[1]
        price = self._tie(len(group))
        if self.home is not None:
            price -= self.prices.keep * self.home[group]
        if len(self.t.reach):
            offset = np.arange(len(self.t.reach))[None, :, None]
            beside = self.laid[self.neighbour[group]]
            price += self.weight[group[:, None, None], offset, beside].sum(axis=(1, 2))
        on = np.bincount(self.laid[:-1].ravel(), minlength=n + 1)
        own = np.zeros((len(group), n + 1))
        np.put_along_axis(own, self.laid[group], 1.0, axis=1)
        others = (on[None] - own)[:, :n]
        price += self.prices.crowd * np.clip(others - self.per_frame + 1, 0.0, 3.0)
        return price

    def _look(self, sweep: int) -> None:
        """Score the present layout, keep it if best, and set the prices of clashes."""
        pairs = self._clashing()
        planks, without = self._planks_and_stock()
        faults = len(pairs[0]) // 2 + without
        if faults == 0:
            self._keep(sweep, planks)
            self._forget()
        else:
            if self.nearest is None or faults < self.nearest.score[0]:
                self.nearest = Found(self.laid[:-1].copy(), (float(faults),), sweep)
            self._dearer(pairs)
        if sweep % 5 == 0 and (without or self.scarce.any()):
            self._price_stock(planks)

    def _clashing(self) -> tuple[Ints, ...]:
        strake, offset = np.arange(len(self.t.open)), np.arange(len(self.t.reach))
        beside, own = self.laid[self.neighbour], self.laid[:-1]
        at = (strake[:, None, None, None], offset[None, :, None, None])
        hit = self.hits[(*at, beside[..., None], own[:, None, None, :])]
        s, o, k, m = np.nonzero(hit)
        return s, o, beside[s, o, k], own[s, m]

    def _dearer(self, pairs: tuple[Ints, ...]) -> None:
        if len(pairs[0]):
            index = np.ravel_multi_index(pairs, self.weight.shape)
            self.weight.ravel()[index] += self.prices.dearer
            self.touched.append(index)

    def _forget(self) -> None:
        if self.touched:
            index = np.unique(np.concatenate(self.touched))
            flat, base = self.weight.ravel(), self.prices.clash
            flat[index] = base + self.prices.memory * (flat[index] - base)
            self.touched = [index]

    def _planks_and_stock(self) -> tuple[list[Floats] | None, int]:
        if not np.isfinite(self.counts).any():
            return None, 0
        planks = plank_lengths(self.laid[:-1], self.t.along, self.t.strake_length)
        return planks, stock_waste(np.concatenate(planks), self.yields, self.counts)[1]

    def _price_stock(self, planks: list[Floats] | None) -> None:
        """Planks longer than a board's yield cost more where the longer boards run short."""
        if planks is None:
            return
        every = np.concatenate(planks)
        over = (every[:, None] > self.yields[None] + TOUCH_MM).sum(axis=0)
        have = np.concatenate([np.cumsum(self.counts[::-1])[::-1][1:], [0.0]])
        short = over - have
        self.scarce = np.maximum(self.scarce + 0.04 * np.clip(short, -2, 5), 0.0)
        costs = _costs(self.t, self.prices, self.yields, self.scarce)
        for relay in self.relays:
            relay.price(costs)

    def _keep(self, sweep: int, planks: list[Floats] | None) -> None:
        n = self.t.open.shape[1]
        laid = self.laid[:-1]
        score: Score = (float((laid < n).sum()), float(crowd(laid, n, self.per_frame)))
        moved = self._moved()
        if self.best and (score[0], moved, score[1]) > _first_goals(self.best):
            return
        planks = planks or plank_lengths(laid, self.t.along, self.t.strake_length)
        waste = stock_waste(np.concatenate(planks), self.yields, self.counts)[0]
        near, tight = (float(self._pairs(marked)) for marked in (self.near, self.tight))
        score = (*score, near, float(round(waste)), tight, round(unevenness(planks), 1))
        if self.best is None or (score[0], moved, *score[1:]) < _order(self.best):
            self.best = Found(laid.copy(), score, sweep, moved)

    def _moved(self) -> int:
        """Count butts away from home; in a problem with no layout to stay near, none."""
        if self.home is None:
            return 0
        rows, k = np.nonzero(self.laid[:-1] < self.t.open.shape[1])
        return int((~self.home[rows, self.laid[rows, k]]).sum())

    def _pairs(self, marked: NDArray[np.bool_]) -> int:
        strake, offset = np.arange(len(self.t.open)), np.arange(len(self.t.reach))
        beside, own = self.laid[self.neighbour], self.laid[:-1]
        at = (strake[:, None, None, None], offset[None, :, None, None])
        return int(marked[(*at, beside[..., None], own[:, None, None, :])].sum()) // 2


def _looked_up(pairs: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Turn pairs (S, 2 D, n, n) round: [strake, offset, the other's column, its own]; n = none."""
    count, reach, n, _ = pairs.shape
    found = np.zeros((count, reach, n + 1, n + 1), dtype=bool)
    found[:, :, :n, :n] = pairs.transpose(0, 1, 3, 2)
    return found


def _order(found: Found) -> Score:
    return (found.score[0], found.moved, *found.score[1:])


def _first_goals(found: Found) -> Score:
    return _order(found)[:3]


def _costs(
    t: Tables, prices: Prices, yields: Floats | None = None, scarce: Floats | None = None
) -> Costs:
    """Give the costs of planks; the butt at a plank's after end costs 1."""
    longest = float(np.max(t.length, initial=1.0))
    per_waste = prices.waste / max(float(np.max(t.waste, initial=0.0)), 1.0)

    def cost(length: Floats, waste: Floats) -> Floats:
        total = per_waste * waste + prices.even * (length / longest) ** 2
        if yields is not None and scarce is not None:
            for board, price in zip(yields, scarce, strict=True):
                total = total + price * (length > board + TOUCH_MM)
        return np.asarray(total)

    ends = [cost(np.nan_to_num(run), w) for run, w in zip(t.ends_length, t.ends_waste, strict=True)]
    arc = np.where(t.arc, 1.0 + cost(t.length, t.waste), np.inf)
    first = np.where(t.first, 1.0 + ends[0], np.inf)
    return Costs(arc, first, np.where(t.last, ends[1], np.inf))
