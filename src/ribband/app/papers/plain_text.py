"""A job as plain text: the forms as they are, and the whole history, with nothing made.

It works on any job file that opens, however stale its results and however wrong its forms, because
nothing is worked out: the forms of the newest revision as CSV, and ``history.txt``, which tells of
every revision who, when and why, and every row that went or came. From the first revision on that
is all that was ever entered; pictures are written as files beside it, named by their hash.

Not checked here: anything that was typed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from ribband.app.entering.jobs import job_path
from ribband.app.entering.pictures import PICTURES
from ribband.app.papers.whole import into_folder
from ribband.errors import JobFileError
from ribband.store import JobFile, KeptPicture, Revision
from ribband.survey.rows import Form
from ribband.units import counted

__all__ = ["HISTORY", "write_text"]

HISTORY = "history.txt"
FORMS = "forms"


def write_text(path: Path, folder: Path) -> tuple[Path, ...]:
    """Write the forms and the history of a job into `folder`.

    Raises
    ------
    JobFileError : the job cannot be opened
    OSError : the folder cannot be written
    """
    from ribband.survey import write_forms
    from ribband.survey.columns import LAYOUTS

    with JobFile.open(job_path(path)) as job:
        past = job.history()
        forms, lost = _forms(job, None)
        text = "\n".join(_history(job, past, lost)) + "\n"
        pictures = [own for own in job.pictures() if job.picture(own.key) is not None]

    def fill(into: Path) -> tuple[Path, ...]:
        files = write_forms(_safely_named(forms), into / FORMS)
        shown = tuple(_pictures(path, pictures, into / PICTURES))
        into.joinpath(HISTORY).write_text(text, encoding="utf-8", errors="backslashreplace")
        return (*files, *shown, into / HISTORY)

    return into_folder(folder, fill, [f"{FORMS}/{name}.csv" for name in LAYOUTS])


def _pictures(path: Path, kept: list[KeptPicture], folder: Path) -> Iterator[Path]:
    """Write every picture the job keeps, undone or not, named by its hash."""
    with JobFile.open(job_path(path)) as job:
        for own in kept:
            folder.mkdir(exist_ok=True)
            file = folder / f"{own.key}{own.ending}"
            file.write_bytes(job.picture(own.key) or b"")
            yield file


def _safely_named(forms: dict[str, Form]) -> dict[str, Form]:
    """Give every form a name a file may have, whatever the job file calls it."""
    return {
        "".join(c if c.isalnum() or c in "_-" else "_" for c in name)[:60] or "form": form
        for name, form in forms.items()
    }


def _forms(job: JobFile, revision: int | None) -> tuple[dict[str, Form], list[str]]:
    """Give the forms of a revision that can be read, and say of the others that they cannot."""
    try:
        return job.forms(revision), []
    except JobFileError as wrong:
        forms: dict[str, Form] = {}
        lost = [str(wrong)]
        for name in job.form_hashes(revision):
            try:
                forms[name] = job.form(name, revision)
            except JobFileError:
                lost.append(f"the form {name} cannot be read and is left out")
        return forms, lost


def _history(job: JobFile, past: tuple[Revision, ...], lost: list[str]) -> Iterator[str]:
    yield f"The history of {job.path.name}: {counted(len(past), 'revision')}, oldest first."
    yield "A row that went is marked -, a row that came +; cells are parted by |."
    yield from lost
    before: dict[str, Form] = {}
    for revision in past:
        yield ""
        yield f"revision {revision.number}, {revision.at}, by {_line(revision.who)}"
        kind = "" if revision.kind == "new" else f"{revision.kind}: "
        yield f"  {kind}{_line(revision.why)}"
        after, unread = _forms(job, revision.number)
        yield from (f"  {text}" for text in unread)
        for name in sorted({*before, *after}):
            yield from _changed(name, before.get(name), after.get(name))
        before = after


def _changed(name: str, old: Form | None, new: Form | None) -> Iterator[str]:
    if old == new:
        return
    if new is None:
        yield f"  form {name}: taken out"
    elif old is None:
        yield f"  form {name}: new"
    else:
        yield f"  form {name}:"
    gone, come = Counter(_rows(old)), Counter(_rows(new))
    yield from (f"    - {row}" for row in (gone - come).elements())
    yield from (f"    + {row}" for row in (come - gone).elements())
    if old is not None and new is not None and gone == come:
        yield "    the same rows in another order, or from another file"


def _rows(form: Form | None) -> list[str]:
    if form is None:
        return []
    notes = [_line(text) for _, text in form.notes]
    return [*notes, *(" | ".join(map(_line, row)) for row in (form.header, *form.rows))]


def _line(text: str) -> str:
    r"""Write a text on one line.

    >>> _line("spruce,\nnot larch")
    'spruce,\\nnot larch'
    """
    return text.replace("\\", "\\\\").replace("\r", "\\r").replace("\n", "\\n")
