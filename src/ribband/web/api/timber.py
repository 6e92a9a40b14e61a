"""The timber: boards with their planks, what is lacking, the order, flaws as drawn."""

from __future__ import annotations

import hashlib
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import BaseModel, Field

from ribband.app.screens.timber import flaw_words, timber_key, timber_page
from ribband.app.showing.answers import plain
from ribband.web.yard import TheYard

router = APIRouter(prefix="/api/timber", tags=["timber"])

KINDS = r"^(knot|sap|check|shake|wane|split|rot|pitch|worm|stain)$"
Figure = Annotated[str, Field(max_length=60)]
Mm = Annotated[float, Field(ge=-1000.0, le=40_000.0, allow_inf_nan=False)]


class TimberOut(BaseModel):
    """The pile with what lies on it, what is lacking, and the order; `key` changes with them."""

    key: str
    tally: list[dict[str, str]]
    laying: list[dict[str, str]]
    boards: list[dict[str, Any]]
    lacking: list[str]
    offcuts: list[str]
    order: list[dict[str, str]]
    listings: list[dict[str, Any]]
    notes: list[str]
    why: str
    as_of: str
    sides: dict[str, str]
    apart: dict[str, str]
    alone: str


class FlawIn(BaseModel):
    """A flaw drawn on a board: its kind, and two corners on the board's axes.

    `typed` are its four figures put right by hand: from, to, and up from the lower edge from, to.
    """

    board: Annotated[str, Field(max_length=60)]
    kind: Annotated[str, Field(pattern=KINDS)]
    x_mm: Mm
    y_mm: Mm
    to_x_mm: Mm
    to_y_mm: Mm
    typed: Annotated[list[Figure], Field(min_length=4, max_length=4)] | None = None


class FlawOut(BaseModel):
    """The flaw in the words of the tally, and its four figures apart."""

    words: str
    figures: list[str]


@router.get("")
async def timber(yard: TheYard) -> TimberOut:
    """Give the pile, the laying and the order as kept."""
    found = plain(await yard.aside.run(timber_page, yard.job))
    key = hashlib.sha256(timber_key(yard.job).encode()).hexdigest()[:20]
    return TimberOut(key=key, **found)


@router.post("/flaw")
async def flaw(asked: FlawIn, yard: TheYard) -> FlawOut:
    """Say a drawn flaw in the words of the tally, ready for the form."""
    corners = (asked.x_mm, asked.y_mm, asked.to_x_mm, asked.to_y_mm)
    typed = tuple(asked.typed or ())
    said = await yard.aside.run(flaw_words, yard.job, asked.board, asked.kind, corners, typed)
    return FlawOut(**plain(said))
