"""Writing into the record by a word, and what other papers take from it.

A step done on a plank, a seam measured, a picture taken: every line is a revision of the job. A
seam measured again stands in place of the older figure. Papers for the bench take the planks still
to be got out by the lining as it is now.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from ribband.app.entering.jobs import Taken, change, job_path
from ribband.app.entering.wish_use import with_line
from ribband.app.plan.planning import Planned, plan
from ribband.planks.model import plank_name
from ribband.store import JobFile
from ribband.units import counted

if TYPE_CHECKING:
    from ribband.planks.model import Plank
    from ribband.planks.shape_model import Shape
    from ribband.record import Left

__all__ = [
    "done_said", "log_step", "measure_seam", "note_photo", "to_get_out",
]  # fmt: skip

Pairs = tuple[tuple["Plank", "Shape"], ...]

KNOWN = {
    "as_hung": ("side", "strake", "edge", "frame"),
    "renew": ("side", "strake", "from_frame", "to_frame"),
    "photos": ("plank", "file"),
    "log": ("plank", "state", "at", "by", "note"),
}


def log_step(path: Path, said: Mapping[str, str], who: str = "") -> Taken:
    """Put a line on the form `log`: plank, state, at, by, note.

    Raises
    ------
    InputError : a word that cannot be
    JobFileError : the job cannot be opened or written
    """
    return _put(path, "log", {**said, "plank": plank_name(said["plank"])}, who)


def measure_seam(path: Path, said: Mapping[str, str], who: str = "") -> Taken:
    """Put a line on the form `as_hung`: side, strake, edge, frame, girth.

    Raises
    ------
    InputError, JobFileError
    """
    return _put(path, "as_hung", said, who)


def note_photo(path: Path, said: Mapping[str, str], who: str = "") -> Taken:
    """Put a line on the form `photos` that names a file alone: plank, file, at, by, notes.

    Raises
    ------
    InputError, JobFileError
    """
    return _put(path, "photos", {**said, "plank": plank_name(said["plank"])}, who)


def _put(path: Path, name: str, said: Mapping[str, str], who: str) -> Taken:
    with JobFile.open(job_path(path)) as job:
        form = job.forms().get(name)
    why = f"{name}: " + " ".join(text for text in said.values() if text)
    return change(path, {name: with_line(form, name, said, KNOWN[name])}, who, why)


def to_get_out(planned: Planned, pairs: Pairs, named: Sequence[str]) -> Pairs:
    """Leave out planks that hang or are cut already, unless planks are named.

    All are given where nothing is left to be got out.
    """
    left: Left | None = planned.run.result("relined")
    if named or left is None:
        return pairs
    return tuple(pair for pair in pairs if pair[0].name not in _done(left)) or pairs


def done_said(job: Path) -> tuple[str, ...]:
    """Say which planks papers are not made for again, if any."""
    done = _done(plan(job, "relined").run.result("relined"))
    if not done:
        return ()
    done_said = counted(
        len(done), "plank hangs or is cut already and is", "planks hang or are cut already and are"
    )
    says = (
        f"{done_said} left out; name {'it to have it' if len(done) == 1 else 'them to have them'}."
    )
    return (says,)


def _done(left: Left | None) -> set[str]:
    stands = [one.standing.planks for one in left.sides] if left else []
    return {name for its in stands for name, stand in its.items() if stand != "free"}
