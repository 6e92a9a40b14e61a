"""The rules of fairing: what counts as close enough, and when a reading is doubted."""

from __future__ import annotations

from dataclasses import dataclass

from ribband.rulebook import rule

__all__ = ["FEWER", "HullRules"]

FEWER = 0.8  # added to doubt_times along a line, where a reading has fewer fellows


@dataclass(frozen=True, slots=True)
class HullRules:
    """How the surface is faired and what is doubted."""

    tolerance_mm: float = rule(
        3.0,
        0.1,
        100.0,
        "mm",
        "Readings within this of the fair surface are never doubted.",
        "house",
    )
    doubt_steps: float = rule(
        1.0,
        0.0,
        16.0,
        "steps of the unit",
        "Nor is a reading doubted for less than so many of the least steps it is written in.",
        "house",
    )
    doubt_times: float = rule(
        3.2,
        2.0,
        10.0,
        "times the usual error",
        "A reading is doubted when it lies this many times further out than its fellows do.",
        "house",
    )
    sides_mm: float = rule(
        12.0, 1.0, 200.0, "mm", "Sides that differ by more than this are reported.", "house"
    )
    sliding: float = rule(
        0.15,
        0.01,
        1.0,
        "",
        "Weight of an error along the surface against one square to it.",
        "calculated",
    )
    lines: int = rule(61, 21, 241, "lines", "Lines across the planking for lining out.", "house")
    samples: int = rule(65, 17, 129, "points", "Points along each line.", "house")
