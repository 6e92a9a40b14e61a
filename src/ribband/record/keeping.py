"""The record: of every plank what became of it, who did it and when, and what it came to.

Real hours are known only of steps that were logged with hands and a clock; real cost of timber is
that of the boards whose planks were got out or that were spoilt. Nothing is guessed: what was not
written down stays blank, and how much of it that is, is said.

Codes: R050 a picture of a plank that is not there; R051 planks that hang without a date or hands.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ribband.findings import Finding, Severity
from ribband.planks.model import Plank
from ribband.record.costs import Cost, CostSum, Wage, cost_sum
from ribband.record.forms import Photo
from ribband.record.log import columns_of, reached
from ribband.record.model import come_to
from ribband.record.whole import Left, SideLeft
from ribband.shop.work.forms import Logged
from ribband.shop.work.learning import Learned
from ribband.timber.board_model import Board
from ribband.units import counted

__all__ = ["Got", "HoursLine", "PlankRecord", "Record", "keep_record"]


@dataclass(frozen=True, slots=True)
class Got:
    """What a plank is got out of: board, its timber and moisture; blank or None: not known.

    fastened : how, and how many; fastening : what most planks are held by, in fewer words
    """

    board: str = ""
    species: str = ""
    moisture_percent: float | None = None
    fastened: str = ""
    fastening: str = ""


@dataclass(frozen=True, slots=True)
class PlankRecord:
    """One plank: the furthest it has come, every line of the log, pictures, drift of its seams.

    drift_mm : the greatest measured on its upper edge, None where none was measured
    spoilt : how many of it were spoilt before
    """

    plank: Plank
    state: str
    lines: tuple[Logged, ...]
    got: Got
    photos: tuple[Photo, ...]
    drift_mm: float | None
    spoilt: int

    @property
    def first(self) -> str:
        """The first day anything was done to it."""
        return min((line.at[:10] for line in self.lines if line.at), default="")

    @property
    def last(self) -> str:
        """The last."""
        return max((line.at[:10] for line in self.lines if line.at), default="")

    @property
    def hands(self) -> tuple[str, ...]:
        """Everybody who was at it, in the order they first were."""
        return tuple(dict.fromkeys(hand for line in self.lines for hand in line.by))


@dataclass(frozen=True, slots=True)
class HoursLine:
    """Man-hours of an operation: by the rates for all planks, and of steps logged with a clock.

    rated : of those steps by the rates; spent : what they took
    """

    operation: str
    planned: float
    logged: int
    rated: float
    spent: float


@dataclass(frozen=True, slots=True, eq=False)
class Record:
    """The record of a vessel; money in the yard's own, None where no price was given."""

    planks: tuple[PlankRecord, ...]
    hours: tuple[HoursLine, ...]
    costs: tuple[Cost, ...]
    wages: tuple[Wage, ...]
    findings: tuple[Finding, ...]

    @property
    def cost_sum(self) -> CostSum:
        """Give the sum of what is known, and what it leaves out."""
        return cost_sum(self.costs)


def keep_record(  # noqa: PLR0917 - what is known, from all the rooms
    planks: Sequence[Plank],
    log: Sequence[Logged],
    photos: Sequence[Photo],
    left: Left,
    got: Mapping[str, Got],
    boards: Sequence[Board],
    planned_hours: Mapping[str, float],
    learned: Sequence[Learned],
    costs: Sequence[Cost] = (),
    wages: Sequence[Wage] = (),
) -> Record:
    """Put the record together.

    Parameters
    ----------
    planks : all that hang or are to hang, as they are now
    got : what each is got out of; it must answer for every plank
    costs : of fastenings and wages; the timber's come first and are reckoned here
    wages : of each operation
    """
    states = reached(log)
    lines, pictures = defaultdict(list), defaultdict(list)
    for line in log:
        lines[line.plank].append(line)
    for photo in photos:
        pictures[photo.plank].append(photo)
    kept = tuple(
        PlankRecord(
            plank, states.get(plank.name, ""), tuple(lines[plank.name]),
            got[plank.name], tuple(pictures[plank.name]), _drift(plank, left),
            sum(line.state == "spoilt" for line in lines[plank.name]),
        )
        for plank in planks
    )  # fmt: skip
    hours = tuple(
        HoursLine(one.operation, planned_hours.get(one.operation, 0.0), one.logged, one.rated,
                  one.spent)
        for one in learned
    )  # fmt: skip
    told = tuple(_told(kept, photos))
    return Record(kept, hours, (_timber(kept, boards), *costs), tuple(wages), told)


def _timber(kept: Sequence[PlankRecord], boards: Sequence[Board]) -> Cost:
    """Give what the boards of the pile cost: those laid on, and those cut into or spoilt."""
    cut = [own.got.board for own in kept if come_to(own.state, "got out")]
    spoilt = {board.name for board in boards if board.state == "spoilt"}
    price = _price(boards, {own.got.board for own in kept})
    says = "boards planks are laid on; real: those cut into, and those spoilt"
    if price is None:
        says += "; one has no price on the form boards"
    if unknown := len([name for name in cut if name not in {board.name for board in boards}]):
        says += f"; not in it: {counted(unknown, 'plank')} got out of a board nobody wrote down"
    return Cost("timber", price, _price(boards, {*cut, *spoilt}), says)


def _drift(plank: Plank, left: Left) -> float | None:
    one = left.of(plank.side)
    if one is None:
        return None
    columns = _columns(plank, one)
    own = [d.drift_mm for d in one.drifts if d.above == plank.strake and d.frame in columns]
    return max(own, key=abs, default=None)


def _columns(plank: Plank, one: SideLeft) -> set[str]:
    """Name the columns a plank crosses, by the lining its side has now."""
    if one.relined is None:
        return set()
    lining = one.relined.lining
    return set(np.array(lining.columns)[columns_of(plank, lining)].tolist())


def _price(boards: Sequence[Board], names: set[str]) -> float | None:
    prices = [board.price for board in boards if board.name in names]
    if not prices or any(price is None for price in prices):
        return None
    return float(sum(price for price in prices if price is not None))


def _told(kept: Sequence[PlankRecord], photos: Sequence[Photo]) -> Iterator[Finding]:
    names = {own.plank.name for own in kept}
    for photo in photos:
        if photo.plank not in names:
            says = f"a picture ({photo.file}) of plank {photo.plank}, which is not there"
            yield Finding("R050", Severity.CAUTION, "record", "photos", says)
    bare = [
        own.plank.name
        for own in kept
        if come_to(own.state, "hung")
        and not any(line.state == "hung" and line.at and line.by for line in own.lines)
    ]  # fmt: skip
    if bare:
        more = f" and {len(bare) - 8} more" if len(bare) > 8 else ""
        says = f"hung without a day or hands being written down: {', '.join(bare[:8])}{more}"
        yield Finding("R051", Severity.CAUTION, "record", "the log", says)
