"""Making the shop's step: steam, fastenings, blocks, caulking and handling of the planks listed.

It is no search and quick; a job of which only girths are known has no bends, and says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

from ribband.survey.rows import Form
from ribband.units import in_unit

if TYPE_CHECKING:
    from ribband.app.plan.making import Bench, Tell
    from ribband.findings import Finding
    from ribband.shop.fastenings.model import Choice
    from ribband.shop.handling.model import Leg
    from ribband.shop.planking import Planking
    from ribband.shop.steaming.model import YardBox
    from ribband.shop.supplies import Supply
    from ribband.shop.whole import Shop, ShopRules
    from ribband.timber.pile import Pile

__all__ = ["Typed", "planking_of", "shop_looked_over", "shop_typed", "work_planks"]

RULED = ("steaming", "fastenings", "blocks", "caulking", "handling")


class Typed(NamedTuple):
    """The forms of the shop as read."""

    choices: tuple[Choice, ...]
    legs: tuple[Leg, ...]
    boxes: tuple[YardBox, ...]
    supplies: tuple[Supply, ...]


def shop_typed(forms: Mapping[str, Form], unit: str) -> Typed:
    """Read the forms `fastenings`, `path`, `gear` (its steam boxes) and `supplies`.

    Raises
    ------
    InputError : every cell of the first form that cannot be used
    """
    from ribband.app.plan.making import rows_of
    from ribband.shop import read_fastenings, read_path, read_supplies
    from ribband.shop.steaming.boxes import read_boxes

    return Typed(
        read_fastenings(rows_of(forms, "fastenings", unit)),
        read_path(rows_of(forms, "path", unit)),
        read_boxes(rows_of(forms, "gear", unit)),
        read_supplies(rows_of(forms, "supplies", unit)),
    )


def shop_looked_over(forms: Mapping[str, Form], unit: str) -> None:
    """Read the shop's forms and words as its step will.

    Raises
    ------
    InputError : a form, or the name of a rule's choice, that cannot be used
    """
    from ribband.app.entering.rules import in_force
    from ribband.shop.whole import look_over

    shop_typed(forms, unit)
    look_over(_rules(in_force(forms.get("rules"), unit)))


def planking_of(bench: Bench) -> Planking:
    """Gather the planking as the shop sees it: as it stands, hung, cut or still to be got out."""
    from ribband.app.plan.timbers import planking_timber, timbers_of
    from ribband.shop import Planking

    now = bench.present
    species = planking_timber(bench)
    return Planking(
        *(bench.hull, now.lining, now.planks, now.shapes, now.starboard_shapes, species),
        now.starboard,
        timbers_of(bench.forms, bench.unit),
    )


def work_planks(bench: Bench, tell: Tell) -> tuple[Shop, tuple[Finding, ...]]:
    """Work out everything the shop does to the planks."""
    from ribband.shop import Load, work_shop

    pile: Pile = bench.made["boards"].result
    boards = [Load(b.board, b.length_mm, b.kg) for b in pile.tally.boards if b.state == "sound"]
    typed = shop_typed(bench.forms, bench.unit)
    made = work_shop(
        planking_of(bench), _rules(bench.rules), typed.choices, boards, typed.legs, typed.boxes,
        typed.supplies,
    )  # fmt: skip
    found = tuple(replace(f, says=in_unit(f.says, bench.unit)) for f in made.findings)
    return replace(made, findings=found), found


def _rules(rules: Mapping[str, Any]) -> ShopRules:
    from ribband.shop import ShopRules

    return ShopRules(**{name: rules[name] for name in RULED})
