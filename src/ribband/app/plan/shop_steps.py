"""Making the shop's step: steam, fastenings, blocks, caulking and handling of the planks listed.

It is no search and quick; a job of which only girths are known has no bends, and says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

from ribband.app.plan.making import rows_of
from ribband.survey.rows import Form, Row
from ribband.units import in_unit

if TYPE_CHECKING:
    from ribband.app.plan.making import Bench, Tell
    from ribband.findings import Finding
    from ribband.shop.fastenings.model import Choice
    from ribband.shop.handling.model import Leg, Load
    from ribband.shop.planking import Planking
    from ribband.shop.steaming.model import YardBox
    from ribband.shop.supplies import Supply
    from ribband.shop.whole import Shop, ShopRules
    from ribband.timber.pile import Pile

__all__ = ["Typed", "planking_of", "shop_looks", "shop_typed", "with_boards_weights", "work_planks"]

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
    return Typed(*(read(rows_of(forms, name, unit)) for name, read in _readers().items()))


def _readers() -> dict[str, Callable[[Sequence[Row]], Any]]:
    """Give the readers of the forms, in the order of `Typed`."""
    from ribband.shop import read_fastenings, read_path, read_supplies
    from ribband.shop.steaming.boxes import read_boxes

    return {
        "fastenings": read_fastenings, "path": read_path, "gear": read_boxes,
        "supplies": read_supplies,
    }  # fmt: skip


def shop_looks(forms: Mapping[str, Form], unit: str) -> Iterator[Callable[[], object]]:
    """Give the readings of the shop's forms and words as its step will read them, one by one.

    Each raises InputError of a form, or of the name of a rule's choice, that cannot be used.
    """
    from ribband.app.entering.rules import in_force
    from ribband.shop.whole import look_over

    for name, read in _readers().items():
        yield lambda name=name, read=read: read(rows_of(forms, name, unit))  # type: ignore[misc]
    yield lambda: look_over(_rules(in_force(forms.get("rules"), unit)))


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
    from ribband.shop import work_shop

    pile: Pile = bench.made["boards"].result
    typed = shop_typed(bench.forms, bench.unit)
    made = work_shop(
        planking_of(bench), _rules(bench.rules), typed.choices, _loads(pile), typed.legs,
        typed.boxes, typed.supplies,
    )  # fmt: skip
    found = tuple(replace(f, says=in_unit(f.says, bench.unit)) for f in made.findings)
    return replace(made, findings=found), found


def with_boards_weights(bench: Bench) -> tuple[Shop, tuple[Finding, ...]]:
    """Give the shop's result with planks laid on boards weighed as these are: who lifts them.

    Nothing is kept of it: the shop's step does not wait for boards, which turn bad and are changed.
    """
    from ribband.shop.whole import handled_at
    from ribband.timber.weights import rough_on_boards

    shop, pile, laid = (bench.made[step].result for step in ("shop", "boards", "laying"))
    if laid is None:  # no boards, or no flat shapes
        return shop, bench.made["shop"].findings
    now, typed = planking_of(bench), shop_typed(bench.forms, bench.unit)
    weights = rough_on_boards(now.planks.planks, laid.laying.cuts, pile.tally.boards)
    made = handled_at(shop, now, _rules(bench.rules), _loads(pile), typed.legs, weights)
    found = tuple(replace(f, says=in_unit(f.says, bench.unit)) for f in made.findings)
    return replace(made, findings=found), found


def _loads(pile: Pile) -> list[Load]:
    from ribband.shop import Load

    return [Load(b.board, b.length_mm, b.kg) for b in pile.tally.boards if b.state == "sound"]


def _rules(rules: Mapping[str, Any]) -> ShopRules:
    from ribband.shop import ShopRules

    return ShopRules(**{name: rules[name] for name in RULED})
