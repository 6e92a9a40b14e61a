"""The order checked apart: every plank on a board that holds it, sums right, spares enough.

Nothing of the order's own arithmetic is called: lengths are added up in millimetres, chances come
from the incomplete beta function of scipy.

Not checked here: whether another order would cost less; the order carries its own bound.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from ribband.findings import Finding, Severity
from ribband.hull.model import Floats
from ribband.timber.order.model import BoardCut, Need, Order
from ribband.timber.order.rules import OrderRules
from ribband.timber.order.spares import Pool, Size, Spares

__all__ = ["check"]

_LOOKED_AT = 60  # planks lacking, boards taken for them: more is next to impossible
_MM = 0.01


def check(order: Order, needs: Sequence[Need], rules: OrderRules) -> tuple[Finding, ...]:
    """Check an order against what was needed.

    T040 a plank missing, twice or unknown; T041 lengths that do not go on their board; T042 a
    board too narrow or thin for a plank; T043 sums that do not add up; T044 spares that are not
    enough for the confidence stated.
    """
    return tuple(
        _fault(code, where, says)
        for code, where, says in (
            *_planks(order, needs),
            *_boards(order, needs, rules),
            *_sums(order),
            *_chances(order, rules),
        )
    )


def _fault(code: str, where: str, says: str) -> Finding:
    return Finding(code, Severity.FAULT, "timber", where, says)


def _planks(order: Order, needs: Sequence[Need]) -> Iterable[tuple[str, str, str]]:
    wanted = Counter(name for need in needs for name in need.planks)
    cut = Counter(name for board in order.cuts for _, name in board.pieces if name != "spare")
    cut.update(name for name in order.unmet if name != "spare")
    for name in sorted(wanted.keys() | cut.keys()):
        if wanted[name] != cut[name]:
            yield "T040", f"plank {name}", f"wanted {wanted[name]} times, cut {cut[name]} times"


def _boards(
    order: Order, needs: Sequence[Need], rules: OrderRules
) -> Iterable[tuple[str, str, str]]:
    need_of = {name: need for need in needs for name in need.planks}
    for number, board in enumerate(order.cuts, start=1):
        where = f"board {number} of the order"
        used = sum(long for long, _ in board.pieces) + rules.kerf_mm * (len(board.pieces) - 1)
        room = board.of.length_mm - 2 * rules.end_trim_mm
        if used > room + _MM:
            yield "T041", where, f"{used:.0f} mm of planks and kerfs on {room:.0f} mm"
        for long, name in board.pieces:
            if name in need_of:
                yield from _one(board, long, need_of[name], name, rules)


def _one(
    board: BoardCut, long: float, need: Need, name: str, rules: OrderRules
) -> Iterable[tuple[str, str, str]]:
    if long < need.length_mm - _MM:
        yield "T041", f"plank {name}", f"cut {need.length_mm - long:.0f} mm short"
    narrow = need.width_mm + 2 * rules.edge_trim_mm > board.of.width_mm + _MM
    if narrow or need.thickness_mm > board.of.thickness_mm + _MM:
        yield "T042", f"plank {name}", "its board is too narrow or too thin"


def _sums(order: Order) -> Iterable[tuple[str, str, str]]:
    cut = Counter(board.of for board in order.cuts)
    if cut != Counter({line.of: line.boards for line in order.lines if line.boards}):
        yield "T043", "order", "the boards of the lines are not those that are cut"
    volume = 0.0
    for line in order.lines:
        size = line.of.length_mm * line.of.width_mm * line.of.thickness_mm / 1e9
        volume += size * (line.boards + line.spare)
    if abs(volume - order.volume_m3) > 1e-9 * max(volume, 1.0):
        yield "T043", "order", "the volume is not the sum of its lines"
    packed: Counter[int] = Counter()
    for pack in order.packs:
        packed.update(dict(pack.boards))
    if packed != Counter({k: line.count for k, line in enumerate(order.lines)}):
        yield "T043", "delivery", "the packs do not hold the boards of the order"


def _chances(order: Order, rules: OrderRules) -> Iterable[tuple[str, str, str]]:
    planks, boards = order.plank_spares, order.board_spares
    yield from _reserve(planks, boards)
    spare = sum(name == "spare" for board in order.cuts for _, name in board.pieces)
    meant = sum(pool.spare.count for pool in planks.pools)
    if planks.pools and spare + sum(n == "spare" for n in order.unmet) != meant:
        yield "T044", "spare planks", f"{meant} meant, {spare} cut"
    for spares in (planks, boards):
        for pool in spares.pools:
            by = pool if pool.serves is None else spares.pools[pool.serves]
            if not _holds(by.spare.size, pool.spare.size):
                yield "T044", "spares", "a smaller one is to serve for a greater"
    sure = _sure_of_both(planks, boards, rules)
    if planks.pools and abs(sure - order.confidence) > 1e-6:
        yield "T044", "order", f"{sure:.3f} sure, not {order.confidence:.3f}"


def _holds(great: Size, small: Size) -> bool:
    return all(a >= b - _MM for a, b in zip(great, small, strict=True))


def _reserve(planks: Spares, boards: Spares) -> Iterable[tuple[str, str, str]]:
    """Look whether every plank lacking is got out of a board that is spare and holds it."""
    if not boards.for_planks:
        return
    there = {pool.spare.size for pool in boards.pools}
    if any(not _holds(own, size) or own not in there for size, own in boards.for_planks):
        yield "T044", "spare boards", "one is too small for a plank it is to serve for"
    asked = {size for size, _ in boards.for_planks}
    if any(pool.count and not any(_holds(size, pool.spare.size) for size in asked)
           for pool in planks.pools):  # fmt: skip
        yield "T044", "spare boards", "none is to serve for some of the planks"


def _sure_of_both(planks: Spares, boards: Spares, rules: OrderRules) -> float:
    """Give the chance that planks and boards are enough, both together."""
    import numpy as np  # noqa: PLC0415 - with scipy

    sure, lacking = _sure(planks, rules.spoilt_part)
    if not boards.for_planks:
        return sure * _sure(boards, rules.defect_part)[0]
    of, taken = dict(boards.for_planks), dict[Size, Floats]()
    for size, own in lacking.items():
        more = _taken(own, 1 - rules.defect_part)
        board = of.get(size, size)
        taken[board] = np.convolve(taken.get(board, [1.0]), more)
    return _sure(boards, rules.defect_part, taken)[0]


def _sure(
    spares: Spares, rate: float, taken: Mapping[Size, Floats] | None = None
) -> tuple[float, dict[Size, Floats]]:
    """Give the chance that no pool lacks a good one, the greater serving for the smaller.

    What a pool and those it serves use up is reckoned as a whole from the smallest on. Besides, of
    every size that hands on to no spare at all, the chances of 0, 1, 2 ... lacking. `taken` : those
    of so many more being taken of the pools of a size.
    """
    import numpy as np  # noqa: PLC0415 - with scipy

    most = sum(pool.spare.count for pool in spares.pools) + _LOOKED_AT
    passed = [np.eye(1, most)[0] for _ in spares.pools]
    sure, lacking = 1.0, {}
    for pool, over in zip(spares.pools, passed, strict=True):
        wanted = np.convolve(over, _failures(pool.count, most, rate))
        wanted = np.convolve(wanted, (taken or {}).get(pool.spare.size, [1.0]))[:most]
        lacks = np.zeros(most)
        np.add.at(lacks, np.maximum(np.arange(most) - pool.spare.count, 0), wanted)
        if pool.serves is not None and any(by.spare.count for by in _above(spares, pool)):
            passed[pool.serves][:] = np.convolve(passed[pool.serves], lacks)[:most]
        else:
            sure *= float(lacks[0])
            if wanted[0] < 1:
                lacking[pool.spare.size] = lacks
    return sure, lacking


def _above(spares: Spares, pool: Pool) -> Iterable[Pool]:
    """Give the pools whose spares serve for one's, and for theirs."""
    while pool.serves is not None:
        pool = spares.pools[pool.serves]
        yield pool


def _taken(lacking: Floats, good: float) -> Floats:
    """Give the chances of so many boards being taken till as many are good as planks lack."""
    import numpy as np  # noqa: PLC0415 - with scipy

    taken = lacking[0] * np.eye(1, _LOOKED_AT)[0]
    for many in range(1, min(_LOOKED_AT, len(lacking))):
        taken[many:] += lacking[many] * _failures(many, _LOOKED_AT - many, 1.0 - good)
    return np.asarray(taken, dtype=np.float64)


def _failures(count: int, most: int, rate: float) -> Floats:
    """Give the chances of 0 to `most` - 1 failures before `count` good ones.

    Each is a difference of two values of the incomplete beta function.
    """
    import numpy as np  # noqa: PLC0415 - with scipy
    from scipy.special import betainc  # noqa: PLC0415 - heavy

    if not count:
        return np.asarray(np.eye(1, most)[0])
    return np.diff(betainc(count, np.arange(1, most + 1), 1.0 - rate), prepend=0.0)
