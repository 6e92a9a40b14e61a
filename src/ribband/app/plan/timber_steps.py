"""Making the timber steps: the pile tallied, the planks laid on it, what is lacking ordered.

A job without boards is laid on nothing and everything is ordered; one of which only girths are
known has no flat shapes, so nothing can be laid and the order is guessed from the plank list.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from ribband.survey.rows import Form, Row
from ribband.units import in_unit

if TYPE_CHECKING:
    from ribband.app.plan.making import Bench, Tell
    from ribband.findings import Finding
    from ribband.lining.model import Strake
    from ribband.planks.model import Plank
    from ribband.timber.board_model import Board, Piece
    from ribband.timber.buying import Bought
    from ribband.timber.laid import Laid, LayWish
    from ribband.timber.model import Species
    from ribband.timber.order.model import MillClass, Need
    from ribband.timber.pile import Pile, PileRules

__all__ = [
    "boards_of",
    "buy_for",
    "by_strake",
    "classes_for",
    "gather_pile",
    "lay_on_pile",
    "looked_over",
    "pile_rules",
    "thick_as_bought",
    "to_buy_for",
    "told_of_laying",
    "wishes_of",
]

Found = tuple["Finding", ...]


def boards_of(forms: Mapping[str, Form], unit: str) -> tuple[Board, ...]:
    """Read the tally: the forms `boards` and `outlines`.

    Raises
    ------
    InputError : every cell that cannot be used
    """
    return _boards_read(forms.get("boards"), forms.get("outlines"), unit)


@lru_cache(maxsize=4)  # a tally is read again at every look at a job, and seldom another one
def _boards_read(boards: Form | None, outlines: Form | None, unit: str) -> tuple[Board, ...]:
    from ribband.timber import read_boards

    given = {form.name: form for form in (boards, outlines) if form is not None}
    return read_boards(_rows(given, "boards", unit), unit, _rows(given, "outlines", unit))


def wishes_of(forms: Mapping[str, Form], unit: str) -> tuple[LayWish, ...]:
    """Read the form `layings` against the boards of the tally.

    Raises
    ------
    InputError : every cell that cannot be used
    """
    from ribband.timber import read_layings

    names = [board.name for board in boards_of(forms, unit)]
    return read_layings(_rows(forms, "layings", unit), names)


def by_strake(wishes: Sequence[LayWish], strakes: Sequence[Strake]) -> tuple[LayWish, ...]:
    """Give wishes of what a strake is called ("sheer strake") as wishes of the strakes so called.

    A name on a row of its own stands before what it is called.
    """
    named = {wish.plank for wish in wishes}
    found: list[LayWish] = []
    for wish in wishes:
        called = " ".join(wish.plank.lower().split()) if wish.wish in {"pair", "book"} else ""
        own = [s.name for s in strakes if called and s.called == called]
        found += [replace(wish, plank=name) for name in own if name not in named] if own else [wish]
    return tuple(found)


def pile_rules(rules: Mapping[str, Any]) -> PileRules:
    """Give the rules the pile is looked over by, with the moistures of the climate put in."""
    from ribband.timber import PileRules, in_climate

    dressing, seams = in_climate(rules["climate"], rules["dressing"], rules["seams"])
    return PileRules(rules["tally"], dressing, seams, rules["laying"])


def gather_pile(bench: Bench, tell: Tell) -> tuple[Pile, Found]:
    """Tally the pile, see what dresses and how the seams will move."""
    from ribband.app.plan.timbers import timbers_of
    from ribband.planks.solve import thicknesses
    from ribband.timber import Wanted, gather

    boards = boards_of(bench.forms, bench.unit)
    dressed, _ = thicknesses(bench.hull, bench.rules["planks"])
    wanted = Wanted(
        timber=bench.hull.particulars.species,
        dressed_mm=dressed,
        strakes=tuple(strake.name for strake in bench.lining.strakes),
        widths_mm=bench.lining.full_width_mm,
        unit=bench.unit,
        timbers=timbers_of(bench.forms, bench.unit),
    )
    pile = gather(boards, wanted, pile_rules(bench.rules))
    return pile, pile.findings


def lay_on_pile(bench: Bench, tell: Tell) -> tuple[Laid | None, Found]:
    """Lay the planks on the boards; None where there are no boards or no flat shapes."""
    from ribband.app.plan.shop_boards import (
        boards_as_left,
        got_out_of,
        laid_again,
        sawn_elsewhere,
        to_be_laid,
    )
    from ribband.timber import fit_boards, lay_pile, pieces_of_sides

    pile: Pile = bench.made["boards"].result
    now = bench.present
    starboard = now.starboard_shapes
    if not pile.boards or not now.shaped:
        return None, ()
    rules = bench.rules["laying"]
    pieces = pieces_of_sides(
        now.shapes.shapes, starboard.shapes if starboard else None, now.planks, rules
    )
    wishes = by_strake(wishes_of(bench.forms, bench.unit), bench.lining.strakes)
    elsewhere = sawn_elsewhere(bench, wishes)
    pieces, gone = to_be_laid(bench, pieces, wishes, elsewhere)
    boards, told = boards_as_left(bench, fit_boards(pile), elsewhere)
    wishes = tuple(wish for wish in wishes if wish not in elsewhere)
    laid = laid_again(bench, pieces, boards, wishes, elsewhere) or lay_pile(
        pieces,
        boards,
        rules,
        wishes,
        before=bench.before("laying"),
        seed=bench.seed,
        progress=tell,
        timber=bench.hull.particulars.species,
        out=got_out_of(bench),
    )
    said = tuple(replace(f, says=in_unit(f.says, bench.unit)) for f in laid.findings)
    laid = replace(laid, gone=gone, findings=said)
    return laid, (*laid.findings, *told, *told_of_laying(bench, laid))


def buy_for(bench: Bench, tell: Tell) -> tuple[Bought, Found]:
    """Order what no board of the pile gives, planks got out already left out."""
    from ribband.timber import buy, needs_of, with_less_sure

    rules, unit = bench.rules["order"], bench.unit
    laid: Laid | None = bench.made["laying"].result
    shaped, planks, gone = _still_to_buy_for(bench, laid)
    pieces, species = thick_as_bought(bench, shaped)
    unlaid = None if laid is None else laid.laying.unlaid
    needs = needs_of(pieces, planks, unlaid, rules, bench.rules["laying"].greatest_turn_rad)
    classes = classes_for(bench, needs)
    bought = buy(
        needs, classes, rules, species=species, unit=unit, from_shapes=bool(pieces), progress=tell
    )
    marks = tuple(board.name for board in bench.made["boards"].result.boards)
    bought = with_less_sure(replace(bought, gone=gone, marks=marks), unit)
    return bought, _said_of_order(bench, laid, bought, pieces)


def _said_of_order(
    bench: Bench, laid: Laid | None, bought: Bought, pieces: Sequence[Piece]
) -> Found:
    """Give what is found of an order, those planks first that lost their board."""
    from ribband.app.plan.halved import with_butts_said
    from ribband.planks.solve import thicknesses
    from ribband.timber import check_order, lost_boards, not_named, thicker_bought

    order, unit = bought.order, bench.unit
    if order is None:
        return ()
    lost = () if laid is None else laid.lost
    _, rough = thicknesses(bench.hull, bench.rules["planks"])
    mill, stock = (_rows(bench.forms, name, unit) for name in ("mill", "stock"))
    return (
        *lost_boards(lost, to_buy_for(bench, laid, lost) if laid and lost else ""),
        *with_butts_said(bench, bought, pieces, order.findings),
        *thicker_bought(order, bought.needs, rough, unit),
        *not_named(order, mill, stock, unit),
        *check_order(order, bought.needs, bought.rules),
    )


def classes_for(bench: Bench, needs: Sequence[Need]) -> tuple[MillClass, ...]:
    """Give what a mill sells, by the forms, as thick as the thickest plank wants."""
    from ribband.planks.solve import thicknesses
    from ribband.timber import classes_of

    _, rough = thicknesses(bench.hull, bench.rules["planks"])
    thickest = max((need.thickness_mm for need in needs), default=rough)
    mill, stock = (_rows(bench.forms, name, bench.unit) for name in ("mill", "stock"))
    return classes_of(mill, stock, rough or thickest, bench.rules["order"], bench.unit, thickest)


def to_buy_for(bench: Bench, laid: Laid, planks: Sequence[str]) -> str:
    """Say which boards to buy for just these planks of a laying."""
    from ribband.timber import boards_for, lacking, needs_of_pieces

    pieces, _ = thick_as_bought(bench, lacking(laid.pieces, set(planks)))
    needs = needs_of_pieces(pieces, laid.rules.greatest_turn_rad)
    return boards_for(needs, classes_for(bench, needs), bench.rules["order"], bench.unit)


def thick_as_bought(
    bench: Bench, pieces: Sequence[Piece]
) -> tuple[tuple[Piece, ...], Species | None]:
    """Give pieces as thick as they must be bought to dress, hollow and all; and the timber."""
    from ribband.app.plan.timbers import planking_timber
    from ribband.planks.solve import thicknesses
    from ribband.timber import as_bought

    rules, species = bench.rules, planking_timber(bench)
    thick = thicknesses(bench.hull, rules["planks"])
    dressing = pile_rules(rules).dressing
    return as_bought(pieces, thick, dressing, rules["order"], species), species


def _still_to_buy_for(
    bench: Bench, laid: Laid | None
) -> tuple[tuple[Piece, ...], tuple[Plank, ...], tuple[str, ...]]:
    """Give pieces and planks that are not got out yet, or lie on a board, and the names of others.

    Without boards none of the planks got out is known to lie anywhere.
    """
    from ribband.app.plan.shop_boards import got_out_of
    from ribband.timber import lacking

    planks = bench.present.planks.planks
    if laid is not None:
        return laid.pieces, planks, laid.gone
    out = got_out_of(bench) & {plank.name for plank in planks}
    names = {plank.name for plank in planks} - out
    left = tuple(plank for plank in planks if plank.name in names)
    return lacking(_pieces(bench), names), left, tuple(sorted(out))


def _pieces(bench: Bench) -> tuple[Any, ...]:
    from ribband.timber import pieces_of_sides

    now = bench.present
    starboard = now.starboard_shapes
    return pieces_of_sides(
        now.shapes.shapes,
        starboard.shapes if starboard else None,
        now.planks,
        bench.rules["laying"],
    )


def looked_over(laid: Laid) -> Found:
    """Check a laying; that planks lack a board, or lie apart, is said once, and not of each."""
    from ribband.timber import check_laying, sawn_planks

    found = check_laying(
        laid.pieces,
        laid.boards,
        laid.rules,
        laid.laying,
        laid.timber,
        out=sawn_planks(laid),
        wishes=[(wish.wish, wish.plank) for wish in laid.wishes if wish.wish in {"pair", "book"}],
        claimed=[plank for twin in laid.twins for plank in twin.planks],
    )
    told = {finding.where for finding in laid.findings if finding.code == "T132"}
    return tuple(f for f in found if f.code != "T105" and (f.code != "T133" or f.where not in told))


def told_of_laying(bench: Bench, laid: Laid) -> Found:
    """Give what the check finds of a laying, and which planks dry narrower than they may."""
    from ribband.app.plan.timbers import timbers_of
    from ribband.timber import said_of_breadths

    dressing = pile_rules(bench.rules).dressing
    timbers = timbers_of(bench.forms, bench.unit)
    return (*looked_over(laid), *said_of_breadths(laid, dressing, bench.unit, timbers))


def _rows(forms: Mapping[str, Form], name: str, unit: str) -> tuple[Row, ...]:
    from ribband.app.plan.making import rows_of

    return rows_of(forms, name, unit)
