"""Pictures in the record: each plank that has any, its pictures small beside what is known of it.

A picture is numbered through the whole record, so that a table or a letter can name it.

Not checked here: that a picture is of that plank.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from reportlab.lib.utils import ImageReader

from ribband.drawing.book.flow import Plate
from ribband.drawing.book.style import FAINT, HAIR, INK
from ribband.drawing.book.table import broken

__all__ = ["Numbered", "picture_rows"]

TEXT, GAP, TALL = 104.0, 10.0, 118.0  # points: what is said at the left, between, a picture
A_ROW = 3
LINE = 9.6


@dataclass(frozen=True, slots=True)
class Numbered:
    """A picture: its number, what is said under it, its hash ("" where only its name is known)."""

    number: int
    says: str
    key: str


def picture_rows(
    plank: str,
    facts: Sequence[str],
    own: Sequence[Numbered],
    small: Mapping[str, bytes],
    width: float,
) -> list[Plate]:
    """Set a plank's pictures, a few in a row; what is known of the plank stands beside the first.

    Parameters
    ----------
    facts : lines under the plank's name
    small : the pictures as JPEG, by their hash
    """
    wide = (width - TEXT) / A_ROW - GAP
    rows = []
    for at in range(0, len(own), A_ROW):
        some = own[at : at + A_ROW]
        said = ("", ()) if at else (plank, tuple(facts))
        captions = [broken(_caption(one, small), "Sans", 7.6, wide)[:4] for one in some]
        high = TALL + 6 + LINE * max(map(len, captions)) + 8
        play = _player(said, [small.get(one.key) for one in some], captions, wide)
        rows.append(Plate(play, (width, high)))
    return rows


def _caption(one: Numbered, small: Mapping[str, bytes]) -> str:
    lost = "" if one.key in small else " (cannot be shown)" if one.key else " (name only)"
    return f"{one.number}  {one.says}{lost}"


def _player(
    said: tuple[str, tuple[str, ...]], bodies: Sequence[bytes | None],
    captions: Sequence[Sequence[str]], wide: float,
) -> Callable[[Any, float, float], None]:  # fmt: skip
    def play(canvas: Any, width: float, high: float) -> None:
        _say(canvas, said, high)
        for k, (body, caption) in enumerate(zip(bodies, captions, strict=True)):
            x = TEXT + k * (wide + GAP)
            _show(canvas, body, x, high - TALL, wide)
            canvas.setFont("Sans", 7.6)
            canvas.setFillColor(INK)
            for n, line in enumerate(caption):
                canvas.drawString(x, high - TALL - 9 - n * LINE, line)
        if said[0]:
            canvas.setStrokeColor(HAIR)
            canvas.setLineWidth(0.5)
            canvas.line(0, high, width, high)

    return play


def _say(canvas: Any, said: tuple[str, tuple[str, ...]], high: float) -> None:
    name, facts = said
    canvas.setFillColor(INK)
    canvas.setFont("Sans-Semibold", 9.6)
    canvas.drawString(0, high - 12, name)
    canvas.setFillColor(FAINT)
    canvas.setFont("Sans", 7.8)
    lines = [line for fact in facts for line in broken(fact, "Sans", 7.8, TEXT - 12)]
    for n, line in enumerate(lines[:10]):
        canvas.drawString(0, high - 23 - n * LINE, line)


def _show(canvas: Any, body: bytes | None, x: float, y: float, wide: float) -> None:
    """Draw a picture as large as its room, in its middle; an empty frame where there is none."""
    high = TALL - 4
    if body is None:
        canvas.setStrokeColor(HAIR)
        canvas.setLineWidth(0.5)
        canvas.rect(x, y, wide, high, fill=0)
        return
    image = ImageReader(BytesIO(body))
    across, up = image.getSize()
    by = min(wide / across, high / up)
    canvas.drawImage(image, x, y + high - up * by, across * by, up * by)
