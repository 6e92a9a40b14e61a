"""Why a renewal is as long as it is: what holds each of its ends where it is.

*Nearer place*: a landing between an end and what is bad, where a new joint could be cut but for a
rule: too near a butt that is there, too little of the old plank left beside it, too short a new
plank, or a place where no butt may stand. Found apart from how the joints were chosen, by trying
every such place with all other joints as they are; where one is free by itself the end stands
where it does because all renewals together are then the least.

Not told: what would follow if a rule were eased; set it and plan again.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ribband.butts import clashes
from ribband.butts.model import Butt, Ways
from ribband.butts.problem import TOUCH_MM, landing_name
from ribband.butts.rules import ButtRules
from ribband.record.repair.model import Barred, HeldEnd, Renewal, SideRepair
from ribband.record.repair.rules import RepairRules
from ribband.units import format_length

__all__ = ["held_ends", "held_said"]

PAIRED = {"B001", "B002", "B003"}
OF_ITSELF = {
    "repair.least_left": "so little left of the old plank",
    "butts.least_plank": "too short a new plank",
    "butts.least_plank_spaces": "too short a new plank",
}
FREE = "nearer places are free by themselves; with all other joints this is the least"


@dataclass(frozen=True, slots=True)
class _End:
    """One end being looked at; `way` is +1 where nearer is aft of it, -1 where it is forward."""

    side: SideRepair
    renewal: Renewal
    butts: ButtRules
    repair: RepairRules
    unit: str
    way: int

    @property
    def row(self) -> int:
        return self.side.ways.strakes.index(self.renewal.strake)

    @property
    def at(self) -> int:
        return self.renewal.landings[0 if self.way > 0 else -1]

    @property
    def beside(self) -> int:
        """The landing at the other end of the plank that ends here."""
        return self.renewal.landings[1 if self.way > 0 else -2]

    def along(self, landing: int) -> float:
        ways = self.side.ways
        if landing < 0:
            return 0.0
        inside = landing < ways.along_mm.shape[1]
        return float(ways.along_mm[self.row, landing] if inside else ways.length_mm[self.row])


def held_ends(
    side: SideRepair, renewal: Renewal, butts: ButtRules, repair: RepairRules, unit: str = "mm"
) -> tuple[HeldEnd, ...]:
    """Tell of both ends of a renewal what holds them; of its inner joints nothing."""
    return tuple(_held(_End(side, renewal, butts, repair, unit, way)) for way in (1, -1))


def held_said(ways: Ways, held: HeldEnd, old: Sequence[Butt]) -> tuple[tuple[str, str], ...]:
    """Say it in words: the nearer places, and why none of them will do.

    `old` are the butts of the old planking. Empty where the end stands as near to what is bad as a
    joint may.
    """
    if held.nearer and not held.barred:
        return ((_places_said(ways, held.nearer), FREE),)
    return tuple((_places_said(ways, one.places), _why(ways, one, old)) for one in held.barred)


def _held(end: _End) -> HeldEnd:
    places = tuple(_nearer(end))
    found: dict[tuple[str, str, Butt | None], set[int]] = defaultdict(set)
    for place, rule, wanted, butt in (*_alone(end, places), *_pairs(end, places)):
        found[rule, wanted, butt].add(place)
    every = [Barred(*key, tuple(sorted(where))) for key, where in found.items()]
    return HeldEnd("fore" if end.way > 0 else "after", end.at, places, _fewest(every, places))


def _fewest(every: Sequence[Barred], places: Sequence[int]) -> tuple[Barred, ...]:
    """Give few of the bars that bar every place between them; none where a place is free."""
    open_, few = set(places), []
    while open_:
        best = max(every, key=lambda one: len(open_ & set(one.places)), default=None)
        if best is None or not open_ & set(best.places):
            return ()
        few.append(best)
        open_ -= set(best.places)
    return tuple(sorted(few, key=lambda one: one.places))


def _nearer(end: _End) -> list[int]:
    """Give the landings between the end and what is bad, in sound wood, of the kind butts have."""
    ways, beyond = end.side.ways, 2 * end.repair.beyond_spaces
    bad = [_landing(ways, n) for b in end.renewal.bad for n in (b.first, b.last)]
    near = min(bad) - beyond if end.way > 0 else max(bad) + beyond
    between = range(end.at + 1, near + 1) if end.way > 0 else range(near, end.at)
    kinds = {"frames": (0,), "blocks": (1,)}.get(end.butts.landings, (0, 1))
    return [n for n in between if 0 <= n < ways.along_mm.shape[1] and n % 2 in kinds]


def _landing(ways: Ways, column: str) -> int:
    if column == "stem":
        return -1
    return ways.along_mm.shape[1] if column == "stern" else 2 * ways.frames.index(column)


def _pairs(end: _End, places: Sequence[int]) -> Iterator[tuple[int, str, str, Butt | None]]:
    """Give the places too near a butt that is there; a scarf is no butt."""
    if end.renewal.joint == "scarf":
        return
    layout = end.side.layout
    others = [b for b in layout.butts if (b.strake, b.landing) != (end.row, end.at)]
    tried = {(end.row, n) for n in places}
    every = replace(layout, butts=tuple(sorted({*others, *(Butt(*place) for place in tried)})))
    for broken in clashes(end.side.ways, end.butts, every):
        if broken.code not in PAIRED:
            continue
        for one, other in (broken.butts, broken.butts[::-1]):
            if (one.strake, one.landing) in tried:
                wanted = _wanted(broken.rule, getattr(end.butts, broken.rule), end.unit)
                yield one.landing, f"butts.{broken.rule.removesuffix('_mm')}", wanted, other


def _wanted(rule: str, value: float, unit: str) -> str:
    if rule.endswith("_mm"):
        return format_length(value, unit)
    return f"{value:g} strakes passing" if rule == "passing" else f"{value:g} frame spaces"


def _alone(end: _End, places: Sequence[int]) -> Iterator[tuple[int, str, str, Butt | None]]:
    """Give the places barred by the strake itself: closed, too little left, too short a plank."""
    olds = sorted(b.landing for b in end.side.old if b.strake == end.row)
    limits = (-1, *olds, end.side.ways.along_mm.shape[1])
    left, least = end.repair.least_left_mm, end.butts.least_plank_mm
    for n in places:
        if n in olds:
            if abs(end.along(end.beside) - end.along(n)) < least:
                yield n, "butts.least_plank", format_length(least, end.unit), None
            continue
        if not end.side.ways.open[end.row, n]:
            yield n, "", "no butt may stand there", None
            continue
        joint = max(o for o in limits if o < n) if end.way > 0 else min(o for o in limits if o > n)
        if abs(end.along(n) - end.along(joint)) < left - TOUCH_MM:
            butt = Butt(end.row, joint) if joint in olds else None
            yield n, "repair.least_left", format_length(left, end.unit), butt
        spaces = abs(end.beside - n) / 2
        short = abs(end.along(end.beside) - end.along(n)) < least
        if short or spaces < end.butts.least_plank_spaces:
            rule = "butts.least_plank" if short else "butts.least_plank_spaces"
            wanted = _wanted("least_plank_mm", least, end.unit) if short else (
                f"{end.butts.least_plank_spaces:g} frame spaces")  # fmt: skip
            yield n, rule, wanted, None


def _why(ways: Ways, one: Barred, old: Sequence[Butt]) -> str:
    if not one.rule:
        return one.wanted
    own, butt = OF_ITSELF.get(one.rule), ""
    if one.butt is not None:
        known = (one.butt.strake, one.butt.landing) in {(b.strake, b.landing) for b in old}
        butt = (f"the {'old' if known else 'new'} butt of strake {ways.strakes[one.butt.strake]} "
                f"on {landing_name(ways, one.butt.landing)}")  # fmt: skip
    why = f"{own} beside" if own and butt else own or "too near"
    return f"{why} {butt}".rstrip() + f" ({one.rule}, {one.wanted})"


def _places_said(ways: Ways, places: Sequence[int]) -> str:
    """Name places, runs of them by their first and last: "frames 20 to 23"."""
    step = 2 if len({n % 2 for n in places}) == 1 else 1
    runs: list[list[int]] = []
    for n in places:
        if runs and n - runs[-1][-1] <= step:
            runs[-1].append(n)
        else:
            runs.append([n])
    return ", ".join(_run_said(landing_name(ways, run[0]), landing_name(ways, run[-1]))
                     for run in runs)  # fmt: skip


def _run_said(first: str, last: str) -> str:
    if first == last:
        return first
    if first.startswith("frame ") and last.startswith("frame "):
        return f"frames {first.removeprefix('frame ')} to {last.removeprefix('frame ')}"
    return f"{first} to {last}"
