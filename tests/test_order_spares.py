"""Spares of the order: how many over, of which sizes, and how sure they are."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

from ribband.timber.order.spares import Lot, chance, chance_of, spares, spares_needed

CHANCES = list(itertools.product((1, 7, 60), (0, 2, 9), (0.02, 0.2)))


@pytest.mark.parametrize(("count", "spare", "rate"), CHANCES)
def test_the_chance_is_the_binomial_s(count: int, spare: int, rate: float) -> None:
    from scipy.stats import binom  # noqa: PLC0415 - heavy, and read by every worker

    apart = float(binom.sf(count - 1, count + spare, 1 - rate))
    assert chance(count, spare, rate) == pytest.approx(apart)


def test_one_spare_fewer_would_not_do() -> None:
    for count, rate, sure in itertools.product((5, 40, 170), (0.01, 0.1), (0.8, 0.99)):
        k = spares_needed(count, rate, sure)
        assert chance(count, k, rate) >= sure
        assert k == 0 or chance(count, k - 1, rate) < sure


def test_the_normal_curve_is_near_for_many() -> None:
    """n + k planks at rate p lose (n + k) p on the whole, sqrt((n + k) p (1 - p)) either way."""
    k = spares_needed(1000, 0.05, 0.95)
    whole = 1000 + k
    assert k == pytest.approx(whole * 0.05 + 1.645 * math.sqrt(whole * 0.05 * 0.95), abs=1.5)


def own_size(size: tuple[float, float, float]) -> list[Lot]:
    return [Lot(size, 1, math.prod(size))]


THREE = [
    Lot((4.0, 0.15, 1.0), 30, 0.6),
    Lot((5.0, 0.15, 1.0), 20, 0.75),
    Lot((6.0, 0.3, 1.0), 9, 1.8),
]


def test_spares_are_enough_for_all_lots_together_by_throwing_dice() -> None:
    """What fails takes the smallest spare left that will do, one after the other as it comes."""
    found = spares(THREE, 0.08, 0.9, own_size)
    rng = np.random.default_rng(3)
    enough = 0
    for _ in range(4000):
        left = [pool.spare.count for pool in found.pools]
        wants = [k for k, pool in enumerate(found.pools) for _ in range(pool.count)]
        rng.shuffle(wants)
        good = True
        for k in wants:
            while good and rng.random() < 0.08:
                able = [
                    i for i, pool in enumerate(found.pools)
                    if left[i] and all(np.array(pool.spare.size) >= found.pools[k].spare.size)
                ]  # fmt: skip
                good = bool(able)
                if able:
                    left[able[0]] -= 1
        enough += good
    assert found.chance >= 0.9
    assert enough / 4000 == pytest.approx(found.chance, abs=0.015)
    assert sum(pool.count for pool in found.pools) == 59


@pytest.mark.parametrize("seed", range(6))
def test_spares_are_as_cheap_as_any_numbers_of_the_same_sizes(seed: int) -> None:
    """Against every number of each up to six; and never dearer than the greatest for all."""
    rng = np.random.default_rng(seed)
    sizes = [(float(rng.integers(2, 8)), float(rng.integers(1, 5)) / 10, 1.0) for _ in range(3)]
    lots = [Lot(size, int(rng.integers(2, 25)), math.prod(size)) for size in sizes]
    found = spares(lots, 0.05, 0.9, own_size)
    cost = sum(pool.spare.cost * pool.spare.count for pool in found.pools)
    other = (
        [
            replace(p, spare=replace(p.spare, count=k))
            for p, k in zip(found.pools, tried, strict=True)
        ]
        for tried in itertools.product(range(7), repeat=len(found.pools))
    )
    costs = [(sum(pool.spare.cost * pool.spare.count for pool in pools), pools) for pools in other]
    cheaper = [pools for own, pools in costs if own < cost * 0.95]
    assert all(chance_of(pools, 0.05) < 0.9 for pools in cheaper)
    greatest = math.prod(max(size[way] for size in sizes) for way in range(3))
    assert cost <= greatest * spares_needed(sum(lot.count for lot in lots), 0.05, 0.9) + 1e-9


def test_no_failures_need_no_spares_and_none_to_be_had_is_said() -> None:
    lots = [Lot((4.0, 0.15, 1.0), 30, 0.6)]
    some = spares(lots, 0.0, 0.99, own_size)
    assert sum(pool.spare.count for pool in some.pools) == 0
    none = spares(lots, 0.05, 0.99, lambda _: ())
    assert none.chance == pytest.approx(0.95**30)
    for rate, sure in ((-0.1, 0.9), (0.95, 0.9), (0.1, 1.0)):
        with pytest.raises(ValueError, match="a rate"):
            spares_needed(3, rate, sure)
