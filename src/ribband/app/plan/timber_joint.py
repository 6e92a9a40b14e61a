"""Butts that suit the boards: lengths and boards solved together.

The lengths the pile can give at the strakes' breadth are given to the butts as their stock, the
rules kept as they are. Each layout found is rolled out, laid on the boards and weighed: planks
without a board, timber used, timber still to be bought. What found no board takes its length off
the stock, and the butts are laid again, till the time is up. The best is compared with butts
first, boards after, both laid for as long again; nothing in the job changes till it is accepted.

Planks got out already stay as they are, with their butts and their places on their boards; see
`joint_held.py`. Port and starboard must be alike: a wish for a butt names no side.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path
from time import perf_counter
from typing import TYPE_CHECKING, Any

import numpy as np

from ribband import __version__
from ribband.app.entering.jobs import Taken, change
from ribband.app.entering.wish_use import with_line
from ribband.app.plan.joint_held import (
    bare_lengths,
    held_boards,
    held_pieces,
    held_planks,
    held_ways,
    held_wishes,
    refuse_anew,
)
from ribband.app.plan.making import Bench, Tell
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.repair_steps import asked_to_renew
from ribband.app.plan.runner import quiet
from ribband.app.plan.timber_steps import classes_for, thick_as_bought, told_of_laying
from ribband.app.showing.answers import Answer, Line, Listing, plain
from ribband.errors import InputError, Problem
from ribband.store import JobFile
from ribband.survey.rows import Form
from ribband.units import format_length, format_volume

if TYPE_CHECKING:
    from ribband.butts.model import Layout, Ways
    from ribband.timber.laid import Laid
    from ribband.timber.pile import Pile
    from ribband.timber.suited import Figures, Suited

__all__ = ["SECONDS", "Accepted", "accept_suited", "suit_answer"]

SECONDS = 60.0
ENDLESS = float("inf")
SHARES = (1.0, 1.2, 1.5, 2.0, ENDLESS)  # of the pile; over 1 where so much is bought besides
LAYING, BUTTS = 4.0, 8.0  # s, about, for each layout tried
LONGER = 0.2  # of the time: butts as they were, and the best found, are each laid so long again
SWEPT = 25.0  # mm of sweep reckoned on a plank's breadth
KIND = "suited butts"
NOT_SO_SHORT = "No layout of butts keeps the rules with the lengths the pile can give:"
ALIKE = (
    "Both are laid on the boards for as long. The old butts as they are here: lay --seconds alone."
)
KEPT = "Every butt keeps the rules in force. No bound is proved for the two together."


@dataclass(frozen=True, slots=True)
class Accepted:
    """The revision made of the butts found, and the figures they were accepted for."""

    taken: Taken
    suited: Suited


@dataclass(frozen=True, slots=True)
class _Tried:
    """A layout rolled out and laid."""

    layout: Layout
    laid: Laid

    def reached(self, mill: float | None) -> tuple[float, float, int]:
        """Give how good it is, less being better; `mill` as for `timber.suited.reached`."""
        from ribband.timber.suited import lacking_m3, money_of, reached

        laid = self.laid
        butts = len(self.layout.butts)
        return reached(lacking_m3(laid), laid.laying, money_of(laid), mill, butts)


def suit_answer(path: Path, seconds: float = SECONDS, *, tell: Tell = quiet) -> Answer:
    """Solve butts and boards together and show what it saves; nothing in the job changes.

    Raises
    ------
    InputError : no boards or no flat shapes, sides that are not alike, or seams measured as hung
    JobFileError : the job cannot be opened or written
    """
    _no_repair(path)
    planned = plan(path, "order", tell=lambda part, words: tell(0.3 * part, words))
    suited = _suited(planned, seconds, lambda part, words: tell(0.3 + 0.7 * part, words))
    _keep(planned, suited)
    return _answer(planned, suited)


def accept_suited(path: Path, who: str = "", *, tell: Tell = quiet) -> Accepted:
    """Fix the butts found last as a revision of the form `butts`, and keep their laying.

    Raises
    ------
    InputError : none was found for the job as it stands
    JobFileError : the job cannot be opened or written
    """
    _no_repair(path)
    planned = plan(path, "laying", tell=lambda part, words: tell(0.3 * part, words))
    with JobFile.open(planned.job) as job:
        kept = job.kept(_key(planned))
    suited: Suited | None = None if kept is None else kept
    if suited is None or suited.layout is None or suited.laid is None:
        wanted = "butts that suit the boards, found for the job as it is: ribband lay JOB suit"
        raise InputError([Problem("butts", 0, "", "none found that are better", wanted)])
    form = _fixed(planned, suited.layout)
    why = f"butts that suit the boards: {suited.after.butts} a side"
    taken = change(path, {"butts": form}, who, why)
    _keep_laying(path, suited, lambda part, words: tell(0.3 + 0.7 * part, words))
    return Accepted(taken, suited)


def _suited(planned: Planned, seconds: float, tell: Tell) -> Suited:
    from ribband.timber.suited import Suited

    bench = planned.run.bench
    first = _start(planned)
    begun = perf_counter()
    best, tried = None, 0
    mill = _mill_price(_figures(bench, first), first.laid)
    why: list[str] = []
    for trial in _trials(bench, first, begun + (1 - 2 * LONGER) * seconds, why):
        tried += 1
        spent = min((perf_counter() - begun) / seconds, 1.0)
        tell(spent, f"{tried} layouts of butts laid on the boards")
        if best is None or trial.reached(mill) < best.reached(mill):
            best = trial
    first, best = _as_long(first, best, LONGER * seconds, bench.seed)
    before = _figures(bench, first)
    after = before if best is None else _figures(bench, best)
    better = best is not None and best.reached(mill) < first.reached(mill)
    better = better and not _dearer(after, before)
    after = after if better else before
    return Suited(
        before, after, best.layout if best and better else None,
        best.laid if best and better else None, tried,
        perf_counter() - begun, () if tried else tuple(why),
    )  # fmt: skip


def _as_long(
    first: _Tried, best: _Tried | None, seconds: float, seed: int
) -> tuple[_Tried, _Tried | None]:
    """Lay the butts as they were and the best found for as long again, so that like meets like.

    What a laying saves by being searched longer is not what other butts save.
    """
    from ribband.timber import lay_longer

    if best is None:
        return first, None
    longer = (replace(one, laid=lay_longer(one.laid, seconds, seed)) for one in (first, best))
    return next(longer), next(longer)


def _dearer(one: Figures, other: Figures) -> bool:
    """Tell whether layouts weighed by the mill's usual price come out dearer after all."""
    return one.money is not None and other.money is not None and one.money >= other.money


def _mill_price(before: Figures, laid: Laid) -> float | None:
    """Give the money a cubic metre of planks without a board costs to buy, by the first order."""
    from ribband.timber.suited import lacking_m3

    lacking = lacking_m3(laid)
    if before.money is None or before.bought_money is None or not lacking:
        return None
    return before.bought_money / lacking


def _start(planned: Planned) -> _Tried:
    laid: Laid | None = planned.run.result("laying")
    bench = planned.run.bench
    if laid is None:
        wanted = "boards of a pile and flat shapes to lay on them"
        raise InputError([Problem("boards", 0, "", "nothing laid", wanted)])
    refuse_anew(bench)
    _, layout, other = bench.butts
    if other is not None:
        wanted = "mirrored: a wish for a butt names no side"
        raise InputError([Problem("rules", 0, "butts.sides", "staggered", wanted, "mirrored")])
    return _Tried(layout, laid)


def _trials(bench: Bench, first: _Tried, until: float, why: list[str]) -> Iterator[_Tried]:
    """Lay butts to the pile's lengths, share by share; then again as what was not laid tells.

    What forbids a layout is put into `why`.
    """
    from ribband import butts as stage

    held = held_planks(bench, first.laid)
    ways, rules = held_ways(bench.butts[0], first.layout, held), bench.rules["butts"]
    lengths = (*_lengths(bench, first.laid), *bare_lengths(bench, first.laid, held))
    sides = 1 if rules.sides == "one" else 2
    wanted = sides * float(np.nansum(ways.length_mm))
    for share in SHARES:
        if share * sum(lengths) < wanted:
            continue  # no layout can be cut of so little
        stock = _stock(lengths, share)
        start: Layout | None = None
        for _ in range(6):
            left = until - perf_counter()
            if left < LAYING:
                return
            own = _with_stock(ways, stock, bench)
            layout = stage.lay(own, rules, bench.seed, min(BUTTS, left), start)
            if not layout.feasible or _faulty(stage.check(own, rules, layout)):
                eased = (f"ease {r.rule}: {r.says} ({r.where})" for r in layout.reliefs)
                why[:] = [*layout.clashes, *eased]
                break
            trial = _tried(bench, ways, layout, first.laid, held)
            yield trial
            if not trial.laid.laying.unlaid:
                return
            if share == ENDLESS:
                break
            stock, start = _less(stock, trial.laid), layout
            if not stock:
                break


def _faulty(found: Sequence[Any]) -> bool:
    return any(finding.severity == "fault" for finding in found)


def _lengths(bench: Bench, laid: Laid) -> tuple[float, ...]:
    """Give the plank lengths the pile's boards can give at the breadth most strakes have."""
    from ribband.timber.board_runs import runs

    rules = laid.rules
    thin = min(piece.thickness_mm for piece in laid.pieces)
    thick = [board for board in laid.boards if board.thickness_mm >= thin]
    widest = np.nanmax(bench.lining.full_width_mm, axis=1)
    breadth = float(np.quantile(widest, 0.5)) + 2 * rules.allowance_mm + SWEPT
    every = runs(thick, breadth, rules)
    return tuple(run - 2 * rules.end_allowance_mm for run in every)


def _stock(lengths: Sequence[float], share: float) -> dict[float, int]:
    """Give lengths with counts: the pile's, and so much over it of the same lengths."""
    from ribband.timber.board_runs import in_pairs

    if share == ENDLESS:
        return {length: -1 for length, _ in in_pairs(lengths)}
    extra = round(len(lengths) * (share - 1.0))
    places = np.linspace(0, len(lengths) - 1, extra).round().astype(int)
    return dict(in_pairs([*lengths, *(lengths[i] for i in places)]))


def _less(stock: dict[float, int], laid: Laid) -> dict[float, int]:
    """Take a pair off the stock for every shape that found no board, the shortest that held it."""
    after = dict(stock)
    short = {p.name: float(np.ptp(p.outline[:, 0])) for p in laid.pieces
             if set(p.planks) & set(laid.laying.unlaid)}  # fmt: skip
    for length in sorted(short.values(), reverse=True):
        holds = [own for own, count in after.items() if own >= length and count > 0]
        if holds:
            after[min(holds)] -= 2
    return {length: count for length, count in after.items() if count > 0}


def _with_stock(ways: Ways, stock: dict[float, int], bench: Bench) -> Ways:
    trim = bench.rules["butts"].trim_mm
    lengths = sorted(stock)
    return replace(
        ways,
        stock_mm=np.array([length + trim for length in lengths]),
        stock_count=np.array([stock[length] for length in lengths], dtype=np.int64),
    )


def _tried(bench: Bench, ways: Ways, layout: Layout, before: Laid, held: frozenset[str]) -> _Tried:
    """Roll a layout out and lay it on the same boards, planks held staying where they are."""
    from ribband.app.plan.timbers import planking_timber
    from ribband.planks import get_shapes, list_planks, scarf_of
    from ribband.timber import fit_boards, lay_pile, pieces_of_sides

    rules, hull, lining = bench.rules, bench.hull, bench.lining
    species = planking_timber(bench)
    scarf = scarf_of(hull, rules["shapes"])
    planks = list_planks(hull, lining, ways, layout, rules["planks"], species, None, scarf)
    shapes = get_shapes(hull, lining, ways, layout, rules["shapes"])
    pieces = pieces_of_sides(shapes.shapes, None, planks, before.rules)
    pieces = held_pieces(pieces, before, held)
    pile: Pile = bench.made["boards"].result  # with what is to be said of boards left alone
    boards = held_boards(bench, fit_boards(pile), before)
    laid = lay_pile(
        pieces, boards, before.rules, held_wishes(before, held), before=before if held else None,
        seed=bench.seed, timber=before.timber, out=held,
    )  # fmt: skip
    return _Tried(layout, replace(laid, gone=before.gone))


def _figures(bench: Bench, tried: _Tried) -> Figures:
    from ribband.timber import buy, needs_of
    from ribband.timber.suited import Figures, goals_of, money_of

    laid, unit = tried.laid, bench.unit
    rules = replace(bench.rules["order"], seconds=3.0)
    pieces, _ = thick_as_bought(bench, laid.pieces)
    needs = needs_of(pieces, (), laid.laying.unlaid, rules, laid.rules.greatest_turn_rad)
    order = buy(needs, classes_for(bench, needs), rules, unit=unit).order
    return Figures(
        planks=sum(len(piece.planks) for piece in laid.pieces),
        butts=len(tried.layout.butts),
        unlaid=len(laid.laying.unlaid),
        boards=len({cut.board for cut in laid.laying.cuts}),
        used_m3=laid.laying.used_m3,
        bought_m3=0.0 if order is None else order.volume_m3,
        used_money=money_of(laid),
        bought_money=0.0 if order is None else order.price,
        goals=goals_of(tried.layout),
    )


def _answer(planned: Planned, suited: Suited) -> Answer:
    unit, one, two = planned.run.bench.unit, suited.before, suited.after
    saved = one.bought_m3 - two.bought_m3
    found = "better butts were found" if suited.layout else "none better were found"
    rows = tuple(
        (name, was, now)
        for name, was, now in (
            ("planks", str(one.planks), str(two.planks)),
            ("butts a side", str(one.butts), str(two.butts)),
            ("planks without a board", str(one.unlaid), str(two.unlaid)),
            ("boards cut into", str(one.boards), str(two.boards)),
            ("timber of the pile used", *_volumes(one.used_m3, two.used_m3, unit)),
            ("timber still to buy", *_volumes(one.bought_m3, two.bought_m3, unit)),
            ("timber in all", *_volumes(one.timber_m3, two.timber_m3, unit)),
            *_in_money(one, two),
            *_in_goals(one, two, unit),
        )
    )
    job = planned.job
    then = f"To take them: ribband lay {job} suit --accept" if suited.layout else ""
    return Answer(
        title="Butts that suit the boards",
        lines=(
            Line("layouts laid", str(suited.tried), f"{suited.seconds:.0f} s; {found}"),
            Line("saved", format_volume(saved, unit), "of timber to be bought"),
            Line("timber in all", format_volume(two.timber_m3, unit),
                 f"used and bought, for {format_volume(one.timber_m3, unit)}"),
            *([] if one.money is None or two.money is None
              else [Line("saved in all", f"{one.money - two.money:.2f}", "in the yard's money")]),
        ),
        listings=(
            Listing("Compared", ("", "butts first", "together"), rows),
            *([_butts(planned, suited.layout)] if suited.layout else []),
        ),
        notes=("", *([NOT_SO_SHORT, *suited.why] if suited.why else []), KEPT,
               *_worse(one, two, unit), ALIKE, *([then] if then else [])),
        data={"before": _data(one), "after": _data(two), "tried": suited.tried,
              "better": suited.layout is not None},
    )  # fmt: skip


def _volumes(one: float, two: float, unit: str) -> tuple[str, str]:
    return format_volume(one, unit), format_volume(two, unit)


def _in_money(one: Figures, two: Figures) -> Iterator[tuple[str, str, str]]:
    """Give the lines in the yard's money, where both figures are known."""
    for name, was, now in (
        ("money, pile used", one.used_money, two.used_money),
        ("money, to buy", one.bought_money, two.bought_money),
        ("money in all", one.money, two.money),
    ):
        if was is not None and now is not None:
            yield name, f"{was:.2f}", f"{now:.2f}"


def _in_goals(one: Figures, two: Figures, unit: str) -> Iterator[tuple[str, str, str]]:
    """Give the goals beside the rules, before and after."""
    now = dict(two.goals)
    for name, was in one.goals:
        if name in now:
            yield name.removesuffix(", mm"), _goal(name, was, unit), _goal(name, now[name], unit)


def _goal(name: str, value: float, unit: str) -> str:
    return format_length(value, unit) if name.endswith(", mm") else f"{value:g}"


def _worse(one: Figures, two: Figures, unit: str) -> tuple[str, ...]:
    """Say what the butts found cost in the yard's own goals, which no rule stands for."""
    from ribband.timber.suited import worse_goals

    said = [
        f"{name.removesuffix(', mm')} {_goal(name, was, unit)} before, {_goal(name, now, unit)} now"
        for name, was, now in worse_goals(one, two)
    ]
    more = two.butts - one.butts
    said = [
        *([f"{more} more {'butt' if more == 1 else 'butts'} a side"] if more > 0 else []),
        *said,
    ]
    return (f"What it costs in goals and work: {'; '.join(said)}.",) if said else ()


def _data(one: Figures) -> dict[str, Any]:
    return {**plain(one), "timber_m3": one.timber_m3, "goals": dict(one.goals)}


def _butts(planned: Planned, layout: Layout) -> Listing:
    ways = planned.run.bench.butts[0]
    rows = []
    for s, strake in enumerate(ways.strakes):
        own = sorted(butt for butt in layout.butts if butt.strake == s)
        places = [ways.frames[b.landing // 2] + "+" * (b.landing % 2) for b in own]
        lengths = np.diff([0.0, *(ways.along_mm[s, b.landing] for b in own), ways.length_mm[s]])
        said = ", ".join(format_length(float(x), planned.run.bench.unit) for x in lengths)
        rows.append((strake, ", ".join(places) or "none", said))
    columns = ("strake", "butts (+ = on a block aft)", "lengths of its planks")
    return Listing("Butts found, from the keel", columns, tuple(reversed(rows)))


def _fixed(planned: Planned, layout: Layout) -> Form:
    """Give the form `butts` with its stretches kept and every butt fixed as found."""
    ways, form = planned.run.bench.butts[0], planned.run.bench.forms.get("butts")
    if form is not None:
        heads = [head.strip().lower() for head in form.header]
        keep = [n for n, row in enumerate(form.rows) if row[heads.index("wish")].strip() != "fix"]
        form = replace(
            form,
            rows=tuple(form.rows[n] for n in keep),
            numbers=tuple(form.numbers[n] for n in keep),
        )
    for butt in layout.butts:
        frame, block = divmod(butt.landing, 2)
        said = {
            "wish": "fix", "strake": ways.strakes[butt.strake], "frame": ways.frames[frame],
            "landing": "block" if block else "frame", "reason": "suits the boards",
        }  # fmt: skip
        form = with_line(form, "butts", said)
    return form if form is not None else Form("butts", ("wish",), (), "butts.csv", ())


def _key(planned: Planned) -> str:
    return sha256(f"{KIND} {planned.run.keys['laying']}".encode()).hexdigest()


def _no_repair(path: Path) -> None:
    """Refuse to move butts for boards while a repair stands: its joints are chosen otherwise."""
    if asked_to_renew(path):
        wanted = "a whole hull: joints of a repair stand where the least comes out (ribband repair)"
        raise InputError([Problem("renew", 0, "", "a repair", wanted)])


def _keep(planned: Planned, suited: Suited) -> None:
    with JobFile.open(planned.job, writing=True) as job:
        job.keep(_key(planned), KIND, suited, __version__, suited.seconds)


def _keep_laying(path: Path, suited: Suited, tell: Tell) -> None:
    """Keep the laying found with the butts, if the planks are the same now they are fixed."""
    laid = suited.laid
    planned = plan(path, "shapes", tell=tell)
    with JobFile.open(planned.job, writing=True) as job:
        key = planned.run.keys["laying"]
        if laid is not None and job.kept(key) is None and _same_planks(planned, laid):
            found = (*laid.findings, *told_of_laying(planned.run.bench, laid))
            job.keep(key, "laying", (laid, found), __version__, laid.laying.seconds)


def _same_planks(planned: Planned, laid: Laid) -> bool:
    from ribband.app.plan.log_keys import was_measured
    from ribband.timber import pieces_of_sides

    bench = planned.run.bench
    shapes, starboard = planned.run.result("shapes") or (None, None)
    if shapes is None or starboard is not None or was_measured(bench.forms.get("as_hung")):
        return False
    now = pieces_of_sides(shapes.shapes, None, bench.made["planks"].result, laid.rules)
    now = held_pieces(now, laid, held_planks(bench, laid))
    return len(now) == len(laid.pieces) and all(
        a.planks == b.planks and a.thickness_mm == b.thickness_mm
        and np.allclose(a.outline, b.outline, atol=1e-6)
        for a, b in zip(now, laid.pieces, strict=True)
    )  # fmt: skip
