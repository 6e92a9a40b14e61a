"""Changes: what many hands do to one job at the same time.

*Edit*: one row of a form put in, changed or taken out; `was` is the row as its author saw it and
`now` as it is to be. *Change*: edits that stand or fall together, with who, why, the revision
they were seen in (`upon`) and an id their author made up. *Patch*: what was really done, as one
new revision. *Clash*: two hands put different things in one cell, or one took out what the other
changed; nothing is done and both are shown.

A row that moved on since is found again and merged cell by cell, so edits to different things
both stand. The same id twice does nothing twice, whatever was restarted in between: the id is
stored with its revision.

A change is stored as typed, also where a cell cannot be read yet: a form half filled in is no
mistake. `problems_of` says what is to be mended; nothing is planned before it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from ribband.app.entering.jobs import job_path, whoever
from ribband.app.entering.row_merge import CellClash, Edit, RowClash, put_in
from ribband.app.plan.inputs import look_over
from ribband.errors import InputError, Problem, RibbandError
from ribband.store import JobFile, Overtaken, Revision, Watch
from ribband.survey.rows import Form

__all__ = [
    "CellClash", "Change", "Clash", "Edit", "Overtaken", "Patch", "RowClash", "apply", "apply_all",
    "go_back", "problems_of", "step",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Change:
    """Edits that stand or fall together, made upon the revision `upon`."""

    id: str
    who: str
    why: str
    edits: tuple[Edit, ...]
    upon: int


@dataclass(frozen=True, slots=True)
class Patch:
    """What was done: the new revision, and the edits as they fell out, in order.

    `edits` is empty where whole forms changed (undo, going back) or nothing was new; `forms`
    names every form to be looked at again. `upon` is the revision before it.
    """

    id: str
    revision: int
    upon: int
    who: str
    why: str
    at: str
    forms: tuple[str, ...]
    edits: tuple[Edit, ...] = ()
    repeated: bool = False


@dataclass(frozen=True, slots=True)
class Clash:
    """Two hands at one thing: `rows` shows what each wanted; `revision` is the newest."""

    id: str
    revision: int
    who: str
    rows: tuple[RowClash, ...]


def apply(path: Path, change: Change) -> Patch | Clash:
    """Put a change into the job as a new revision, or say what it clashes with.

    Raises
    ------
    InputError : there is no such form, or a row is wider than its form
    JobFileError : the job cannot be opened or written
    """
    done = apply_all(path, [change])[0]
    if isinstance(done, RibbandError):
        raise done
    return done


def apply_all(
    path: Path, asked: Sequence[Change], watch: Watch | None = None
) -> tuple[Patch | Clash | RibbandError, ...]:
    """Put changes into the job in their order, each a revision, and on the disk all at once.

    A change that cannot be used is answered with its error and leaves the others. What takes long
    is waiting for the disk; many changes wait for it no longer than one. A program that has the job
    in hand for long gives its `watch`: nothing is changed where the file is another than it left.

    Raises
    ------
    JobFileError : the job cannot be opened or written; nothing was changed
    """
    with _to_write(path, watch) as job, job.together():
        return tuple(_one(job, change) for change in asked)


def _to_write(path: Path, watch: Watch | None) -> AbstractContextManager[JobFile]:
    if watch is not None:
        return watch.opened(writing=True)
    return JobFile.open(job_path(path), writing=True)


def _one(job: JobFile, change: Change) -> Patch | Clash | RibbandError:
    try:
        if done := job.marked(change.id):
            forms = _form_names(change.edits)
            return _patch(change.id, done, done.number - 1, forms, repeated=True)
        return _applied(job, change)
    except InputError as wrong:
        return wrong


def _applied(job: JobFile, change: Change) -> Patch | Clash:
    newest = job.newest()
    forms, base = job.forms(newest), job.forms(min(change.upon, newest))
    own = {name: forms[name] for name in _form_names(change.edits) if name in forms}
    after, done, clashes = put_in(own, base, change.edits)
    if clashes:
        return Clash(change.id, newest, _last_hand(job, change.upon), clashes)
    revision = job.add_revision(
        forms | after, change.who or whoever(), change.why, upon=newest, mark=change.id
    )
    if revision is None:
        return Patch(change.id, newest, newest, change.who, change.why, "", ())
    names = _form_names(change.edits)
    return _patch(change.id, revision, newest, names, edits=done)


def step(
    path: Path, kind: Literal["undo", "redo"], who: str, *, mark: str = "",
    upon: int | None = None, watch: Watch | None = None,
) -> Patch | None:  # fmt: skip
    """Undo or redo as a change with an id; None where there is nothing to.

    Raises
    ------
    Overtaken : `upon` is not the newest any more, so it would undo what was not seen
    JobFileError : the job cannot be opened or written
    """
    with _to_write(path, watch) as job:
        if mark and (done := job.marked(mark)):
            return _patch(mark, done, done.number - 1, (), repeated=True)
        before, newest = job.form_hashes(), job.newest()
        move = job.undo if kind == "undo" else job.redo
        revision = move(who or whoever(), upon=upon, mark=mark)
        if revision is None:
            return None
        return _patch(mark, revision, newest, _differing(before, job.form_hashes()))


def go_back(
    path: Path, number: int, who: str, *, mark: str = "", watch: Watch | None = None
) -> Patch:
    """Make a new revision that says what revision `number` said.

    Raises
    ------
    InputError : there is no such revision
    JobFileError : the job cannot be opened or written
    """
    with _to_write(path, watch) as job:
        newest = job.newest()
        if mark and (done := job.marked(mark)):
            return _patch(mark, done, done.number - 1, (), repeated=True)
        if not 1 <= number <= newest:
            wanted = f"a revision from 1 to {newest}"
            raise InputError([Problem(path.name, 0, "revision", str(number), wanted)])
        before, why = job.form_hashes(), f"back to revision {number}"
        revision = job.add_revision(
            job.forms(number), who or whoever(), why, upon=newest, mark=mark
        )
        if revision is None:
            return Patch(mark, newest, newest, who, why, "", ())
        return _patch(mark, revision, newest, _differing(before, job.form_hashes()))


def problems_of(forms: Mapping[str, Form]) -> tuple[Problem, ...]:
    """Give everything in the forms that has to be mended before the job can be planned.

    >>> problems_of({"rules": Form("rules", ("rule", "value"), (("a.b", "1"),), "r.csv", (2,))})
    (Problem(file=...
    """
    try:
        look_over(forms)
    except InputError as wrong:
        return wrong.problems
    return ()


def _patch(
    mark: str, made: Revision, upon: int, forms: Sequence[str], *, repeated: bool = False,
    edits: tuple[Edit, ...] = (),
) -> Patch:  # fmt: skip
    names = tuple(forms)
    return Patch(mark, made.number, upon, made.who, made.why, made.at, names, edits, repeated)


def _form_names(edits: Sequence[Edit]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(edit.form for edit in edits))


def _differing(before: Mapping[str, str], after: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(name for name in sorted({*before, *after}) if before.get(name) != after.get(name))


def _last_hand(job: JobFile, upon: int) -> str:
    """Name whoever changed the job since; the last of them."""
    since = job.history(upon)
    return since[-1].who if since else ""
