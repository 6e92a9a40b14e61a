"""Acting on the timber: a plank pinned, a board barred or spoilt, a longer search.

Every change is a line of a form, and so a revision. What is laid again after it is only what must
be: see `ribband.timber.laid`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from ribband import __version__
from ribband.app.entering.jobs import Taken, change, job_path
from ribband.app.entering.wish_use import with_line
from ribband.app.plan.making import Made, Tell
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.runner import quiet
from ribband.app.plan.steps import kept_as
from ribband.app.plan.timber_steps import to_buy_for
from ribband.app.showing.answers import Answer, Line
from ribband.app.showing.timber import laying_answer
from ribband.errors import InputError, Problem
from ribband.findings import Finding
from ribband.store import JobFile
from ribband.survey.columns import heading
from ribband.survey.rows import Form
from ribband.units import counted, format_volume, in_unit

if TYPE_CHECKING:
    from ribband.timber.board_model import Laying
    from ribband.timber.laid import Laid

__all__ = ["Mended", "bar_board", "lay_on", "match_sides", "pin_plank", "saw_plank", "spoil_board",
           "with_state"]  # fmt: skip

KNOWN_BY = ("wish", "plank", "board")
ONE_BOARD = ("wish", "plank")  # a plank is pinned to one board, and sawn from one
SIDES = {"pair", "book"}  # words on port and starboard, one of a plank or strake


@dataclass(frozen=True, slots=True)
class Mended:
    """What came of a change: the revision or None, and the laying after it."""

    taken: Taken
    planned: Planned
    answer: Answer


def pin_plank(path: Path, plank: str, board: str, who: str = "", *, tell: Tell = quiet) -> Mended:
    """Pin a plank to a board and lay again what must change."""
    return _wished(path, {"wish": "pin", "plank": plank, "board": board}, who, tell)


def saw_plank(path: Path, plank: str, board: str, who: str = "", *, tell: Tell = quiet) -> Mended:
    """Say that a plank is got out of a board: it stays as it lies, whatever comes."""
    return _wished(path, {"wish": "sawn", "plank": plank, "board": board}, who, tell)


def bar_board(path: Path, board: str, who: str = "", *, tell: Tell = quiet) -> Mended:
    """Bar a board for every plank and lay again what must change."""
    return _wished(path, {"wish": "bar", "plank": "", "board": board}, who, tell)


def match_sides(path: Path, how: str, name: str, who: str = "", *, tell: Tell = quiet) -> Mended:
    """Wish a plank's two sides, or a strake's, out of one board ("pair") or book-matched ("book").

    Raises
    ------
    InputError : there is no such plank or strake
    JobFileError : the job cannot be opened or written
    """
    planned = plan(path, "laying")
    laid: Laid | None = planned.run.result("laying")
    if laid is not None:
        _sides_there(laid, [s.called for s in planned.run.bench.lining.strakes], name)
    with JobFile.open(job_path(path)) as job:
        form = _without_sides(job.forms().get("layings"), name)
    after = with_line(form, "layings", {"wish": how, "plank": name}, ONE_BOARD)
    taken = change(path, {"layings": after}, who, f"layings: {how} {name}")
    return _mended(path, taken, laid, tell)


def _without_sides(form: Form | None, name: str) -> Form | None:
    """Take off what is said of the sides of this plank or strake already."""
    if form is None:
        return None
    heads = [heading(head) for head in form.header]
    plank, wish = heads.index("plank"), heads.index("wish")
    keep = [
        n
        for n, row in enumerate(form.rows)
        if row[wish].strip() not in SIDES or _key(row[plank]) != _key(name)
    ]
    rows, numbers = tuple(form.rows[n] for n in keep), tuple(form.numbers[n] for n in keep)
    return replace(form, rows=rows, numbers=numbers)


def _sides_there(laid: Laid, called: list[str], name: str) -> None:
    planks = [plank for piece in laid.pieces for plank in piece.planks]
    places = [plank[1:] for plank in planks]
    strakes = [place.rpartition("-")[0] for place in places]
    if _key(name) not in {_key(text) for text in (*planks, *places, *strakes, *called)}:
        wanted = "a plank or a strake of the list"
        raise InputError([Problem("layings", 0, "plank", name, wanted, planks[0])])


def spoil_board(path: Path, board: str, who: str = "", *, tell: Tell = quiet) -> Mended:
    """Mark a board spoilt on its form and lay again only what must change.

    Raises
    ------
    InputError : there is no such board
    JobFileError : the job cannot be opened or written
    """
    before = _laid_before(path)
    with JobFile.open(job_path(path)) as job:
        form = job.forms().get("boards")
    if form is None:
        raise InputError([Problem("boards", 0, "board", board, "a board: none is tallied")])
    taken = change(path, {"boards": with_state(form, board, "spoilt")}, who, f"{board} is spoilt")
    return _mended(path, taken, before, tell)


def lay_on(path: Path, seconds: float, *, tell: Tell = quiet) -> Answer:
    """Go on laying for so many seconds, keep the better, and show it.

    Raises
    ------
    InputError, JobFileError
    """
    from ribband.app.plan.timber_steps import told_of_laying
    from ribband.timber import lay_longer

    planned = plan(path, "laying", tell=lambda part, words: tell(0.4 * part, words))
    laid: Laid | None = planned.run.result("laying")
    if laid is None:
        return laying_answer(planned)
    longer = lay_longer(laid, seconds, progress=lambda part, words: tell(0.4 + 0.6 * part, words))
    if longer is laid:
        return laying_answer(planned, Line("longer search", "found nothing better"))
    unit = planned.run.bench.unit
    said = tuple(replace(f, says=in_unit(f.says, unit)) for f in longer.findings)
    made = Made(replace(longer, findings=said), (*said, *told_of_laying(planned.run.bench, longer)))
    planned.run.bench.made["laying"] = made
    _keep(planned, made, longer.laying.seconds)
    says = _saved(laid.laying, longer.laying, unit)
    return laying_answer(planned, Line("longer search", says))


def _saved(was: Laying, now: Laying, unit: str) -> str:
    """Say what a longer search gained: planks laid, money where it is known, else timber."""
    if len(was.unlaid) > len(now.unlaid):
        return f"{counted(len(was.unlaid) - len(now.unlaid), 'more plank')} laid"
    if was.cost is not None and now.cost is not None and now.cost < was.cost:
        return f"{was.cost - now.cost:.2f} saved, in the yard's money"
    return f"{format_volume(was.used_m3 - now.used_m3, unit)} saved"


def with_state(form: Form, board: str, state: str) -> Form:
    """Give the form `boards` with the state of one board put in; a column is made if need be.

    Raises
    ------
    InputError : there is no such board

    >>> form = Form("boards", ("board", "notes"), (("A7", ""),), "boards.csv", (2,))
    >>> with_state(form, "a7", "spoilt").rows
    (('A7', 'spoilt', ''),)
    """
    heads = [heading(head) for head in form.header]
    header, rows = form.header, list(form.rows)
    if "state" not in heads:
        at = heads.index("notes") if "notes" in heads else len(heads)
        header = (*header[:at], "state", *header[at:])
        rows = [(*row[:at], "", *row[at:]) for row in rows]
        heads.insert(at, "state")
    own = [n for n, row in enumerate(rows) if _key(row[heads.index("board")]) == _key(board)]
    if not own:
        marks = ", ".join(row[heads.index("board")].strip() for row in rows[:8])
        raise InputError([Problem(form.file, 0, "board", board, f"a board of the tally: {marks}")])
    for n in own:
        row = list(rows[n])
        row[heads.index("state")] = state
        rows[n] = tuple(row)
    return replace(form, header=header, rows=tuple(rows))


def _wished(path: Path, said: dict[str, str], who: str, tell: Tell) -> Mended:
    before = _laid_before(path)
    with JobFile.open(job_path(path)) as job:
        form = job.forms().get("layings")
    known = ONE_BOARD if said["plank"] else KNOWN_BY
    why = "layings: " + " ".join(text for text in said.values() if text)
    after = with_line(form, "layings", said, known)
    if before is not None and said["plank"]:
        _plank_there(before, said["plank"])
    taken = change(path, {"layings": after}, who, why)
    return _mended(path, taken, before, tell)


def _plank_there(laid: Laid, plank: str) -> None:
    names = [name for piece in laid.pieces for name in piece.planks]
    if plank.casefold() not in {name.casefold() for name in names}:
        wanted = "a plank of the list"
        raise InputError([Problem("layings", 0, "plank", plank, wanted, names[0])])


def _laid_before(path: Path) -> Laid | None:
    """Bring the laying up to date before it is changed, so that what moves can be told."""
    laid: Laid | None = plan(path, "laying").run.result("laying")
    return laid


def _mended(path: Path, taken: Taken, before: Laid | None, tell: Tell) -> Mended:
    planned = plan(path, "laying", tell=tell)
    spent = planned.run.seconds.get("laying", 0.0)
    laid: Laid | None = planned.run.result("laying")
    lines = () if laid is None else _moves(before, laid, spent)
    if laid is not None and laid.lost:
        boards = to_buy_for(planned.run.bench, laid, laid.lost)
        says = f"of no board of the pile: to go on, buy {boards}; the order counts them as well"
        lines = (*lines, Line("lost their board", ", ".join(laid.lost), says))
    return Mended(taken, planned, laying_answer(planned, *lines))


def _moves(before: Laid | None, laid: Laid, spent: float) -> tuple[Line, ...]:
    """Say which planks lie elsewhere now."""
    was = {} if before is None else {cut.plank: cut for cut in before.laying.cuts}
    now = {cut.plank: cut for cut in laid.laying.cuts}
    moved = [p for p in was if p in now and was[p] != now[p]]
    said = "; ".join(_move(p, was[p].board, now[p].board) for p in moved)
    how = f"the rest stays as it lay; {spent:.1f} s" if laid.mended else f"all anew; {spent:.1f} s"
    return Line("planks moved", str(len(moved)), said), Line("laid again", how)


def _move(plank: str, was: str, now: str) -> str:
    """Say where a plank went.

    >>> _move("P7-2", "A9", "A3"), _move("P7-2", "A9", "A9")
    ('P7-2 from A9 to A3', 'P7-2 shifted on A9')
    """
    return f"{plank} shifted on {now}" if was == now else f"{plank} from {was} to {now}"


def _keep(planned: Planned, made: Made, seconds: float) -> None:
    """Keep a laying in place of the one of the same key; what came of that is kept no longer."""
    keys = planned.run.keys
    with JobFile.open(planned.job, writing=True) as job:
        job.forget([keys["order"]])
        record: tuple[object, tuple[Finding, ...]] = (made.result, made.findings)
        name = kept_as("laying", planned.run.bench.forms)
        job.keep(keys["laying"], name, record, __version__, seconds)


def _key(text: str) -> str:
    return " ".join(text.lower().split())
