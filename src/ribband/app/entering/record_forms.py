"""The record's forms looked over when they are taken in: frames and strakes that can be.

Not checked here: whether the hull has so many strakes, or a plank hangs; that is known only once
she is lined out, and told then.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from ribband.app.entering.wishes import counted, spelt
from ribband.errors import InputError, Problem
from ribband.survey.rows import Form, Row

__all__ = ["ENDS", "placed_rows", "record_looks"]

ENDS = ("stem", "stern")
FRAMES = {"as_hung": ("frame",), "renew": ("from_frame", "to_frame")}


def record_looks(forms: Mapping[str, Form], unit: str) -> Iterator[Callable[[], object]]:
    """Give the readings of the forms as_hung, renew and photos, one by one.

    Each raises InputError of every cell that cannot be used.
    """
    from ribband.app.plan.making import rows_of
    from ribband.record import read_photos

    frames = _frames(forms, unit)
    for name in FRAMES:
        yield lambda name=name: _refuse(_wrong(name, rows_of(forms, name, unit), frames))  # type: ignore[misc]
    yield lambda: read_photos(rows_of(forms, "photos", unit))


def _refuse(wrong: Iterator[Problem]) -> None:
    if problems := tuple(wrong):
        raise InputError(problems)


def placed_rows(
    forms: Mapping[str, Form], name: str, unit: str, frames: Sequence[str]
) -> tuple[Row, ...]:
    """Give the rows of a form with its frames spelt as the hull spells them."""
    from ribband.app.plan.making import rows_of

    return spelt(rows_of(forms, name, unit), frames)


def _frames(forms: Mapping[str, Form], unit: str) -> tuple[str, ...]:
    """Give the frames the form `frames` names; none where the measured places serve."""
    from ribband.app.plan.making import rows_of

    try:
        return tuple(str(row.values["frame"]) for row in rows_of(forms, "frames", unit))
    except InputError:
        return ()  # told where the frames are read


def _wrong(name: str, rows: Sequence[Row], frames: Sequence[str]) -> Iterator[Problem]:
    from ribband.shop.work.forms import is_time
    from ribband.survey.places import key_of

    known = [key_of(frame) for frame in (ENDS[0], *frames, ENDS[1])]
    for row in rows:
        if not counted(str(row.values["strake"])):
            yield row.problem("strake", "a strake, counted from the keel", "4")
        if row.values.get("at") and not is_time(str(row.values["at"]).strip()):
            yield row.problem("at", "a date, or a date and a clock", "2027-03-02 14:30")
        at = [key_of(str(row.values[column])) for column in FRAMES[name]]
        strange = [c for c, key in zip(FRAMES[name], at, strict=True) if key not in known]
        for column in strange if frames else ():
            yield row.problem(column, "a frame of the form frames, stem or stern", frames[0])
        if name == "renew" and not strange and known.index(at[1]) <= known.index(at[0]):
            yield row.problem("to_frame", f"a frame aft of {row.values['from_frame']}", "stern")
