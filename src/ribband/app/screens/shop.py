"""The shop's page: steam, fastenings, caulking, lifting, the order of hanging, the plan of work.

The newest of each that is kept is shown, stale or not, and what is stale is said. Nothing is made
here but drawings of what is there, and the what-ifs a hand asks for.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ribband.app.papers.drawings import Paper, named_after
from ribband.app.plan.as_kept import as_kept, has_no_forms, kept_keys
from ribband.app.plan.planning import Planned
from ribband.app.plan.repair_steps import as_repair, asked_to_renew
from ribband.app.screens.kept import lying
from ribband.app.showing.answers import Answer, Line, Listing
from ribband.app.showing.whose import whose
from ribband.errors import InputError, Problem

if TYPE_CHECKING:
    from ribband.shop.work.forecast import Forecast
    from ribband.shop.work.whole import Worked

__all__ = [
    "Part",
    "ShopPage",
    "Spread",
    "Tried",
    "bars_bytes",
    "diary_bytes",
    "shop_key",
    "shop_page",
    "what_if",
]

NEWEST = ("hull", "shop", "hanging", "work", "laying")
STEP = {
    "steaming": "shop", "fastenings": "shop", "caulking": "shop", "handling": "shop",
    "hanging": "hanging", "work": "work",
}  # fmt: skip
CAUTIONS = {
    "steaming": "Steam scalds and a plank comes out hot: gloves, a second hand at the door, a way "
    "out, a boiler that can blow off. Times and hot times are estimates; try a piece first. Local "
    "rules come before these figures.",
    "fastenings": "Sizes and holding power are for sound, straight timber and are no proof of the "
    "vessel's strength: the surveyor and the rules she is under have the last word.",
    "caulking": "Driven too hard, caulking springs planks and frames. Red lead, solvents and hot "
    "pitch poison and burn: ventilate, keep fire away, follow the maker's sheet.",
    "handling": "Loads are estimates from the timber's usual weight; green timber is heavier. "
    "Weigh one. Nobody stands under a load; lifting gear is examined as the local rules ask.",
}  # fmt: skip
MOST_BARS = 40  # of the spread


@dataclass(frozen=True, slots=True)
class Part:
    """One sheet of the page; `state` is "good", "stale" or "not made"; `says` what is found."""

    name: str
    title: str
    state: str
    lines: tuple[Line, ...]
    listings: tuple[Listing, ...]
    notes: tuple[str, ...]
    caution: str
    says: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class Spread:
    """The day the last plank is done, over many runs.

    runs : of every working day, from `first` on (counted from 1), how many runs ended on it
    dates : (part of the runs in 100, day in words, working day); `planned` the plan's own day
    """

    first: int
    wide: int
    runs: tuple[int, ...]
    dates: tuple[tuple[int, str, float], ...]
    planned: float
    planned_said: str
    late: float
    lost: float
    spoilt: float


@dataclass(frozen=True, slots=True)
class ShopPage:
    """All the page shows; `hands` can be asked for by name; `bars` are sheets of the bar chart.

    `alone` says that it is of the new planks of a repair, where one stands.
    """

    parts: tuple[Part, ...]
    spread: Spread | None
    hands: tuple[str, ...]
    proved: bool
    unit: str
    alone: str = ""


@dataclass(frozen=True, slots=True)
class Tried:
    """What would come of a change."""

    listing: Listing
    notes: tuple[str, ...]


def shop_key(path: Path) -> str:
    """Give one word that changes whenever the page would."""
    return kept_keys(path, NEWEST)


def shop_page(path: Path) -> ShopPage:
    """Put the page together; nothing is made.

    Raises
    ------
    InputError, JobFileError : the job cannot be read
    """
    if has_no_forms(path):
        return ShopPage(
            parts=tuple(_part(name, "not made", None) for name in STEP),
            spread=None, hands=(), proved=False, unit="mm",
        )  # fmt: skip
    planned, states = _newest(path)
    worked: Worked | None = planned.run.result("work")
    answers = _answers(planned)
    return ShopPage(
        parts=tuple(_part(name, states[STEP[name]], answers.get(name)) for name in STEP),
        spread=_spread(worked.forecast) if worked and worked.plan.steps else None,
        hands=tuple(hand.name for hand in worked.work.crew) if worked else (),
        proved=worked.plan.proved if worked else False,
        unit=planned.run.bench.unit,
        alone=whose(planned),
    )


def bars_bytes(path: Path, kind: str, sheet: int, paper: str = "A3") -> tuple[bytes, int]:
    """Draw the bars of the newest plan of work: every sheet as PDF, or one as SVG; and count them.

    Raises
    ------
    InputError : no plan of work yet, or no such sheet
    """
    from tempfile import TemporaryDirectory

    from ribband.app.papers.work import bars_of
    from ribband.drawing import pdf, svg

    planned, _ = _newest(path)
    _worked(planned)
    sheets = bars_of(planned, Paper(paper))
    if not 1 <= sheet <= len(sheets):
        wanted = f"1 to {len(sheets)}"
        raise InputError([Problem("drawing", 0, "sheet", str(sheet), wanted)])
    with TemporaryDirectory(prefix="ribband-") as folder:
        out = Path(folder) / f"work.{kind}"
        if kind == "pdf":
            pdf.write(sheets, out)
        else:
            svg.write(sheets[sheet - 1], out)
        return out.read_bytes(), len(sheets)


def diary_bytes(path: Path, hand: str = "") -> tuple[str, bytes]:
    """Give the name and bytes of the calendar file, of one hand's work where named.

    Raises
    ------
    InputError : no plan of work up to date, or no such hand
    """
    from ribband.app.papers.work import calendar_text

    planned = as_kept(path, ("survey", "hull", "work"))
    worked = _worked(planned)
    names = [one.name for one in worked.work.crew]
    if hand and hand not in names:
        raise InputError([Problem("crew", 0, "name", hand, "one of " + ", ".join(names))])
    survey = planned.run.result("survey")
    vessel = named_after(survey.particulars.vessel if survey else "", planned.job.stem)
    body = calendar_text(worked, vessel, planned.made.at, hand)
    return f"{vessel} {hand or 'plan of work'}.ics", body


def what_if(  # noqa: PLR0917 - each is a change
    path: Path,
    hands: int = 0,
    gear: tuple[tuple[str, int], ...] = (),
    boards: str = "",
    lost: float | None = None,
    seconds: float = 2.0,
) -> Tried:
    """Say what would come of more hands, gear, longer boards, bad weather; nothing is kept.

    Raises
    ------
    InputError : no plan of work up to date, or a length that cannot be read
    """
    from ribband.app.showing.work import cases_of, what_if_answer

    planned = as_kept(path, ("survey", "work"))
    cases = cases_of(planned, _worked(planned), hands, gear, boards, lost)
    said = what_if_answer(cases, seconds)
    return Tried(said.listings[0], said.notes)


def _newest(path: Path) -> tuple[Planned, dict[str, str]]:
    """Give the newest kept of each step, and whether it is good or stale."""
    own = "repair" if asked_to_renew(path) else "planks"
    planned, on = as_kept(path, ("survey",)), lying(path, (*NEWEST, own))
    planned.run.bench.made.update(on.made)
    return as_repair(planned), dict(on.states)


def _worked(planned: Planned) -> Worked:
    worked: Worked | None = planned.run.result("work")
    if worked is None:
        wanted = "a plan of work up to date: let the plan come so far first"
        raise InputError([Problem("work", 0, "", "not planned", wanted)])
    return worked


def _answers(planned: Planned) -> dict[str, Answer]:
    from ribband.app.showing import shop as shop_showing
    from ribband.app.showing import work as work_showing

    shop, worked = planned.run.result("shop"), planned.run.result("work")
    hanging = planned.run.result("hanging")
    found: dict[str, Answer] = {}
    if shop is not None:
        found = {
            name: getattr(shop_showing, f"{name}_answer")(planned, shop)
            for name, step in STEP.items()
            if step == "shop"
        }
    if hanging is not None:
        answer = work_showing.hanging_answer(hanging, planned.run.bench.unit)
        found["hanging"] = replace(answer, findings=hanging.findings)
    if worked is not None:
        timber = work_showing.timber_findings(worked, planned.run.result("laying"))
        answer = work_showing.work_answer(worked)
        day = work_showing.day_findings(planned, worked)
        found["work"] = replace(answer, findings=(*day, *timber, *worked.findings))
    return found


def _part(name: str, state: str, answer: Answer | None) -> Part:
    if answer is None:
        return Part(name, "", state, (), (), (), CAUTIONS.get(name, ""), ())
    return Part(
        name=name,
        title=answer.title,
        state=state,
        lines=answer.lines,
        listings=tuple(listing for listing in answer.listings if listing.rows),
        notes=tuple(note for note in answer.notes if note),
        caution=CAUTIONS.get(name, ""),
        says=tuple((str(f.severity.value), f.where, f.says) for f in answer.findings),
    )


def _spread(own: Forecast) -> Spread:
    """Count the runs by the working day they end on, in no more bars than a sheet shows."""
    import numpy as np

    from ribband.app.showing.work import day_said

    days: Any = np.ceil(own.days).astype(int)
    first, last = int(days.min()), int(days.max())
    wide = max(1, -(-(last - first + 1) // MOST_BARS))
    runs = np.bincount((days - first) // wide)
    marks = np.quantile(own.days, own.parts)
    return Spread(
        first,
        wide,
        tuple(int(n) for n in runs),
        tuple(
            (round(100 * part), day_said(day), float(mark))
            for part, day, mark in zip(own.parts, own.dates, marks, strict=True)
        ),
        float(own.planned),
        day_said(own.planned_date),
        own.late,
        own.lost,
        own.spoilt,
    )
