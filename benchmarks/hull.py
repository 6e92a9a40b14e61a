"""Fairing: speed, accuracy and blunders found, on hulls made from formulas."""

from __future__ import annotations

import sys
import time
from importlib import import_module
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np

from benchmarks.table import Row
from ribband.hull import Hull, fit
from ribband.hull.check import distances
from ribband.hull.edges import fair_edges
from ribband.hull.fairrun import Judge
from ribband.hull.sections import edge_stations
from ribband.survey.model import Survey

__all__ = ["rows"]

_SEEDS = range(1, 9)


def _made() -> tuple[Any, Any]:
    sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
    return import_module("made_hulls"), import_module("made_surveys")


def _seconds(survey: Survey, runs: int = 4) -> tuple[float, Hull]:
    best, hull = np.inf, None
    for _ in range(runs):
        begin = time.process_time()
        hull = fit(survey)
        best = min(best, time.process_time() - begin)
    assert hull is not None
    return best, hull


def _error(made_hulls: Any, hull: Hull) -> float:
    assert hull.surface is not None
    rng = np.random.default_rng(0)
    true = made_hulls.FormulaSurface(made_hulls.by_girth(made_hulls.launch_shape()))
    points = true.point(rng.random(800), rng.random(800))
    return float(np.sqrt(np.mean(distances(hull.surface, points) ** 2)))


def _blunders(made_surveys: Any, hulls: int = 12) -> tuple[float, float]:
    found = false = put = 0
    for seed in range(hulls):
        survey, bad = made_surveys.surveyed(60, blunders=15, seed=40 + seed)
        named = {d.key for d in fit(survey).doubts}
        found, put = found + len(named & set(bad)), put + len(bad)
        false += len(named - set(bad))
    return 100 * found / put, false / hulls


def _corner(made_hulls: Any, made_surveys: Any) -> float:
    """Give how far off the forefoot's corner is of a launch whose rabbet turns 20 degrees there."""
    shape = made_hulls.by_girth(made_hulls.wedge_shape())
    true = made_hulls.FormulaSurface(shape).point(0.0, 0.0)
    off = []
    for seed in (1, 2, 3):
        survey, _ = made_surveys.surveyed(24, seed=seed, shape=shape, x=(300.0, 13700.0))
        rabbet, sheer = (edge_stations(survey.readings, role, {}) for role in ("rabbet", "sheer"))
        edges = fair_edges(rabbet, sheer, survey.ends, Judge(4.0, 3.0))
        off.append(float(np.linalg.norm(edges.keel[0] - true)))
    return max(off)


def rows() -> list[Row]:
    """Give the figures."""
    made_hulls, made_surveys = _made()
    surveys = [made_surveys.surveyed(60, blunders=15, seed=seed)[0] for seed in _SEEDS]
    seconds = sorted(_seconds(survey)[0] for survey in surveys)
    few = _error(made_hulls, fit(made_surveys.surveyed(24, seed=2)[0]))
    many = _error(made_hulls, fit(made_surveys.surveyed(60, seed=2)[0]))
    found, false = _blunders(made_surveys)
    exact = fit(made_surveys.surveyed(60, noise=0.0)[0])
    return [
        Row(
            "fit, 60 frames x 16 points, 15 blunders",
            seconds[-1],
            "s",
            0.7,
            f"the slowest of {len(_SEEDS)} surveys",
        ),
        Row("the same, the usual time", median(seconds), "s", 0.7, "their median"),
        Row("true error, 24 frames, 3 mm of noise", few, "mm rms", 2.0),
        Row("true error, 60 frames, 3 mm of noise", many, "mm rms", 1.3),
        Row("true error, 60 frames, exact readings", _error(made_hulls, exact), "mm rms"),
        Row(
            "blunders of 15 mm found, 60 frames",
            found,
            "%",
            87.0,
            "12 hulls, 180 blunders",
            at_least=True,
        ),
        Row("good readings doubted, of 900", false, "a hull"),
        Row(
            "forefoot's corner of the fast launch, 24 frames",
            _corner(made_hulls, made_surveys),
            "mm",
            5.0,
            "the worst of 3 surveys; a measured point",
        ),
    ]
