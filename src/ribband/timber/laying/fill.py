"""Filling one board: planks stacked by contact, dearest for the room they take first.

A *pattern* is the planks on one board. Each step looks at every lie of every kind left, at every
third cell along the board, laid on what is there already (or hung under it) and past the bars;
the best few are then looked at cell by cell. What once does not fit never will, for the room only
shrinks, so it is not looked at again.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ribband.numerics.profiles import Floats
from ribband.timber.laying.ground import COARSE, STEP, Bar, Lies, Plot
from ribband.timber.laying.rules import LayingRules

__all__ = ["WAYS", "First", "Pattern", "Place", "Way", "cost_mm3", "fill", "first_looks",
           "least_room", "on_top", "singles", "some_lies", "used_mm2"]  # fmt: skip

LOOKED_AT = 12  # lies looked at cell by cell at a time
TIMES = 4  # as many times, while none fits
CHANCE = 0.6  # how much chance may raise the worth of a lie where some are chosen of many
WAYS = 2  # of a kind, alone on a board
STRETCH = 6  # cells to which stretches are rounded down
FEW_LEANS, MANY_LEANS = 4, 9  # where there are more leans every fourth is looked at first
SLACK = 4.0  # mm by which looking at every third cell may be out
Small = NDArray[np.float32]
Ints = NDArray[np.int64]
Laid = tuple[int, int, float]  # a lie, its first cell and its height


@dataclass(frozen=True, slots=True)
class Place:
    """A lie of a kind on a board, from a cell on, at a height."""

    lie: int
    kind: int
    cell: int
    y: float


@dataclass(frozen=True, slots=True)
class Pattern:
    """The planks on a board and the timber it costs at the board's rate, mm3."""

    plot: int
    places: tuple[Place, ...]
    cost: float


@dataclass(frozen=True, slots=True)
class Way:
    """How a board is filled: from below or above, and how much the room taken counts.

    power : of the room taken in price / room^power; blur : part by which prices are shaken
    most : lies looked at, those of the dearest planks for their face where there are more, with
        some chance in it
    part : first cell and number of cells of the only part filled; None is the whole board
    """

    above: bool = False
    power: float = 1.0
    blur: float = 0.0
    most: int = 100000
    part: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class First:
    """Every lie on a board while it is empty: whether it may fit at all, where best, room taken.

    alone, alone_taken : (3, lies) the place it takes least room, ends lost not counted, next to
        the butt and next to the top, and the room it takes there, endless where it does not fit
    """

    fits: NDArray[np.bool_]
    place: Ints
    taken: Floats
    alone: Ints
    alone_taken: Floats


@dataclass(slots=True)
class _Room:
    """What is left of a board while it is filled; upside down where planks hang from the roof.

    low, high, low_at, high_at : the edges of the lies, as `Lies` has them
    """

    floor: Floats
    roof: Floats
    bars: list[Bar]
    length: float
    lies: Lies
    low: Floats
    high: Floats
    low_at: Small
    high_at: Small


@dataclass(frozen=True, slots=True)
class _Taste:
    """What a lie is chosen by: prices of kinds, power of the room taken, the shortest left."""

    prices: Floats
    power: float
    shortest: float

    def score(self, kinds: Ints, taken: Floats | Small, fits: NDArray[np.bool_]) -> Floats:
        """Give price for room taken; below nothing where a lie does not fit."""
        worth = self.prices[kinds] / np.maximum(taken, 1.0) ** self.power
        return np.where(fits, worth, -1.0)


@dataclass(frozen=True, slots=True)
class _Group:
    """Lies of about one length with their edges at every third cell, (places, lies)."""

    lies: Ints
    low: Small
    high: Small
    high_sum: Small
    real: NDArray[np.bool_]
    count: Ints
    length: Floats


def fill(
    plot: Plot,
    index: int,
    lies: Lies,
    prices: Floats,
    counts: Ints,
    *,
    rules: LayingRules,
    way: Way,
    rng: np.random.Generator,
    first: First | None = None,
    seen: list[tuple[Place, ...]] | None = None,
) -> Pattern:
    """Fill a board with planks by price; `counts` says how many of each kind there are.

    first : what `first_looks` gave for the board filled this way, to save looking again
    seen : is given, step by step, what was laid before with every plank that could be laid next
    """
    left, room = counts.copy(), _room_of(plot, lies, way)
    begin = way.part[0] if way.part is not None else 0
    shaken = prices * (1 + way.blur * rng.standard_normal(len(prices)))
    able = ((prices > 0) & (left > 0))[lies.kind] & (lies.length <= room.length)
    if first is not None:
        able &= first.fits
    chosen = some_lies(np.flatnonzero(able), way.most, shaken[lies.kind] / lies.area, rng)
    places: list[Place] = []
    while len(chosen):
        taste = _Taste(shaken, way.power, float(lies.length[chosen].min()))
        if first is not None and not places and way.part is None:
            best = _best_first(room, chosen, taste, first)
        else:
            best, chosen = _best(room, chosen, taste)
        if best is None:
            break
        found = [_place(lies, laid, begin, way) for laid in best]
        if seen is not None:
            seen += [(*places, place) for place in found]
        places.append(found[0])
        _take(room, *best[0])
        kind = found[0].kind
        left[kind] -= 1
        if left[kind] <= 0:
            chosen = chosen[lies.kind[chosen] != kind]
    return Pattern(index, tuple(places), cost_mm3(plot, lies, places, rules))


def _place(lies: Lies, laid: Laid, begin: int, way: Way) -> Place:
    """Give a place on the board, whose part begins at a cell and may be upside down."""
    lie, cell, y = laid
    return Place(lie, int(lies.kind[lie]), begin + cell, -y if way.above else y)


def _room_of(plot: Plot, lies: Lies, way: Way) -> _Room:
    """Give the room of a board, or of the part that is filled."""
    room = _upside_down(plot, lies) if way.above else _upright(plot, lies)
    if way.part is not None:
        _keep_to(room, *way.part)
    return room


def _upright(plot: Plot, lies: Lies) -> _Room:
    """Give an empty board, to be filled from its floor."""
    edges = lies.low, lies.high, lies.low_at, lies.high_at
    return _Room(plot.floor, plot.roof, list(plot.bars), plot.length, lies, *edges)


def _upside_down(plot: Plot, lies: Lies) -> _Room:
    """Give an empty board whose roof is the floor."""
    bars = [Bar(bar.first, -bar.high, -bar.low) for bar in plot.bars]
    edges = lies.low_over, lies.high_over, lies.low_over_at, lies.high_over_at
    return _Room(-plot.roof, -plot.floor, bars, plot.length, lies, *edges)


def _keep_to(room: _Room, begin: int, cells: int) -> None:
    """Leave of a board only some cells, from one on; of a bar what lies in them."""
    room.length = min(room.length - begin * STEP, cells * STEP)
    room.floor, room.roof = (edge[begin : begin + cells] for edge in (room.floor, room.roof))
    bars = []
    for bar in room.bars:
        first, last = max(bar.first, begin), min(bar.first + len(bar.low), begin + cells)
        if first < last:
            part = slice(first - bar.first, last - bar.first)
            bars.append(Bar(first - begin, bar.low[part], bar.high[part]))
    room.bars = bars


def some_lies(lies: Ints, most: int, worth: Floats, rng: np.random.Generator) -> Ints:
    """Give some of the lies where there are more than wanted: by worth, and by chance."""
    if len(lies) <= most:
        return lies
    drawn = worth[lies] * (1 + CHANCE * rng.random(len(lies)))
    return np.sort(lies[np.argpartition(drawn, len(lies) - most)[-most:]])


def _take(room: _Room, lie: int, cell: int, y: float) -> None:
    """Raise the floor to the plank's upper edge; a bar it lies over goes with the floor."""
    cells = int(room.lies.cells[lie])
    floor = room.floor.copy()
    span = slice(cell, cell + cells)
    floor[span] = np.maximum(floor[span], y + room.high[lie, :cells])
    room.floor = floor
    room.bars = [
        bar
        for bar in room.bars
        if not np.all(bar.high <= floor[bar.first : bar.first + len(bar.high)])
    ]


def first_looks(plot: Plot, lies: Lies, above: bool) -> First:
    """Look at every lie at every first place on an empty board; keep the best place of each.

    Of many leans every fourth is looked at, then those beside the one that takes least room.
    """
    room = _room_of(plot, lies, Way(above=above))
    chosen = np.flatnonzero(lies.length <= plot.length)
    looks = _no_looks(len(lies.kind))
    many = len(chosen) > 0 and lies.lean.max() >= MANY_LEANS
    few = chosen[lies.lean[chosen] % FEW_LEANS == 0] if many else chosen
    _look(room, few, looks)
    if len(few) < len(chosen):
        _look(room, _not_too_high(room, _beside(lies, chosen, few, looks)), looks)
    return looks


def _beside(lies: Lies, chosen: Ints, few: Ints, looks: First) -> Ints:
    """Give the lies that lean nearly as the best of the few; all others where none fits."""
    best = _first_of(few[np.argsort(looks.alone_taken[0, few], kind="stable")], lies.way, 1)
    best = best[np.isfinite(looks.alone_taken[0, best])]
    lean = np.full(int(lies.way.max()) + 1, -1)
    lean[lies.way[best]] = lies.lean[best]
    middle = lean[lies.way[chosen]]
    apart = np.abs(lies.lean[chosen] - middle)
    near = np.where(middle < 0, lies.lean[chosen] % FEW_LEANS > 0, apart < FEW_LEANS - 1)
    return np.asarray(chosen[near & (apart > 0)])


def _no_looks(many: int) -> First:
    return First(
        np.zeros(many, dtype=bool), np.zeros(many, dtype=np.int64), np.full(many, np.inf),
        np.zeros((3, many), dtype=np.int64), np.full((3, many), np.inf),
    )  # fmt: skip


def _look(room: _Room, chosen: Ints, looks: First) -> None:
    """Look at some lies at every first place on an empty board."""
    floor, roof = _at_places(room.floor, np.maximum), _at_places(room.roof, np.minimum)
    shortest = float(room.lies.length.min())
    for group in _groups(room, chosen) if len(chosen) else ():
        offsets = _offsets(room.length, group)
        y, spare = _resting(room, floor, roof, group, offsets)
        well, every = spare >= 0, np.arange(len(group.lies))
        taken = np.where(well, _taken(floor, group, y, offsets), np.inf)
        with_ends = taken + _lost_ends(room, group, offsets, shortest)
        best = with_ends.argmin(axis=0)
        looks.fits[group.lies] = (spare >= -2 * SLACK).any(axis=0)
        looks.place[group.lies], looks.taken[group.lies] = best, with_ends[best, every]
        alone = taken.argmin(axis=0), well.argmax(axis=0), offsets - 1 - well[::-1].argmax(axis=0)
        looks.alone[:, group.lies] = alone
        looks.alone_taken[:, group.lies] = taken[alone, every]


def singles(plot: Plot, lies: Lies, first: First, above: bool, ways: int = WAYS) -> list[Place]:
    """Give places of single planks on an empty board: of every kind where best, at butt and top.

    Of the ways a kind may lie, flipped or end for end, the two that take least room, each at the
    angle that takes least.
    """
    return _placed(_room_of(plot, lies, Way(above=above)), first, above, ways)


def on_top(  # noqa: PLR0917 - a half, and what may lie on it
    plot: Plot,
    lies: Lies,
    half: Sequence[Place],
    able: Ints,
    way: Way,
    worth: Floats,
    rng: np.random.Generator,
) -> list[Place]:
    """Give places of single planks on what lies on a board, of every kind as `singles` does.

    able : lies that may be laid; of those not too high the ones worth most are looked at
    """
    room = _room_of(plot, lies, way)
    for place in half:
        _take(room, place.lie, place.cell, -place.y if way.above else place.y)
    chosen = some_lies(_not_too_high(room, able), way.most, worth, rng)
    looks = _no_looks(len(lies.kind))
    _look(room, chosen, looks)
    return _placed(room, looks, way.above, 1)


def _placed(room: _Room, first: First, above: bool, ways: int) -> list[Place]:
    """Lay every kind where it takes least room, next to the butt and next to the top."""
    lies, way = room.lies, room.lies.way
    pairs = []
    for place, taken in zip(first.alone, first.alone_taken, strict=True):
        able = np.flatnonzero(np.isfinite(taken))
        order = able[np.argsort(taken[able], kind="stable")]
        some = _first_of(_first_of(order, way, 1), lies.kind, ways)
        last = np.floor((room.length - lies.length[some]) / STEP + 1e-9).astype(int)
        pairs.append(np.stack([some, np.clip(place[some] * COARSE, 0, last)]))
    lie, cell = np.unique(np.concatenate(pairs, axis=1), axis=1)
    if not len(lie):
        return []
    y, fits = _laid_down(room, lie, cell, int(lies.cells[lie].max()))
    laid = zip(lie[fits].tolist(), cell[fits].tolist(), y[fits].tolist(), strict=True)
    return [_place(lies, own, 0, Way(above=above)) for own in laid]


def least_room(first: First, lies: Lies, many: int) -> First:
    """Leave of every kind, flipped or not and either way round, the leans that take least room."""
    order = np.argsort(first.alone_taken[0], kind="stable")
    best = np.zeros(len(first.fits), dtype=bool)
    best[_first_of(order, lies.way, many)] = True
    return replace(first, fits=first.fits & best)


def _first_of(order: Ints, group: Ints, most: int) -> Ints:
    """Give of things in order the first few of every group."""
    own = group[order]
    by = np.argsort(own, kind="stable")
    rank = np.arange(len(own)) - np.searchsorted(own[by], own[by])
    return order[np.sort(by[rank < most])]


def _best_first(room: _Room, chosen: Ints, taste: _Taste, first: First) -> list[Laid] | None:
    """Give the best lies on an empty board, one of a kind."""
    taken = first.taken[chosen]
    known = np.isfinite(taken)
    score = taste.score(room.lies.kind[chosen], np.where(known, taken, 1.0), known)
    top = _top(score, LOOKED_AT * TIMES)
    pairs = np.stack([chosen[top], first.place[chosen[top]]])
    for k in range(0, pairs.shape[1], LOOKED_AT):
        best = _closely(room, pairs[:, k : k + LOOKED_AT], taste)
        if best is not None:
            return best
    return _best(room, chosen, taste)[0]


def _best(room: _Room, chosen: Ints, taste: _Taste) -> tuple[list[Laid] | None, Ints]:
    """Give the best lies, one of a kind, and those that still fit somewhere."""
    chosen = _not_too_high(room, chosen)
    if not len(chosen):
        return None, chosen
    floor, roof = _at_places(room.floor, np.maximum), _at_places(room.roof, np.minimum)
    found, scores, alive = [], [], []
    for group in _groups(room, chosen):
        offsets = _offsets(room.length, group)
        y, spare = _resting(room, floor, roof, group, offsets)
        taken = _taken(floor, group, y, offsets)
        taken += _lost_ends(room, group, offsets, taste.shortest)
        score = taste.score(room.lies.kind[group.lies], taken, spare >= 0).ravel()
        alive.append(group.lies[(spare >= -2 * SLACK).any(axis=0)])
        top = _top(score, LOOKED_AT * TIMES)
        scores.append(score[top])
        found.append(np.stack([group.lies[top % len(group.lies)], top // len(group.lies)]))
    pairs = np.concatenate(found, axis=1)
    pairs = pairs[:, _top(np.concatenate(scores), LOOKED_AT * TIMES)]
    for k in range(0, pairs.shape[1], LOOKED_AT):
        best = _closely(room, pairs[:, k : k + LOOKED_AT], taste)
        if best is not None:
            return best, np.concatenate(alive)
    return None, np.concatenate(alive)


def _not_too_high(room: _Room, chosen: Ints) -> Ints:
    """Leave out lies whose middle is higher than any stretch as long as it, of what is left."""
    height = (room.roof - room.floor).max(axis=1)
    within, stretch = np.zeros(len(chosen), dtype=bool), room.lies.cells[chosen] // 2
    for cells in np.unique(stretch // STRETCH) * STRETCH:
        windows = np.lib.stride_tricks.sliding_window_view(height, min(max(cells, 1), len(height)))
        own = stretch // STRETCH * STRETCH == cells
        within[own] = room.lies.core[chosen[own]] <= windows.min(axis=1).max() + 1e-9
    return chosen[within]


def _top(values: NDArray[np.floating], count: int) -> Ints:
    """Give the places of the greatest values above nothing, at most `count`, greatest first."""
    if len(values) > count:
        best = np.argpartition(values, len(values) - count)[-count:]
    else:
        best = np.arange(len(values))
    best = best[np.argsort(-values[best], kind="stable")]
    return best[values[best] > 0]


def _groups(room: _Room, chosen: Ints) -> Iterable[_Group]:
    """Part lies by length so that few places past a plank's end are looked at."""
    lies = room.lies
    by_length = chosen[np.argsort(lies.cells[chosen], kind="stable")]
    for part in np.array_split(by_length, 1 + min(4, len(by_length) // 150)):
        count = -(-lies.cells[part] // COARSE)
        most = int(count.max()) + 1
        below, over = room.low_at[:most, part], room.high_at[:most, part]
        real = np.arange(most)[:, None] <= count
        high_sum = np.where(real, over, 0).sum(axis=0)
        yield _Group(part, below, over, high_sum, real, count, lies.length[part])


def _offsets(length: float, group: _Group) -> int:
    """Give how many first places there are for the shortest of the group."""
    return int(np.ceil((length - float(group.length.min())) / (STEP * COARSE))) + 1


def _at_places(edge: Floats, worse: np.ufunc) -> Small:
    """Look at a floor or roof at every `COARSE`th cell's side; it goes on level past its end."""
    before = np.concatenate([edge[:1, 0], edge[:, 1]])
    after = np.concatenate([edge[:, 0], edge[-1:, 1]])
    sides = worse(before, after)
    at = np.minimum(np.arange(0, 2 * len(sides) + 3 * COARSE, COARSE), len(sides) - 1)
    return np.asarray(sides[at], dtype=np.float32)


def _resting(
    room: _Room, floor: Small, roof: Small, group: _Group, offsets: int
) -> tuple[Small, Small]:
    """Lay every lie of a group down at every first place: its height, and the room above it."""
    most = len(group.low)
    y = floor[:offsets, None] - group.low[0]
    top = roof[:offsets, None] - group.high[0]
    scratch = np.empty_like(y)
    for k in range(1, most):
        np.subtract(floor[k : k + offsets, None], group.low[k], out=scratch)
        np.maximum(y, scratch, out=y)
        np.subtract(roof[k : k + offsets, None], group.high[k], out=scratch)
        np.minimum(top, scratch, out=top)
    for _ in range(2 if len(room.bars) > 1 else 1):
        for bar in room.bars:
            over, under = _past(bar, group, offsets)
            y = np.where((y < over) & (y > under - SLACK), over, y)
    first = np.arange(offsets)[:, None] * (STEP * COARSE)
    inside = first <= room.length - group.length + STEP * (COARSE - 1)
    return y, np.where(inside, top - y, np.float32(-np.inf))


def _past(bar: Bar, group: _Group, offsets: int) -> tuple[Small, Small]:
    """Give the heights at which lies pass over and under a bar, (first places, lies)."""
    most, lies = group.low.shape
    over = np.full((offsets, lies), -np.inf, dtype=np.float32)
    under = np.full((offsets, lies), np.inf, dtype=np.float32)
    last = bar.first + len(bar.low)
    for place in range(bar.first // COARSE, -(-last // COARSE) + 1):
        cell = min(max(place * COARSE - bar.first, 0), len(bar.low) - 1)
        begin, end = max(0, place - most + 1), min(offsets, place + 1)
        if begin >= end:
            continue
        rows = place - np.arange(begin, end)
        np.maximum(over[begin:end], bar.high[cell].max() - group.low[rows], out=over[begin:end])
        np.minimum(under[begin:end], bar.low[cell].min() - group.high[rows], out=under[begin:end])
    return over, under


def _taken(floor: Small, group: _Group, y: Small, offsets: int) -> Small:
    """Give the area between the floor and the top of every lie laid down, mm2."""
    below = np.concatenate([[0.0], np.cumsum(floor, dtype=np.float64)])
    first = np.arange(offsets)[:, None]
    floor_sum = below[np.minimum(first + group.count + 1, len(below) - 1)] - below[first]
    area = y * (group.count + 1) + group.high_sum - floor_sum
    return np.asarray(np.maximum(area, 1.0) * (STEP * COARSE), dtype=np.float32)


def _lost_ends(room: _Room, group: _Group, offsets: int, shortest: float) -> Small:
    """Give the area at the ends of the board that no plank would fill, mm2."""
    first = np.arange(offsets, dtype=np.float64)[:, None] * (STEP * COARSE)
    breadth = (group.high_sum - np.where(group.real, group.low, 0).sum(axis=0)) / (group.count + 1)
    return np.asarray(_lost(room.length, first, group.length, shortest) * breadth, dtype=np.float32)


def _lost(length: float, first: Floats | Ints, own: Floats, shortest: float) -> Floats:
    """Give the length before and after a plank that is too short for another, mm.

    One long end is worth a little more than two short ones: it is still good for something.
    """
    after = np.maximum(length - first - own, 0.0)
    before, after = np.where(first < shortest, first, 0.0), np.where(after < shortest, after, 0.0)
    return np.asarray(before + after - 0.1 * np.abs(after - before))


def _closely(room: _Room, pairs: Ints, taste: _Taste) -> list[Laid] | None:
    """Look at lies and first places cell by cell, also a cell or two to either side.

    The best lie of every kind that fits is given, the best of all first; None where none fits.
    """
    lies, about = room.lies, np.arange(-COARSE + 1, COARSE)
    lie = np.repeat(pairs[0], len(about))
    cell = (pairs[1][:, None] * COARSE + about).ravel()
    most = np.floor((room.length - lies.length[lie]) / STEP + 1e-9).astype(int)
    lie, cell = np.unique(np.stack([lie, np.clip(cell, 0, most)]), axis=1)
    y, fits, taken = _exactly(room, lie, cell)
    middle = lies.cells[lie] // 2
    breadth = room.high[lie, middle, 0] - room.low[lie, middle, 0]
    taken += breadth * _lost(room.length, cell * STEP, lies.length[lie], taste.shortest)
    score = taste.score(lies.kind[lie], taken, fits)
    order = np.argsort(-score)
    order = order[: int((score > 0).sum())]
    at = np.unique(lies.kind[lie[order]], return_index=True)[1]
    best = order[np.sort(at)].tolist()
    return [(int(lie[n]), int(cell[n]), float(y[n])) for n in best] or None


def _exactly(room: _Room, lie: Ints, cell: Ints) -> tuple[Floats, NDArray[np.bool_], Floats]:
    """Lay lies down at their cells: height, whether it fits, and the area taken."""
    cells = room.lies.cells[lie]
    most = int(cells.max())
    y, fits = _laid_down(room, lie, cell, most)
    floor = room.floor[np.minimum(cell[:, None] + np.arange(most), len(room.floor) - 1)]
    real = (np.arange(most) < cells[:, None])[..., None]
    taken = np.where(real, y[:, None, None] + room.high[lie, :most] - floor, 0.0)
    return y, fits, taken.sum(axis=(1, 2)) * STEP / 2


def _laid_down(room: _Room, lie: Ints, cell: Ints, most: int) -> tuple[Floats, NDArray[np.bool_]]:
    """Lay lies of `most` cells at most down: height, and whether it fits."""
    at = np.minimum(cell[:, None] + np.arange(most), len(room.floor) - 1)
    below, over = room.low[lie, :most], room.high[lie, :most]
    y = (room.floor[at] - below).max(axis=(1, 2))
    top = (room.roof[at] - over).min(axis=(1, 2))
    for _ in range(len(room.bars) + 1):
        before = y
        for bar in room.bars:
            overs, unders = _exactly_past(bar, below, over, cell)
            y = np.where((y < overs) & (y > unders), overs, y)
        if np.array_equal(before, y):
            break
    return y, y <= top + 1e-9


def _exactly_past(bar: Bar, below: Floats, over: Floats, cell: Ints) -> tuple[Floats, Floats]:
    """Give the heights at which lies pass over and under a bar, cell by cell."""
    own = bar.first + np.arange(len(bar.low)) - cell[:, None]
    real = ((own >= 0) & (own < below.shape[1]))[..., None]
    own = np.clip(own, 0, below.shape[1] - 1)
    row = np.arange(len(cell))[:, None]
    overs = np.where(real, bar.high - below[row, own], -np.inf).max(axis=(1, 2))
    unders = np.where(real, bar.low - over[row, own], np.inf).min(axis=(1, 2))
    return overs, unders


def cost_mm3(plot: Plot, lies: Lies, places: Iterable[Place], rules: LayingRules) -> float:
    """Give the timber of a board used up, as it counts."""
    return used_mm2(plot, lies, places, rules) * plot.board.thickness_mm * plot.rate


def used_mm2(plot: Plot, lies: Lies, places: Iterable[Place], rules: LayingRules) -> float:
    """Give the face of a board used up: all of it less the ends kept."""
    spans = [(p.cell * STEP, p.cell * STEP + float(lies.length[p.lie])) for p in places]
    if not spans:
        return 0.0
    first, last = min(a for a, _ in spans), max(b for _, b in spans)
    return (
        float(plot.area_to[-1])
        - _kept(plot, 0.0, first, rules)
        - _kept(plot, last, plot.length, rules)
    )


def _kept(plot: Plot, begin: float, end: float, rules: LayingRules) -> float:
    """Give the face of an end of a board if it is long and wide enough to keep, else nothing."""
    if end - begin < rules.offcut_length_mm + rules.kerf_mm:
        return 0.0
    nodes = STEP * np.arange(len(plot.height))
    inside = (nodes >= begin) & (nodes <= end)
    if not inside.any() or plot.height[inside].min() < rules.offcut_width_mm:
        return 0.0
    area = np.interp([begin, end], nodes, plot.area_to)
    return float(area[1] - area[0])
