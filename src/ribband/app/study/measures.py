"""What alternatives are compared by: figures of a plan, each with the way in which it is better.

*Measure*: a name, what it says, its kind (so that it can be written in the job's unit), whether
less or more of it is better, and how it is read from a run. A measure whose step was not made is
None and is said to be not known; it is never taken for nought.

Not checked here: that a measure matters to the yard; that is the yard's to say.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from ribband.app.plan.runner import Run
from ribband.findings import Severity
from ribband.units import format_length, format_volume, format_weight

__all__ = ["MEASURES", "Measure", "measured", "measures_said", "non_dominated"]

POINT_MM = 1.0  # narrower is a strake that ends in a point
Better = Literal["less", "more"]


@dataclass(frozen=True, slots=True)
class Measure:
    """A figure to compare by; `kind` is "mm", "m3", "kg", "part" or "" for a number."""

    name: str
    says: str
    kind: str
    better: Better
    read: Callable[[Run], float | None]

    def written(self, value: float | None, unit: str) -> str:
        """Write it for the shipwright.

        >>> MEASURES["widest"].written(200.0, "mm"), MEASURES["strakes"].written(None, "mm")
        ('200 mm', '')
        """
        if value is None:
            return ""
        if self.kind in _WRITTEN:
            return _WRITTEN[self.kind](value, unit)
        return f"{value:.0%}" if self.kind == "part" else f"{round(value, 4):g}"


_WRITTEN: dict[str, Callable[[float, str], str]] = {
    "mm": format_length,
    "m3": format_volume,
    "kg": format_weight,
}


def _strakes(done: Run) -> float | None:
    lining = done.result("lining")
    return None if lining is None else float(sum(not s.stealer for s in lining.strakes))


def _stealers(done: Run) -> float | None:
    lining = done.result("lining")
    return None if lining is None else float(sum(s.stealer for s in lining.strakes))


def _widths(done: Run) -> Any:
    import numpy as np

    lining = done.result("lining")
    if lining is None:
        return None
    width = lining.full_width_mm
    return width[np.isfinite(width) & (np.nan_to_num(width) > POINT_MM)]


def _widest(done: Run) -> float | None:
    width = _widths(done)
    return None if width is None or not width.size else float(width.max())


def _narrowest(done: Run) -> float | None:
    width = _widths(done)
    return None if width is None or not width.size else float(width.min())


def _sweep(done: Run) -> float | None:
    lining = done.result("lining")
    return None if lining is None else 1000.0 * float(lining.sweep_rms_per_m)


def _layouts(done: Run) -> list[Any]:
    return [layout for layout in (done.result("butts") or ())[1:] if layout]


def _butts(done: Run) -> float | None:
    layouts = _layouts(done)
    return float(sum(len(own.butts) for own in layouts)) if layouts else None


def _goal(name: str) -> Callable[[Run], float | None]:
    def read(done: Run) -> float | None:
        goals = [goal for own in _layouts(done) for goal in own.goals if goal.name == name]
        return float(sum(goal.value for goal in goals)) if goals else None

    return read


def _open_gap(done: Run) -> float | None:
    goals = [goal for own in _layouts(done) for goal in own.goals if goal.name == "butts"]
    return float(sum(goal.value - goal.bound for goal in goals)) if goals else None


def _planks(done: Run) -> float | None:
    planks = done.result("planks")
    return None if planks is None else float(len(planks.planks))


def _longest(done: Run) -> float | None:
    planks = done.result("planks")
    lengths = [plank.length_mm for plank in planks.planks] if planks else []
    return max(lengths) if lengths else None


def _total(name: str) -> Callable[[Run], float | None]:
    def read(done: Run) -> float | None:
        planks = done.result("planks")
        value = getattr(planks.totals[0], name) if planks and planks.totals else None
        return None if value is None else float(value)

    return read


def _of_shapes(name: str) -> Callable[[Run], float | None]:
    def read(done: Run) -> float | None:
        shapes = [own for own in (done.result("shapes") or ()) if own]
        values = [float(getattr(shape, name)) for own in shapes for shape in own.shapes]
        return max(values) if values else None

    return read


def _used(done: Run) -> float | None:
    laid = done.result("laying")
    return None if laid is None or not laid.laying.cuts else float(laid.laying.used_m3)


def _unlaid(done: Run) -> float | None:
    laid = done.result("laying")
    return None if laid is None else float(len(laid.laying.unlaid))


def _yield(done: Run) -> float | None:
    laid = done.result("laying")
    return None if laid is None or not laid.laying.cuts else float(laid.laying.yield_part)


def _order(name: str) -> Callable[[Run], float | None]:
    def read(done: Run) -> float | None:
        bought = done.result("order")
        if bought is None or bought.order is None:
            return None
        value = getattr(bought.order, name)
        return None if value is None else float(value)

    return read


def _hours(done: Run) -> float | None:
    worked = done.result("work")
    return None if worked is None else float(worked.plan.hours)


def _days(done: Run) -> float | None:
    worked = done.result("work")
    return None if worked is None else worked.plan.end / worked.plan.days.slots


def _counted(severity: Severity) -> Callable[[Run], float | None]:
    return lambda done: float(sum(f.severity is severity for f in done.findings))


MEASURES: dict[str, Measure] = {
    own.name: own
    for own in (
        Measure("strakes", "strakes a side", "", "less", _strakes),
        Measure("stealers", "stealers a side", "", "less", _stealers),
        Measure("widest", "widest strake", "mm", "less", _widest),
        Measure("narrowest", "narrowest strake, points left out", "mm", "more", _narrowest),
        Measure("sweep", "sweep of the seams, root mean square, per km", "", "less", _sweep),
        Measure("butts", "butts, of a side or of both where they differ", "", "less", _butts),
        Measure("gap", "butts over the proved bound", "", "less", _open_gap),
        Measure("relaxed", "butt rules relaxed", "", "less", _goal("rules relaxed")),
        Measure("planks", "planks", "", "less", _planks),
        Measure("longest", "longest plank", "mm", "less", _longest),
        Measure("timber", "timber, rough, with allowances", "m3", "less", _total("rough_m3")),
        Measure("weight", "weight, rough", "kg", "less", _total("rough_kg")),
        Measure("blank", "widest blank", "mm", "less", _of_shapes("blank_width_mm")),
        Measure("bow", "most sweep of a plank", "mm", "less", _of_shapes("sweep_mm")),
        Measure("used", "timber used of the pile", "m3", "less", _used),
        Measure("unlaid", "planks without a board", "", "less", _unlaid),
        Measure("yield", "yield of the boards cut into", "part", "more", _yield),
        Measure("bought", "timber to buy", "m3", "less", _order("volume_m3")),
        Measure("price", "price of what is bought", "", "less", _order("price")),
        Measure("hours", "man-hours", "", "less", _hours),
        Measure("days", "working days", "", "less", _days),
        Measure("faults", "faults found", "", "less", _counted(Severity.FAULT)),
        Measure("cautions", "cautions found", "", "less", _counted(Severity.CAUTION)),
    )
}


def measured(done: Run) -> dict[str, float | None]:
    """Take every measure of a run; None where its step was not made."""
    return {name: own.read(done) for name, own in MEASURES.items()}


def measures_said() -> str:
    """List the measures in one line of words."""
    return ", ".join(MEASURES)


def non_dominated(
    points: Sequence[Mapping[str, float | None]], goals: Mapping[str, Better]
) -> tuple[bool, ...]:
    """Tell which points no other is better than in one goal and as good in all.

    A point that lacks a measure is never marked. Of equal points all are.

    >>> non_dominated([{"a": 1, "b": 3}, {"a": 2, "b": 2}, {"a": 2, "b": 3}],
    ...               {"a": "less", "b": "less"})
    (True, True, False)
    """
    own = [_turned(point, goals) for point in points]
    return tuple(
        mine is not None and not any(_beats(other, mine) for other in own if other is not None)
        for mine in own
    )


def _turned(
    point: Mapping[str, float | None], goals: Mapping[str, Better]
) -> tuple[float, ...] | None:
    """Turn a point so that less is better throughout."""
    values = [(point.get(name), better) for name, better in goals.items()]
    if any(value is None for value, _ in values):
        return None
    return tuple(v if better == "less" else -v for v, better in values if v is not None)


def _beats(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one != other and all(a <= b for a, b in zip(one, other, strict=True))
