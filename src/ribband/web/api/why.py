"""Why a figure is what it is, for a click on it; and which figures lean on what was not read."""

from __future__ import annotations

import asyncio
from typing import Annotated

from fastapi import APIRouter, Query
from pydantic import BaseModel

from ribband.app.why.ready import ready
from ribband.app.why.traced import form_tags, marks_of_labels, why_aside
from ribband.findings import Finding
from ribband.sources import sources
from ribband.web.yard import TheYard, Yard

router = APIRouter(prefix="/api", tags=["why"])


class SaidOut(BaseModel):
    """The figure: the column of the open tables it stands in, of what, and as it is written."""

    where: str
    of: str
    what: str
    value: str


class InputOut(BaseModel):
    """What was typed, and the revision that brought it."""

    form: str
    file: str
    row: int
    typed: list[tuple[str, str]]
    says: str
    revision: int
    who: str
    at: str
    why: str
    before: bool


class SourceOut(BaseModel):
    """A source and how far it was read."""

    key: str
    says: str
    mark: str
    marked: bool
    of: str = ""


class RuleOut(BaseModel):
    """A rule that bears on it."""

    name: str
    value: str
    default: str
    changed: bool
    says: str
    source: SourceOut
    set_by: str


class MadeOut(BaseModel):
    """A step it was made in or from."""

    step: str
    does: str
    key: str
    forms: list[str]
    at: str
    revision: int | None
    version: str


class WhyOut(BaseModel):
    """Why a figure is what it is."""

    asked: str
    thing: str
    says: str
    of: str
    values: list[SaidOut]
    inputs: list[InputOut]
    rules: list[RuleOut]
    data: list[SourceOut]
    method: str
    page: str
    findings: list[Finding]
    steps: list[MadeOut]
    revision: int
    who: str
    at: str
    unit: str


class BibliographyOut(BaseModel):
    """A work of the bibliography."""

    key: str
    author: str
    title: str
    year: str
    place: str
    mark: str


@router.get("/why")
async def why_it_is(
    yard: TheYard,
    thing: Annotated[str, Query(max_length=200)],
    label: Annotated[str, Query(max_length=100)] = "",
) -> WhyOut:
    """Say why a figure is what it is, from what is kept.

    `thing` as in "P7-2 width at 12"; `label` is what stands by the figure on the page.
    """
    return WhyOut(**await yard.aside.run(why_aside, yard.job, thing, label))


@router.post("/why/ready", status_code=204)
async def hold_ready(yard: TheYard) -> None:
    """Hold what is kept ready, where somebody is about to ask why; nothing is made or changed."""
    await yard.aside.run(ready, yard.job)


@router.get("/why/marks")
async def marks(yard: TheYard) -> dict[str, list[str]]:
    """Give for the labels of figures what they lean on that was not read anywhere."""
    tag = await asyncio.to_thread(_tag, yard)
    if tag not in _MARKS:
        while len(_MARKS) >= MOST_MARKS:
            _MARKS.pop(next(iter(_MARKS)))
        _MARKS[tag] = await yard.aside.run(marks_of_labels, yard.job)
    return _MARKS[tag]


MOST_MARKS = 8  # jobs and states of their rules
_MARKS: dict[str, dict[str, list[str]]] = {}


def _tag(yard: Yard) -> str:
    """Tell states apart in which other sources are leaned on: by the rules and the timber."""
    return f"{yard.key} {form_tags(yard.job, ('rules', 'vessel', 'timbers'))}"


@router.get("/sources")
def bibliography() -> list[BibliographyOut]:
    """List the bibliography, with how far each work was read."""
    return [
        BibliographyOut(**{name: getattr(own, name) for name in BibliographyOut.model_fields})
        for own in sources()
    ]
