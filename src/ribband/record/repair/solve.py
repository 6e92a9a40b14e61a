"""Repairs: what is renewed of a recorded hull, and the planks for it alone.

Kept planks, seams and butts stay as they are recorded. Joints are chosen so that the least is
renewed (`repair/choice.py`), renewals are put into turns (`repair/order.py`), and the new planks
are listed and rolled out like any others.

Not known: whether wood that is to stay is sound, or the frames behind it hold a fastening.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from ribband.butts.model import Butt, Layout, Ways
from ribband.butts.problem import landing_name
from ribband.butts.rules import ButtRules
from ribband.findings import Finding, Severity
from ribband.hull.model import Hull
from ribband.lining.model import Lining
from ribband.planks import ShapeRules, get_shapes, list_planks, only_these, scarf_of
from ribband.planks.model import Plank, PlankList
from ribband.planks.shape_model import Shape
from ribband.record.forms import Bad
from ribband.record.repair.check import check_repair
from ribband.record.repair.choice import Chosen, choose_joints
from ribband.record.repair.held import held_ends
from ribband.record.repair.model import Renewal, Repair, SideRepair
from ribband.record.repair.order import in_turns
from ribband.record.repair.rules import RepairRules
from ribband.record.whole import Stuff
from ribband.units import counted

__all__ = ["Recorded", "joints_said", "place_said", "plan_repair"]

KEEP_SHAPE = (
    "open one turn at a time, shored and moulded as the surveyor says; what holds her shape with "
    "planks off is not known here"
)


@dataclass(frozen=True, slots=True, eq=False)
class Recorded:
    """A hull as she is recorded: seams, landings, and the old butts of each side."""

    hull: Hull
    lining: Lining
    ways: Ways
    old: dict[str, tuple[Butt, ...]]


def plan_repair(
    recorded: Recorded, bads: Sequence[Bad], butts: ButtRules, rules: RepairRules, stuff: Stuff,
    *, before: Sequence[Renewal] = (), out: Collection[str] = (),
) -> Repair:  # fmt: skip
    """Plan the renewals of a recorded hull; never worse than those chosen `before`, if allowed.

    A stretch on a strake that is not there is left out and told (R046). `out` are new planks got
    out already: the joints of their strakes stand, and where they cannot, that is told (R052).
    """
    known = [b for b in bads if b.strake in recorded.ways.strakes]
    found = [_noplace_said(b, "there is no such strake") for b in bads if b not in known]
    sides: list[SideRepair] = []
    new: list[Plank] = []
    around: list[Plank] = []
    bound, proved = 0.0, True
    for side, old in recorded.old.items():
        own = tuple(b for b in known if b.side == side)
        was = tuple(r for r in before if r.side == side)
        firm = {name[1:].rpartition("-")[0] for name in out if name[:1] == side[0].upper()}
        chosen = None
        if own:
            chosen = choose_joints(recorded.ways, butts, old, own, rules, before=was, firm=firm)
            found += _moved(was, chosen, firm)
        made = _side(recorded, side, old, chosen, rules)
        found += _untold(recorded.ways, side, chosen)
        listed = _listed(recorded, made, stuff, rules.scarf_slope)
        made, planks = _with_planks(recorded, made, listed, stuff, rules.scarf_slope)
        made = _with_ends(made, butts, rules, recorded.hull.particulars.unit)
        found += check_repair(made, butts, rules)
        bound += chosen.bound_mm if chosen else 0.0
        proved = proved and (chosen is None or chosen.proved)
        sides.append(made)
        new += planks
        around += listed.planks if planks else ()
    unit = recorded.hull.particulars.unit
    length = sum(r.length_mm for made in sides for r in made.renewals)
    scarf = scarf_of(recorded.hull, _scarfing(stuff.shapes, rules.scarf_slope))
    repair = Repair(
        recorded.lining, tuple(sides), only_these(new, stuff.planks, unit), length,
        min(bound, length), (), scarf, tuple(around), proved,
    )  # fmt: skip
    told = tuple(dict.fromkeys((*found, *_said(repair))))
    return replace(repair, findings=told)


def _side(
    recorded: Recorded, side: str, old: tuple[Butt, ...], chosen: Chosen | None, rules: RepairRules
) -> SideRepair:
    ways = recorded.ways
    renewals = in_turns(chosen.renewals if chosen else (), ways.strakes, rules)
    spans = [(ways.strakes.index(r.strake), r.landings[0], r.landings[-1]) for r in renewals]
    stay = {
        (b.strake, b.landing)
        for b in old
        if not any(row == b.strake and i < b.landing < j for row, i, j in spans)
    }
    new = {(ways.strakes.index(r.strake), n) for r in renewals for n in r.new}
    lapped = _scarfed(renewals, ways)
    butts = tuple(
        Butt(*place, fixed=place in stay, joint="scarf" if place in lapped else "butt")
        for place in sorted(stay | new)
    )
    return SideRepair(side, ways, old, Layout(butts, True, (), 0.0, 0), renewals)


def _with_ends(side: SideRepair, butts: ButtRules, rules: RepairRules, unit: str) -> SideRepair:
    """Tell of every renewal what holds its ends."""
    own = (replace(r, held=held_ends(side, r, butts, rules, unit)) for r in side.renewals)
    return replace(side, renewals=tuple(own))


def _scarfed(renewals: Sequence[Renewal], ways: Ways) -> set[tuple[int, int]]:
    """Give the new joints at the ends of renewals that are scarfed; all others are butts."""
    return {
        (ways.strakes.index(r.strake), end)
        for r in renewals
        if r.joint == "scarf"
        for end in (r.landings[0], r.landings[-1])
        if end in r.new
    }


def _listed(recorded: Recorded, made: SideRepair, stuff: Stuff, slope: float) -> PlankList:
    """List the planks of a side; those that are scarfed reach half a scarf past the joint."""
    rules = replace(stuff.planks, sides=made.side)
    return list_planks(
        *(recorded.hull, recorded.lining, made.ways, made.layout, rules, stuff.species),
        scarf_mm=scarf_of(recorded.hull, _scarfing(stuff.shapes, slope)),
    )


def _scarfing(rules: ShapeRules, slope: float) -> ShapeRules:
    """Give the rules by which a joint said to be a scarf is one: plain, as the old plank is cut."""
    return replace(rules, join="scarf", scarf_slope=slope, nib_part=0.0)


def _with_planks(
    recorded: Recorded, made: SideRepair, every: PlankList, stuff: Stuff, slope: float
) -> tuple[SideRepair, tuple[Plank, ...]]:
    """Name the planks of every renewal, and give their flat shapes."""
    renewals, planks = [], []
    for r in made.renewals:
        ends = {
            (place_said(made.ways, i), place_said(made.ways, j)) for i, j in pairwise(r.landings)
        }
        strake = [p for p in every.planks if p.strake == r.strake]
        own = [p for n, p in enumerate(strake) if _span(made, strake, n) in ends]
        renewals.append(replace(r, planks=tuple(p.name for p in own)))
        planks += own
    rows = {n for n, name in enumerate(made.ways.strakes) if any(p.strake == name for p in planks)}
    shapes: tuple[Shape, ...] = ()
    if recorded.hull.surface is not None and rows:
        args = (recorded.hull, recorded.lining, made.ways, made.layout)
        names = {f"{p.strake}-{p.number}" for p in planks}
        rules = _scarfing(stuff.shapes, slope)
        shapes = tuple(s for s in get_shapes(*args, rules, only=rows).shapes
                       if s.name in names)  # fmt: skip
    return replace(made, renewals=tuple(renewals), shapes=shapes), tuple(planks)


def _span(made: SideRepair, strake: Sequence[Plank], n: int) -> tuple[str, str]:
    """Give where a plank of a strake begins and ends, from its number."""
    row = made.ways.strakes.index(strake[n].strake)
    inner = sorted(b.landing for b in made.layout.butts if b.strake == row)
    ends = [-1, *inner, made.ways.along_mm.shape[1]]
    return place_said(made.ways, ends[n]), place_said(made.ways, ends[n + 1])


def place_said(ways: Ways, landing: int) -> str:
    """Name a landing, or the end of the strake it stands for."""
    if landing < 0:
        return "fore end"
    return landing_name(ways, landing) if landing < ways.along_mm.shape[1] else "after end"


def joints_said(ways: Ways, renewal: Renewal, *, recorded: bool = True) -> str:
    """Name the new joints of a renewal; "old joints" where it has none.

    Where no old joints were `recorded`, those it ends at are said to be the plan's own.
    """
    ends = {renewal.landings[0], renewal.landings[-1]}
    said = [f"{renewal.joint if n in ends else 'butt'} {place_said(ways, n)}" for n in renewal.new]
    inside = ways.along_mm.shape[1]
    old = [place_said(ways, n) for n in sorted(ends - set(renewal.new)) if 0 <= n < inside]
    if old and not recorded:
        said.append(f"{' and '.join(old)} the plan's own, none being recorded")
    return ", ".join(said) or "old joints"


def _untold(ways: Ways, side: str, chosen: Chosen | None) -> Iterator[Finding]:
    for bad in chosen.unplaced if chosen else ():
        yield _noplace_said(bad, "no plank between the shortest and the longest has room for it")
    for broken in chosen.clashes if chosen else ():
        at = " and ".join(
            f"strake {ways.strakes[b.strake]}, {landing_name(ways, b.landing)}"
            for b in broken.butts
        )
        rule = broken.rule.replace("_", " ")
        says = f"the rule {rule} cannot be kept between {at}; renew further, scarf, or ease it"
        yield Finding("R046", Severity.FAULT, "record", side, says)


def _noplace_said(bad: Bad, why: str) -> Finding:
    where = f"{bad.side}, strake {bad.strake}, {bad.first} to {bad.last}"
    return Finding("R046", Severity.FAULT, "record", where, f"cannot be renewed: {why}")


def _moved(was: Sequence[Renewal], chosen: Chosen, firm: Collection[str]) -> Iterator[Finding]:
    """Say where joints moved though planks of the strake are got out: names mean others now."""
    now = {(r.strake, r.landings) for r in chosen.renewals}
    for one in was:
        if one.strake in firm and (one.strake, one.landings) not in now:
            says = (
                "its joints moved though new planks of it are got out: their names and lengths are "
                "others now; hold each plank against its new ticket before it is hung"
            )
            where = f"strake {one.strake} {one.side}"
            yield Finding("R052", Severity.CAUTION, "record", where, says)


def _said(repair: Repair) -> Iterator[Finding]:
    if not repair.renewals:
        return
    lapped = [r for r in repair.renewals if r.joint == "scarf" and r.new]
    if lapped:
        where = ", ".join(f"strake {r.strake} {r.side}" for r in lapped)
        says = (
            "new planks reach half a scarf past the joint, and the old plank is cut back for it as "
            "the sheets of cut-backs show: see that the wood there is sound"
        )
        yield Finding("R048", Severity.CAUTION, "record", where, says, source="common-practice")
    turns = max(r.turn for r in repair.renewals)
    says = f"{counted(len(repair.renewals), 'renewal')} in {counted(turns, 'turn')}: {KEEP_SHAPE}"
    source = "common-practice"
    yield Finding("R047", Severity.CAUTION, "record", "the whole repair", says, source=source)
