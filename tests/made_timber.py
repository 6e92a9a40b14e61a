"""Planks and boards from formulas, so that laying can be tried without a hull or a yard.

`planks(n)` gives n shapes, each for a port and a starboard plank, as a round-bilged launch has
them: 1.8 to 6 m long, 105 to 190 mm wide amidships, the middle line an arc with a sweep of 5 to
120 mm (more in longer planks, some with a reverse at one end), the width falling off towards one
or both ends by a tenth to a half. `boards(n)` gives n boards sawn through and through: 3 to 7.5 m,
300 to 560 mm wide at the butt and a tenth to a third narrower at the top, edges wavy by some
millimetres, a third of them crooked by up to 60 mm; each has a few knots, sap along part of an
edge, or a check in one end. Nothing is taken from a real vessel or pile.
"""

from __future__ import annotations

import numpy as np

from ribband.timber.board_model import Board, Flaw, Piece


def plank_outline(
    length: float, width: float, sweep: float, fore: float, aft: float, reverse: float = 0.0
) -> np.ndarray:
    """Give a plank's ring: lower edge forward to aft, upper back; ends square to the middle."""
    s = np.linspace(0.0, 1.0, 41)
    middle = sweep * (4 * s * (1 - s)) + reverse * np.sin(2 * np.pi * s) - sweep / 2
    half = width / 2 * (1 - fore * (1 - s) ** 2.2) * (1 - aft * s**2.2)
    lower = np.stack([length * s, middle - half], axis=1)
    upper = np.stack([length * s, middle + half], axis=1)
    return np.concatenate([lower, upper[::-1]])


def planks(
    shapes: int = 85, seed: int = 1, allowance: float = 4.0, end_allowance: float = 40.0
) -> tuple[Piece, ...]:
    """Give shapes with a port and a starboard plank each."""
    rng = np.random.default_rng(seed)
    pieces = []
    for k in range(shapes):
        length = float(np.clip(rng.normal(3900, 1000), 1800, 6000))
        hood = rng.random() < 0.35
        outline = plank_outline(
            length,
            float(rng.uniform(105, 190)),
            float(rng.uniform(5, 120) * (length / 6000) ** 1.3),
            float(rng.uniform(0.25, 0.5) if hood else rng.uniform(0.02, 0.15)),
            float(rng.uniform(0.02, 0.2)),
            float(rng.uniform(-12, 12)),
        )
        name = f"{k // 4 + 1}-{k % 4 + 1}"
        pieces.append(
            Piece(name, outline, (f"P{name}", f"S{name}"), 50.0, allowance, end_allowance)
        )
    return tuple(pieces)


def board(rng: np.random.Generator, name: str) -> Board:
    """Give one uneven board."""
    length, butt = float(rng.uniform(3000, 7500)), float(rng.uniform(300, 560))
    s = np.linspace(0.0, 1.0, 25)
    width = butt * (1 - rng.uniform(0.1, 0.33) * s)
    crook = (
        (rng.uniform(-60, 60) if rng.random() < 0.33 else rng.uniform(-12, 12)) * 4 * s * (1 - s)
    )
    wave = [
        sum(rng.normal(0, 3) * np.sin(2 * np.pi * (f * s + rng.random())) for f in (2, 4, 7))
        for _ in range(2)
    ]
    lower = np.stack([length * s, crook - width / 2 + wave[0]], axis=1)
    upper = np.stack([length * s, crook + width / 2 + wave[1]], axis=1)
    flaws = [*knots(rng, length, lower, upper), *sap(rng, lower, upper), *check(rng, lower, upper)]
    return Board(name, np.concatenate([lower, upper[::-1]]), 50.0, flaws=tuple(flaws))


def knots(
    rng: np.random.Generator, length: float, lower: np.ndarray, upper: np.ndarray
) -> list[Flaw]:
    """Give none to three round knots anywhere."""
    found = []
    for _ in range(int(rng.integers(0, 4))):
        x, part = rng.uniform(0.05, 0.95) * length, rng.uniform(0.0, 1.0)
        low, high = (np.interp(x, e[:, 0], e[:, 1]) for e in (lower, upper))
        turn = np.linspace(0, 2 * np.pi, 9)[:-1]
        middle = np.array([x, low + part * (high - low)])
        ring = middle + rng.uniform(12, 40) * np.stack([np.cos(turn), np.sin(turn)], axis=1)
        found.append(Flaw("knot", ring))
    return found


def sap(rng: np.random.Generator, lower: np.ndarray, upper: np.ndarray) -> list[Flaw]:
    """Give sap along part of one edge on half the boards."""
    if rng.random() < 0.5:
        return []
    edge, inward = (lower, 1) if rng.random() < 0.5 else (upper, -1)
    first = int(rng.integers(0, 12))
    part = edge[first : first + int(rng.integers(5, 13))]
    depth = rng.uniform(15, 40)
    return [Flaw("sap", np.concatenate([part, part[::-1] + np.array([0.0, inward * depth])]))]


def check(rng: np.random.Generator, lower: np.ndarray, upper: np.ndarray) -> list[Flaw]:
    """Give a check in from the butt on a fifth of the boards."""
    if rng.random() > 0.2:
        return []
    y = rng.uniform(lower[0, 1] + 60, upper[0, 1] - 60)
    deep = rng.uniform(100, 500)
    return [Flaw("check", np.array([[0, y - 5], [deep, y], [deep, y + 5], [0, y + 8]]))]


def boards(count: int = 100, seed: int = 2) -> tuple[Board, ...]:
    """Give uneven boards."""
    rng = np.random.default_rng(seed)
    return tuple(board(rng, f"A{k + 1}") for k in range(count))
