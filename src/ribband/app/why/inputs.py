"""The inputs behind a figure: the rows of the forms it leans on, as typed, and since when.

A row is the same as long as its cells are; the revision that brought it is found by walking back
through the history, as far as `FAR` revisions.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ribband.app.why.asked import Subject
from ribband.store import JobFile, Revision
from ribband.survey.model import Survey
from ribband.survey.rows import Form
from ribband.survey.typed import headings
from ribband.units import counted

__all__ = ["Input", "inputs_of", "set_rules", "stations_at"]

Named = list[tuple[int, tuple[tuple[str, str], ...]]]  # places of rows, heading and text
FAR = 200  # revisions that are looked back
SAME_MM = 1.0  # a frame stands on a station
MOST = 8  # rows of a form that are shown
OF = {
    "frame": ("frame", "to_frame", "from_frame"), "strake": ("strake",), "plank": ("plank",),
    "board": ("board",),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Input:
    """Something typed: a row of a form, or a whole form where `row` is 0.

    typed : heading and text of its cells, blanks left out; revision, who, at, why : that brought it
    (`before` where it was so already at the end of what was looked back)
    """

    form: str
    file: str
    row: int
    typed: tuple[tuple[str, str], ...]
    says: str
    revision: int
    who: str
    at: str
    why: str
    before: bool = False


def stations_at(survey: Survey | None, name: str) -> tuple[str, ...]:
    """Name the stations a frame was faired from: the one it stands on, or those on either side.

    A frame of the same name as a station may stand elsewhere. What is no frame is a station's name.
    """
    frame = next((own for own in survey.frames if own.name == name), None) if survey else None
    if survey is None or frame is None:
        return (name,)
    after = sorted((own.x_mm - frame.x_mm, own.name) for own in survey.stations)
    if on := [own for off, own in after if abs(off) <= SAME_MM]:
        return (on[0],)
    fore, aft = [own for off, own in after if off < 0], [own for off, own in after if off > 0]
    return (*fore[-1:], *aft[:1])


def inputs_of(
    job: JobFile, names: Sequence[str], subject: Subject, stations: Sequence[str]
) -> tuple[Input, ...]:
    """Give what bears on a subject in these forms; the whole form where nothing names it.

    stations : the columns of the table of offsets that bear on its frame
    """
    forms, past = job.forms(), job.history()
    found: list[Input] = []
    for name in names:
        if name in forms:
            found += _of_form(job, forms[name], _rows(forms[name], subject, stations), past)
    return tuple(found)


def _of_form(job: JobFile, form: Form, rows: Named, past: Sequence[Revision]) -> list[Input]:
    versions = _versions(job, form.name, past)
    if not rows:
        words = counted(len(form.rows), "row")
        return [_input(form, 0, (), words, *_since(versions, None))]
    found = [
        _input(form, form.numbers[n], typed, "", *_since(versions, form.rows[n]))
        for n, typed in rows[:MOST]
    ]
    if len(rows) > MOST:
        more = f"and {len(rows) - MOST} rows more that name it"
        found.append(_input(form, 0, (), more, *_since(versions, None)))
    return found


def _rows(form: Form, subject: Subject, stations: Sequence[str]) -> Named:
    """Give the rows that name the subject, with the cells that matter."""
    if form.name == "offsets" and subject.frame:
        return _of_stations(form, stations)
    names = headings(form)[0]
    places = [
        (names.index(column), getattr(subject, kind))
        for kind, columns in OF.items() if getattr(subject, kind)
        for column in columns if column in names
    ]  # fmt: skip
    return [
        (n, tuple((h, c) for h, c in zip(form.header, row, strict=True) if c.strip()))
        for n, row in enumerate(form.rows)
        if any(row[at].strip() == value for at, value in places)
    ]


def _of_stations(form: Form, stations: Sequence[str]) -> Named:
    """Give the rows of the table of offsets with their cells at these stations."""
    names = headings(form)[0]
    known = [names.index(name) for name in ("line", "at") if name in names]
    measured = [names.index(name) for name in stations if name in names]
    return [
        (n, tuple((names[at], row[at]) for at in (*known, *measured) if row[at].strip()))
        for n, row in enumerate(form.rows)
        if any(row[at].strip() for at in measured)
    ]


Versions = list[tuple[Revision, Form | None]]


def _versions(job: JobFile, name: str, past: Sequence[Revision]) -> Versions:
    """Give the revisions that changed a form, newest first, with the form as it was then.

    The last one is the oldest looked at, whether it changed it or not.
    """
    found: Versions = []
    newest = list(reversed(past[-FAR:]))
    hashes = [job.form_hashes(own.number).get(name) for own in newest]
    for n, own in enumerate(newest):
        last = n + 1 == len(newest)
        if last or hashes[n] != hashes[n + 1]:
            found.append((own, job.forms(own.number).get(name)))
    return found


def _since(versions: Versions, row: tuple[str, ...] | None) -> tuple[Revision, bool]:
    """Give the revision that brought a row, or the form; and whether it may be older still."""
    at = 0
    if row is not None:
        while at + 1 < len(versions) and _has(versions[at + 1][1], row):
            at += 1
    own = versions[at][0]
    return own, at + 1 == len(versions) and own.number > 1


def _has(form: Form | None, row: tuple[str, ...]) -> bool:
    return form is not None and row in form.rows


def _input(  # noqa: PLR0917 - it gathers what was found
    form: Form, row: int, typed: tuple[tuple[str, str], ...], says: str, own: Revision,
    before: bool,
) -> Input:  # fmt: skip
    return Input(
        form.name, form.file, row, typed, says, own.number, own.who, own.at, own.why, before
    )


def set_rules(job: JobFile) -> list[Input]:
    """Give the rows of the form `rules`, each with who set it; the rule's name comes first."""
    form = job.forms().get("rules")
    names = headings(form)[0] if form else ()
    if form is None or not {"rule", "value"} <= set(names):
        return []
    versions = _versions(job, "rules", job.history())
    at, value = names.index("rule"), names.index("value")
    return [
        _input(form, number, (("rule", row[at].strip()), ("value", row[value])), "",
               *_since(versions, row))
        for row, number in zip(form.rows, form.numbers, strict=True) if row[at].strip()
    ]  # fmt: skip
