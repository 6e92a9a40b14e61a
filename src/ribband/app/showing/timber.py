"""Showing the timber: the tally, how seams will move, planks on boards, the order.

Each answer also carries the same facts as plain data, in the columns of the open tables.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ribband.app.entering.jobs import job_path
from ribband.app.entering.rules import in_force
from ribband.app.entering.taking import vessel_says
from ribband.app.entering.timber_sums import laying_lines, order_lines, tally_lines
from ribband.app.entering.wish_use import wishes_shown
from ribband.app.plan.making import Tell
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.runner import job_unit, quiet
from ribband.app.plan.timber_steps import boards_of, pile_rules
from ribband.app.showing.answers import Answer, Line, Listing
from ribband.app.showing.whose import headed
from ribband.errors import InputError, Problem
from ribband.findings import Finding
from ribband.store import JobFile
from ribband.units import (
    counted,
    format_length,
    format_small,
    format_volume,
    format_weight,
    parse_length,
)

if TYPE_CHECKING:
    from ribband.survey.rows import Form
    from ribband.timber.board_model import Board
    from ribband.timber.buying import Bought
    from ribband.timber.laid import Laid
    from ribband.timber.moisture.dress import Dressing
    from ribband.timber.order.model import Order
    from ribband.timber.pile import BoardDressing, Pile
    from ribband.timber.tally.count import Counted

__all__ = [
    "laying_answer",
    "order_answer",
    "show_laying",
    "show_order",
    "show_seams",
    "show_tally",
]

LOOK = "Look at the real board before it is laid out: a knot that was not tallied is a weak plank."
NO_PROMISE = (
    "A comparison of widths and timbers, no promise of what one seam will do: the caulker and the "
    "surveyor judge the seam."
)
SAW_CARE = "Dust of the saw and the planer harms: extraction and masks, as the local code asks."


def show_tally(path: Path) -> Answer:
    """Tally the pile: every board's volume and weight, and whether it still dresses.

    Nothing need be planned for it.

    Raises
    ------
    InputError : there are no boards, or cells that cannot be used
    JobFileError : the job cannot be opened
    """
    with JobFile.open(job_path(path)) as job:
        forms = job.forms()
    unit = job_unit(forms)
    boards = boards_of(forms, unit)
    if not boards:
        wanted = "boards on the form boards: ribband forms, then ribband take JOB FOLDER"
        raise InputError([Problem("boards", 0, "", "no boards", wanted)])
    pile = _tallied(forms, boards, unit)
    from ribband.store.table_timber import TIMBER_SHAPES, filled_timber

    columns = [column.name for column in TIMBER_SHAPES[0].columns]
    rows = filled_timber(pile, None, None, "", unit)["boards"]
    return Answer(
        title="The tally",
        lines=tally_lines(pile, unit),
        listings=(_boards(pile, unit), _thicknesses(pile, unit)),
        notes=("", *_how_measured(unit)),
        findings=pile.findings,
        data={"boards": [dict(zip(columns, row, strict=True)) for row in rows]},
    )


def show_seams(path: Path, *, tell: Tell = quiet) -> Answer:
    """Show how much the seams of each strake will open before launching and close afloat."""
    planned = plan(path, "boards", tell=tell)
    pile: Pile | None = planned.run.result("boards")
    if pile is None:
        return Answer(notes=(planned.run.stopped,), findings=planned.run.findings, good=False)
    if pile.seams is None:
        wanted = (
            "a species whose movement is known, on the form vessel: ribband sources; or its "
            "shrinkage on the form timbers"
        )
        found = vessel_says(planned.run.bench.forms, "species")
        raise InputError([Problem("vessel", 0, "species", found, wanted, "Douglas-fir, coast")])
    rules, unit = pile_rules(planned.run.bench.rules), planned.run.bench.unit
    hung = rules.dressing.planking_percent
    climate = (
        Line("hung at", f"{hung:.1f} %", "moisture; see: ribband rules"),
        Line("driest before launching", f"{rules.seams.standing_percent:.1f} %"),
        Line("afloat", f"{rules.seams.afloat_percent:.1f} %"),
        *_at_the_keel(planned, pile, unit),
    )
    return headed(planned, Answer(
        title="Movement of the seams",
        lines=climate,
        listings=(_seams(planned, pile, unit),),
        notes=("", NO_PROMISE),
        findings=tuple(f for f in pile.findings if f.code in _OF_SEAMS),
        data={"seams": list(_seam_data(planned, pile))},
    ), whole="")  # fmt: skip


def show_laying(path: Path, aside: Sequence[str] = (), *, tell: Tell = quiet) -> Answer:
    """Show which plank is got out of which board, and how near the least timber that is."""
    return laying_answer(plan(path, "laying", aside=aside, tell=tell))


def show_order(path: Path, aside: Sequence[str] = (), *, tell: Tell = quiet) -> Answer:
    """Show what is to be bought for the planks no board of the pile gives."""
    planned = plan(path, "order", aside=aside, tell=tell)
    return headed(planned, order_answer(planned))


def laying_answer(planned: Planned, *more: Line) -> Answer:
    """Sum a laying up; it is no good answer while planks are without a board."""
    laid: Laid | None = planned.run.result("laying")
    bench = planned.run.bench
    if laid is None:
        return Answer(notes=(_why_none(planned),), findings=planned.run.findings, good=False)
    return headed(planned, Answer(
        title="Planks on boards",
        lines=(*more, *laying_lines(laid, bench.unit)),
        listings=(_on_boards(laid, bench.unit), *_left(laid, bench.unit), _together(laid),
                  _again(laid, bench.unit), wishes_shown(bench.forms, "layings")),
        notes=("", LOOK, SAW_CARE),
        findings=_of(planned, "laying"),
        data=_tables(planned, "cuts", "offcuts") | {"laying": _laying_data(laid)},
        good=planned.good and not laid.laying.unlaid,
    ))  # fmt: skip


def order_answer(planned: Planned) -> Answer:
    """Show an order with its allowances, prices and the packs it comes in."""
    bought: Bought | None = planned.run.result("order")
    bench = planned.run.bench
    if bought is None:
        return Answer(notes=(planned.run.stopped,), findings=planned.run.findings, good=False)
    if bought.order is None:
        return Answer(title="Nothing to buy: every plank has a board of the pile.",
                      findings=_of(planned, "order"), data={"order": []})  # fmt: skip
    from ribband.timber import delivery_note

    order = bought.order
    guessed = "" if bought.from_shapes else _GUESSED
    return Answer(
        title="The order",
        lines=order_lines(bought, bench.unit),
        listings=(_order_listing(order, bench.unit), _allowances(order)),
        notes=("", *delivery_note(order, bench.unit), *([guessed] if guessed else []),
               *_look_longer(planned)),
        findings=_of(planned, "order"),
        data=_tables(planned, "order") | {"unmet": list(order.unmet)},
        good=planned.good and not order.unmet,
    )  # fmt: skip


def _look_longer(planned: Planned) -> tuple[str, ...]:
    """Say, where a pile left planks over, that a longer search may have less to buy."""
    laid: Laid | None = planned.run.result("laying")
    if laid is None or not laid.laying.unlaid or not laid.boards:
        return ()
    over = counted(len(laid.laying.unlaid), "plank")
    longer = f"ribband lay {planned.job} --seconds 30 looks longer, and may leave fewer."
    return (f"Before buying: {over} found no board of the pile in the usual search. {longer}",)


_OF_SEAMS = {"T020", "T021", "T022", "T023"}
_GUESSED = (
    "No flat shape is known: the planks' own length and width, with the rule's breadth for sweep, "
    "stand for them. Spile the swept ones before ordering."
)


def _tallied(forms: Mapping[str, Form], boards: tuple[Board, ...], unit: str) -> Pile:
    """Look the pile over by what the form vessel says; nothing is lined out for it."""
    from ribband.app.plan.timbers import timbers_of
    from ribband.timber import Wanted, gather

    rules = in_force(forms.get("rules"), unit)
    said = vessel_says(forms, "planking")
    dressed = rules["planks"].dressed_mm or (parse_length(said, unit) if said else 0.0)
    own = timbers_of(forms, unit)
    wanted = Wanted(vessel_says(forms, "species"), dressed, unit=unit, timbers=own)
    return gather(boards, wanted, pile_rules(rules))


def _how_measured(unit: str) -> tuple[str, ...]:
    exact = "Timber is exact: the board's face by its thickness, flaws not deducted."
    return (exact, "Measure moisture with a meter before planing.") if unit else (exact,)


def _boards(pile: Pile, unit: str) -> Listing:
    unfit = dict(pile.unfit)
    rows = tuple(
        _board_row(board, counted, own, unfit.get(board.name, ""), unit)
        for board, counted, own in zip(pile.boards, pile.tally.boards, pile.dressings, strict=True)
    )
    columns = ("board", "length", "mean width", "rough", "species", "moisture", "timber",
               "weight", "spare when dressed", "flaws", "")  # fmt: skip
    return Listing("Boards", columns, rows)


def _board_row(
    board: Board, counted: Counted, own: BoardDressing, unfit: str, unit: str
) -> tuple[str, ...]:
    spare = own.dressing.to_spare_mm if own.dressing else None
    remark = unfit or (board.state if board.state != "sound" else board.lies)
    return (
        board.name,
        format_length(counted.length_mm, unit),
        format_length(counted.mean_width_mm, unit),
        format_length(counted.thickness_mm, unit),
        board.species,
        "" if board.moisture_percent is None else f"{board.moisture_percent:g} %",
        format_volume(counted.volume_m3, unit),
        "" if counted.kg is None else format_weight(counted.kg, unit),
        "not known" if spare is None else format_small(spare, unit).replace("-", "−"),
        str(len(board.flaws) or ""),
        remark,
    )


def _thicknesses(pile: Pile, unit: str) -> Listing:
    """Sum the sound boards up by rough thickness and moisture."""
    every = zip(pile.boards, pile.tally.boards, pile.dressings, strict=True)
    sound = [(b, c, d) for b, c, d in every if b.state == "sound"]
    rows = []
    for thick in sorted({board.thickness_mm for board, _, _ in sound}):
        own = [(counted, d.dressing) for b, counted, d in sound if b.thickness_mm == thick]
        known = [sum_ for _, sum_ in own if sum_ and sum_.to_spare_mm is not None]
        worst = min(known, key=lambda sum_: sum_.to_spare_mm or 0.0, default=None)
        volume = format_volume(sum(counted.volume_m3 for counted, _ in own), unit)
        good = f"{sum(bool(sum_.dresses) for sum_ in known)} of {len(own)}"
        rows.append((format_length(thick, unit), str(len(own)), volume, good, *_sum(worst, unit)))
    columns = ("rough", "boards", "timber", "dress", "dries by", "planed off", "dressed",
               "to spare (the worst)")  # fmt: skip
    return Listing("By rough thickness: will it dress", columns, tuple(rows))


def _sum(worst: Dressing | None, unit: str) -> tuple[str, ...]:
    """Write the sum of dressing out, of the board with least to spare."""
    if worst is None or worst.dries_by_mm is None or worst.to_spare_mm is None:
        return ("not known", "", "", "")
    return (
        format_small(round(worst.dries_by_mm, 6) + 0.0, unit),  # never "-0.00"
        format_small(worst.planed_mm, unit),
        format_length(worst.dressed_mm, unit),
        format_small(worst.to_spare_mm, unit).replace("-", "−"),
    )


def _seams(planned: Planned, pile: Pile, unit: str) -> Listing:
    rows = [
        (
            row["strake"],
            format_length(row["widest_mm"], unit),
            format_small(row["opens_mm"], unit),
            format_small(row["closes_mm"], unit),
            ", ".join(word for word, so in (("may gape", row["may_gape"]),
                                            ("may crush", row["may_crush"])) if so),
        )
        for row in _seam_data(planned, pile)
    ]  # fmt: skip
    columns = ("strake", "widest", "shrinks before launching", "grows afloat", "")
    return Listing("Strakes, from the keel", columns, tuple(reversed(rows)))


def _at_the_keel(planned: Planned, pile: Pile, unit: str) -> tuple[Line, ...]:
    """Tell how the garboard's seam at the rabbet moves by the garboard's own half."""
    first = next(_seam_data(planned, pile), None)
    if first is None:
        return ()
    says = (
        f"at the widest, before launching; closes {format_small(first['closes_mm'] / 2, unit)} "
        "afloat: the garboard's own half; what keel and rabbet move is not reckoned"
    )
    opens = format_small(first["opens_mm"] / 2, unit)
    return (Line("garboard's seam at the keel", f"opens {opens}", says),)


def _seam_data(planned: Planned, pile: Pile) -> Iterator[dict[str, Any]]:
    """Give each strake's widest place and what it moves there, with the limits of the rules."""
    seams = pile.seams
    if seams is None or seams.widest_mm is None:
        return
    rules = pile_rules(planned.run.bench.rules).seams
    widths = planned.run.bench.lining.full_width_mm
    between = (widths[:-1] + widths[1:]) / 2
    opens = float(np.nanmean(seams.standing_mm / between))
    closes = float(np.nanmean(-seams.afloat_mm / between))
    for name, row in zip(pile.strakes, widths, strict=True):
        wide = float(np.nanmax(row))
        yield {
            "strake": name,
            "widest_mm": wide,
            "opens_mm": opens * wide,
            "closes_mm": closes * wide,
            "may_gape": opens * wide > rules.gape_mm,
            "may_crush": closes * wide > seams.crush_mm,
        }


def _on_boards(laid: Laid, unit: str) -> Listing:
    from ribband.timber import sawn_planks

    lengths = {plank: float(np.ptp(p.outline[:, 0])) for p in laid.pieces for plank in p.planks}
    on: dict[str, list[tuple[float, str]]] = {}
    for cut in laid.laying.cuts:
        on.setdefault(cut.board, []).append((cut.x_mm, cut.plank))
    kept = {part.name.rpartition("/")[0] for part in laid.laying.offcuts}
    sawn = sawn_planks(laid)
    rows = tuple(
        (
            board.name,
            format_length(float(np.ptp(board.outline[:, 0])), unit),
            ", ".join(
                f"{p} ({format_length(lengths[p], unit)}{', got out' if p in sawn else ''})"
                for _, p in sorted(on[board.name])
            ),
            "an end kept" if board.name in kept else "",
            board.lies,
        )
        for board in laid.boards
        if board.name in on
    )  # fmt: skip
    return Listing("Boards cut into", ("board", "length", "planks (their length)", "", ""), rows)


def _together(laid: Laid) -> Listing:
    """List the planks got out with their other side, as was wished."""
    from ribband.timber import mate_words

    on, words = {cut.plank: cut.board for cut in laid.laying.cuts}, mate_words(laid)
    rows = tuple((twin.port, on[twin.port], words[twin.port]) for twin in laid.twins)
    return Listing("Port and starboard got out together", ("plank", "board", ""), rows)


def _left(laid: Laid, unit: str) -> tuple[Listing, ...]:
    lengths = {plank: p for p in laid.pieces for plank in p.planks}
    rows = tuple(
        (
            plank,
            format_length(float(np.ptp(lengths[plank].outline[:, 0])), unit),
            format_length(float(np.ptp(lengths[plank].outline[:, 1])), unit),
        )
        for plank in laid.laying.unlaid
    )
    columns = ("plank", "length", "breadth over its sweep")
    return (Listing("Planks without a board (see: ribband order)", columns, rows),)


def _again(laid: Laid, unit: str) -> Listing:
    """Tally what is left of the boards cut into again: ends and strips worth keeping."""
    from ribband.timber import count
    from ribband.timber.laying.cuts import retallied

    parts = retallied(laid.laying, laid.pieces, laid.boards, laid.rules)
    rows = tuple(
        (
            one.board,
            format_length(one.length_mm, unit),
            format_length(one.mean_width_mm, unit),
            format_length(one.thickness_mm, unit),
            format_volume(one.volume_m3, unit),
        )
        for one in count(parts, unit=unit).boards
    )
    columns = ("mark it", "length", "mean width", "rough", "timber")
    return Listing("Left over, tallied again", columns, rows)


def _laying_data(laid: Laid) -> dict[str, Any]:
    own = laid.laying
    return {
        "planks": len(own.cuts), "unlaid": list(own.unlaid), "used_m3": own.used_m3,
        "yield": own.yield_part, "bound_m3": own.bound_m3 or None, "gap": own.gap,
        "seconds": own.seconds, "mended": laid.mended, "moved": list(laid.moved),
    }  # fmt: skip


def _order_listing(order: Order, unit: str) -> Listing:
    rows = tuple(
        (
            format_length(line.of.length_mm, unit),
            format_length(line.of.width_mm, unit),
            format_length(line.of.thickness_mm, unit),
            str(line.count),
            f"{line.spare} spare" if line.spare else "",
            format_volume(line.volume_m3, unit),
            "" if line.kg is None else format_weight(line.kg, unit),
            "" if line.price is None else f"{line.price:.2f}",
        )
        for line in order.lines
    )
    columns = ("length", "width", "thickness", "boards", "of them", "timber", "weight", "price")
    return Listing("Boards to buy", columns, rows)


def _allowances(order: Order) -> Listing:
    rows = tuple((a.name, f"{a.percent:.1f} %", a.says) for a in order.allowances)
    return Listing("Allowances, of the planks' own rough timber", ("for", "", ""), rows)


def _why_none(planned: Planned) -> str:
    if planned.run.stopped:
        return planned.run.stopped
    if not planned.run.bench.forms.get("boards"):
        return "There are no boards on the form boards; for what to buy: ribband order."
    return "There are no flat shapes to lay: they need a hull measured in space, not girths alone."


def _of(planned: Planned, *steps: str) -> tuple[Finding, ...]:
    made = planned.run.bench.made
    return tuple(f for step in steps if step in made for f in made[step].findings)


def _tables(planned: Planned, *names: str) -> dict[str, Any]:
    from ribband.app.showing.plan import as_tables

    return as_tables(planned, *names)
