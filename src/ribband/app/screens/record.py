"""The record's page: how far every plank has come, what was measured, what is left.

The log is read from its form as typed, so that a step marked at the hull shows at once; planks,
order and what is left are the newest kept, stale or not. Nothing is made here.

Of a repair the planks are the new ones alone, in the order they are opened, and their seams those
of the old lining.

*Done*: a step whose line stands in the log and was not undone by "spoilt".
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from ribband.app.plan.making import rows_of
from ribband.app.screens.kept import Lying, lying, wish_rows
from ribband.app.screens.seam_off import NEAR_MM, planned_lining
from ribband.app.showing.answers import Answer, Line, Listing
from ribband.errors import InputError, Problem
from ribband.units import format_bare, format_length

if TYPE_CHECKING:
    from ribband.planks.model import Plank
    from ribband.record import Left, Repair
    from ribband.shop.hanging.model import Hanging
    from ribband.shop.work.forms import Logged

__all__ = [
    "Done",
    "LeftPart",
    "Pictured",
    "PlankStand",
    "RecordPage",
    "Seam",
    "Told",
    "plank_record",
    "record_key",
    "record_page",
    "said_part",
]

OF_WORK = ("boards", "laying", "order", "shop", "hanging", "work", "relined")
STAMPS = ("survey", "hull", *OF_WORK)  # a fault of these stands on a repair's papers
NEWEST = (*STAMPS, "lining", "planks", "repair")
STAY = "A repair: only its new planks are listed, in the order they are opened; all others stay."
TICKET = "How it is steamed and who may lift it stands on its ticket: read it before it is moved."


@dataclass(frozen=True, slots=True)
class Done:
    """A step that was done: when and by whom, as said."""

    state: str
    at: str
    by: str
    note: str


@dataclass(frozen=True, slots=True)
class PlankStand:
    """How far a plank has come.

    `wanted` are the steps it needs, in order; `next` the first of them after the furthest done;
    `place` in the order of hanging; `new` where what is left was divided anew and its shape
    changed.
    """

    name: str
    side: str
    strake: str
    fore: str
    aft: str
    length: str
    place: int | None
    wanted: tuple[str, ...]
    done: tuple[Done, ...]
    next: str
    spoilt: int
    new: bool


@dataclass(frozen=True, slots=True)
class LeftPart:
    """What is left, as last divided, or the repair: figures, tables, notes, findings.

    `says` are findings: kind, where, words.
    """

    state: str
    lines: tuple[Line, ...]
    listings: tuple[Listing, ...]
    notes: tuple[str, ...]
    says: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class RecordPage:
    """All the page shows; `counts` is (step, planks it is done on, planks that want it)."""

    planks: tuple[PlankStand, ...]
    counts: tuple[tuple[str, int, int], ...]
    states: tuple[str, ...]
    hands: tuple[str, ...]
    left: LeftPart
    repair: LeftPart
    unit: str
    problems: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Seam:
    """A plank's edges at a frame: girths planned and as measured, in the job's unit; "" = none."""

    frame: str
    lower: str
    upper: str
    lower_hung: str
    upper_hung: str
    lower_off: str
    upper_off: str


@dataclass(frozen=True, slots=True)
class Pictured:
    """A picture of a plank; `key` is empty where the job knows its name alone.

    wide, high : pixels as it is shown, 0 where it is not kept
    """

    file: str
    at: str
    by: str
    note: str
    key: str
    wide: int
    high: int


@dataclass(frozen=True, slots=True)
class Told:
    """A plank's own record: facts, its lines of the log, its seams, its pictures."""

    name: str
    facts: tuple[tuple[str, str], ...]
    history: tuple[Done, ...]
    seams: tuple[Seam, ...]
    photos: tuple[Pictured, ...]
    cautions: tuple[str, ...]


def record_key(path: Path) -> str:
    """Give one word that changes whenever the page would."""
    return lying(path, NEWEST).tag


def record_page(path: Path) -> RecordPage:
    """Put the page together; nothing is made.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    from ribband.shop.work.model import STATES

    on = lying(path, NEWEST)
    log, problems = _log(on)
    planks = tuple(_stands(on, log))
    counts = tuple(
        (
            state,
            sum(any(d.state == state for d in p.done) for p in planks),
            sum(state in p.wanted for p in planks),
        )
        for state in STATES
    )
    return RecordPage(
        planks, counts, tuple(STATES), _hands(on), _left(on), _repair(on), on.unit, problems
    )


def plank_record(path: Path, name: str) -> Told:
    """Give one plank's record.

    Raises
    ------
    InputError : there is no such plank
    """
    on = lying(path, NEWEST)
    plank = _plank(on, name)
    log, _ = _log(on)
    return Told(
        name,
        tuple(_facts(on, plank)),
        tuple(_done(line) for line in log if line.plank == name),
        tuple(_seams(on, plank)),
        tuple(_photos(on, name)),
        tuple(_cautions(on, name)),
    )


def _log(on: Lying) -> tuple[tuple[Logged, ...], tuple[str, ...]]:
    """Read the log; of one with a cell that cannot be read, say what is wrong with it."""
    from ribband.shop import read_log

    try:
        return read_log(rows_of(on.forms, "log", on.unit)), ()
    except InputError as wrong:
        return (), tuple(str(problem) for problem in wrong.problems)


def _stands(on: Lying, log: Sequence[Logged]) -> Iterator[PlankStand]:
    listed = _listed(on)
    places, wants, new = _places(on), _wants(on), _new(on)
    for plank in listed:
        own = [line for line in log if line.plank == plank.name]
        done, wanted = tuple(_standing_steps(own)), wants.get(plank.name, _all_steps())
        yield PlankStand(
            plank.name, plank.side, plank.strake, _end(plank.fore, plank.fore_landing),
            _end(plank.aft, plank.aft_landing), format_length(plank.length_mm, on.unit),
            places.get(plank.name), wanted, done,
            _next(wanted, done),
            sum(line.state == "spoilt" for line in own), plank.name in new,
        )  # fmt: skip


def _repaired(on: Lying) -> Repair | None:
    """Give the repair, where there is one with new planks."""
    repair: Repair | None = on.result("repair")
    return repair if repair is not None and repair.planks.planks else None


def _listed(on: Lying) -> tuple[Plank, ...]:
    """Give the planks as they stand; as planned where what is left was not worked out yet."""
    left: Left | None = on.result("relined")
    planned = on.result("planks")
    if (repair := _repaired(on)) is not None:
        return repair.planks.planks
    if left is None or not any(one.relined for one in left.sides):
        return planned.planks if planned else ()
    first = list(dict.fromkeys(plank.strake for plank in planned.planks)) if planned else []
    rows = {strake: row for row, strake in enumerate(first)}
    return tuple(
        plank
        for one in left.sides
        for plank in sorted(
            (*one.done, *one.planks), key=lambda p: (rows.get(p.strake, 0), p.number)
        )
    )


def _standing_steps(lines: Sequence[Logged]) -> Iterator[Done]:
    """Give the steps of one plank that stand: what came before "spoilt" is gone but the pattern."""
    from ribband.shop import done_of
    from ribband.shop.work.model import STATES

    kept = {operation for _, operation in done_of(lines)}
    last = {line.state: line for line in lines}
    for state, operation in STATES.items():
        if operation in kept and state in last:
            yield _done(last[state])


def _next(wanted: Sequence[str], done: Sequence[Done]) -> str:
    """Give the first step wanted after the furthest that is done; one left out was not needed."""
    far = max((_all_steps().index(step.state) for step in done), default=-1)
    return next((state for state in wanted if _all_steps().index(state) > far), "")


def _done(line: Logged) -> Done:
    return Done(line.state, line.at.replace("T", " "), ", ".join(line.by), line.note)


def _all_steps() -> tuple[str, ...]:
    from ribband.shop.work.model import STATES

    return tuple(STATES)


def _wants(on: Lying) -> dict[str, tuple[str, ...]]:
    """Give the steps each plank needs: no steam if hung cold, no hollow if flat."""
    worked = on.result("work")
    if worked is None:
        return {}
    return {
        m.plank: tuple(
            state
            for state in _all_steps()
            if not (state == "steamed" and not m.steam_min)
            and not (state == "hollowed" and not m.hollow)
        )
        for m in worked.work.measures
    }


def _places(on: Lying) -> dict[str, int]:
    hanging = _hanging(on)
    return {} if hanging is None else {place.plank: place.place for place in hanging.places}


def _hanging(on: Lying) -> Hanging | None:
    """Give the order of hanging; of a repair, turn by turn."""
    from ribband.record import hang_in_turns

    repair = _repaired(on)
    hanging: Hanging | None = hang_in_turns(repair) if repair else on.result("hanging")
    return hanging


def _new(on: Lying) -> set[str]:
    left: Left | None = on.result("relined")
    sides = left.sides if left else ()
    new = {name for one in sides if one.relined for name in one.relined.changed}
    return new - _begun(on)


def _begun(on: Lying) -> set[str]:
    """Give the planks cut by the log as it is now: they keep their patterns, whatever is kept."""
    from ribband.record.log import reached
    from ribband.shop import read_log

    try:
        return set(reached(read_log(rows_of(on.forms, "log", on.unit))))
    except InputError:
        return set()


def _hands(on: Lying) -> tuple[str, ...]:
    try:
        rows = rows_of(on.forms, "crew", on.unit)
    except InputError:
        return ()
    return tuple(dict.fromkeys(str(row.values["name"]) for row in rows))


def _left(on: Lying) -> LeftPart:
    from ribband.app.showing.record import left_answer

    stay = (STAY,) if _repaired(on) else ()
    left: Left | None = on.result("relined")
    if left is None:
        return LeftPart(on.states["repair" if stay else "relined"], (), (), stay, ())
    part = said_part(on.states["relined"], left_answer(left, on.unit, _hanging(on)))
    return replace(part, notes=(*stay, *part.notes))


def _repair(on: Lying) -> LeftPart:
    from ribband.app.plan.repairing import repair_answer, with_faults

    repair = on.result("repair")
    if repair is None:
        return LeftPart(on.states["repair"], (), (), (), ())
    every = (f for step in STAMPS if step in on.made for f in on.made[step].findings)
    faults = [finding for finding in every if finding.severity == "fault"]
    found = with_faults(on.made["repair"].findings, faults)
    answer = replace(repair_answer(repair, on.unit, found), findings=found)
    return said_part(on.states["repair"], answer)


def said_part(state: str, answer: Answer) -> LeftPart:
    """Give an answer as a part of the page: what has nothing in it is left out."""
    return LeftPart(
        state,
        answer.lines,
        tuple(listing for listing in answer.listings if listing.rows),
        tuple(note for note in answer.notes if note),
        tuple((str(f.severity.value), f.where, f.says) for f in answer.findings),
    )


def _plank(on: Lying, name: str) -> Plank:
    found: Plank | None = next((p for p in _listed(on) if p.name == name), None)
    if found is None:
        raise InputError([Problem("planks", 0, "plank", name, "a plank of the list")])
    return found


def _end(at: str, landing: str) -> str:
    return f"block aft of {at}" if landing == "block" and not at.startswith("block") else at


def _facts(on: Lying, plank: Plank) -> Iterator[tuple[str, str]]:
    yield "length", format_length(plank.length_mm, on.unit)
    yield "widest", format_length(plank.width_max_mm, on.unit)
    yield "from", _end(plank.fore, plank.fore_landing)
    yield "to", _end(plank.aft, plank.aft_landing)
    shop = on.result("shop")
    own = shop.steaming.of(plank.name) if shop else None
    if own is not None:
        yield "steam", f"{own.minutes:.0f} min" if own.needed and own.minutes else "hung cold"
    hanging = _hanging(on)
    places = hanging.places if hanging else ()
    for place in places:
        if place.plank == plank.name:
            yield "in the order", f"{place.place} of {len(places)}"
            yield "after", ", ".join(place.needs) or "nothing"


def _cautions(on: Lying, name: str) -> Iterator[str]:
    shop = on.result("shop")
    if shop is None:
        if _repaired(on):
            yield TICKET
        return
    own = shop.steaming.of(name)
    if own is not None and own.needed:
        yield "Steam scalds, the plank is hot: gloves, agreed words, a way out. Local rules first."
    handled = next((h for h in shop.handling.planks if h.name == name), None)
    if handled is not None and handled.known and handled.hung_hands is None:
        yield "Not to be lifted by hand: crane or tackle, by the local rules."


def _seams(on: Lying, plank: Plank) -> Iterator[Seam]:
    """Give the plank's edges at every frame it crosses, the last measured figure of each."""
    from ribband.record.log import columns_of

    lining = planned_lining(on)
    if lining is None:
        return
    row = next((n for n, s in enumerate(lining.strakes) if s.name == plank.strake), None)
    if row is None:
        return
    measured, crossed = _measured(on, plank), columns_of(plank, lining)
    for column, frame in enumerate(lining.columns):
        low, high = lining.lower_girth_mm[row, column], lining.upper_girth_mm[row, column]
        if crossed[column] and math.isfinite(low):
            hung = [measured.get((edge, frame)) for edge in ("lower", "upper")]
            yield Seam(
                frame, format_bare(low, on.unit), format_bare(high, on.unit),
                *("" if mm is None else format_bare(mm, on.unit) for mm in hung),
                *("" if mm is None else _off(mm - at, on.unit)
                  for mm, at in zip(hung, (low, high), strict=True)),
            )  # fmt: skip


def _off(mm: float, unit: str) -> str:
    if abs(mm) <= NEAR_MM:
        return "as planned"
    return f"{format_length(abs(mm), unit)} {'high' if mm > 0 else 'low'}"


def _measured(on: Lying, plank: Plank) -> Mapping[tuple[str, str], float]:
    from ribband.record import read_hung

    try:
        points = read_hung(wish_rows(on, "as_hung"))
    except InputError:
        return {}  # the form says what is wrong with it
    return {
        (p.edge, p.frame): p.girth_mm
        for p in points
        if p.side == plank.side and p.strake == plank.strake
    }


def _photos(on: Lying, name: str) -> Iterator[Pictured]:
    from ribband.app.entering.pictures import kept_pictures
    from ribband.record import read_photos

    try:
        photos = read_photos(rows_of(on.forms, "photos", on.unit))
    except InputError:
        return
    kept = kept_pictures(on.path) if any(photo.picture for photo in photos) else {}
    for photo in photos:
        if photo.plank == name:
            own = kept.get(photo.picture)
            yield Pictured(
                photo.file, photo.at.replace("T", " "), photo.by, photo.note,
                *((own.key, own.wide, own.high) if own else ("", 0, 0)),
            )  # fmt: skip
