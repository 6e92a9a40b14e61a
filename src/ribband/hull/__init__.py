"""Hull: the fair surface between rabbet and sheer, and girths along it."""

from __future__ import annotations

from collections.abc import Callable

from ribband.findings import Finding
from ribband.hull.model import Doubt, GirthLines, Hull, SideDifference, Surface
from ribband.hull.rules import HullRules
from ribband.survey.model import Survey

__all__ = [
    "Doubt",
    "GirthLines",
    "Hull",
    "HullRules",
    "SideDifference",
    "Surface",
    "check",
    "fit",
]


def fit(
    survey: Survey,
    rules: HullRules | None = None,
    progress: Callable[[float, str], None] | None = None,
) -> Hull:
    """Fair the hull and name doubtful readings; see `ribband.hull.solve`.

    Raises
    ------
    InputError : too little was measured to make a hull of
    NotConverged : the fairing equations have no answer
    """
    from ribband.hull import solve  # noqa: PLC0415 - heavy libraries load when needed

    return solve.fit(survey, rules, progress)


def check(hull: Hull, survey: Survey, rules: HullRules | None = None) -> tuple[Finding, ...]:
    """Check a hull apart from what made it; see `ribband.hull.check`."""
    from ribband.hull import check as checking  # noqa: PLC0415

    return checking.check(hull, survey, rules or HullRules())
