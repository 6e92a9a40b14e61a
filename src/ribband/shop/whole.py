"""The shop's work on a whole planking: steaming, fastenings, blocks, caulking and handling.

Each is made, then looked over apart from what made it; all findings come with the result. Only
what the hull's planking is decides it: nothing here is a search.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from ribband.findings import Finding
from ribband.shop.blocks.rules import BlockRules
from ribband.shop.blocks.solve import Blocks, check_blocks, size_blocks
from ribband.shop.caulking.check import check_caulking
from ribband.shop.caulking.model import Caulking
from ribband.shop.caulking.rules import CaulkingRules
from ribband.shop.caulking.solve import caulk
from ribband.shop.fastenings.check import check_fastenings
from ribband.shop.fastenings.model import Choice, Fastenings
from ribband.shop.fastenings.rules import FasteningRules
from ribband.shop.fastenings.solve import fasten, look_over_fastenings
from ribband.shop.handling.check import check_handling
from ribband.shop.handling.model import Handling, Leg, Load
from ribband.shop.handling.rules import HandlingRules
from ribband.shop.handling.solve import handle
from ribband.shop.planking import Planking
from ribband.shop.steaming.check import check_steaming
from ribband.shop.steaming.model import Steaming, YardBox
from ribband.shop.steaming.rules import SteamingRules
from ribband.shop.steaming.solve import look_over_steaming, steam
from ribband.shop.supplies import Supply, priced, priced_blocks

__all__ = ["Shop", "ShopRules", "handled_at", "look_over", "work_shop"]


@dataclass(frozen=True, slots=True)
class ShopRules:
    """The rules of the five."""

    steaming: SteamingRules = field(default_factory=SteamingRules)
    fastenings: FasteningRules = field(default_factory=FasteningRules)
    blocks: BlockRules = field(default_factory=BlockRules)
    caulking: CaulkingRules = field(default_factory=CaulkingRules)
    handling: HandlingRules = field(default_factory=HandlingRules)


@dataclass(frozen=True, slots=True)
class Shop:
    """Everything the shop does to the planks; `findings` are of all five and their checks."""

    steaming: Steaming
    fastenings: Fastenings
    blocks: Blocks
    caulking: Caulking
    handling: Handling
    findings: tuple[Finding, ...] = ()


def handled_at(  # noqa: PLR0917 - the shop, and what handling is worked out from
    shop: Shop,
    planking: Planking,
    rules: ShopRules,
    boards: Sequence[Load],
    path: Sequence[Leg],
    rough_kg: Mapping[str, float],
) -> Shop:
    """Ask anew who lifts the planks, some of them weighing `rough_kg` as they leave the pile."""
    planks = tuple(
        replace(p, rough_kg=rough_kg.get(p.name, p.rough_kg)) for p in planking.planks.planks
    )
    heavy = replace(planking, planks=replace(planking.planks, planks=planks))
    made = handle(heavy, rules.handling, boards, path, shop.steaming)
    before = (*shop.handling.findings, *check_handling(planking, rules.handling, shop.handling))
    codes = {finding.code for finding in before}
    found = (*made.findings, *check_handling(heavy, rules.handling, made))
    kept = (f for f in shop.findings if f.code not in codes)
    return replace(shop, handling=made, findings=tuple(dict.fromkeys((*kept, *found))))


def look_over(rules: ShopRules) -> None:
    """Look whether the words of the rules mean something.

    Raises
    ------
    InputError : a set, kind or yard's rule that is not in its table, temperatures out of order
    """
    look_over_steaming(rules.steaming)
    look_over_fastenings(rules.fastenings)


def work_shop(  # noqa: PLR0917 - the planking, and what the yard has
    planking: Planking,
    rules: ShopRules = ShopRules(),
    choices: Sequence[Choice] = (),
    boards: Sequence[Load] = (),
    path: Sequence[Leg] = (),
    boxes: Sequence[YardBox] = (),
    supplies: Sequence[Supply] = (),
) -> Shop:
    """Work everything out and look it over.

    Parameters
    ----------
    choices : fastenings the yard has; boards : of the pile, with their weights; path : the way
        from pile to hull; boxes : steam boxes the yard has; supplies : its prices of what is
        used up

    Raises
    ------
    InputError : a rule or a choice that means nothing
    """
    steaming = steam(planking, rules.steaming, boxes)
    fastenings = fasten(planking, rules.fastenings, choices)
    blocks = priced_blocks(size_blocks(planking, rules.blocks), supplies)
    caulking = priced(caulk(planking, rules.caulking, blocks, fastenings), supplies)
    handling = handle(planking, rules.handling, boards, path, steaming)
    found = (
        *steaming.findings, *check_steaming(planking, rules.steaming, steaming),
        *fastenings.findings, *check_fastenings(planking, rules.fastenings, fastenings),
        *blocks.findings, *check_blocks(planking, rules.blocks, blocks),
        *caulking.findings, *check_caulking(planking, rules.caulking, caulking),
        *handling.findings, *check_handling(planking, rules.handling, handling),
    )  # fmt: skip
    return Shop(steaming, fastenings, blocks, caulking, handling, tuple(dict.fromkeys(found)))
