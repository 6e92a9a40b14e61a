"""A planned launch with planks hung and cut, and seams that drifted by a known amount."""

from __future__ import annotations

from functools import lru_cache

from made_hulls import launch
from ribband import butts, lining, planks
from ribband.butts import ButtRules
from ribband.lining import LiningRules, Wish
from ribband.record import HungPoint, Planned, Standing, standing


@lru_cache(maxsize=4)
def planned(strakes: int = 14, frames: int = 36, stealer: str = "") -> Planned:
    """Plan a launch; `stealer` is the strake below one that runs from half way to the stern."""
    hull, rules, butt_rules = launch(frames), LiningRules(), ButtRules()
    wishes: tuple[Wish, ...] = (Wish("strakes", strakes),)
    if stealer:
        half = hull.frames.names[frames // 2]
        wishes = (*wishes, Wish("stealer", 0.0, stealer, half, "stern"))
    lined = lining.line_out(hull, rules, wishes)
    ways = butts.ways(hull, lined, butt_rules)
    layout = butts.lay(ways, butt_rules, seconds=1.0)
    listed = planks.list_planks(hull, lined, ways, layout)
    return Planned(hull, lined, ways, layout, listed.planks, rules, butt_rules, wishes)


def stood(plan: Planned, hung: tuple[int, ...], cut: tuple[int, ...] = ()) -> Standing:
    states = {p.name: "hung" for p in plan.planks if int(p.strake) in hung}
    states |= {p.name: "got out" for p in plan.planks if int(p.strake) in cut}
    return standing("port", plan.planks, plan.lining, states)


def seam_off(plan: Planned, strake: int, off_mm: float, every: int = 4) -> tuple[HungPoint, ...]:
    girth = plan.lining.upper_girth_mm[strake - 1]
    columns = range(6, len(plan.lining.columns) - 5, every)
    return tuple(
        HungPoint("port", str(strake), "upper", plan.lining.columns[c], float(girth[c]) + off_mm)
        for c in columns
    )
