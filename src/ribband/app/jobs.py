"""Jobs: a new one, taking forms in, its history, undo and redo, the check of the whole file.

Every change is a new revision with who and why; nothing entered is ever lost. A change is made
only after everything about it has been found good.
"""

from __future__ import annotations

import getpass
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from ribband.app.inputs import look_over, read_folder, read_inputs
from ribband.errors import JobFileError
from ribband.store import JobFile, Revision, verify
from ribband.survey.rows import Form

__all__ = [
    "SUFFIX", "Taken", "change", "check_file", "history", "job_path", "new_job", "redo", "take",
    "undo", "whoever",
]  # fmt: skip

SUFFIX = ".ribband"


@dataclass(frozen=True, slots=True)
class Taken:
    """What came of a change: the revision made, or None where nothing was new."""

    job: Path
    revision: Revision | None
    forms: tuple[str, ...]


def job_path(path: Path) -> Path:
    """Give the job file's path, with its ending where it was left off.

    >>> str(job_path(Path("heron"))), str(job_path(Path("heron.ribband")))
    ('heron.ribband', 'heron.ribband')
    """
    if path.suffix == SUFFIX or path.is_file():
        return path
    return path.with_name(path.name + SUFFIX)


def whoever() -> str:
    """Name whoever is at the machine, for the history."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "someone"


def new_job(path: Path, folder: Path | None, who: str = "", why: str = "") -> Taken:
    """Make a job file, with the forms of `folder` as its first revision.

    Raises
    ------
    InputError : the forms cannot be used; no file is made
    JobFileError : the file is there already or cannot be made
    """
    forms = {} if folder is None else read_inputs(folder)
    path = job_path(path)
    with JobFile.create(path) as job:
        revision = job.add_revision(forms, who or whoever(), why or "the job begun")
    return Taken(path, revision, tuple(forms))


def take(path: Path, folder: Path, who: str = "", why: str = "") -> Taken:
    """Take the forms of `folder` in as a new revision; forms it lacks stay as they were.

    Raises
    ------
    InputError : any problem, in these forms or between them and those in the job
    JobFileError : the job cannot be opened or written
    """
    fresh = read_inputs_beside(path, folder)
    return _changed(path, fresh, who, why or f"forms from {folder.name}", tuple(fresh))


def read_inputs_beside(path: Path, folder: Path) -> dict[str, Form]:
    """Read `folder` and look it over together with the forms the job already has."""
    with JobFile.open(job_path(path)) as job:
        before = job.forms()
    if not before:
        return read_inputs(folder)
    forms = before | read_folder(folder)
    look_over(forms)
    return forms


def change(path: Path, forms: Mapping[str, Form], who: str, why: str) -> Taken:
    """Put changed forms into the job as a new revision, after looking everything over.

    Raises
    ------
    InputError, JobFileError
    """
    path = job_path(path)
    with JobFile.open(path) as job:
        after = job.forms() | dict(forms)
    look_over(after)
    return _changed(path, after, who, why, tuple(forms))


def _changed(
    path: Path, forms: Mapping[str, Form], who: str, why: str, names: tuple[str, ...]
) -> Taken:
    path = job_path(path)
    with JobFile.open(path, writing=True) as job:
        return Taken(path, job.add_revision(forms, who or whoever(), why), names)


def history(path: Path) -> tuple[Revision, ...]:
    """List every revision, oldest first."""
    with JobFile.open(job_path(path)) as job:
        return job.history()


def undo(path: Path, who: str = "") -> Revision | None:
    """Go back one revision by making a new one; None where there is nothing before."""
    with JobFile.open(job_path(path), writing=True) as job:
        return job.undo(who or whoever())


def redo(path: Path, who: str = "") -> Revision | None:
    """Bring back what was undone; None where nothing was."""
    with JobFile.open(job_path(path), writing=True) as job:
        return job.redo(who or whoever())


def check_file(path: Path) -> tuple[str, ...]:
    """Check the whole job file; empty means sound."""
    path = job_path(path)
    if not path.exists():
        raise JobFileError(f"there is no job file {path}")
    return verify(path)
