"""Making the steps of hanging and of the plan of work: order, plan, forecast.

The plan of what is left is searched for as long as the rule `work.seconds` says; more is asked for
with a verb. The day it begins is the rule's, the day after the last logged, or the next Monday.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from ribband.survey.rows import Form, Row

if TYPE_CHECKING:
    from ribband.app.plan.making import Bench, Tell
    from ribband.findings import Finding
    from ribband.record import Repair
    from ribband.shop.hanging.model import Hanging
    from ribband.shop.steaming.model import Steaming
    from ribband.shop.whole import Shop
    from ribband.shop.work.model import Lack
    from ribband.shop.work.whole import Worked, Yard

__all__ = ["hang_in_order", "plan_the_work", "work_looks", "yard_of"]

BOX = "steam box"


def yard_of(forms: Mapping[str, Form], unit: str) -> Yard:
    """Read the forms `rates`, `crew`, `gear`, `calendar` and `log`.

    Raises
    ------
    InputError : every cell that cannot be used
    """
    from ribband.app.plan.making import rows_of
    from ribband.shop import read_calendar, read_crew, read_gear, read_log, read_rates
    from ribband.shop.work.gear import there_is
    from ribband.shop.work.whole import Yard

    gear, lacking = there_is(read_gear(rows_of(forms, "gear", unit)))
    return Yard(
        read_rates(rows_of(forms, "rates", unit)),
        read_crew(rows_of(forms, "crew", unit)),
        gear,
        read_calendar(rows_of(forms, "calendar", unit)),
        read_log(rows_of(forms, "log", unit)),
        lacking=lacking,
    )


def work_looks(forms: Mapping[str, Form], unit: str) -> Iterator[Callable[[], object]]:
    """Give the readings of the forms of the plan of work as its step will read them, one by one.

    Each raises InputError of every cell of its form that cannot be used.
    """
    from ribband.app.plan.making import rows_of
    from ribband.shop import read_calendar, read_crew, read_gear, read_log, read_rates

    readers: dict[str, Callable[[Sequence[Row]], object]] = {
        "rates": read_rates, "crew": read_crew, "gear": read_gear, "calendar": read_calendar,
        "log": read_log,
    }  # fmt: skip
    for name, read in readers.items():
        yield lambda name=name, read=read: read(rows_of(forms, name, unit))  # type: ignore[misc]


def hang_in_order(bench: Bench) -> tuple[Hanging, tuple[Finding, ...]]:
    """Put the planks as they stand in their order: those that hang first, as they were hung.

    Those of a repair are hung turn by turn between old ones.
    """
    from ribband.app.plan.alone import repair_alone
    from ribband.app.plan.log_keys import hung_in_turn
    from ribband.app.plan.making import rows_of
    from ribband.shop import check_hanging, order_hanging, read_log, shapes_by_plank

    if (repair := repair_alone(bench)) is not None:
        return _hung_in_turns(repair)
    now = bench.present
    planks, starboard = now.planks.planks, now.starboard_shapes
    own = shapes_by_plank(planks, now.shapes.shapes, starboard.shapes if starboard else None)
    rules = bench.rules["hanging"]
    hung = hung_in_turn(read_log(rows_of(bench.forms, "log", bench.unit)))
    hanging = order_hanging(bench.hull, bench.lining, planks, own, rules, hung)
    return hanging, (*hanging.findings, *check_hanging(bench.lining, planks, hanging, rules))


def _hung_in_turns(repair: Repair) -> tuple[Hanging, tuple[Finding, ...]]:
    from ribband.record import check_turns_kept, hang_in_turns

    hanging = hang_in_turns(repair)
    return hanging, check_turns_kept(repair, hanging)


def plan_the_work(
    bench: Bench, tell: Tell, seconds: float | None = None
) -> tuple[Worked, tuple[Finding, ...]]:
    """Plan what is left to do of hanging the planks."""
    from ribband.app.plan.shop_steps import planking_of
    from ribband.record.log import reached
    from ribband.shop import measures
    from ribband.shop.work.whole import work_out

    rules = bench.rules["work"]
    yard = yard_of(bench.forms, bench.unit)
    shop: Shop = bench.made["shop"].result
    steaming = shop.steaming
    gear, lacking = _in_places(bench, steaming)
    void = bench.present.new - reached(yard.log).keys()
    yard = replace(yard, gear=gear, lacking=lacking, void=void)
    made = work_out(
        measures(planking_of(bench), steaming, rules),
        bench.made["hanging"].result,
        yard,
        rules,
        bench.rules["hanging"].level,
        datetime.now(UTC).date().isoformat(),
        seconds,
        tell,
    )
    told = (*_in_no_box(made, steaming), *_cooling(made, shop), *_too_few_to_lift(made, shop, yard))
    return replace(made, findings=(*made.findings, *told)), (*made.findings, *told)


def _in_places(bench: Bench, steaming: Steaming) -> tuple[dict[str, int], tuple[Lack, ...]]:
    """Count the gear, the steam boxes in planks at once."""
    from ribband.app.plan.making import rows_of
    from ribband.shop import read_gear
    from ribband.shop.steaming.boxes import places_each, places_of
    from ribband.shop.work.gear import there_is

    rows = read_gear(rows_of(bench.forms, "gear", bench.unit))
    each = dict(zip((fit.box.row for fit in steaming.boxes), places_each(steaming.boxes),
                    strict=True))  # fmt: skip
    sized = any(fit.box.sized for fit in steaming.boxes)
    at_once = bench.rules["steaming"].at_once
    own = [
        replace(row, count=each.get(row.row, 0) if sized else row.count * at_once)
        if row.item == BOX
        else row
        for row in rows
    ]
    gear, lacking = there_is(own)
    if not any(row.item == BOX for row in rows):
        gear[BOX] = places_of((), gear[BOX], bench.rules["steaming"])
    return gear, lacking


def _in_no_box(made: Worked, steaming: Steaming) -> Iterator[Finding]:
    """Tell of planks still to be steamed that go into no box, and are planned all the same."""
    from ribband.findings import Finding, Severity
    from ribband.units import counted

    left = [s.plank for s in made.plan.steps if s.operation == "steam"]
    stuck = [plank for plank in left if plank in steaming.in_no_box]
    if not stuck:
        return
    more = f" and {len(stuck) - 6} more" if len(stuck) > 6 else ""
    says = (
        f"{counted(len(stuck), 'plank goes', 'planks go')} into no box of the form gear: "
        f"{', '.join(stuck[:6])}{more}; planned as though they did. W011 says what box they want"
    )
    yield Finding("W531", Severity.CAUTION, "work", "the steam box", says, source="house")


def _too_few_to_lift(made: Worked, shop: Shop, yard: Yard) -> Iterator[Finding]:
    """Tell of planks that want more hands to lift than the plan has at hanging them."""
    from ribband.findings import Finding, Severity
    from ribband.units import counted

    hands = {step.plank: step.hands for step in made.plan.steps if step.operation == "hang"}
    wanted = {h.name: h.hung_hands for h in shop.handling.planks if h.by_hand and h.hung_hands}
    few = [name for name, many in hands.items() if wanted.get(name, 0) > many]
    if not few:
        return
    most = max(few, key=lambda name: wanted[name])
    crew = len({hand.name for hand in yard.crew})
    short = f"; the crew has {counted(crew, 'name')}" if 0 < crew < wanted[most] else ""
    says = (
        f"{counted(len(few), 'plank wants', 'planks want')} more hands to lift at the hull than "
        f"the rates put to hanging: {most} wants {wanted[most]}, the plan has {hands[most]}{short}"
        "; call others in for the lift, or use tackle, and by the local rules"
    )
    yield Finding("W528", Severity.CAUTION, "work", "hang", says, source="house")


def _cooling(made: Worked, shop: Shop) -> Iterator[Finding]:
    """Tell of planks still to be hung that would be cold before they are bent on."""
    from ribband.findings import Finding, Severity

    left = {step.plank for step in made.plan.steps if step.operation == "hang"}
    late = [h for h in shop.handling.planks if h.cools_first and h.name in left]
    if late:
        names = ", ".join(h.name for h in late[:6])
        more = f" and {len(late) - 6} more" if len(late) > 6 else ""
        says = (
            f"steamed and hung in one, but bending takes longer than they stay hot: {names}{more}; "
            "the plan's hours do not mend that: more hands at it, or the box nearer"
        )
        yield Finding("W506", Severity.CAUTION, "work", "hang", says, source="house")
