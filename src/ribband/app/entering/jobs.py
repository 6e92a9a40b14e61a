"""Jobs: a new one, taking forms in, its history, undo and redo, the check of the whole file.

Every change is a new revision with who and why; nothing entered is ever lost. A change is made
only after everything about it has been found good.
"""

from __future__ import annotations

import getpass
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from ribband.app.entering.taking import Merged, merged
from ribband.app.plan.inputs import look_over_given, read_folder, read_inputs
from ribband.errors import JobFileError
from ribband.store import JobFile, Overtaken, Revision, verify
from ribband.survey.decimals import Decimal
from ribband.survey.rows import Form

__all__ = [
    "SUFFIX", "Taken", "change", "check_file", "history", "job_path", "new_job", "redo", "take",
    "undo", "whoever",
]  # fmt: skip

SUFFIX = ".ribband"
TRIES = 10
SAID_OF: dict[Decimal, str] = {"point": "", "comma": "; commas of figures read as decimals"}


@dataclass(frozen=True, slots=True)
class Taken:
    """What came of a change: the revision made, or None where nothing was new.

    `kept` names forms that came blank and were left as stored; `drops` says in words what is gone.
    """

    job: Path
    revision: Revision | None
    forms: tuple[str, ...]
    kept: tuple[str, ...] = ()
    drops: tuple[str, ...] = ()

    @property
    def says(self) -> tuple[str, ...]:
        """Say what was left as it was and what is gone."""
        blank = f"Came blank and left as stored: {', '.join(self.kept)} (--replace takes them so)."
        return (*([blank] if self.kept else []), *(f"It {words}." for words in self.drops))


def job_path(path: Path) -> Path:
    """Give the job file's path, with its ending where it was left off.

    >>> str(job_path(Path("heron"))), str(job_path(Path("heron.ribband")))
    ('heron.ribband', 'heron.ribband')
    """
    if path.suffix == SUFFIX or not path.name or path.is_file():
        return path
    return path.with_name(path.name + SUFFIX)


def whoever() -> str:
    """Name whoever is at the machine, for the history."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "someone"


def new_job(
    path: Path, folder: Path | None, who: str = "", why: str = "", *, decimal: Decimal = "point"
) -> Taken:
    """Make a job file, with the forms of `folder` as its first revision.

    A job that is there and in which nothing was ever entered, such as one whose making was cut
    off, takes the forms as its first revision.

    Raises
    ------
    InputError : the forms cannot be used; no file is made
    JobFileError : the file is there already or cannot be made
    """
    forms = {} if folder is None else read_inputs(folder, decimal)
    path = job_path(path)
    begun = bool(forms) and path.exists() and _nothing_entered(path)
    with JobFile.open(path, writing=True) if begun else JobFile.create(path) as job:
        why = (why or "the job begun") + SAID_OF[decimal]
        revision = job.add_revision(forms, who or whoever(), why, upon=0)
    if folder is not None:
        _take_pictures(path, folder, who)
    return Taken(path, revision, tuple(forms))


def _take_pictures(path: Path, folder: Path, who: str) -> None:
    """Keep the pictures that lie in a folder beside the forms, where the form `photos` names them.

    So what `ribband text` and `ribband tables` wrote out goes in again whole.
    """
    from ribband.app.entering.pictures import PICTURES, pictures_from

    for beside in (folder / PICTURES, folder.parent / PICTURES):
        pictures_from(path, beside, who)


def _nothing_entered(path: Path) -> bool:
    try:
        with JobFile.open(path) as job:
            return job.newest() == 0
    except JobFileError:
        return False  # something else is there, and stays


def take(
    path: Path, folder: Path, who: str = "", why: str = "", *, replace: bool = False,
    decimal: Decimal = "point",
) -> Taken:  # fmt: skip
    """Take the forms of `folder` in as a new revision.

    Forms it lacks, or that came blank, stay as they were; with `replace` they are meant, and what
    was stored is gone.

    Raises
    ------
    InputError : any problem, in these forms or between them and those in the job
    JobFileError : the job cannot be opened or written
    """
    with JobFile.open(job_path(path)):
        pass  # a job file that cannot be opened is told before anything about the forms
    given = read_folder(folder, decimal)
    why = (why or f"forms from {folder.name}") + SAID_OF[decimal]
    taken = _changed(path, lambda stored: merged(stored, given, replace=replace), given, who, why)
    _take_pictures(path, folder, who)
    return taken


def change(path: Path, forms: Mapping[str, Form], who: str, why: str) -> Taken:
    """Put changed forms into the job as a new revision, after looking everything over.

    If another hand changes the job meanwhile, it is looked over again with that change in it.

    Raises
    ------
    InputError, JobFileError
    """
    return _changed(path, lambda stored: Merged(dict(stored) | dict(forms)), forms, who, why)


def _changed(
    path: Path, put: Callable[[dict[str, Form]], Merged], given: Mapping[str, Form], who: str,
    why: str,
) -> Taken:  # fmt: skip
    path = job_path(path)
    for _ in range(TRIES):
        with JobFile.open(path, writing=True) as job:
            upon = job.newest()
            after = put(job.forms(upon))
            look_over_given(after.forms)
            try:
                revision = job.add_revision(after.forms, who or whoever(), why, upon=upon)
            except Overtaken:
                continue
            return Taken(path, revision, tuple(given), after.kept, after.drops)
    raise JobFileError(f"{path} is being changed by others all the time; nothing was changed")


def history(path: Path, after: int = 0) -> tuple[Revision, ...]:
    """List every revision, oldest first; only those `after` a number if given."""
    with JobFile.open(job_path(path)) as job:
        return job.history(after)


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
