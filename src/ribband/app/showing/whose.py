"""Saying whose planks an answer or a page is of, while a repair stands: new ones, or all of her."""

from __future__ import annotations

from dataclasses import replace

from ribband.app.plan.alone import repair_alone
from ribband.app.plan.log_keys import renews
from ribband.app.plan.planning import Planned
from ribband.app.showing.answers import Answer, Line
from ribband.units import counted

__all__ = ["headed", "of_whole_hull", "whose"]

WHOLE_ASKED = "not of the repair, whose planks may bear these names: saw nothing by this"


def headed(planned: Planned, answer: Answer, *, whole: str = "--whole") -> Answer:
    """Say at the head of an answer whose planks it is of; nothing where no repair stands.

    whole : how the whole hull's is asked for; "" where it cannot be
    """
    if new := _new(planned):
        more = f"; of the whole hull: {whole}" if whole else ""
        return _with(answer, Line("of", f"the repair, {new}", f"all other planks stay{more}"))
    if "renew" in planned.aside:
        return _with(answer, Line("of", "THE WHOLE HULL", WHOLE_ASKED))
    return answer


def of_whole_hull(planned: Planned) -> tuple[Line, ...]:
    """Say of what is always of the whole hull that it is, while a repair stands."""
    if not renews(planned.run.bench.forms):
        return ()
    return (Line("of", "the whole hull", "as this job would plank her; see: ribband repair"),)


def whose(planned: Planned) -> str:
    """Say on a page that what it shows is of a repair; "" where it is not."""
    new = _new(planned)
    return f"Of the repair, {new}: names are theirs, and all other planks stay." if new else ""


def _new(planned: Planned) -> str:
    repair = repair_alone(planned.run.bench)
    return f"{counted(len(repair.planks.planks), 'new plank')} alone" if repair else ""


def _with(answer: Answer, line: Line) -> Answer:
    return replace(answer, lines=(line, *answer.lines))
