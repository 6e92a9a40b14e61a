"""Making the step of what is left: the log, seams as hung, and the lining anew."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ribband.app.making import Bench
    from ribband.findings import Finding
    from ribband.record import Left, Planned

__all__ = ["divide_what_is_left", "planned_of"]


def planned_of(bench: Bench) -> Planned:
    """Gather what was planned, with the rules and wishes it was planned by."""
    from ribband.app.making import rows_of
    from ribband.app.wishes import spelt
    from ribband.lining import read_wishes
    from ribband.record import Planned

    ways, layout, _ = bench.butts
    rows = spelt(rows_of(bench.forms, "lining", bench.unit), bench.hull.frames.names)
    return Planned(
        *(bench.hull, bench.lining, ways, layout, bench.made["planks"].result.planks),
        *(bench.rules["lining"], bench.rules["butts"], read_wishes(rows)),
    )


def divide_what_is_left(bench: Bench) -> tuple[Left, tuple[Finding, ...]]:
    """Set what was measured against the plan and divide what is left."""
    from ribband.app.making import rows_of
    from ribband.app.record_forms import placed_rows
    from ribband.record import Stuff, read_hung, what_is_left
    from ribband.shop import read_log
    from ribband.timber import species_named

    names = bench.hull.frames.names
    points = read_hung(placed_rows(bench.forms, "as_hung", bench.unit, names))
    log = read_log(rows_of(bench.forms, "log", bench.unit))
    species = species_named(bench.survey.particulars.species)
    stuff = Stuff(bench.rules["planks"], bench.rules["shapes"], species)
    left = what_is_left(
        planned_of(bench), bench.butts[2], log, points, stuff, bench.rules["record"]
    )
    return left, left.findings
