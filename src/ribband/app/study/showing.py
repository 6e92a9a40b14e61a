"""Showing a study: the table, the file of it, and the plot of one measure against another.

The table shows the measures asked for, or those in which the alternatives differ. Which are not
beaten is told for the two measures of the plot, among those in which no fault was found.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, cast

from ribband.app.papers.drawings import Paper
from ribband.app.showing.answers import Answer, Line, Listing, plain
from ribband.app.study.measures import MEASURES, Better, measures_said, non_dominated
from ribband.app.study.study import Studied
from ribband.app.study.work import Outcome
from ribband.errors import InputError, Problem
from ribband.survey.defused import defused
from ribband.units import BOARD_FEET_PER_M3, imperial

if TYPE_CHECKING:
    from ribband.drawing.views.trade_off import Axis, Plotted

__all__ = [
    "Pair",
    "draw_study",
    "pair_for",
    "pair_of",
    "shown",
    "study_answer",
    "write_study_table",
]

ALWAYS = ("faults",)
MOST_SHOWN = 9  # measures in the printed table, where none are asked for
CARE = (
    "A study compares plans, it does not judge them: faults are to be mended, and the surveyor's "
    "word comes before any figure here."
)


@dataclass(frozen=True, slots=True)
class Pair:
    """The two measures of the plot, each with the way it is better."""

    across: str
    up: str
    goals: dict[str, Better]


def pair_for(last: str) -> str:
    """Name two measures to set against each other where the last step made is this one.

    >>> pair_for("lining"), pair_for("butts"), pair_for("work")
    ('sweep,narrowest', 'narrowest,butts', 'timber,butts')
    """
    return {"lining": "sweep,narrowest", "butts": "narrowest,butts"}.get(last, "timber,butts")


def pair_of(text: str) -> Pair:
    """Read the two measures of the plot; ``NAME:more`` or ``NAME:less`` turns one round.

    Raises
    ------
    InputError : not two measures, or one that is not known

    >>> pair_of("timber,narrowest").goals
    {'timber': 'less', 'narrowest': 'more'}
    """
    goals: dict[str, Better] = {}
    for part in text.split(","):
        name, _, way = part.strip().partition(":")
        if name not in MEASURES or way not in {"", "less", "more"}:
            raise InputError([_wrong(part.strip(), f"a measure: {measures_said()}")])
        goals[name] = cast("Better", way) if way else MEASURES[name].better
    if len(goals) != 2:
        raise InputError([_wrong(text, "two measures, parted by a comma")])
    across, up = goals
    return Pair(across, up, goals)


def shown(text: str) -> tuple[str, ...]:
    """Read which measures to show.

    Raises
    ------
    InputError : one that is not known
    """
    names = tuple(name.strip() for name in text.split(",") if name.strip())
    for name in names:
        if name not in MEASURES:
            raise InputError([_wrong(name, f"a measure: {measures_said()}")])
    return names


def study_answer(studied: Studied, pair: Pair, names: Sequence[str] = ()) -> Answer:
    """Show a study as a table."""
    kinds = _kinds(studied.outcomes, pair)
    columns = tuple(names) or _differing(studied.outcomes, pair)
    rows = tuple(
        (own.name, _MARKS[kind], *(_cell(own, name, studied.unit) for name in columns))
        for own, kind in zip(studied.outcomes, kinds, strict=True)
    )
    head = ("alternative", "", *columns)
    title = (
        f"* = not beaten in {pair.across} and {pair.up}; ! = breaks a rule or was not planned; "
        "? = one of the two is not known"
    )
    return Answer(
        title=f"Study of {studied.vessel or studied.job.stem}, revision {studied.revision}",
        lines=tuple(_lines(studied)),
        listings=(Listing(title, head, rows), _troubles(studied)),
        notes=("", *(f"{name}: {MEASURES[name].says}" for name in columns), CARE),
        data=_data(studied, pair, kinds),
        good=studied.whole and not studied.stopped,
    )


Kind = Literal["front", "beaten", "faulty", "lacking"]
_MARKS: dict[Kind, str] = {"front": "*", "beaten": "", "faulty": "!", "lacking": "?"}


def _kinds(outcomes: Sequence[Outcome], pair: Pair) -> list[Kind]:
    """Tell how each stands; only those without faults are set against each other."""
    good = [own for own in outcomes if own.good]
    marked = dict(
        zip(
            (own.key for own in good),
            non_dominated([own.measures for own in good], pair.goals),
            strict=True,
        )
    )
    return [_kind(own, pair, marked) for own in outcomes]


def _kind(own: Outcome, pair: Pair, marked: dict[str, bool]) -> Kind:
    if not own.good:
        return "faulty"
    if any(own.measures.get(name) is None for name in pair.goals):
        return "lacking"
    return "front" if marked[own.key] else "beaten"


def _differing(outcomes: Sequence[Outcome], pair: Pair) -> tuple[str, ...]:
    """Name the two of the plot, what differs, and what is always said."""
    kept = [
        name
        for name in MEASURES
        if name not in {*pair.goals, *ALWAYS}
        and len({own.measures.get(name) for own in outcomes}) > 1
    ]
    return (
        pair.across,
        pair.up,
        *kept[: MOST_SHOWN - 3],
        *(n for n in ALWAYS if n not in pair.goals),
    )


def _cell(own: Outcome, name: str, unit: str) -> str:
    return MEASURES[name].written(own.measures.get(name), unit) or "not known"


def _lines(studied: Studied) -> list[Line]:
    new = len(studied.outcomes) - studied.before
    spent = sum(own.seconds for own in studied.outcomes)
    places = len({own.where for own in studied.outcomes})
    lines = [
        Line("alternatives", str(studied.asked), f"{studied.before} kept from before, {new} new"),
        Line("planning took", f"{spent:.0f} s", f"together, in {places} processes"),
        Line("kept in", str(studied.kept)),
    ]
    if not studied.whole:
        left = studied.asked - len(studied.outcomes)
        said = studied.stopped or "see below"
        lines.append(Line("not done", str(left), f"{said}; the same command goes on from here"))
    return lines


def _troubles(studied: Studied) -> Listing:
    rows: list[tuple[str, ...]] = [
        (own.name, own.state, own.says) for own in studied.outcomes if own.says
    ]
    rows += [(name, "lost", says) for name, says in studied.lost]
    return Listing("Not planned", ("alternative", "", "why"), tuple(rows))


def _data(studied: Studied, pair: Pair, kinds: Sequence[Kind]) -> dict[str, Any]:
    each = [
        plain(own) | {"not_beaten": kind == "front"}
        for own, kind in zip(studied.outcomes, kinds, strict=True)
    ]
    return {
        "alternatives": each, "asked": studied.asked, "kept_before": studied.before,
        "lost": [{"name": name, "says": says} for name, says in studied.lost],
        "stopped": studied.stopped, "goals": pair.goals, "kept": str(studied.kept),
    }  # fmt: skip


def write_study_table(studied: Studied, pair: Pair, path: Path) -> Path:
    """Write every measure of every alternative as CSV; lengths in mm.

    Raises
    ------
    OSError : it cannot be written
    """
    knobs = tuple(dict.fromkeys(knob for own in studied.outcomes for knob, _ in own.settings))
    names = [name for name in MEASURES if name not in knobs]
    head = ("alternative", *knobs, "state", "says", "not_beaten", *map(_column, names))
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file, lineterminator="\r\n")
        out.writerow(map(defused, head))
        for own, kind in zip(studied.outcomes, _kinds(studied.outcomes, pair), strict=True):
            set_ = dict(own.settings)
            told = (own.name, *(set_.get(knob, "") for knob in knobs), own.state, own.says)
            figures = (_figure(own.measures.get(name)) for name in names)
            out.writerow((*map(defused, told), "true" if kind == "front" else "false", *figures))
    return path


def _column(name: str) -> str:
    kind = MEASURES[name].kind
    return f"{name}_{kind}" if kind in {"mm", "m3", "kg"} else name


def _figure(value: float | None) -> str:
    return "" if value is None else str(round(value, 4))


def draw_study(
    studied: Studied, pair: Pair, folder: Path, paper: Paper, formats: Sequence[str]
) -> tuple[Path, ...]:
    """Draw the plot into a folder.

    Raises
    ------
    InputError : the paper is not known, or nothing was planned that can be drawn
    """
    from ribband.drawing import pdf, svg
    from ribband.drawing.sheet import Page, Title
    from ribband.drawing.views.trade_off import trade_off

    title = Title(studied.vessel, "Trade-off", studied.yard, revision=str(studied.revision))
    axes = [_axis(name, pair, studied.unit) for name in (pair.across, pair.up)]
    try:
        page = Page.of(paper.size)
        sheets = trade_off(_plotted(studied, pair), axes[0], axes[1], title, page)
    except ValueError as wrong:
        raise InputError([_wrong(paper.size, str(wrong))]) from wrong
    folder.mkdir(parents=True, exist_ok=True)
    paths = [folder / f"study.{format_}" for format_ in formats]
    for path in paths:
        if path.suffix == ".pdf":
            pdf.write(sheets, path)
        else:
            svg.write(sheets[0], path)
    return tuple(paths)


_GRAINS = {"mm": 25.4, "m3": 1.0 / BOARD_FEET_PER_M3, "kg": 0.45359237}  # inch, board foot, pound


def _plotted(studied: Studied, pair: Pair) -> list[Plotted]:
    from ribband.drawing.views.trade_off import Plotted

    found = []
    for own, kind in zip(studied.outcomes, _kinds(studied.outcomes, pair), strict=True):
        x, y = (own.measures.get(name) for name in (pair.across, pair.up))
        if x is not None and y is not None and kind != "lacking":
            found.append(Plotted(own.name, x, y, kind))
    return found


def _axis(name: str, pair: Pair, unit: str) -> Axis:
    from ribband.drawing.views.trade_off import Axis

    own = MEASURES[name]
    grain = _GRAINS.get(own.kind, 1.0) if imperial(unit) else 1.0
    return Axis(own.says, lambda value: own.written(value, unit), pair.goals[name], grain)


def _wrong(found: str, wanted: str) -> Problem:
    return Problem("study", 0, "", found, wanted, "timber,butts")
