"""Handling worked out: weights, hands or crane, corners, and the way while a plank is hot.

One person's limit is the lifting equation's at the start and at the end of the lift, the lower of
the two; a team's by the rule of teams. From the pile a board is lifted rough; at the hull a plank
is lifted dressed, hot and in gloves. A plank that no team allowed may lift is not lifted by hand.

Not reckoned: staging, slopes, wet ground, and the bending itself; they make all of it worse.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ribband.findings import Finding, Severity
from ribband.planks.model import Plank
from ribband.shop.handling.lift import Lift, hands_for, limit
from ribband.shop.handling.model import Handled, Handling, Leg, LegPassed, Load
from ribband.shop.handling.rules import HandlingRules
from ribband.shop.handling.turn import longest_turn
from ribband.shop.planking import Planking
from ribband.shop.steaming.model import Steaming
from ribband.survey.rows import Row
from ribband.units import format_length, format_weight

__all__ = ["handle", "one_lift", "read_path"]

BOX = "box"
WELL = 4  # hands that work together well, hse-team
SPELT = {
    "hour": "lifting for an hour at most and resting after (rule handling.spell),",
    "two hours": "lifting for two hours at most and resting after (rule handling.spell),",
    "eight hours": "lifting off and on all day (rule handling.spell),",
}
HELD = (
    "by the lifting equation of NIOSH for healthy people on good ground. It does not hold for "
    "carrying, hot planks, staging, cramped or slippery places: use tackle, stands, enough people "
    "and one voice; the safety rules of the place come first"
)


def one_lift(rules: HandlingRules, *, hot: bool) -> float:
    """Give what one person may lift, kg: from the pile, or hot to the hull; the lower end counts.

    >>> one_lift(HandlingRules(), hot=True) < one_lift(HandlingRules(), hot=False)
    True
    """
    start, end = (rules.carry_mm, rules.hang_mm) if hot else (rules.pile_mm, rules.carry_mm)
    grip = rules.hot_grip if hot else rules.grip
    lift = Lift(rules.out_mm, start, end, rules.turn_deg, rules.a_minute, rules.spell, grip)  # type: ignore[arg-type]
    return min(limit(lift).kg, limit(lift, at_end=True).kg)


def handle(
    planking: Planking,
    rules: HandlingRules = HandlingRules(),  # noqa: B008 - frozen
    boards: Sequence[Load] = (),
    path: Sequence[Leg] = (),
    steaming: Steaming | None = None,
) -> Handling:
    """Work out who lifts every plank and board, and whether planks get to the hull in time."""
    cold, hot = one_lift(rules, hot=False), one_lift(rules, hot=True)
    handled = [_plank(p, rules, cold, hot) for p in planking.planks.planks]
    loads = tuple(_board(b, rules, cold) for b in boards)
    legs = tuple(_passed(leg, planking, rules) for leg in path)
    planks = _timed(handled, planking, rules, _carry(legs), steaming)
    made = Handling(planks, loads, cold, hot, legs, _carry(legs))
    found = tuple(_findings(made, planking, rules, steaming))
    return Handling(planks, loads, cold, hot, legs, made.carry_min, found)


def read_path(rows: Sequence[Row]) -> tuple[Leg, ...]:
    """Read the form `path`: the way from pile to hull, a leg a row."""
    return tuple(
        Leg(
            str(row.values.get("from") or ""), str(row.values.get("to") or ""),
            float(row.values.get("distance") or 0.0), row.values.get("width"),
            row.values.get("into"),
        )
        for row in rows
    )  # fmt: skip


def _plank(plank: Plank, rules: HandlingRules, cold: float, hot: float) -> Handled:
    least = 2 if plank.length_mm > rules.two_over_mm else 1
    rough, hung = plank.rough_kg, plank.dressed_kg
    if rough is None or hung is None:
        return Handled(plank.name, plank.length_mm, rough, hung, None, None, None, False, False)
    lifts = (
        hands_for(rough, cold, rules.most_hands, least),
        hands_for(hung, hot, rules.most_hands, least),
    )
    return Handled(
        plank.name, plank.length_mm, rough, hung, *lifts, rough / cold, True, None not in lifts
    )


def _timed(
    planks: Sequence[Handled],
    planking: Planking,
    rules: HandlingRules,
    carry_min: float | None,
    steaming: Steaming | None,
) -> tuple[Handled, ...]:
    """Set the time from the box's door until a plank is bent on against its hot time."""
    hot = {p.plank: p.hot_min for p in steaming.steamed} if steaming else {}
    frames = {p.name: len(planking.crossings(p)) for p in planking.planks.planks if p.name in hot}
    return tuple(
        replace(
            h, hot_min=hot[h.name],
            bend_min=(carry_min or 0.0) + max(rules.hang_min, frames[h.name] * rules.bend_s / 60.0),
        ) if h.name in hot else h
        for h in planks
    )  # fmt: skip


def _board(board: Load, rules: HandlingRules, cold: float) -> Handled:
    least = 2 if board.length_mm > rules.two_over_mm else 1
    if board.kg is None:
        return Handled(board.name, board.length_mm, None, None, None, None, None, False, False)
    hands = hands_for(board.kg, cold, rules.most_hands, least)
    return Handled(
        board.name, board.length_mm, board.kg, None, hands, None, board.kg / cold, True,
        hands is not None,
    )  # fmt: skip


def _passed(leg: Leg, planking: Planking, rules: HandlingRules) -> LegPassed:
    minutes = leg.distance_mm / 1000.0 / rules.walk_ms / 60.0
    if leg.width_mm is None or leg.into_mm is None:
        return LegPassed(leg, None, (), minutes)
    planks = planking.planks.planks
    room = {p.name: longest_turn(leg.width_mm, leg.into_mm, _wide(p, rules)) for p in planks}
    stuck = tuple(p.name for p in planks if p.length_mm > room[p.name])
    return LegPassed(leg, min(room.values(), default=None), stuck, minutes)


def _wide(plank: Plank, rules: HandlingRules) -> float:
    return plank.rough_mm if rules.carried == "on edge" else plank.width_max_mm


def _carry(legs: tuple[LegPassed, ...]) -> float | None:
    """Add up the way from the box to the hull; None where no leg leaves the box."""
    names = [leg.leg.start.lower() for leg in legs]
    if not any(BOX in name for name in names):
        return None
    first = next(k for k, name in enumerate(names) if BOX in name)
    return sum(leg.minutes for leg in legs[first:])


def _findings(
    made: Handling, planking: Planking, rules: HandlingRules, steaming: Steaming | None
) -> Iterator[Finding]:
    unit = planking.unit
    if any(not h.known for h in made.planks):
        says = "the weights of planks are not known: weigh one before lifting many"
        yield _said("W081", Severity.CAUTION, "handling", says)
    if made.craned:
        names = [h.name for h in made.craned]
        says = f"{_list(names)}: not to be lifted by hand; crane or tackle"
        yield _said("W082", Severity.CAUTION, "handling", says, "niosh-94-110")
    elif known := [h for h in made.planks if h.known]:
        heavy = max(known, key=lambda h: h.rough_kg or 0.0)
        says = f"the heaviest, {heavy.name}, wants {heavy.says}"
        yield _said("W083", Severity.NOTE, "handling", says, "niosh-94-110")
    crowd = [h.name for h in made.planks if max(h.rough_hands or 0, h.hung_hands or 0) > WELL]
    if crowd:
        says = f"{_list(crowd)}: over {WELL} hands; such teams seldom work together: rehearse it"
        yield _said("W088", Severity.CAUTION, "handling", says, "hse-team")
    one = format_weight(made.one_kg, unit), format_weight(made.hot_kg, unit)
    says = (
        f"one person: {one[0]} from the pile, {one[1]} to the hull, {SPELT[rules.spell]} {HELD}; a "
        "limit recommended, "
        "no law. Two are counted at two thirds of what each alone would lift, more at half"
    )
    yield _said("W084", Severity.CAUTION, "handling", says, "niosh-94-110")
    yield from _of_boards(made)
    yield from _of_way(made, rules, steaming, unit)


def _of_boards(made: Handling) -> Iterator[Finding]:
    heavy = [h.name for h in made.boards if h.known and not h.by_hand]
    if heavy:
        says = f"boards {', '.join(heavy[:6])}: not by hand; fork lift, crane or rollers"
        yield _said("W085", Severity.CAUTION, "the pile", says, "niosh-94-110")


def _of_way(
    made: Handling, rules: HandlingRules, steaming: Steaming | None, unit: str
) -> Iterator[Finding]:
    for leg in made.legs:
        if leg.stuck and leg.longest_mm is not None:
            says = (
                f"{_list(list(leg.stuck))} do not get round: {rules.carried}, the longest is "
                f"{format_length(leg.longest_mm, unit)}"
            )
            where = f"from {leg.leg.start} to {leg.leg.end}"
            yield _said("W086", Severity.CAUTION, where, says, "calculated")
    late = [h for h in made.planks if h.cools_first]
    if steaming is not None and late:
        worst = max(late, key=lambda h: (h.bend_min or 0.0) - (h.hot_min or 0.0))
        way = "" if made.carry_min is None else f", {made.carry_min:.1f} of them from box to hull"
        says = (
            f"{_list([h.name for h in late])}: cold before bent on. {worst.name} takes "
            f"{worst.bend_min:.1f} min{way}, and is hot about {worst.hot_min:.1f}: box nearer, "
            "more hands and clamps, or steam on the hull"
        )
        yield _said("W087", Severity.CAUTION, "box to hull", says, "house")


def _list(names: list[str], most: int = 6) -> str:
    shown = ", ".join(names[:most])
    return f"planks {shown}" + (f" and {len(names) - most} more" if len(names) > most else "")


def _said(code: str, severity: Severity, where: str, says: str, source: str = "") -> Finding:
    return Finding(code, severity, "shop", where, says, source=source)
