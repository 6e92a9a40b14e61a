"""Making the step of what is left: the log, seams as hung, and the lining anew."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ribband.app.plan.making import Bench
    from ribband.findings import Finding
    from ribband.record import HungPoint, Left, Planned, SideLeft, Stands
    from ribband.shop.work.forms import Logged

__all__ = ["divide_what_is_left", "planned_of", "see_what_stands"]


def planned_of(bench: Bench) -> Planned:
    """Gather what was planned, with the rules and wishes it was planned by."""
    from ribband.app.entering.wishes import spelt
    from ribband.app.plan.making import rows_of
    from ribband.lining import read_wishes
    from ribband.record import Planned

    ways, layout, _ = bench.butts
    rows = spelt(rows_of(bench.forms, "lining", bench.unit), bench.hull.frames.names)
    return Planned(
        *(bench.hull, bench.lining, ways, layout, bench.made["planks"].result.planks),
        *(bench.rules["lining"], bench.rules["butts"], read_wishes(rows)),
    )


def see_what_stands(bench: Bench) -> Stands:
    """See which planks hang and are cut, and divide what is left where a seam was measured.

    Before a seam was measured the log does not matter, and is not read; nor are log and seams of
    a repair, which are its new planks' own.
    """
    from ribband.app.plan.log_keys import renews, was_measured
    from ribband.app.plan.timbers import planking_timber
    from ribband.record import Stands, Stuff, sides_left

    species = planking_timber(bench)
    rules = bench.rules
    stuff = Stuff(rules["planks"], rules["shapes"], species, rules["relining"])
    seen = was_measured(bench.forms.get("as_hung")) and not renews(bench.forms)
    log, points = _written(bench) if seen else ((), ())
    before: Stands | None = bench.before("stands")
    was = before.sides if before else ()
    return Stands(sides_left(planned_of(bench), bench.butts[2], log, points, stuff, was))


def divide_what_is_left(bench: Bench) -> tuple[Left, tuple[Finding, ...]]:
    """Set what was measured against the plan, and look over what is left; of a repair, its own."""
    from ribband.app.plan.alone import repair_alone
    from ribband.record import hung_in_the_air, left_of_repair, left_told

    log, points = _written(bench)
    if (repair := repair_alone(bench)) is not None:
        left = left_of_repair(bench.hull, repair, log, points, bench.rules["record"])
        return left, left.findings
    stands: Stands = bench.made["stands"].result
    sides = stands.sides if stands.anew else _as_logged(bench, log)
    planned = planned_of(bench)
    left = left_told(planned, sides, log, points, bench.rules["record"])
    odd = hung_in_the_air(planned.planks, planned.lining, left.states)
    return left, (*left.findings, *odd)


def _as_logged(bench: Bench, log: Sequence[Logged]) -> tuple[SideLeft, ...]:
    """Give the sides by the log as it is now: what is kept of them without a seam is older."""
    from ribband.record import Stuff, sides_left

    stuff = Stuff(bench.rules["planks"], bench.rules["shapes"])
    return sides_left(planned_of(bench), bench.butts[2], log, (), stuff)


def _written(bench: Bench) -> tuple[tuple[Logged, ...], tuple[HungPoint, ...]]:
    """Read what was written at the hull: the log and the seams measured."""
    from ribband.app.entering.record_forms import placed_rows
    from ribband.app.plan.making import rows_of
    from ribband.record import read_hung
    from ribband.shop import read_log

    names = bench.hull.frames.names
    points = read_hung(placed_rows(bench.forms, "as_hung", bench.unit, names))
    return read_log(rows_of(bench.forms, "log", bench.unit)), points
