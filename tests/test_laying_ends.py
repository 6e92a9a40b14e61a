"""What is sound of a board's ends: nothing kept is narrower than an end must be, wherever cut."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon

import made_timber
from ribband.timber.laying.ends import broken


@pytest.mark.parametrize("seed", range(4))
def test_outside_what_is_broken_a_board_is_sound_as_broad_as_was_asked(seed: int) -> None:
    """By another library, a millimetre beside every end of what is broken and anywhere else."""
    rng = np.random.default_rng(seed)
    tried = 0
    for board in made_timber.boards(25, seed=seed + 40):
        bad = broken(board, 150.0)
        x = np.concatenate([
            rng.uniform(10.0, float(board.outline[:, 0].max()) - 10.0, 20),
            [at for first, last in bad for at in (first - 1.0, last + 1.0)],
        ])  # fmt: skip
        for at in x:
            if any(first <= at <= last for first, last in bad):
                continue
            flawed = [Polygon(f.ring) for f in board.flaws]
            if not any(p.bounds[0] < at < p.bounds[2] for p in flawed):
                continue  # where no flaw reaches nothing is asked
            wood = Polygon(board.outline).intersection(LineString([(at, -1e4), (at, 1e4)]))
            for flaw in flawed:
                wood = wood.difference(flaw)
            parts = getattr(wood, "geoms", [wood])
            assert max(part.length for part in parts) >= 150.0 - 0.5, (board.name, at)
            tried += 1
    assert tried > 20
